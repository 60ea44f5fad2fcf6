/* routine.h - a timed routine: blocks in order, and the clock that runs through them. Pure.
 *
 *      block 0                    block 1                          break
 *      |-- work ------|-- rest --|-- work ----------------|- rest -|-- work ----|- rest -|
 *                     ^ bell                               ^ bell                ^ bell
 *
 * The clock counts frames that were heard and nothing else: a machine that sleeps or a process
 * that is stopped hears none, so its routine stands still with it. Plain data throughout.
 */
#ifndef EVENHAND_PLAN_ROUTINE_H
#define EVENHAND_PLAN_ROUTINE_H

#include "evenhand/drill/drill.h"
#include "evenhand/plan/ladder.h"

enum {
    ROUTINE_TEXT_MAX = 120,
    ROUTINE_PASSAGE_MAX = 200,
    ROUTINE_BLOCKS_MAX = 100,
    ROUTINE_DRILLS_MAX = 12,       /* of one block */
    ROUTINE_MINUTES_MAX = 240,     /* of one block */
    ROUTINE_REPETITIONS_MAX = 200, /* of each drill of a block */
    ROUTINE_REST_MAX = 1800,       /* seconds */
    ROUTINE_REST = 10,             /* where the file says nothing */
    ROUTINE_BELL = 2,              /* seconds that the bell rings: no rest is shorter */
    ROUTINE_BREAK_MINUTES = 25,    /* of playing, until a break is proposed. A rule of thumb, to be
                                    * changed in the file [common practice] */
    ROUTINE_BREAK_SECONDS = 120    /* away from the strings that count as one [own] */
};

typedef struct {
    char title[ROUTINE_TEXT_MAX];   /* clean UTF-8 */
    char student[ROUTINE_TEXT_MAX]; /* "" for whoever plays */
    bool breaks;                    /* a break: nothing is played */
    int seconds;                    /* of the whole block, its rest included; 0: by repetitions */
    int repetitions;                /* of each drill; 0: by time */
    char passage[ROUTINE_PASSAGE_MAX]; /* FILE or FILE:X as the teacher wrote it; "" none: the time
                                        * runs and the player does what the title says */
    DrillSpec drills[ROUTINE_DRILLS_MAX];
    int drill_count; /* 0: the passage's whole session */
    Tempo tempo;     /* per_minute 0/1: the passage's; beat 0/1: its beat unit */
    bool has_ladder;
    LadderSpec ladder;         /* beats 0/1: the passage's beat unit */
    bool has_steps, has_above; /* the file says that of the ladder */
    int rest;                  /* seconds behind the work, ROUTINE_BELL .. ROUTINE_REST_MAX */
    int line;                  /* where the file begins it, */
    int passage_line, drills_line, tempo_line, ladder_line; /* and says these; 0 it does not */
} RoutineBlock;

typedef struct {
    char title[ROUTINE_TEXT_MAX];
    int break_after; /* minutes of playing until a break is proposed; 0: never */
    int seconds;     /* what the file says the whole lasts, and it does; 0: it does not say */
    RoutineBlock *blocks;
    int count;
} Routine;

void routine_free(Routine *r); /* leaves it zeroed */
/* One student's name, whatever the capitals (ASCII). */
bool routine_same_name(const char *a, const char *b);
/* A copy with the blocks of one student, and those that are nobody's, in their order. Capitals do
 * not matter, and where no block names anyone it is all of them. ERROR_USAGE names the students
 * where there are some and none of that name; ERROR_MEMORY. On failure *out is zeroed. */
bool routine_for(const Routine *r, const char *student, Routine *out, Error *error);
/* Seconds of all blocks by time; those by repetitions are counted in *counted (may be NULL). */
int routine_seconds(const Routine *r, int *counted);

/* ---- the clock ----------------------------------------------------------------------------- */

/* How long one block lasts, in frames. */
typedef struct {
    int64_t work;  /* 1 .. 2^40 */
    int64_t rest;  /* 0 .. 2^40 */
    bool by_count; /* it ends with its last repetition: its length is not changed */
    bool breaks;   /* a break: nothing is played */
} RoutineSpan;

typedef enum { ROUTINE_WORK, ROUTINE_RESTING, ROUTINE_DONE } RoutinePhase;

typedef struct {
    int rate; /* frames a second */
    int count;
    RoutineSpan span[ROUTINE_BLOCKS_MAX]; /* as they are by now */
    int64_t spent[ROUTINE_BLOCKS_MAX];    /* frames that were really heard in each */
    int block;                            /* the last one when DONE */
    RoutinePhase phase;
    int64_t at;      /* frames into the phase */
    bool held;       /* paused */
    int64_t stretch; /* frames played since the last break */
    int64_t away;    /* frames not played, in a row */
    int64_t limit;   /* of the stretch; 0 none */
} RoutineRun;

/* At the beginning of the first block. ERROR_RANGE for spans or a rate out of range, or no block.
 */
bool routine_begin(RoutineRun *run, const RoutineSpan *spans, int count, int rate,
    int break_after_minutes, Error *error);
/* `frames` more were heard. Goes over every boundary that they pass; held, only a break can come
 * of it. Returns how many boundaries were passed. */
int routine_advance(RoutineRun *run, int64_t frames);
void routine_hold(RoutineRun *run, bool held);
/* To the beginning of a block, 0 .. count - 1. What was left of the one before is dropped. */
void routine_go(RoutineRun *run, int block);
void routine_skip(RoutineRun *run); /* to the next block; from the last to the end */
void routine_back(RoutineRun *run); /* to the block before; in the first to its beginning */
void routine_end(RoutineRun *run);
/* The phase is longer by so many frames. False, and nothing changed, at the end and in the work of
 * a block that is counted. */
bool routine_add(RoutineRun *run, int64_t frames);
/* The work of a block ends after `frames` in all, on a bar line, and not where it was meant to.
 * What that is more or less comes off its rest, as far as a bell's time is left, and then off the
 * next block by time, so that the whole stays as long as it was. Nothing changes where that work
 * is over, or `frames` are. */
void routine_settle(RoutineRun *run, int block, int64_t frames);

int64_t routine_phase_left(const RoutineRun *run); /* frames; 0 when DONE */
/* The whole as a bar: `position` of `total` frames lie behind. */
int64_t routine_total(const RoutineRun *run);
int64_t routine_position(const RoutineRun *run);
/* The player has played for as long as the routine wants without a break. */
bool routine_break_due(const RoutineRun *run);

#endif
