/* track.h - the file driver: renders timelines through the engine into an audio file, and the
 * atomic write that every file of this program gets. */
#ifndef EVENHAND_SOUND_TRACK_H
#define EVENHAND_SOUND_TRACK_H

#include "evenhand/sound/engine.h"

/* Called about ten times a second of work; false stops the writing (no file is left). */
typedef bool TrackProgress(void *context, int64_t frames_done, int64_t frames_total);

/* Format by the name's ending: .wav .flac .ogg .mp3 (where this libsndfile can write it).
 * Written beside the target and renamed when whole and synced; an existing file is refused
 * with ERROR_EXISTS unless `force`. The audio holds engine_lead frames before the first
 * timeline's frame 0 and rings out after the last. All timelines have the voices' rate. */
bool track_write(const char *path, bool force, const VoiceBank *voices, const Mix *mix,
    const Source *sources, size_t count, TrackProgress *progress, void *context, Error *error);

/* True when this libsndfile writes that ending. */
bool track_can_write(const char *path);

/* Writes bytes to a new file atomically, as above. */
bool file_write_atomic(const char *path, bool force, const void *bytes, size_t size, Error *error);

#endif
