/* exam.h - what to practise on which day until an exam. Pure: the day it is told is today.
 *
 *     today                                                          exam
 *     |--- learning days ------------------------------|- easy, easy -|
 *      drill, climb, review of what stands              slower, short  nothing on the day itself
 *
 * The first passages begin; later ones join them, in the order given, one more on each practice
 * day (faster where days are few: all are open in the first third). A day goes first to passages
 * that have not begun, then to those that have climbed the smallest part of their ladder. Whoever
 * reached a tempo, or missed a day, has the rest planned anew: plan again with `reached`, `missed`
 * and another `today`.
 *
 * How much work a rung takes, how many a day and how often to review are rules of thumb of this
 * program, not findings; `repetitions` is the player's to set.
 */
#ifndef EVENHAND_PLAN_EXAM_H
#define EVENHAND_PLAN_EXAM_H

#include "evenhand/music/tempo.h"
#include "evenhand/plan/date.h"

enum {
    EXAM_PASSAGES_MAX = 60,
    EXAM_MINUTES_MIN = 5,
    EXAM_MINUTES_MAX = 300,
    EXAM_DAYS_MAX = 1100, /* from today to the exam */
    EXAM_MISSED_MAX = 400,
    EXAM_BLOCK_MAX = 30,
    EXAM_REPETITIONS = 40, /* that a rung takes, drills among them, where nothing is set */
    EXAM_REPETITIONS_MAX = 200,
    EXAM_RUNGS_A_DAY = 2, /* of one passage, at most */
    EXAM_EASY_DAYS = 2,   /* the last practice days before the exam */
    EXAM_REVIEW_DAYS = 3, /* what stands is played again after so many */
    EXAM_REVIEW_MINUTES = 3,
    EXAM_DRILLS_MAX = 12,
    EXAM_DRILL_MAX = 48,
    EXAM_LENGTH_MAX = 4096, /* quarters of one repetition */
    EXAM_WORDS_MAX = 320
};

typedef struct {
    const char *title;   /* lent */
    Tempo present, goal; /* one beat unit */
    Tempo reached;       /* fastest clean one since; per_minute 0/1: none. Another beat unit is
                          * converted; below `present` it changes nothing */
    Ratio length;        /* of one repetition, in quarters */
    const char *const *drills; /* words as drill_word writes them, taken in turn; lent */
    int drill_count;           /* 0: exam_drill's */
} ExamPassage;

typedef struct {
    Day today, exam;
    unsigned weekdays; /* bit 1u << (date_weekday - 1) for each day that is practised */
    int minutes;       /* a day, at most */
    int block;         /* minutes after which another passage comes; 0: each in one go.
                        * The one that is left over has no turns left to take */
    int repetitions;   /* 0: EXAM_REPETITIONS */
    const ExamPassage *passages;
    int passage_count;
    const Day *missed; /* days without practice, past or to come, in any order */
    int missed_count;
} ExamSpec;

typedef enum {
    EXAM_REVIEW, /* what stands, at its tempo */
    EXAM_DRILL,  /* a drill at the tempo that stands */
    EXAM_CLIMB,  /* from the rung that stands to the one that should; both the same: towards the
                  * next, which takes longer than this day */
    EXAM_EASY    /* slowly, an eighth below what stands */
} ExamWhat;

typedef struct {
    Day day;
    int passage; /* index */
    ExamWhat what;
    int minutes;
    int from, to;      /* rungs; but for EXAM_CLIMB the one that stands, twice */
    Tempo tempo;       /* that is played; EXAM_CLIMB: at first */
    Tempo end;         /* EXAM_CLIMB: at last; else the same */
    const char *drill; /* EXAM_DRILL: its word, lent by the spec or by this module; else "" */
} ExamEntry;

typedef struct {
    Tempo start, end; /* what stands today, and after the last learning day */
    Tempo goal;
    Day first;  /* day of the first drill or climb; -1: there is none */
    Day stands; /* day on which the goal is reached: `today` where it is already, -1: it is not */
} ExamOutcome;

typedef struct {
    ExamEntry *entries; /* by day, in the order in which they are played */
    size_t count;
    ExamOutcome *outcomes; /* one for each passage */
    int outcome_count;
    int learning_days, easy_days;
    bool fits; /* every passage reaches its goal */
} ExamPlan;

/* ERROR_RANGE says which value is off. On failure *out is zeroed. Strings of the spec must outlive
 * the plan. */
bool exam_plan(const ExamSpec *spec, ExamPlan *out, Error *error);
void exam_plan_free(ExamPlan *plan); /* leaves it zeroed */

/* What would make a plan fit that does not: each of the three alone, found by planning again. All
 * zero for one that fits. */
typedef struct {
    int minutes;  /* a day; 0: none up to EXAM_MINUTES_MAX was found */
    int weekday;  /* one more, 1 .. 7; 0: none does it alone */
    Tempo *goals; /* for each passage: lower ones, all together; the rest as they are */
    int goal_count;
} ExamAdvice;

bool exam_advise(const ExamSpec *spec, ExamAdvice *out, Error *error);
void exam_advice_free(ExamAdvice *advice);

/* Whether the spec has practice on this day: a chosen weekday from today to the day before the
 * exam, not missed. */
bool exam_practises(const ExamSpec *spec, Day day);
bool exam_misses(const ExamSpec *spec, Day day); /* it is among the missed */
/* The i-th of the drills that a passage goes through where none are given. */
const char *exam_drill(int i);
/* What stands of a passage today: `reached`, else `present`, in its own beat unit, never above
 * its goal. */
Tempo exam_standing(const ExamPassage *passage);

/* "drill finger-3 at 1/4 = 76", "climb from 1/4 = 76 to 84", "review at 1/4 = 96". */
char *exam_entry_text(const ExamEntry *entry, char out[EXAM_WORDS_MAX]);
/* The same in few words: "finger-3 76", "76 to 84", "review 96". Returns out. */
char *exam_entry_brief(const ExamEntry *entry, char out[EXAM_WORDS_MAX]);
/* The number of a tempo without its beat: "84", "72.5". Returns a place in out. */
const char *exam_tempo_number(Tempo t, char out[TEMPO_TEXT_MAX]);
/* The next way to make it fit, as a clause for people: "45 minutes a day", "another practice day,
 * on Saturdays", "goals of 1/4 = 104 for X". *at counts from 0; false when all are told. */
bool exam_advice_next(
    const ExamSpec *spec, const ExamAdvice *advice, int *at, char out[EXAM_WORDS_MAX]);
const char *exam_weekday(int weekday); /* "Monday" .. "Sunday"; "" outside 1 .. 7 */

#endif
