/* Keys at any moment: drills shaped, numbers changed in mid-drill, a console that stood still. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "stand.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Accents and rhythms combine; all of it from the keyboard. */
static void drills_are_shaped_by_keys(void **state)
{
    (void)state;
    Stand s = stand_of("presets/02-one-octave-up.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_NEXT);
    act(&s, ACTION_RHYTHM);
    const Model *m = turn(&s);
    assert_non_null(strstr(m->drill, "all the 4s"));
    assert_non_null(strstr(m->drill, "long-short 3:1"));
    for (int i = 0; i < m->note_count; i++) {
        assert_int_equal(m->notes[i].length, i % 2 == 0 ? 1 : -1);
        assert_int_equal(m->notes[i].accent, m->notes[i].finger == 4);
    }
    act(&s, ACTION_RATIO);
    assert_non_null(strstr(turn(&s)->drill, "long-short 2:1"));
    int before = m->seconds_left;
    act(&s, ACTION_TIMING); /* short notes at the goal speed: it takes longer */
    assert_true(turn(&s)->seconds_left > before);
    static const char *const then[] = {"short-long", "first of three", "second of three",
        "third of three", "first of four", "second of four", "third of four", "fourth of four"};
    for (size_t i = 0; i < sizeof then / sizeof then[0]; i++) {
        act(&s, ACTION_RHYTHM);
        assert_non_null(strstr(turn(&s)->drill, then[i]));
    }
    act(&s, ACTION_RHYTHM);
    assert_null(strstr(turn(&s)->drill, "of four"));
    act(&s, ACTION_DRILLS);
    int times = m->repetitions;
    act(&s, ACTION_MORE);
    assert_int_equal(turn(&s)->repetitions, times + 1);
    stand_free(&s);
}

static void strong_beats_and_steps_by_keys(void **state)
{
    (void)state;
    Stand s = stand_of("presets/08-two-octaves.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_NEXT);
    act(&s, ACTION_NEXT);
    static const char *const patterns[] = {"1 alone", "every one", "the even ones", "by the metre"};
    for (int i = 0; i < 4; i++) {
        act(&s, ACTION_BEATS);
        assert_non_null(strstr(practice_model(s.p)->message, patterns[i]));
        assert_int_equal(turn(&s)->run, RUN_READY);
        assert_int_equal(practice_model(s.p)->step, 3); /* it stays where it was */
    }
    for (int i = 0; i < 5; i++)
        act(&s, ACTION_SUBDIVIDE);
    assert_non_null(strstr(practice_model(s.p)->message, "commonest note"));
    stand_free(&s);
}

/* A drill that the session leaves out can be chosen; after it nothing follows. */
static void single_drills_end_by_themselves(void **state)
{
    (void)state;
    Stand s = stand_of("presets/01-first-crossing.abc");
    practice_attach(s.p, s.engine);
    const Model *m = choose_drill(&s, "fourth of four");
    assert_string_equal(m->next, "");
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    run_until(&s, RUN_FINISHED);
    stand_free(&s);
}

/* Renders without looking, as when the terminal is stopped. */
static void stand_still(Stand *s, int seconds)
{
    static float unseen[BLOCK];
    for (int i = 0; i < seconds * RATE / BLOCK; i++) {
        engine_render(s->engine, unseen, BLOCK);
        s->count += BLOCK;
    }
    s->room = 0; /* samples were left out: begin the record again */
    free(s->heard);
    s->heard = NULL;
    s->room = s->count + (1 << 16);
    s->heard = calloc(s->room, sizeof *s->heard);
    assert_non_null(s->heard);
}

static void a_console_that_stood_still_goes_on(void **state)
{
    (void)state;
    Stand s = stand_of("presets/01-first-crossing.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    stand_still(&s, 60); /* two steps and more: the engine has nothing left */
    turn(&s);
    assert_true(practice_running(s.p));
    run_until(&s, RUN_PLAYING);
    int step = practice_model(s.p)->step;
    assert_true(step >= 2);
    while (practice_model(s.p)->step == step) {
        turn(&s);
        assert_true(practice_running(s.p));
    }
    stand_free(&s);
}

static void repetitions_and_tempo_changed_together(void **state)
{
    (void)state;
    Stand s = stand_of("presets/01-first-crossing.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    act(&s, ACTION_DRILLS);
    act(&s, ACTION_MORE);
    act(&s, ACTION_BACK);
    for (int i = 0; i < 12; i++)
        act(&s, ACTION_TEMPO_UP_NUMBER);        /* 60 to 96 */
    assert_int_equal(turn(&s)->repetitions, 2); /* what plays keeps its number */
    while (turn(&s)->repetition < 2)
        assert_true(s.count < (size_t)RATE * 60);
    size_t from = s.count;
    while (turn(&s)->run == RUN_PLAYING)
        assert_true(s.count < from + (size_t)RATE * 60);
    double seconds = (double)(s.count - from) / RATE;
    assert_true(seconds < 8 * 60.0 / 90); /* eight beats at 96, not at 60 */
    act(&s, ACTION_AGAIN);
    run_until(&s, RUN_COUNT_IN);
    run_until(&s, RUN_PLAYING);
    assert_int_equal(practice_model(s.p)->repetitions, 3);
    stand_free(&s);
}

static void fewer_repetitions_in_a_pause(void **state)
{
    (void)state;
    Stand s = stand_of("presets/01-first-crossing.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_GO);
    while (turn(&s)->repetition < 2)
        assert_true(s.count < (size_t)RATE * 60);
    act(&s, ACTION_GO);
    turn(&s);
    act(&s, ACTION_DRILLS);
    act(&s, ACTION_LESS);
    act(&s, ACTION_BACK);
    act(&s, ACTION_GO);
    run_until(&s, RUN_COUNT_IN);
    run_until(&s, RUN_PLAYING);
    assert_int_equal(practice_model(s.p)->repetition, 1);
    assert_int_equal(practice_model(s.p)->repetitions, 1);
    stand_free(&s);
}

static void other_beats_keep_tempo_and_repetitions(void **state)
{
    (void)state;
    Stand s = stand_of("presets/02-one-octave-up.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_TEMPO_UP);
    act(&s, ACTION_DRILLS);
    act(&s, ACTION_MORE);
    act(&s, ACTION_BACK);
    act(&s, ACTION_BEATS);
    const Model *m = turn(&s);
    assert_string_equal(m->tempo, "1/4 = 67");
    assert_int_equal(m->repetitions, 3);
    stand_free(&s);
}

static void the_last_screen_shows_the_last_drill(void **state)
{
    (void)state;
    Stand s = stand_of("presets/01-first-crossing.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_NEXT);
    act(&s, ACTION_GO);
    run_until(&s, RUN_FINISHED);
    const Model *m = turn(&s);
    assert_int_equal(m->step, m->steps); /* plain: the strong beats */
    for (int i = 0; i < m->note_count; i++)
        assert_int_equal(m->notes[i].accent, m->notes[i].on_strong);
    stand_free(&s);
}

static void guide_tones_come_in_while_playing(void **state)
{
    (void)state;
    Stand s = stand_of("presets/02-one-octave-up.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_LAYER_NOTES);
    act(&s, ACTION_LAYER_ACCENT);
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    for (int i = 0; i < RATE / BLOCK; i++)
        turn(&s); /* the count-in has rung out */
    double quiet = 0, loud = 0;
    for (int i = 0; i < RATE / BLOCK; i++) {
        turn(&s);
        quiet += fabs((double)s.heard[s.count - 1]);
    }
    act(&s, ACTION_LAYER_GUIDE);
    for (int i = 0; i < 3 * RATE / BLOCK; i++) {
        turn(&s);
        loud += fabs((double)s.heard[s.count - 1]);
    }
    assert_true(quiet < 0.01);
    assert_true(loud > 0.5);
    stand_free(&s);
}

/* Any keys at any moment: nothing is lost for good, and it plays on afterwards. */
static void a_storm_of_keys(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 12; seed++) {
        Random r = {.state = seed * 7919};
        Stand s = stand_of("presets/10-with-a-pickup.abc");
        practice_attach(s.p, s.engine);
        for (int i = 0; i < 1500; i++) {
            Action action = (Action)random_between(&r, ACTION_GO, ACTION_KINDS - 1);
            if (action != ACTION_QUIT && action != ACTION_AUDIO)
                act(&s, action);
            for (int k = random_between(&r, 0, 3) == 0 ? random_between(&r, 0, 400) : 0; k > 0; k--)
                turn(&s);
        }
        while (practice_model(s.p)->screen != SCREEN_PRACTICE)
            act(&s, ACTION_BACK);
        if (practice_running(s.p))
            act(&s, ACTION_GO);
        for (int i = 0; i < RATE / BLOCK; i++)
            turn(&s);
        act(&s, ACTION_GO);
        run_until(&s, RUN_PLAYING);
        assert_int_equal(engine_refused(s.engine), 0);
        stand_free(&s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(drills_are_shaped_by_keys),
        cmocka_unit_test(strong_beats_and_steps_by_keys),
        cmocka_unit_test(single_drills_end_by_themselves),
        cmocka_unit_test(a_console_that_stood_still_goes_on),
        cmocka_unit_test(repetitions_and_tempo_changed_together),
        cmocka_unit_test(fewer_repetitions_in_a_pause),
        cmocka_unit_test(other_beats_keep_tempo_and_repetitions),
        cmocka_unit_test(the_last_screen_shows_the_last_drill),
        cmocka_unit_test(guide_tones_come_in_while_playing),
        cmocka_unit_test(a_storm_of_keys),
    };
    return cmocka_run_group_tests_name("practice keys", tests, NULL, NULL);
}
