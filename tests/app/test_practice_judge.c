/* Judging: which repetition a press is for, and what is handed to the record. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "climb.h"
#include "evenhand/drill/timeline.h"

#include <stdlib.h>
#include <string.h>

/* A press in the first moments is for the one before: it is judged anew, and the tempo after the
 * one that is heard follows from it. */
static void a_late_press_is_for_the_one_before(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 2);
    while (practice_model(s.p)->now != 0)
        turn(&s);
    assert_string_equal(practice_model(s.p)->tempo, "1/4 = 70");
    act(&s, ACTION_MISSED);
    assert_false(shelf.kept[1].clean);
    assert_false(turn(&s)->judge.told);
    until_kept(&s, 5);
    assert_int_equal(number(&shelf.kept[2]), 70); /* it plays already */
    assert_int_equal(number(&shelf.kept[3]), 60);
    assert_true(shelf.kept[2].clean);
    act(&s, ACTION_GO);
    stand_free(&s);
}

/* Pressed when the repetition is judged already, a moment before its end: the next one follows
 * from the second thought. */
static void a_second_thought_before_the_end(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 2);
    assert_string_equal(practice_model(s.p)->tempo, "1/4 = 60"); /* it still plays */
    act(&s, ACTION_MISSED);
    assert_false(shelf.kept[1].clean);
    assert_string_equal(practice_model(s.p)->message, "The one before counts missed.");
    until_kept(&s, 4);
    assert_int_equal(number(&shelf.kept[2]), 60);
    assert_int_equal(number(&shelf.kept[3]), 60);
    act(&s, ACTION_GO);
    stand_free(&s);
}

/* The last repetition of all may be told missed when it is over: nothing follows that would need
 * to be quicker than the player. Started again, the ladder goes on from where that leads, in the
 * same drill. */
static void the_last_one_may_be_missed_after_its_end(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    act(&s, ACTION_NEXT);
    run_until(&s, RUN_FINISHED);
    uint64_t last = shelf.count - 1;
    int step = turn(&s)->step;
    assert_int_equal(step, 2);
    assert_true(shelf.kept[last].clean && practice_model(s.p)->ladder.done);
    act(&s, ACTION_MISSED);
    assert_string_equal(practice_model(s.p)->message, "The one before counts missed.");
    assert_false(shelf.kept[last].clean);
    assert_false(turn(&s)->ladder.done);
    act(&s, ACTION_GO);
    until_kept(&s, last + 2);
    assert_int_equal(number(&shelf.kept[last + 1]), 90);
    assert_int_equal(practice_model(s.p)->step, step);
    assert_string_equal(shelf.kept[last + 1].drill, shelf.kept[last].drill);
    stand_free(&s);
}

/* Begun anew with a count-in, there is nothing before its first note that a press could mean. */
static void a_fresh_start_has_nothing_before_it(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 1);
    act(&s, ACTION_AGAIN);
    run_until(&s, RUN_COUNT_IN);
    run_until(&s, RUN_PLAYING);
    act(&s, ACTION_MISSED);
    assert_string_equal(practice_model(s.p)->message, "This one counts missed.");
    until_kept(&s, 2);
    assert_true(shelf.kept[0].clean);
    assert_false(shelf.kept[1].clean);
    stand_free(&s);
}

/* A verdict that the record does not take is not told as if it had. */
static void a_verdict_that_is_not_kept_is_told(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 1);
    shelf.keeps_verdicts = true;
    act(&s, ACTION_MISSED);
    assert_string_equal(practice_model(s.p)->message,
        "The one before counts missed; the record has no room for that and keeps it as clean.");
    assert_true(practice_model(s.p)->message_warns);
    stand_free(&s);
}

static void pressed_twice_is_not_pressed(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    while (practice_model(s.p)->now != 5)
        turn(&s);
    act(&s, ACTION_PEDAL_BACK); /* the pedal's other half does the same while a ladder stands */
    assert_true(turn(&s)->judge.told);
    act(&s, ACTION_MISSED);
    assert_false(turn(&s)->judge.told);
    until_kept(&s, 3);
    assert_true(shelf.kept[0].clean);
    assert_int_equal(number(&shelf.kept[2]), 70);
    stand_free(&s);
}

