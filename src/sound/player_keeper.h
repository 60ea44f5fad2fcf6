/* player_keeper.h - the thread that makes the player's PortAudio calls. Private to src/sound.
 *
 * Starting PortAudio takes 40 ms and more, and against a sound server that hangs, starting and
 * stopping block until it answers. So a thread of their own makes these calls, one wish at a
 * time; the console wishes and looks, and waits only where it asks to. The keeper never touches
 * the engine. All functions on the console thread.
 */
#ifndef EVENHAND_SOUND_PLAYER_KEEPER_PRIVATE_H
#define EVENHAND_SOUND_PLAYER_KEEPER_PRIVATE_H

#include "player_stream.h"

typedef struct Keeper Keeper;

/* `device` as PlayerOptions.device; copied. The bridge becomes the keeper's, unless this returns
 * NULL: without memory or thread. */
Keeper *keeper_new(Bridge *bridge, const char *device);

/* The wishes, as stream_open, stream_run, stream_close. A later one replaces one that is not
 * begun yet. */
void keeper_open(Keeper *k, int rate, bool only);
void keeper_run(Keeper *k);
void keeper_close(Keeper *k);

bool keeper_busy(Keeper *k);
/* Waits until it is not busy, at most so long; false: it still is. */
bool keeper_wait(Keeper *k, int64_t nanoseconds);
/* Where it stands after the last wish that is done. */
StreamReport keeper_report(Keeper *k);
/* The stream's clock less CLOCK_MONOTONIC, nanoseconds; measured when a stream starts to run
 * and every second, as it may be a clock that is set by hand. */
int64_t keeper_clock_offset(Keeper *k);

/* Closes everything, ends the thread, frees it and the bridge. Where the audio system hangs in a
 * call, this returns after a second and the thread does the rest when it comes free; until then
 * the callback may still be called, so the bridge is to be withdrawn before. */
void keeper_free(Keeper *k);

#endif
