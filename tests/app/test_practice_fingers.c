/* The screen of fingerings: plans chosen, fingers held and freed, taken back, and the drills after
 * them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "desk.h"
#include "evenhand/app/load.h"

#include <stdio.h>
#include <string.h>

/* What is practised is what the screen says, in the passage and in the drills: every note of the
 * passage, and the accents of each finger that occurs in it. */
static void expect_practised(Stand *s)
{
    const ModelFingers *f = fingers_of(s);
    const ModelNote *plan = f->plans[f->used].notes;
    const Model *m = practice_model(s->p);
    assert_int_equal(m->screen, SCREEN_FINGERS);
    act(s, ACTION_BACK);
    for (int finger = 1; finger <= 4; finger++) {
        char words[24];
        int count = 0, drill = 0;
        snprintf(words, sizeof words, "all the %ds", finger);
        for (int i = 0; i < f->note_count; i++)
            count += plan[i].finger == finger;
        m = turn(s);
        while (drill < m->drills.count && strstr(m->drills.items[drill].title, words) == NULL)
            drill++;
        assert_int_equal(drill<m->drills.count, count> 0);
        if (count == 0)
            continue;
        m = choose_drill(s, words);
        assert_int_equal(m->note_count, f->note_count);
        for (int i = 0; i < f->note_count; i++) {
            assert_int_equal(m->notes[i].finger, plan[i].finger);
            assert_int_equal(m->notes[i].group, plan[i].group);
            assert_int_equal(m->notes[i].accent, plan[i].finger == finger);
        }
    }
    act(s, ACTION_FINGERS);
}

/* What the screen opens with is what was practised: the cheapest of three different plans. */
static void the_plans_are_the_planners(void **state)
{
    (void)state;
    Stand s = stand_of(desk_file);
    Error error = {0};
    Loaded l;
    Fingering plans[MODEL_PLANS_MAX];
    int found;
    assert_true(load_passage(desk_file, &s.options, &l, &error));
    FingeringOptions o = load_fingering_options(&s.options, l.passage);
    assert_true(fingering_plans(l.passage, &o, MODEL_PLANS_MAX, plans, &found, &error));
    turn(&s);
    act(&s, ACTION_FINGERS);
    const ModelFingers *f = fingers_of(&s);
    assert_int_equal(f->plan_count, found);
    assert_int_equal(found, MODEL_PLANS_MAX);
    assert_int_equal(f->used, 0);
    for (int k = 0; k < found; k++) {
        assert_int_equal(f->plans[k].cost, plans[k].cost);
        assert_true(k == 0 || strncmp(f->plans[k].words, "unlike plan 1: ", 15) == 0);
        for (int i = 0; i < f->note_count; i++) {
            assert_int_equal(f->plans[k].notes[i].finger, plans[k].notes[i].finger);
            assert_int_equal(f->fixed[i], 0);
        }
        fingering_free(&plans[k]);
    }
    loaded_free(&l);
    stand_free(&s);
}

static void a_chosen_plan_is_practised(void **state)
{
    (void)state;
    Stand s = stand_of(desk_file);
    practice_attach(s.p, s.engine);
    turn(&s);
    act(&s, ACTION_FINGERS);
    Snapshot first = snapshot(&s);
    expect_practised(&s);
    for (int plan = 2; plan >= 0; plan--) {
        to_plan(&s, plan);
        Snapshot now = snapshot(&s);
        assert_int_equal(now.used, plan);
        assert_int_equal(same_fingers(&first, &now), plan == 0);
        expect_practised(&s);
    }
    for (int i = 0; i < 3; i++)
        act(&s, ACTION_UNDO);
    Snapshot back = snapshot(&s);
    expect_same(&first, &back);
    act(&s, ACTION_UNDO);
    assert_non_null(strstr(practice_model(s.p)->message, "nothing to take back"));
    stand_free(&s);
}

/* The words say what it costs and by how much more. */
static void expect_cost(Stand *s, const Snapshot *before, const Snapshot *now)
{
    char words[80];
    int64_t more = now->cost - before->cost;
    if (more == 0)
        snprintf(words, sizeof words, "cost %d, as before", (int)now->cost);
    else
        snprintf(words, sizeof words, "cost %d, %d %s than before", (int)now->cost,
            (int)(more < 0 ? -more : more), more > 0 ? "more" : "less");
    assert_non_null(strstr(practice_model(s->p)->message, words));
}

