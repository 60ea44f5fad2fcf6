/* The practice without terminal or device: what the model says is held against the clicks in the
 * rendered sound. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/load.h"
#include "stand.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What is lit is what the listener hears: on the very frame of each click, and not before. */
static void what_is_lit_is_what_sounds(void **state)
{
    (void)state;
    Stand s = stand_of("presets/04-up-and-turn.abc");
    Error error = {0};
    Loaded l;
    assert_true(load_passage(s.options.file, &s.options, &l, &error));
    practice_attach(s.p, s.engine);
    act(&s, ACTION_GO);
    size_t checked = 0, looked_to = 0;
    int expected = -1;
    while (checked < 40) {
        turn(&s);
        assert_true(s.count < (size_t)RATE * 120);
        size_t until = s.count > LATENCY / 2 ? s.count - LATENCY / 2 : 0;
        for (size_t frame = looked_to; frame < until; frame++) {
            if (!is_click(s.heard, s.count, frame))
                continue;
            RunState before = look(&s, (int64_t)frame - 1)->run;
            int row_before = practice_model(s.p)->now;
            const Model *m = look(&s, (int64_t)frame);
            if (m->run != RUN_PLAYING)
                continue; /* count-in clicks light no note */
            assert_int_equal(row_before, before == RUN_PLAYING ? expected : -1);
            expected = m->repetitions > 0 && expected + 1 < m->note_count ? expected + 1 : 0;
            assert_int_equal(m->now, expected);
            assert_int_equal(m->notes[m->now].finger, l.fingering.notes[expected].finger);
            assert_int_equal(m->notes[m->now].group, l.fingering.notes[expected].group);
            assert_int_equal(m->now_accent, m->notes[m->now].accent);
            checked++;
        }
        looked_to = until > looked_to ? until : looked_to;
    }
    loaded_free(&l);
    stand_free(&s);
}

static void one_key_from_count_in_to_the_end(void **state)
{
    (void)state;
    Stand s = stand_of("presets/01-first-crossing.abc");
    practice_attach(s.p, s.engine);
    assert_int_equal(practice_model(s.p)->run, RUN_READY);
    act(&s, ACTION_GO);
    int step = 1, seconds = practice_model(s.p)->seconds_left;
    const Model *m = practice_model(s.p);
    while (m->run != RUN_FINISHED) {
        m = turn(&s);
        assert_true(m->step == step || m->step == step + 1); /* none is left out */
        step = m->step;
        assert_true(m->seconds_left <= seconds + 1);
        seconds = m->seconds_left;
        assert_true(s.count < (size_t)RATE * 600);
    }
    assert_int_equal(step, m->steps);
    assert_int_equal(seconds, 0);
    assert_false(practice_running(s.p));
    act(&s, ACTION_GO); /* and again from the beginning */
    assert_int_equal(turn(&s)->step, 1);
    stand_free(&s);
}

