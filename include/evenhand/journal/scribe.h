/* scribe.h - writes the record as practice goes on, on a thread of its own.
 *
 * The console thread hands in what was played and never waits: no call below touches the disk,
 * except scribe_stop. The scribe thread alone owns the Journal.
 */
#ifndef EVENHAND_JOURNAL_SCRIBE_H
#define EVENHAND_JOURNAL_SCRIBE_H

#include "evenhand/plan/record.h"

enum { SCRIBE_ROOM = 64, SCRIBE_TEXT_MAX = 240 };

typedef struct Scribe Scribe;

typedef struct {
    bool open;                  /* the record could be opened */
    uint64_t written;           /* tickets up to this one are durable, or given up (see lost) */
    size_t waiting;             /* notes that are not on the disk yet */
    uint64_t lost;              /* notes that could not be written, since the start */
    char news[SCRIBE_TEXT_MAX]; /* what the player should be told once; "" nothing */
    bool warns;
} ScribeStatus;

/* Starts the thread, which opens the record at `path`, or NULL without memory or thread. `at`
 * and `day` begin the sitting. */
Scribe *scribe_start(const char *path, const char *student, int64_t at, Day day);
/* Hands in one repetition. Returns its ticket (1, 2, 3 ...), 0 when there is no room (counted as
 * lost). */
uint64_t scribe_put(Scribe *s, const Repetition *r);
/* The repetition with this ticket is judged otherwise. */
bool scribe_judge(Scribe *s, uint64_t ticket, bool clean);
/* How far it is; never waits for the disk. News is told once. */
void scribe_poll(Scribe *s, ScribeStatus *out);
/* Writes what is left, waits for it at most `patience_ms`, closes. NULL is fine. */
void scribe_stop(Scribe *s, int patience_ms);

#endif