static void held_fingers_are_planned_around(void **state)
{
    (void)state;
    Stand s = stand_of(desk_file);
    practice_attach(s.p, s.engine);
    turn(&s);
    act(&s, ACTION_FINGERS);
    Snapshot first = snapshot(&s);
    Snapshot steps[5] = {first};
    static const int notes[] = {3, 7, 12, 3}, fingers[] = {2, 3, 4, 0};
    for (int i = 0; i < 4; i++) {
        hold(&s, notes[i], fingers[i]);
        char message[MODEL_TEXT_MAX];
        snprintf(message, sizeof message, "%s", practice_model(s.p)->message);
        steps[i + 1] = snapshot(&s);
        hold(&s, notes[i], fingers[i]); /* once more changes nothing */
        Snapshot again = snapshot(&s);
        expect_same(&steps[i + 1], &again);
        assert_int_equal(again.fixed[notes[i]], fingers[i]);
        for (int n = 0; n < fingers_of(&s)->note_count; n++)
            assert_true(again.fixed[n] == 0 || again.finger[n] == again.fixed[n]);
        assert_true(fingers_of(&s)->unsaved);
        expect_practised(&s);
        for (int k = 0; k < fingers_of(&s)->plan_count; k++)
            for (int n = 0; n < fingers_of(&s)->note_count; n++)
                assert_true(again.fixed[n] == 0 ||
                            fingers_of(&s)->plans[k].notes[n].finger == again.fixed[n]);
    }
    assert_false(same_fingers(&first, &steps[1]));
    assert_true(steps[1].cost > first.cost && steps[2].cost >= steps[1].cost);
    assert_string_not_equal(first.rotation, steps[3].rotation);
    for (int i = 3; i >= 0; i--) {
        act(&s, ACTION_UNDO);
        expect_cost(&s, &steps[i + 1], &steps[i]);
        Snapshot back = snapshot(&s);
        expect_same(&steps[i], &back);
    }
    assert_false(fingers_of(&s)->unsaved);
    expect_practised(&s);
    stand_free(&s);
}

/* The thumb where the hand goes up and the next finger must be lower breaks a rule: it is
 * honoured, and said. */
static void what_breaks_a_rule_is_said(void **state)
{
    (void)state;
    Stand s = stand_of(desk_file);
    turn(&s);
    act(&s, ACTION_FINGERS);
    assert_string_equal(fingers_of(&s)->finding, "");
    hold(&s, 4, 1);
    hold(&s, 5, 1);
    assert_int_equal(fingers_of(&s)->plans[fingers_of(&s)->used].notes[4].finger, 1);
    assert_int_equal(fingers_of(&s)->plans[fingers_of(&s)->used].notes[5].finger, 1);
    assert_string_not_equal(fingers_of(&s)->finding, "");
    act(&s, ACTION_UNDO);
    act(&s, ACTION_UNDO);
    assert_string_equal(fingers_of(&s)->finding, "");
    stand_free(&s);
}

/* Marks of the file are held until they are freed. */
static void marks_can_be_freed(void **state)
{
    (void)state;
    char given[2 * NAME_ROOM];
    snprintf(given, sizeof given, "%s:2", desk_file);
    Stand s = stand_of(given);
    turn(&s);
    act(&s, ACTION_FINGERS);
    assert_int_equal(fingers_of(&s)->fixed[0], 4);
    hold(&s, 0, 0);
    assert_int_equal(fingers_of(&s)->fixed[0], 0);
    hold(&s, 0, 3);
    assert_int_equal(fingers_of(&s)->plans[fingers_of(&s)->used].notes[0].finger, 3);
    stand_free(&s);
}

/* Three fingers from the thumb down leave the note at `k` of three these: the others need theirs
 * above and below it. */
static bool fits_in_order(int k, int finger)
{
    return finger >= 3 - k && finger <= 4 - k;
}

