/* practice_stand.h - what the tests of the practice share: an engine rendered here, frame by frame,
 * and a listener who is LATENCY frames behind. Include cmocka.h first. */
#ifndef EVENHAND_TESTS_PRACTICE_STAND_H
#define EVENHAND_TESTS_PRACTICE_STAND_H

#include "evenhand/app/load.h"
#include "evenhand/app/practice.h"

#include <stdlib.h>
#include <string.h>

enum { RATE = 8000, LATENCY = 800, BLOCK = 40 };

typedef struct {
    Practice *p;
    Engine *engine;
    VoiceBank *voices;
    Options options;
    float *heard; /* all samples so far */
    size_t count, room;
} Stand;

static inline Stand stand_of(const char *file)
{
    Stand s = {.options = options_default()};
    Error error = {0};
    s.options.file = file;
    s.options.rate = RATE;
    s.options.mix.on[LAYER_PULSE] = false; /* only count-ins, notes and accents click */
    s.options.mix.on[LAYER_ANNOUNCE] = false;
    s.options.mix.master = 0;
    s.p = practice_new(&s.options, false, &error);
    assert_non_null(s.p);
    s.voices = voices_load("sounds", NULL, RATE, &error);
    assert_non_null(s.voices);
    s.engine = engine_new(s.voices, &s.options.mix, &error);
    assert_non_null(s.engine);
    return s;
}

static inline void stand_free(Stand *s)
{
    practice_free(s->p);
    engine_free(s->engine);
    voices_free(s->voices);
    free(s->heard);
}

static inline const Model *look(Stand *s, int64_t frame)
{
    practice_tick(s->p, frame, frame * 1000 / RATE);
    return practice_model(s->p);
}

/* Renders one block and looks at what a listener LATENCY frames behind would see. */
static inline const Model *turn(Stand *s)
{
    if (s->count + BLOCK > s->room) {
        s->room = s->room == 0 ? 1 << 16 : s->room * 2;
        s->heard = realloc(s->heard, s->room * sizeof *s->heard);
        assert_non_null(s->heard);
    }
    engine_render(s->engine, s->heard + s->count, BLOCK);
    s->count += BLOCK;
    return look(s, (int64_t)s->count - LATENCY);
}

static inline void act(Stand *s, Action action)
{
    assert_true(practice_act(s->p, action, (int64_t)s->count * 1000 / RATE));
}

static inline void run_until(Stand *s, RunState state)
{
    for (int turns = 0; turn(s)->run != state; turns++)
        assert_true(turns < 400000);
}

/* Chooses the drill whose title holds these words from the list. */
static inline const Model *choose_drill(Stand *s, const char *words)
{
    const Model *m = turn(s);
    int wanted = 0;
    while (wanted < m->drills.count && strstr(m->drills.items[wanted].title, words) == NULL)
        wanted++;
    assert_true(wanted < m->drills.count);
    act(s, ACTION_DRILLS);
    while (practice_model(s->p)->drills.cursor != wanted)
        act(s, practice_model(s->p)->drills.cursor < wanted ? ACTION_DOWN : ACTION_UP);
    act(s, ACTION_CHOOSE);
    m = turn(s);
    for (int turns = 0; strstr(m->drill, words) == NULL; turns++, m = turn(s))
        assert_true(turns < 400); /* while playing, from where it is heard */
    return m;
}

#endif
