/* player_stream.h - the player's PortAudio stream: every call that may block. Private to
 * src/sound; on the keeper's thread alone.
 */
#ifndef EVENHAND_SOUND_PLAYER_STREAM_PRIVATE_H
#define EVENHAND_SOUND_PLAYER_STREAM_PRIVATE_H

#include "evenhand/sound/player.h"
#include "player_bridge.h"

typedef enum { STREAM_CLOSED, STREAM_OPEN, STREAM_RUNNING } StreamState;

typedef struct {
    StreamState state;
    char device[PLAYER_NAME_MAX]; /* cleaned */
    int rate;
    double latency;                /* seconds, as PortAudio tells it */
    char trouble[PLAYER_TEXT_MAX]; /* why it is not as wished; "" all is well */
} StreamReport;

typedef struct AudioStream AudioStream;

/* `device` as PlayerOptions.device; copied. The bridge outlives the stream. NULL without
 * memory. */
AudioStream *stream_new(Bridge *bridge, const char *device);
void stream_free(AudioStream *s); /* closed before */

/* Starts PortAudio afresh (so that it sees devices that came), finds the device and opens it.
 * rate 0: the device's own; a refused rate gives way to that unless `only`. */
void stream_open(AudioStream *s, int rate, bool only, StreamReport *r);
void stream_run(AudioStream *s, StreamReport *r);
/* Stops, closes, ends PortAudio. */
void stream_close(AudioStream *s, StreamReport *r);

/* The stream's clock less CLOCK_MONOTONIC, nanoseconds, into *offset; false (and nothing
 * written) while the device stands still, as then the question itself may hang. */
bool stream_clock_offset(AudioStream *s, int64_t *offset);

#endif
