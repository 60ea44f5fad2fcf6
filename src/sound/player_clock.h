/* player_clock.h - frames against time: a frame that stands at a moment, and a rate. Private
 * to src/sound. Pure; integers, so that it does not drift.
 */
#ifndef EVENHAND_SOUND_PLAYER_CLOCK_PRIVATE_H
#define EVENHAND_SOUND_PLAYER_CLOCK_PRIVATE_H

#include <stdbool.h>
#include <stdint.h>

typedef struct {
    int64_t frame;         /* stands at ... */
    int64_t time;          /* ... this moment, nanoseconds of CLOCK_MONOTONIC */
    int rate;              /* frames a second */
    int64_t doubted;       /* a jump that was told and is not yet believed, nanoseconds; 0 none */
    int64_t doubted_since; /* the moment it was first told */
} FrameClock;

/* The frame at a moment, rounded down; before the clock's own moment it is smaller. */
int64_t clock_frame(const FrameClock *c, int64_t time);
/* The moment of a frame, rounded down. */
int64_t clock_time(const FrameClock *c, int64_t frame);
/* A device says that `frame` stands at `time`. Jitter is smoothed: the clock moves a quarter
 * of the way. A difference of CLOCK_JUMP or more is no jitter: it is taken whole, once the
 * device has told the same for CLOCK_BELIEF (a server tells a few blocks wrongly now and then);
 * until then the clock runs on. Returns the difference found, nanoseconds, >= 0. */
int64_t clock_follow(FrameClock *c, int64_t frame, int64_t time);

enum { CLOCK_SECOND = 1000000000, CLOCK_JUMP = CLOCK_SECOND / 50, CLOCK_BELIEF = CLOCK_SECOND / 5 };

#endif
