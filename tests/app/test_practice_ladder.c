/* The ladder beside the drill: what is heard next after clean and missed repetitions, on the frame.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "climb.h"
#include "evenhand/drill/timeline.h"

#include <stdlib.h>
#include <string.h>

/* Clean twice: up. Missed: down. All the way to one above the goal, and then it ends. */
static void up_when_clean_down_after_a_miss(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/01-first-crossing.abc");
    start(&s);
    until_kept(&s, 2); /* 60 60 */
    run_until(&s, RUN_PLAYING);
    until_kept(&s, 3); /* 70 */
    while (practice_model(s.p)->judge.count == 3 && practice_model(s.p)->now != 2)
        turn(&s); /* well into the fourth: a press is for it */
    for (int i = 0; i < RATE * 2 / BLOCK; i++)
        turn(&s);
    act(&s, ACTION_MISSED);
    assert_true(turn(&s)->judge.told);
    until_kept(&s, 4);
    static const int64_t then[] = {60, 60, 70, 70, 60, 60, 70, 70, 80, 80, 90, 90, 100, 100};
    enum { THEN = sizeof then / sizeof then[0] };
    run_until(&s, RUN_FINISHED);
    assert_int_equal(shelf.count, THEN);
    for (int i = 0; i < THEN; i++) {
        assert_int_equal(number(&shelf.kept[i]), then[i]);
        assert_int_equal(shelf.kept[i].clean, i != 3);
        assert_string_equal(shelf.kept[i].drill, "plain");
        assert_string_equal(shelf.kept[i].passage, practice_model(s.p)->title);
    }
    assert_true(turn(&s)->ladder.done);
    stand_free(&s);
}

/* Each repetition begins on the frame where the one before ends: no rest, no count-in, no gap. The
 * passage is eight crotchets, clicked one by one, at 60 60 70 70 80 80 90 90 100 100: each click of
 * the whole climb is held against the exact sum of what lies before it, rounded as each timeline
 * rounds its length. */
static void no_stop_between_tempos(void **state)
{
    (void)state;
    enum { COUNT_IN = 4, NOTES = 8, TIMES = 10 };
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    run_until(&s, RUN_FINISHED);
    int64_t begin = 0, first = -1;
    int click = 0;
    for (size_t i = 0; i < s.count; i++) {
        if (!is_click(s.heard, s.count, i) || click++ < COUNT_IN)
            continue;
        int note = click - 1 - COUNT_IN, in = note % NOTES;
        Tempo tempo_now = tempo(ratio_int(1), ratio_int(60 + 10 * (note / NOTES / 2)));
        first = first < 0 ? (int64_t)i : first;
        if (in == 0 && note > 0) {
            Tempo before = tempo(ratio_int(1), ratio_int(60 + 10 * ((note - 1) / NOTES / 2)));
            begin += tempo_frame(before, ratio_int(NOTES), RATE);
        }
        int64_t wanted = first + begin + tempo_frame(tempo_now, ratio_int(in), RATE);
        assert_int_equal((int64_t)i, wanted);
    }
    assert_int_equal(click, COUNT_IN + TIMES * NOTES);
    stand_free(&s);
}

/* Handed to the record before the next one begins. */
static void recorded_before_the_next_begins(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 1);
    int64_t heard = (int64_t)shelf.at[0] - LATENCY, end = 0;
    for (size_t i = 0, clicks = 0; i < s.count && clicks < 5; i++)
        if (is_click(s.heard, s.count, i) && ++clicks == 5)
            end = (int64_t)i + 8 * RATE; /* eight crotchets at 60 */
    assert_true(end > 0);
    assert_true(heard < end && heard > end - RATE);
    stand_free(&s);
}

/* The sound goes on for so long, and nobody looks. */
static void stand_still(Stand *s, int seconds)
{
    static float unseen[BLOCK];
    for (int i = 0; i < seconds * RATE / BLOCK; i++) {
        engine_render(s->engine, unseen, BLOCK);
        s->count += BLOCK;
    }
    free(s->heard);
    s->room = s->count + (1 << 16);
    s->heard = calloc(s->room, sizeof *s->heard);
    assert_non_null(s->heard);
}

/* A console that stands still over an end judges what was played meanwhile, and knows where on
 * the ladder that has led: begun anew, it goes on from there and from nowhere else. */
static void standing_still_loses_nothing(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    while (practice_model(s.p)->now != 5)
        turn(&s);
    assert_int_equal(shelf.count, 0);
    stand_still(&s, 5); /* two of them in the second repetition */
    turn(&s);
    assert_true(practice_running(s.p));
    assert_int_equal(shelf.count, 1);
    act(&s, ACTION_AGAIN);
    until_kept(&s, 3);
    assert_int_equal(number(&shelf.kept[0]), 60);
    assert_int_equal(number(&shelf.kept[1]), 60);
    assert_int_equal(number(&shelf.kept[2]), 70);
    stand_free(&s);
}

/* Longer than the one repetition that is queued: then it begins late. */
static void standing_still_for_long_goes_on(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 1);
    stand_still(&s, 9); /* the second lasts 8 */
    turn(&s);
    assert_true(practice_running(s.p));
    until_kept(&s, 3);
    assert_int_equal(number(&shelf.kept[1]), 60);
    assert_int_equal(number(&shelf.kept[2]), 70);
    stand_free(&s);
}

/* Over the end of all: the last repetition is judged, too. */
static void standing_still_over_the_end(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 9);
    while (practice_model(s.p)->now != 2)
        turn(&s);
    assert_int_equal(shelf.count, 9);
    stand_still(&s, 12);
    assert_int_equal(turn(&s)->run, RUN_FINISHED);
    assert_int_equal(shelf.count, 10);
    assert_int_equal(number(&shelf.kept[9]), 100);
    assert_true(practice_model(s.p)->ladder.done);
    stand_free(&s);
}

/* evenhand practice --from ... --to ...: it stands when the console opens. */
static void the_command_line_puts_it_up(void **state)
{
    (void)state;
    char *words[] = {"evenhand", "practice", "presets/02-one-octave-up.abc", "--from", "60", "--to",
        "90", "--by", "10", "--clean", "2"};
    char *wrong[] = {
        "evenhand", "practice", "presets/02-one-octave-up.abc", "--from", "90", "--to", "60"};
    Options o;
    Error error = {0};
    assert_true(options_parse(sizeof words / sizeof words[0], words, &o, &error));
    Practice *p = practice_new(&o, true, &error);
    assert_non_null(p);
    const Model *m = practice_model(p);
    assert_true(m->ladder.on);
    assert_string_equal(m->tempo, "1/4 = 60");
    assert_int_equal(m->ladder.rungs, 5);
    assert_int_equal(m->ladder.goal, 4);
    assert_string_equal(m->ladder.if_clean, "60 again");
    practice_free(p);
    assert_true(options_parse(sizeof wrong / sizeof wrong[0], wrong, &o, &error));
    assert_null(practice_new(&o, true, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(up_when_clean_down_after_a_miss),
        cmocka_unit_test(no_stop_between_tempos),
        cmocka_unit_test(recorded_before_the_next_begins),
        cmocka_unit_test(standing_still_loses_nothing),
        cmocka_unit_test(standing_still_for_long_goes_on),
        cmocka_unit_test(standing_still_over_the_end),
        cmocka_unit_test(the_command_line_puts_it_up),
    };
    return cmocka_run_group_tests_name("practice_ladder", tests, NULL, NULL);
}