static void expect_chord(const Stand *s, int k, int finger)
{
    const ModelFingers *f = &practice_model(s->p)->fingers;
    for (int plan = 0; plan < f->plan_count; plan++) {
        const ModelNote *chord = &f->plans[plan].notes[8];
        assert_int_equal(chord[k].finger, finger);
        if (fits_in_order(k, finger))
            assert_true(chord[0].finger > chord[1].finger && chord[1].finger > chord[2].finger);
    }
    bool said = strstr(f->finding, "puts the thumb's side on the lower string") != NULL;
    assert_int_equal(said, !fits_in_order(k, finger));
}

/* Each finger on each note of [CEG]: the other two go around it from the thumb down. Where they
 * cannot the finger is honoured all the same, and said. */
static void a_chord_keeps_the_order_of_fingers(void **state)
{
    (void)state;
    char given[2 * NAME_ROOM];
    snprintf(given, sizeof given, "%s:2", desk_file);
    Stand s = stand_of(given);
    turn(&s);
    act(&s, ACTION_FINGERS);
    assert_string_equal(fingers_of(&s)->plans[0].notes[9].name, "+E4");
    Snapshot first = snapshot(&s);
    for (int k = 0; k < 3; k++)
        for (int finger = 1; finger <= 4; finger++) {
            hold(&s, 8 + k, finger);
            assert_int_equal(fingers_of(&s)->fixed[8 + k], finger);
            expect_chord(&s, k, finger);
            act(&s, ACTION_UNDO);
            Snapshot back = snapshot(&s);
            expect_same(&first, &back);
        }
    hold(&s, 8, 4);
    hold(&s, 9, 3);
    for (int plan = 0; plan < fingers_of(&s)->plan_count; plan++)
        assert_in_range(fingers_of(&s)->plans[plan].notes[10].finger, 1, 2);
    assert_null(strstr(fingers_of(&s)->finding, "thumb's side"));
    stand_free(&s);
}

/* One hand has no finger for the lowest of five; the marks of the other four are held. */
static void a_chord_may_be_larger_than_the_hand(void **state)
{
    (void)state;
    desk_put(desk_file, "X:1\nT:Five\nM:4/4\nL:1/4\nK:C\n[!4!C!4!EG!2!B!1!d]CDE|]\n");
    Stand s = stand_of(desk_file);
    turn(&s);
    act(&s, ACTION_FINGERS);
    static const int held[5] = {0, 4, 0, 2, 1}, fingers[5] = {0, 4, 3, 2, 1};
    for (int i = 0; i < 5; i++) {
        assert_int_equal(fingers_of(&s)->fixed[i], held[i]);
        assert_int_equal(fingers_of(&s)->plans[0].notes[i].finger, fingers[i]);
    }
    hold(&s, 0, 4);
    assert_int_equal(fingers_of(&s)->fixed[0], 0);
    assert_non_null(strstr(practice_model(s.p)->message, "the four highest notes"));
    assert_false(fingers_of(&s)->unsaved);
    stand_free(&s);
}

/* While it plays, a change begins the step again with its count-in, at the tempo and with the
 * repetitions that the keys set; while nothing plays nothing begins. */
static void playing_goes_on(void **state)
{
    (void)state;
    Stand s = stand_of(desk_file);
    practice_attach(s.p, s.engine);
    turn(&s);
    act(&s, ACTION_NEXT);
    act(&s, ACTION_TEMPO_UP);
    act(&s, ACTION_DRILLS);
    act(&s, ACTION_MORE);
    act(&s, ACTION_BACK);
    act(&s, ACTION_RHYTHM);
    Model before = *turn(&s);
    assert_string_equal(before.tempo, "1/4 = 73");
    act(&s, ACTION_FINGERS);
    to_plan(&s, 1);
    assert_int_equal(turn(&s)->run, RUN_READY);
    act(&s, ACTION_BACK);
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    act(&s, ACTION_FINGERS);
    hold(&s, 3, 2);
    run_until(&s, RUN_COUNT_IN);
    run_until(&s, RUN_PLAYING);
    const Model *m = turn(&s);
    assert_string_equal(m->tempo, before.tempo);
    assert_string_equal(m->drill, before.drill);
    assert_int_equal(m->step, before.step);
    assert_int_equal(m->repetitions, before.repetitions);
    assert_int_equal(engine_refused(s.engine), 0);
    act(&s, ACTION_BACK);
    act(&s, ACTION_GO); /* a pause */
    turn(&s);
    act(&s, ACTION_FINGERS);
    act(&s, ACTION_UNDO);
    assert_int_equal(turn(&s)->run, RUN_READY);
    assert_false(practice_running(s.p));
    stand_free(&s);
}

