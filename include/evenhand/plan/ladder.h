/* ladder.h - from a start to a goal tempo, rung by rung. Pure.
 *
 *     start                            goal      above
 *     60 -- 63 -- 66 -- 69 -- ... ---- 120 ----- 126
 *     rung 0  1     2     3            goal      count - 1
 *
 * A Climb is where a player stands; each repetition, judged clean or missed, gives the next one.
 */
#ifndef EVENHAND_PLAN_LADDER_H
#define EVENHAND_PLAN_LADDER_H

#include "evenhand/music/passage.h"
#include "evenhand/music/tempo.h"

enum {
    LADDER_RUNGS_MAX = 400,
    LADDER_ABOVE_MAX = 4,
    LADDER_CLEAN_MAX = 20,
    LADDER_REPETITIONS_MAX = 100,
    LADDER_WORDS_MAX = 200,
    LADDER_RATE_MAX = 24
};

typedef enum {
    LADDER_BY_NUMBERS, /* the metronome's numbers */
    LADDER_BY_PERCENT, /* each rung so much faster than the one below, to a whole beat a minute */
    LADDER_BY_AMOUNT   /* so many beats a minute */
} LadderBy;

typedef enum {
    LADDER_STRAIGHT, /* each rung in turn */
    LADDER_TWO_UP,   /* two up, one back: rungs 0 2 1 3 2 4 3 ..., every rung at least once, the
                      * last one at the end */
    LADDER_CLEAN     /* up after `clean` clean ones in a row, one down after a miss */
} LadderPattern;

typedef struct {
    Tempo start, goal; /* one beat unit; start not above goal */
    LadderBy by;
    Ratio amount; /* percent (1 .. 50), or beats a minute (1/2 .. 50); not read for numbers */
    LadderPattern pattern;
    int clean;       /* LADDER_CLEAN: 1 .. LADDER_CLEAN_MAX */
    int repetitions; /* else: clean repetitions at each visit, 1 .. LADDER_REPETITIONS_MAX */
    int above;       /* rungs above the goal, 0 .. LADDER_ABOVE_MAX */
} LadderSpec;

typedef struct {
    LadderSpec spec;
    Ratio *rungs; /* beats a minute, strictly rising; the first is the start */
    int count;
    int goal;    /* index of the goal's rung */
    int *visits; /* rungs in the order in which they come, if every repetition is clean */
    int visit_count;
} Ladder;

/* Where a player stands: plain data, to be copied and compared. */
typedef struct {
    int visit; /* index into visits; LADDER_CLEAN: the rung */
    int rung;
    int clean_in_row; /* on this rung or visit */
    bool done;        /* the last rung is finished; it stays there */
} Climb;

/* What holds where a player sets nothing: the metronome's numbers (4 per cent where start or goal
 * lie beyond them), up after 3 clean, one rung above the goal where there is one. A start not
 * above a goal, both valid and of one beat unit, always make a ladder. */
LadderSpec ladder_default(Tempo start, Tempo goal);
/* 1 where the steps of this ladder lead to a rung above its goal, 0 where all ends there. */
int ladder_above(const LadderSpec *s);
/* Start and goal are rungs, on the metronome's series or not. ERROR_RANGE for a start above the
 * goal, different beat units, values outside their ranges, more than LADDER_RUNGS_MAX rungs, a
 * goal (with what is above it) beyond what numbers or TEMPO_MAX allow: says what to do. On failure
 * *out is zeroed. */
bool ladder_make(const LadderSpec *spec, Ladder *out, Error *error);
void ladder_free(Ladder *l); /* leaves it zeroed */

Climb climb_start(const Ladder *l);
/* After one repetition. A missed one never counts: in LADDER_CLEAN it goes one rung down (never
 * below the first), in the other patterns the tempo is played again, and what was clean before
 * still counts. Done stays done, missed or not. */
Climb climb_next(const Ladder *l, Climb at, bool clean);
/* Repetitions to the end if all are clean. */
int climb_left(const Ladder *l, Climb at);
Tempo climb_tempo(const Ladder *l, Climb at);

/* Notes a second of notes that last `length` quarters. */
Ratio ladder_note_rate(Tempo t, Ratio length);
/* "4.0": to the nearest tenth, halves up. Returns out. */
char *ladder_rate_text(Ratio rate, char out[LADDER_RATE_MAX]);
/* The length that most notes of a passage have (the shorter of two equally frequent). */
Ratio ladder_note_length(const Passage *p);
/* The beat-unit trap: a goal whose number means twice or half the speed, or otherwise another
 * one, in the beat that `metre_beat` counts (quarters, as passage_pulse gives it). Writes a
 * sentence and returns true where there is something to warn of; else "" and false. */
bool ladder_trap(Tempo goal, Ratio metre_beat, Ratio note_length, char out[LADDER_WORDS_MAX]);

/* "numbers", "percent", "amount"; "straight", "two-up", "clean". */
const char *ladder_by_word(LadderBy by);
const char *ladder_pattern_word(LadderPattern pattern);

#endif
