/* record.h - what a practice record holds, as plain data. Pure: the journal fills it, screens,
 * lists and pages show it.
 *
 * Moments are milliseconds since 1970-01-01 00:00 UTC; beside each stands the day that the
 * player's own calendar showed, so that no later change of zone moves it. */
#ifndef EVENHAND_PLAN_RECORD_H
#define EVENHAND_PLAN_RECORD_H

#include "evenhand/music/tempo.h"
#include "evenhand/plan/date.h"

enum { RECORD_NAME_MAX = 120, RECORD_WORD_MAX = 160, RECORD_STALE_DAYS = 7 };

/* One repetition, judged. */
typedef struct {
    char student[RECORD_NAME_MAX]; /* "" the player who never gave a name */
    char passage[RECORD_NAME_MAX]; /* title */
    uint64_t notes;                /* fingerprints, see fingerprint.h */
    uint64_t fingers;
    char drill[RECORD_WORD_MAX]; /* as --drill takes it */
    Tempo tempo;
    bool clean;
    int64_t at; /* when it ended */
    Day day;
} Repetition;

/* What groups the lines of a list. */
typedef enum {
    RECORD_BY_STUDENT,
    RECORD_BY_PASSAGE,
    RECORD_BY_DRILL,
    RECORD_BY_DAY,
    RECORD_GROUPS
} RecordBy;

/* Which repetitions are meant; strings are lent. */
typedef struct {
    const char *student; /* NULL: everyone */
    const char *passage; /* title; NULL: all */
    const char *drill;   /* NULL: all */
    Day from, to;        /* both included; to 0: no end */
} RecordFilter;

/* One line of a list, or one point over time (RECORD_BY_DAY). */
typedef struct {
    char name[RECORD_WORD_MAX]; /* student, passage, drill, or the date */
    Day day;                    /* of the latest repetition */
    int64_t last;               /* its moment */
    int64_t count, clean;
    bool has_best;
    Tempo best;   /* fastest clean one, compared in quarters a minute */
    bool changed; /* RECORD_BY_PASSAGE: its fingering changed since it was first recorded */
} RecordLine;

/* Per cent clean, rounded down; -1 of none. */
int record_percent(int64_t clean, int64_t count);
const char *record_by_word(RecordBy by); /* "student", "passage", "drill", "day" */

#endif
