/* Fingering options and `show --check` from outside. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cli.h"

#include <stdio.h>
#include <string.h>

/* Fingers of `notes`, one digit a note. */
static void fingers_are(const char *file, const char *options, const char *wanted)
{
    char words[300], got[80] = "";
    size_t count = 0;
    snprintf(words, sizeof words, "notes %s %s", file, options);
    Run r = run(words);
    if (r.code != 0)
        fail_msg("evenhand %s: %s", words, r.err);
    for (const char *line = strchr(r.out, '\n') + 1; *line; line = strchr(line, '\n') + 1) {
        const char *at = line;
        for (int tab = 0; tab < 7; tab++)
            at = strchr(at, '\t') + 1;
        assert_true(count + 1 < sizeof got);
        got[count++] = *at;
    }
    if (strcmp(got, wanted) != 0)
        fail_msg("evenhand %s: fingers %s, wanted %s", words, got, wanted);
    run_free(&r);
}

static int put_files(void **state)
{
    int done = set_up(state);
    put_file("seven.abc", "X:1\nM:7/8\nL:1/8\nQ:1/8=120\nK:C\nCDEFGAB|\n");
    put_file("two.abc", "X:1\nM:4/4\nL:1/8\nQ:1/4=60\nK:C\nCDEFGABc defgabc'2|\n");
    put_file("six.abc", "X:1\nM:3/4\nL:1/8\nQ:1/4=60\nK:C\nCDEFGA|\n");
    put_file("bad.abc", "X:1\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\n!4!C !4!D !2!E !1!F|\n");
    put_file("good.abc", "X:1\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\n!4!C !3!D E !1!F|\n");
    put_file("leap.abc", "X:1\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\nC, c' C, c'|\n");
    return done;
}

/* What each option does to the plan; groupings follow from its words. */
static void each_option_moves_the_plan(void **state)
{
    (void)state;
    fingers_are("seven.abc", "", "4321321");
    fingers_are("seven.abc", "--small top", "4321321");
    fingers_are("seven.abc", "--small bottom", "3214321");
    fingers_are("seven.abc", "--small C", "3214321");
    fingers_are("seven.abc", "--small g", "4321321");
    fingers_are("two.abc", "", "432143214321321");
    fingers_are("two.abc", "--each-octave", "432132143214321");
    fingers_are("six.abc", "", "321321");
    fingers_are("six.abc", "--start on", "432121");
    fingers_are("six.abc", "--start on --avoid-twos", "321321");
    fingers_are("six.abc", "--start off", "321321");
    fingers_are("seven.abc", "--hands thirds", "4321321");
}

static void shows(const char *words, int code, const char *says)
{
    Run r = run(words);
    if (r.code != code || !strstr(r.out, says))
        fail_msg("evenhand %s\n  exit %d, wanted %d\n  no '%s' in\n%s%s", words, r.code, code, says,
            r.out, r.err);
    run_free(&r);
}

static void lifted_groups_are_placed_afresh(void **state)
{
    (void)state;
    shows("show seven.abc", 0, "crosses under into G4");
    shows("show seven.abc --lifted", 0, "lift, place afresh on G4");
}

static void plans_are_as_many_as_asked(void **state)
{
    (void)state;
    shows("show two.abc", 0, "\n   3   ");
    shows("show two.abc --plans 5", 0, "\n   5   ");
    Run r = run("show two.abc --plans 1");
    assert_null(strstr(r.out, "unlike plan 1"));
    assert_non_null(strstr(r.out, "Plans"));
    run_free(&r);
}

static void the_harp_is_the_one_asked_for(void **state)
{
    (void)state;
    shows("show seven.abc", 0, "pedal harp, 47 strings");
    shows("show seven.abc --instrument lever-34", 0, "lever harp, 34 strings C2-A6, tuned in");
    shows("show leap.abc --instrument lever:C4:5:C", 0, "cannot play the passage as it is written");
}

static void the_check_has_places_and_a_code(void **state)
{
    (void)state;
    shows("show bad.abc --check", 1, "bad.abc:6:9: ");
    shows("show bad.abc --check", 1, "against the marked fingers\n");
    shows("show bad.abc --check --ignore-marks", 0, "nothing is to be said against the fingers\n");
    shows("show good.abc --check", 0, "nothing is to be said against the fingers\n");
    shows("show leap.abc --check", 0, "these are remarks on the plan\n");
    Run r = run("show bad.abc --check");
    assert_string_equal(r.err, "");
    run_free(&r);
}

static void marks_that_break_a_rule_are_told_on_loading(void **state)
{
    (void)state;
    Run r = run("notes bad.abc");
    assert_int_equal(r.code, 0);
    assert_non_null(strstr(r.err, "bad.abc:6:4: note: "));
    assert_non_null(strstr(r.err, "on the marked fingers; see evenhand show --check\n"));
    run_free(&r);
    r = run("notes good.abc");
    assert_string_equal(r.err, "");
    run_free(&r);
    r = run("notes bad.abc --ignore-marks");
    assert_string_equal(r.err, "");
    run_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(each_option_moves_the_plan, put_files),
        cmocka_unit_test_setup(lifted_groups_are_placed_afresh, put_files),
        cmocka_unit_test_setup(plans_are_as_many_as_asked, put_files),
        cmocka_unit_test_setup(the_harp_is_the_one_asked_for, put_files),
        cmocka_unit_test_setup(the_check_has_places_and_a_code, put_files),
        cmocka_unit_test_setup(marks_that_break_a_rule_are_told_on_loading, put_files),
    };
    if (!cli_enter())
        return 1;
    int failed = cmocka_run_group_tests_name("cli_show", tests, NULL, NULL);
    return cli_leave() ? failed : 1;
}
