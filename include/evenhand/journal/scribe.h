/* scribe.h - writes the record as practice goes on, on a thread of its own.
 *
 * The console thread hands in what was played and never waits: no call below touches the disk,
 * except scribe_stop. The scribe thread alone owns the Journal.
 */
#ifndef EVENHAND_JOURNAL_SCRIBE_H
#define EVENHAND_JOURNAL_SCRIBE_H

#include "evenhand/plan/record.h"

/* SCRIBE_ROOM repetitions may wait, and some corrections of others; those that wait are corrected
 * where they stand. */
enum { SCRIBE_ROOM = 64, SCRIBE_CORRECTIONS = 16, SCRIBE_TEXT_MAX = 280 };

typedef struct Scribe Scribe;

typedef struct {
    bool open;                  /* the record could be opened */
    uint64_t written;           /* every ticket up to this one is on the disk */
    size_t waiting;             /* notes that are not on the disk yet */
    uint64_t lost;              /* repetitions that are not, and never will be, since the start */
    char news[SCRIBE_TEXT_MAX]; /* what the player should be told once; "" nothing */
    bool warns;                 /* the news is bad */
} ScribeStatus;

/* Starts the thread, which opens the record at `path`, or NULL without memory or thread. `at`
 * and `day` begin the sitting; another student's repetition begins another one. What the disk
 * refuses is tried again every two seconds, in order. */
Scribe *scribe_start(const char *path, const char *student, int64_t at, Day day);
/* Hands in one repetition. Returns its ticket (1, 2, 3 ...), 0 when there is no room or it has no
 * valid tempo (counted as lost). */
uint64_t scribe_put(Scribe *s, const Repetition *r);
/* The repetition with this ticket is judged otherwise; the latest verdict counts. False when there
 * is no room, or no such ticket. One that was written SCRIBE_ROOM tickets ago stays as it is. */
bool scribe_judge(Scribe *s, uint64_t ticket, bool clean);
/* How far it is; never waits for the disk. News is told once, the oldest first. */
void scribe_poll(Scribe *s, ScribeStatus *out);
/* Writes what is left, waits for it at most `patience_ms`, closes. NULL is fine. What is not
 * written by then is written, or not, without anybody waiting for it. */
void scribe_stop(Scribe *s, int patience_ms);

#endif
