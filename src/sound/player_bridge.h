/* player_bridge.h - what the console thread and the audio callback of the player share, and the
 * gate that says which of them may touch the engine. Private to src/sound. No PortAudio here,
 * so a test can be the device.
 *
 *   stream frames  0 ------------------- take ---------- now ------>   counted by the callback
 *   who renders      console (callback       callback
 *                    plays silence)
 *
 * The gate: the console offers the engine from stream frame `take` on and does not touch it
 * again until bridge_withdraw has returned, which it does only when the callback is provably out
 * and will stay out. The callback is never waited for longer than one block takes to render,
 * and never waits itself. All shared fields are C11 atomics in sequential order: a few per
 * block cost nothing, and the argument stays short.
 */
#ifndef EVENHAND_SOUND_PLAYER_BRIDGE_PRIVATE_H
#define EVENHAND_SOUND_PLAYER_BRIDGE_PRIVATE_H

#include "evenhand/sound/engine.h"

typedef struct Bridge Bridge;

/* One block as the callback saw it, read without tearing. */
typedef struct {
    int64_t stream_frame; /* first frame of the block, counted from the stream's start */
    bool taken;           /* some or all of the block is the engine's */
    int64_t engine_frame; /* when taken: the engine frame that stands at the block's first */
    int64_t end;          /* stream frames after the block */
    int64_t called;       /* when the callback was called, nanoseconds of the stream's clock */
    int64_t dac;          /* when the block's first frame leaves the device, same clock;
                           * not after `called`: the device does not say */
} BridgeBlock;

Bridge *bridge_new(void); /* NULL without memory */
void bridge_free(Bridge *b);

/* Console thread; no callback may be running. Before each start of a stream. */
void bridge_reset(Bridge *b, int channels);
/* Console thread: the engine is the callback's from stream frame `take` on, and fades in over
 * `fade` frames from the first one played (0: at once, for an engine that is silent yet). */
void bridge_offer(Bridge *b, Engine *engine, int64_t take, int64_t fade);
/* Console thread: the engine is the console's again when this returns. */
void bridge_withdraw(Bridge *b);
/* Any thread: the latest block; false before the first one (or if a writer would not stand
 * still, which the next call makes good). */
bool bridge_read(Bridge *b, BridgeBlock *point);
uint64_t bridge_underruns(Bridge *b);
bool bridge_finished(Bridge *b);

/* The callback's side: fills `frames` frames of interleaved samples. */
void bridge_fill(Bridge *b, float *out, size_t frames, int64_t called, int64_t dac, bool underrun);
/* The stream has come to an end by itself; any thread. */
void bridge_finish(Bridge *b);

#endif
