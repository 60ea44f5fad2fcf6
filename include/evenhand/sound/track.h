/* track.h - the file driver: renders timelines through the engine into an audio file, and the
 * atomic write that every file of this program gets. Console thread only; it may take long.
 */
#ifndef EVENHAND_SOUND_TRACK_H
#define EVENHAND_SOUND_TRACK_H

#include "evenhand/sound/engine.h"

/* Called about ten times a second of work, and once when all is rendered; false stops the
 * writing (no file is left). */
typedef bool TrackProgress(void *context, int64_t frames_done, int64_t frames_total);

/* Format by the name's ending: .wav .flac .ogg .mp3 (where this libsndfile can write it), one
 * channel; .wav and .flac are 16 bit. Written beside the target and renamed when whole and
 * synced; an existing file is refused with ERROR_EXISTS unless `force`, which also
 * writes what a link leads to. The audio holds
 * engine_lead frames before the first timeline's frame 0 and rings out after the last. All
 * timelines have the voices' rate. `progress` may be NULL.
 * ERROR_USAGE for an ending that cannot be written, ERROR_LIMIT beyond what a .wav can hold,
 * ERROR_WRITE for folder, rights, space and for a stop by `progress`. */
bool track_write(const char *path, bool force, const VoiceBank *voices, const Mix *mix,
    const Source *sources, size_t count, TrackProgress *progress, void *context, Error *error);

/* True when this libsndfile writes that ending. */
bool track_can_write(const char *path);

/* Writes bytes to a new file atomically, as above: the target holds all of them or is as it
 * was. Only regular files are replaced. ERROR_EXISTS, ERROR_WRITE. */
bool file_write_atomic(const char *path, bool force, const void *bytes, size_t size, Error *error);

#endif
