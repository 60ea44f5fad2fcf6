/* timeline_made.h - a timeline and all that it was made from, for tests. Include after cmocka.h. */
#ifndef EVENHAND_TESTS_DRILL_TIMELINE_MADE_H
#define EVENHAND_TESTS_DRILL_TIMELINE_MADE_H

#include "evenhand/drill/timeline.h"

typedef struct {
    Passage *p;
    Fingering f;
    Rotation r;
    SessionStep step;
    Timeline *t;
} Made;

/* Takes the passage over; `next` may be NULL. */
static inline Made make(Passage *p, SessionStep step, const DrillSpec *next, int rate)
{
    Made m = {.p = p, .step = step};
    Error error = {0};
    assert_true(fingering_plan(p, NULL, &m.f, &error));
    assert_true(rotation_plan(p, &m.f, NULL, ratio_int(0), &m.r, &error));
    m.t = timeline_new(p, &m.f, &m.r, &step, next, rate, &error);
    assert_non_null(m.t);
    return m;
}

static inline void unmake(Made *m)
{
    timeline_free(m->t);
    rotation_free(&m->r);
    fingering_free(&m->f);
    passage_free(m->p);
}

#endif
