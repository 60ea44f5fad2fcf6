/* recorder.h - the practice's judged repetitions into the practice record, with whose they are and
 * when they were. Console thread; nothing here waits for the disk, but recorder_close a little. */
#ifndef EVENHAND_SRC_APP_RECORDER_H
#define EVENHAND_SRC_APP_RECORDER_H

#include "evenhand/app/practice.h"
#include "evenhand/journal/scribe.h"

typedef struct {
    Scribe *scribe; /* NULL: nothing is recorded */
    uint64_t lost;  /* told already */
} Recorder;

/* Starts recording for the practice; where it cannot, the practice says so and goes on. `r` must
 * stay where it is. */
void recorder_open(Recorder *r, const Options *options, Practice *practice, int64_t now_ms);
/* Tells the practice how far the record is. Every turn. */
void recorder_poll(Recorder *r, Practice *practice, int64_t now_ms);
/* What is left is written; a disk that hangs is not waited for longer than a moment. */
void recorder_close(Recorder *r);

/* The day that the player's calendar shows at a moment (milliseconds since 1970-01-01 UTC). */
Day recorder_day(int64_t at);

#endif