/* The other way round: missed unless told. */
static void strict_judging(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    set(&s, "each counts", 1);
    assert_non_null(strstr(row(&s, "each counts")->title, "missed unless"));
    start(&s);
    until_kept(&s, 3);
    for (int i = 0; i < 3; i++) {
        assert_false(shelf.kept[i].clean);
        assert_int_equal(number(&shelf.kept[i]), 60);
    }
    for (uint64_t told = 3; told < 5; told++) {
        while (practice_model(s.p)->now != 6)
            turn(&s);
        act(&s, ACTION_MISSED);
        until_kept(&s, told + 1);
        assert_true(shelf.kept[told].clean);
        while (practice_model(s.p)->now == 6)
            turn(&s);
    }
    until_kept(&s, 6);
    assert_int_equal(number(&shelf.kept[5]), 70);
    stand_free(&s);
}

/* Without a ladder every repetition of every drill is judged and kept, too, and one that a pause
 * broke is not. */
static void every_repetition_is_kept(void **state)
{
    (void)state;
    Stand s = stand_with_record("presets/01-first-crossing.abc");
    shelf.stand = &s;
    act(&s, ACTION_GO);
    run_until(&s, RUN_FINISHED);
    const Model *m = practice_model(s.p);
    assert_int_equal(shelf.count, (uint64_t)m->steps * (uint64_t)m->repetitions);
    assert_int_equal(m->judge.count, shelf.count);
    assert_string_equal(shelf.kept[0].drill, "plain");
    assert_string_not_equal(shelf.kept[2].drill, "plain");
    uint64_t before = shelf.count;
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    while (practice_model(s.p)->now != 3)
        turn(&s);
    act(&s, ACTION_GO); /* pause */
    for (int i = 0; i < 50; i++)
        turn(&s);
    act(&s, ACTION_GO);
    until_kept(&s, before + 1);
    assert_true(practice_model(s.p)->repetition == 2 || shelf.count == before + 1);
    stand_free(&s);
}

/* The model tells what is safely written, and that something is on its way. */
static void what_is_written_is_told(void **state)
{
    (void)state;
    Stand s = stand_with_record("presets/01-first-crossing.abc");
    shelf.stand = &s;
    act(&s, ACTION_GO);
    until_kept(&s, 2);
    const ModelJudge *j = &turn(&s)->judge;
    assert_true(j->kept && !j->recorded && j->written == 0);
    practice_recorded(s.p, 1, 0, true);
    turn(&s);
    assert_true(!j->recorded && j->written == 1);
    practice_recorded(s.p, 2, 0, false);
    turn(&s);
    assert_true(j->recorded && j->written == 2);
    practice_recorded(s.p, 2, 0, true); /* another verdict on the second */
    turn(&s);
    assert_true(!j->recorded && j->written == 2);
    stand_free(&s);
}

/* A record that takes nothing more does not stop anybody. */
static void a_full_record_stops_nothing(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    shelf.refuses = true;
    start(&s);
    run_until(&s, RUN_FINISHED);
    assert_int_equal(turn(&s)->judge.count, 10);
    stand_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_late_press_is_for_the_one_before),
        cmocka_unit_test(a_second_thought_before_the_end),
        cmocka_unit_test(the_last_one_may_be_missed_after_its_end),
        cmocka_unit_test(a_fresh_start_has_nothing_before_it),
        cmocka_unit_test(a_verdict_that_is_not_kept_is_told),
        cmocka_unit_test(pressed_twice_is_not_pressed),
        cmocka_unit_test(strict_judging),
        cmocka_unit_test(every_repetition_is_kept),
        cmocka_unit_test(what_is_written_is_told),
        cmocka_unit_test(a_full_record_stops_nothing),
    };
    return cmocka_run_group_tests_name("practice_judge", tests, NULL, NULL);
}