/* Another tempo or other beats leave the fingers alone; another passage has its own. */
static void only_keys_change_fingers(void **state)
{
    (void)state;
    Stand s = stand_of(desk_file);
    turn(&s);
    act(&s, ACTION_FINGERS);
    hold(&s, 3, 2);
    Snapshot held = snapshot(&s);
    act(&s, ACTION_BACK);
    for (int i = 0; i < 40; i++)
        act(&s, ACTION_TEMPO_UP_NUMBER);
    act(&s, ACTION_BEATS);
    const Model *m = turn(&s);
    for (int i = 0; i < m->note_count; i++)
        assert_int_equal(m->notes[i].finger, held.finger[i]);
    act(&s, ACTION_FINGERS);
    act(&s, ACTION_UNDO);
    assert_int_equal(fingers_of(&s)->fixed[3], 0);
    act(&s, ACTION_PASSAGES);
    act(&s, ACTION_DOWN);
    act(&s, ACTION_DOWN);
    act(&s, ACTION_CHOOSE);
    m = turn(&s);
    assert_int_equal(m->screen, SCREEN_PRACTICE);
    assert_string_not_equal(m->title, "Up and down");
    act(&s, ACTION_FINGERS);
    act(&s, ACTION_UNDO);
    assert_non_null(strstr(practice_model(s.p)->message, "nothing to take back"));
    assert_int_equal(fingers_of(&s)->note_count, turn(&s)->note_count);
    stand_free(&s);
}

/* One drill alone that a plan would have nothing for: that plan is refused, and all stays. */
static void a_drill_keeps_what_it_needs(void **state)
{
    (void)state;
    static const char crossed[] = "X:1\nT:Four\nM:4/4\nL:1/4\nQ:1/4=72\nK:C\n!2!C!1!D!2!EF|]\n";
    Error error = {0};
    desk_put(desk_file, crossed);
    Options options = options_default();
    options.file = desk_file;
    options.drill = "crossing";
    assert_true(drill_parse(options.drill, &options.spec, &error));
    Practice *p = practice_new(&options, false, &error);
    assert_non_null(p);
    practice_tick(p, 0, 0);
    practice_act(p, ACTION_FINGERS, 0);
    const ModelFingers *f = &practice_model(p)->fingers;
    int refused = 0;
    for (int note = 0; note < 3; note++) {
        int64_t cost = f->plans[f->used].cost;
        practice_act(p, ACTION_FINGER_FREE, 0);
        bool stays = practice_model(p)->message_warns;
        assert_int_equal(f->fixed[note] != 0, stays);
        assert_true(!stays || f->plans[f->used].cost == cost);
        refused += stays;
        practice_act(p, ACTION_NOTE_AFTER, 0);
        practice_tick(p, 0, 0);
        assert_true(practice_model(p)->note_count > 0);
    }
    assert_int_equal(refused, 1);
    practice_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(the_plans_are_the_planners, desk_set_up),
        cmocka_unit_test_setup(a_chosen_plan_is_practised, desk_set_up),
        cmocka_unit_test_setup(held_fingers_are_planned_around, desk_set_up),
        cmocka_unit_test_setup(what_breaks_a_rule_is_said, desk_set_up),
        cmocka_unit_test_setup(marks_can_be_freed, desk_set_up),
        cmocka_unit_test_setup(a_chord_keeps_the_order_of_fingers, desk_set_up),
        cmocka_unit_test_setup(a_chord_may_be_larger_than_the_hand, desk_set_up),
        cmocka_unit_test_setup(playing_goes_on, desk_set_up),
        cmocka_unit_test_setup(only_keys_change_fingers, desk_set_up),
        cmocka_unit_test_setup(a_drill_keeps_what_it_needs, desk_set_up),
    };
    return cmocka_run_group_tests_name("practice fingers", tests, desk_make, desk_drop);
}
