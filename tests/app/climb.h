/* climb.h - a small ladder on the bench, and a record in memory. One for each test program. Include
 * after cmocka.h. */
#ifndef EVENHAND_TESTS_APP_CLIMB_H
#define EVENHAND_TESTS_APP_CLIMB_H

#include "stand.h"

#include <stdlib.h>
#include <string.h>

enum { KEPT_MAX = 2000 };

/* A record in memory. */
typedef struct {
    Repetition kept[KEPT_MAX];
    size_t at[KEPT_MAX]; /* frames rendered when it was handed in */
    uint64_t count;
    const Stand *stand;
    bool refuses, keeps_verdicts;
} Shelf;

static inline uint64_t shelve(void *to, const Repetition *r)
{
    Shelf *shelf = to;
    if (shelf->refuses)
        return 0;
    assert_true(shelf->count < KEPT_MAX);
    shelf->kept[shelf->count] = *r;
    shelf->at[shelf->count] = shelf->stand->count;
    return ++shelf->count;
}

static inline bool judge(void *to, uint64_t ticket, bool clean)
{
    Shelf *shelf = to;
    assert_true(ticket >= 1 && ticket <= shelf->count);
    if (shelf->keeps_verdicts)
        return false;
    shelf->kept[ticket - 1].clean = clean;
    return true;
}

static Shelf shelf;

static inline Stand stand_with_record(const char *file)
{
    Stand s = stand_of(file);
    memset(&shelf, 0, sizeof shelf);
    const RecordSink sink = {&shelf, shelve, judge};
    practice_record_to(s.p, &sink);
    practice_attach(s.p, s.engine);
    return s;
}

static inline const ModelItem *row(Stand *s, const char *begins)
{
    const Model *m = turn(s);
    for (int i = 0; i < m->rungs.count; i++)
        if (strncmp(m->rungs.items[i].title, begins, strlen(begins)) == 0)
            return &m->rungs.items[i];
    fail_msg("no setting begins with '%s'", begins);
    return NULL;
}

/* Sets a line of the ladder's screen by `steps` presses. */
static inline void set(Stand *s, const char *begins, int steps)
{
    const Model *m = practice_model(s->p);
    while (m->rungs.items + m->rungs.cursor != row(s, begins)) {
        act(s, ACTION_DOWN);
        assert_true(m->rungs.cursor < m->rungs.count);
    }
    for (int i = 0; i < abs(steps); i++)
        act(s, steps > 0 ? ACTION_SET_UP : ACTION_SET_DOWN);
    while (m->rungs.cursor > 0)
        act(s, ACTION_UP);
}

/* From 60 by tens to 90, one above; up after two clean ones. */
static inline Stand small_ladder(const char *file)
{
    Stand s = stand_with_record(file); /* nothing is kept before start() */
    act(&s, ACTION_LADDER);
    assert_int_equal(turn(&s)->screen, SCREEN_LADDER);
    for (int i = 0; i < 400 && strcmp(row(&s, "from:")->title, "from: 1/4 = 60") != 0; i++)
        set(&s, "from:", strcmp(row(&s, "from:")->title, "from: 1/4 = 60") > 0 ? -1 : 1);
    for (int i = 0; i < 400 && strcmp(row(&s, "goal:")->title, "goal: 1/4 = 90") != 0; i++)
        set(&s, "goal:", 1);
    set(&s, "steps:", -1); /* by ten beats */
    set(&s, "clean in a row", -1);
    assert_string_equal(row(&s, "steps:")->title, "steps: 10 beats a minute");
    assert_string_equal(row(&s, "clean in a row")->title, "clean in a row to go up: 2");
    return s;
}

static inline void start(Stand *s)
{
    shelf.stand = s;
    act(s, ACTION_LADDER_SWITCH);
    assert_int_equal(turn(s)->screen, SCREEN_PRACTICE);
    assert_true(practice_model(s->p)->ladder.on);
    act(s, ACTION_GO);
    run_until(s, RUN_PLAYING);
}

static inline void until_kept(Stand *s, uint64_t count)
{
    shelf.stand = s;
    for (int turns = 0; shelf.count < count; turns++) {
        assert_true(turns < 400000);
        turn(s);
    }
}

static inline int64_t number(const Repetition *r)
{
    assert_int_equal(r->tempo.per_minute.den, 1);
    return r->tempo.per_minute.num;
}

#endif