static void a_pause_goes_on_at_the_repetition_with_a_count_in(void **state)
{
    (void)state;
    Stand s = stand_of("presets/02-one-octave-up.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_GO);
    while (turn(&s)->repetition < 2)
        assert_true(s.count < (size_t)RATE * 120);
    for (int i = 0; i < 100; i++)
        turn(&s);
    int lit = practice_model(s.p)->now;
    act(&s, ACTION_GO);
    for (int i = 0; i < 200; i++) {
        const Model *m = turn(&s);
        assert_int_equal(m->run, RUN_PAUSED);
        assert_int_equal(m->now, lit); /* the screen stays where the player stopped */
        if (i > 60)
            assert_true(fabsf(s.heard[s.count - 1]) < 1e-6F);
    }
    act(&s, ACTION_GO);
    run_until(&s, RUN_COUNT_IN);
    run_until(&s, RUN_PLAYING);
    assert_int_equal(practice_model(s.p)->repetition, 2);
    assert_int_equal(practice_model(s.p)->step, 1);
    run_until(&s, RUN_REST);
    stand_free(&s);
}

/* In a long passage it goes on from the bar where the hand was last placed. */
static void a_pause_goes_on_where_it_was(void **state)
{
    (void)state;
    Stand s = stand_of("presets/19-octaves-both-hands.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_GO);
    while (turn(&s)->now < 70)
        assert_true(s.count < (size_t)RATE * 120);
    const Model *m = practice_model(s.p);
    int bar = m->notes[m->now].bar, group = m->notes[m->now].group;
    act(&s, ACTION_GO);
    turn(&s);
    act(&s, ACTION_GO);
    run_until(&s, RUN_COUNT_IN);
    turn(&s);
    assert_int_equal(practice_model(s.p)->repetition, 1);
    run_until(&s, RUN_PLAYING);
    for (int i = 0; practice_model(s.p)->now < 0; i++) {
        turn(&s);
        assert_true(i < 100);
    }
    int now = practice_model(s.p)->now;
    assert_true(now > 40);
    assert_true(m->notes[now].bar == bar || m->notes[now].bar == bar - 1);
    assert_true(m->notes[now].group <= group);
    while (turn(&s)->repetition < 2) /* and the next repetition is whole */
        assert_true(s.count < (size_t)RATE * 300);
    assert_int_equal(practice_model(s.p)->now, 0);
    stand_free(&s);
}

static void tempo_keys_change_every_step(void **state)
{
    (void)state;
    Stand s = stand_of("presets/02-one-octave-up.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    int before = practice_model(s.p)->seconds_left;
    for (int i = 0; i < 11; i++)
        act(&s, ACTION_TEMPO_UP_NUMBER);
    assert_string_equal(look(&s, (int64_t)s.count - LATENCY)->tempo, "1/4 = 108");
    assert_true(practice_model(s.p)->seconds_left < before);
    while (turn(&s)->step < 2)
        assert_true(s.count < (size_t)RATE * 60);
    assert_string_equal(practice_model(s.p)->tempo, "1/4 = 108");
    act(&s, ACTION_TEMPO_DOWN);
    turn(&s);
    assert_string_equal(practice_model(s.p)->tempo, "1/4 = 107");
    /* clicks of the next repetition lie a beat apart at 107: 4485.98 frames */
    run_until(&s, RUN_PLAYING);
    size_t from = s.count + RATE;
    while (s.count < from + 6 * RATE)
        turn(&s);
    int64_t last = -1;
    int spaced = 0;
    for (size_t i = from; i + LATENCY < s.count; i++)
        if (is_click(s.heard, s.count, i)) {
            if (last >= 0 && practice_model(s.p)->run == RUN_PLAYING)
                spaced +=
                    llabs((int64_t)i - last - 4486) <= 1 || llabs((int64_t)i - last - 2243) <= 1;
            last = (int64_t)i;
        }
    assert_true(spaced >= 3);
    stand_free(&s);
}

static void variants_by_key(void **state)
{
    (void)state;
    Stand s = stand_of("presets/02-one-octave-up.abc");
    act(&s, ACTION_PREVIOUS);
    turn(&s);
    assert_non_null(strstr(practice_model(s.p)->message, "first"));
    practice_attach(s.p, s.engine);
    act(&s, ACTION_NEXT);
    assert_int_equal(turn(&s)->step, 2);
    assert_int_equal(practice_model(s.p)->run, RUN_READY); /* chosen, not begun */
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    act(&s, ACTION_NEXT);
    run_until(&s, RUN_COUNT_IN);
    run_until(&s, RUN_PLAYING);
    assert_int_equal(practice_model(s.p)->step, 3);
    act(&s, ACTION_AGAIN);
    run_until(&s, RUN_COUNT_IN);
    run_until(&s, RUN_PLAYING);
    assert_int_equal(practice_model(s.p)->step, 3);
    while (turn(&s)->step == 3)
        assert_true(s.count < (size_t)RATE * 120);
    assert_int_equal(practice_model(s.p)->step, 4);
    stand_free(&s);
}

static void rows_carry_the_accents_of_the_drill(void **state)
{
    (void)state;
    Stand s = stand_of("presets/02-one-octave-up.abc");
    practice_attach(s.p, s.engine);
    for (int finger = 4; finger >= 1; finger--) {
        act(&s, ACTION_NEXT);
        const Model *m = turn(&s);
        for (int i = 0; i < m->note_count; i++)
            assert_int_equal(m->notes[i].accent, m->notes[i].finger == finger);
    }
    stand_free(&s);
}

static void lists_choose(void **state)
{
    (void)state;
    Stand s = stand_of("presets/02-one-octave-up.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_DRILLS);
    for (int i = 0; i < 3; i++)
        act(&s, ACTION_DOWN);
    act(&s, ACTION_CHOOSE);
    assert_int_equal(turn(&s)->step, 4);
    assert_int_equal(practice_model(s.p)->screen, SCREEN_PRACTICE);
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    act(&s, ACTION_PASSAGES);
    const Model *m = turn(&s);
    assert_true(m->passages.count >= 14);
    assert_int_equal(m->run, RUN_PLAYING); /* looking at a list stops nothing */
    char title[MODEL_TEXT_MAX];
    act(&s, ACTION_DOWN);
    snprintf(
        title, sizeof title, "%s", m->passages.items[practice_model(s.p)->passages.cursor].title);
    act(&s, ACTION_CHOOSE);
    m = turn(&s);
    assert_string_equal(m->title, title);
    assert_int_equal(m->run, RUN_READY);
    assert_int_equal(m->step, 1);
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    stand_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_lit_is_what_sounds),
        cmocka_unit_test(one_key_from_count_in_to_the_end),
        cmocka_unit_test(a_pause_goes_on_at_the_repetition_with_a_count_in),
        cmocka_unit_test(a_pause_goes_on_where_it_was),
        cmocka_unit_test(tempo_keys_change_every_step),
        cmocka_unit_test(variants_by_key),
        cmocka_unit_test(rows_carry_the_accents_of_the_drill),
        cmocka_unit_test(lists_choose),
    };
    return cmocka_run_group_tests_name("practice", tests, NULL, NULL);
}
