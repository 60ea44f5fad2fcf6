/* exam_parts.h - the insides of exam.h. Internal to the room. */
#ifndef EVENHAND_SRC_PLAN_EXAM_PARTS_H
#define EVENHAND_SRC_PLAN_EXAM_PARTS_H

#include "evenhand/plan/exam.h"
#include "evenhand/plan/ladder.h"

/* One passage on its way up. */
typedef struct {
    const ExamPassage *asked;
    Ladder ladder;
    int64_t *seconds; /* for each rung: the work that it takes to come from the one below */
    int aim;          /* the last rung */
    int rung;         /* that stands */
    int64_t worked;   /* seconds towards the next rung */
    int turn;         /* which drill comes next */
    Day last;         /* day on which it was last played; -1 never */

    /* today */
    int limit; /* the rung that it may come to */
    int cap;   /* minutes that it can use */
    int share; /* minutes that it gets */
} Climber;

/* A plan in the making. */
typedef struct {
    const ExamSpec *spec;
    Climber *climbers;
    int count;
    Day *days; /* of practice, rising */
    int day_count;
    int learning; /* how many of them */
    bool paced;   /* spread over most of the days, rather than as fast as may be */
    int *order;   /* today's climbers */
    ExamPlan plan;
    size_t room;
} Course;

bool climber_make(const ExamSpec *spec, const ExamPassage *asked, Climber *out, Error *error);
void climber_free(Climber *c);
Tempo climber_tempo(const Climber *c, int rung);

/* The next entry, zeroed but for its day, passage and kind; NULL without memory. */
ExamEntry *course_add(Course *c, Day day, int climber, ExamWhat what, int minutes);
bool course_learn(Course *c, int day); /* false: no memory */
bool course_ease(Course *c, int day);

#endif
