/* placing_fixture.h - a passage with its fingers and what a placing drill makes of them. Include
 * cmocka.h first. */
#ifndef EVENHAND_TESTS_PLACING_FIXTURE_H
#define EVENHAND_TESTS_PLACING_FIXTURE_H

#include "evenhand/drill/stage.h"
#include "tools/passages.h"

enum { RUNS = 400 };

/* A passage with its fingers and what a drill makes of them. */
typedef struct {
    Passage *p;
    Fingering f;
    Placed s;
    Placing placing;
    Ratio bar;
    Metre metre;
} Made;

static inline Fingering plan(const Passage *p)
{
    Fingering f;
    Error error = {0};
    assert_true(fingering_plan(p, NULL, &f, &error));
    return f;
}

static inline bool make(Made *m, Error *error)
{
    m->metre = metre_free(&m->p->metre) ? metre(4, 4) : m->p->metre;
    m->bar = metre_bar(&m->metre);
    return placing_make(m->p, &m->f, &m->placing, &m->s, error);
}

static inline void unmake(Made *m)
{
    placed_free(&m->s);
    fingering_free(&m->f);
    passage_free(m->p);
}

#endif
