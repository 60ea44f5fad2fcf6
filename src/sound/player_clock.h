/* player_clock.h - frames against time: a frame that stands at a moment, and a rate. Private
 * to src/sound. Pure; integers, so that it does not drift.
 */
#ifndef EVENHAND_SOUND_PLAYER_CLOCK_PRIVATE_H
#define EVENHAND_SOUND_PLAYER_CLOCK_PRIVATE_H

#include <stdbool.h>
#include <stdint.h>

typedef struct {
    int64_t frame; /* stands at ... */
    int64_t time;  /* ... this moment, nanoseconds of CLOCK_MONOTONIC */
    int rate;      /* frames a second */
} FrameClock;

/* The frame at a moment, rounded down; before the clock's own moment it is smaller. */
int64_t clock_frame(const FrameClock *c, int64_t time);
/* The moment of a frame, rounded down. */
int64_t clock_time(const FrameClock *c, int64_t frame);
/* A device says that `frame` stands at `time`. Jitter is smoothed: the clock moves a quarter
 * of the way; a difference of CLOCK_JUMP or more is no jitter and is taken whole. Returns the
 * difference found, nanoseconds, >= 0. */
int64_t clock_follow(FrameClock *c, int64_t frame, int64_t time);

enum { CLOCK_SECOND = 1000000000, CLOCK_JUMP = CLOCK_SECOND / 50 };

#endif
