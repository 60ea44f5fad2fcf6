#include "stand.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

static Stand stand_with(const char *file, CommandId command)
{
    Stand s = {.options = options_default()};
    Error error = {0};
    s.options.file = file;
    s.options.command = command;
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

Stand stand_of(const char *file)
{
    return stand_with(file, COMMAND_ID_PRACTICE);
}

Stand stand_of_routine(const char *file)
{
    return stand_with(file, COMMAND_ID_ROUTINE);
}

void stand_free(Stand *s)
{
    practice_free(s->p);
    engine_free(s->engine);
    voices_free(s->voices);
    free(s->heard);
}

const Model *look(Stand *s, int64_t frame)
{
    practice_tick(s->p, frame, frame * 1000 / RATE);
    return practice_model(s->p);
}

const Model *turn(Stand *s)
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

void act(Stand *s, Action action)
{
    assert_true(practice_act(s->p, action, (int64_t)s->count * 1000 / RATE));
}

bool is_click(const float *samples, size_t count, size_t at)
{
    const size_t near = RATE * 15 / 1000;
    float size = fabsf(samples[at]);
    if (size < 0.01F || at < near || at + near >= count)
        return false;
    for (size_t i = at - near; i <= at + near; i++)
        if (fabsf(samples[i]) > size || (i < at && fabsf(samples[i]) >= size))
            return false;
    return true;
}

void run_until(Stand *s, RunState state)
{
    for (int turns = 0; turn(s)->run != state; turns++)
        assert_true(turns < 400000);
}

const Model *choose_drill(Stand *s, const char *words)
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
