/* The command ladder from outside. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cli.h"
#include "tools/golden.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int put_files(void **state)
{
    int done = set_up(state);
    put_file("run.abc", "X:1\nT:Run in G\nM:4/4\nL:1/16\nQ:1/4=60\nK:G\n"
                        "GABc defg abc'd' e'f'g'f'|e'd'c'b agfe dcBA G4|\n");
    put_file(
        "pickup.abc", "X:1\nT:Pickup\nM:6/8\nL:1/8\nQ:3/8=50\nK:C\nG|cde fga|gfe dcB|c3-c2|\n");
    put_file("cut.abc", "X:1\nT:Cut time\nM:C|\nL:1/8\nQ:1/4=100\nK:C\nCDEFGABc|\n");
    put_file("hostile.abc", "X:1\nT:A \x1b[31mred\x07 title\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\nCDEF|\n");
    return done;
}

static void golden(const char *name, const char *words)
{
    Run r = run(words);
    if (r.code != 0)
        fail_msg("evenhand %s: %s", words, r.err);
    assert_string_equal(r.err, "");
    for (const char *line = r.out; *line; line = strchr(line, '\n') + 1)
        assert_true(strcspn(line, "\n") <= 80);
    golden_check_from(cli_root(), name, r.out);
    run_free(&r);
}

static void as_it_is_printed(void **state)
{
    (void)state;
    golden("ladder-clean.txt", "ladder run.abc --to 1/4=92");
    golden("ladder-two-up.txt",
        "ladder pickup.abc --from 40 --pattern two-up -r 4 --by 2 --above 0 --drill links");
    golden("ladder-cut.txt", "ladder cut.abc --to 120 --pattern straight --by 4%");
    golden(
        "ladder-bare.txt", "ladder --from 1/2=60 --to 84 --notes-per-beat 8 --by 7.5% --above 2");
    golden("ladder-bare-rates.txt", "ladder --from 60 --to 60 --clean 1 --above 0");
}

/* What one repetition lasts on the first rung, or on the goal's. */
static double one_lasts(const char *words, bool goal)
{
    Run r = run(words);
    if (r.code != 0)
        fail_msg("evenhand %s: %s", words, r.err);
    const char *line = strstr(r.out, goal ? "  goal\n" : "\n     1 "), *unit = line;
    for (; goal && unit != NULL && *unit != '\n'; unit--)
        ;
    unit = unit != NULL ? strstr(unit, " s ") : NULL;
    if (unit == NULL)
        fail_msg("evenhand %s: no such rung in\n%s", words, r.out);
    const char *at = unit;
    while (at[-1] != ' ')
        at--;
    double seconds = strtod(at, NULL);
    run_free(&r);
    return seconds;
}

/* Seconds to the last event of the timeline. */
static double last_event(const char *words)
{
    Run r = run(words);
    if (r.code != 0)
        fail_msg("evenhand %s: %s", words, r.err);
    char *end = r.out + strlen(r.out) - 1;
    *end = '\0';
    double seconds = strtod(strrchr(r.out, '\n') + 1, NULL) / 48000;
    run_free(&r);
    return seconds;
}

/* What each further repetition adds to the timeline, in seconds. */
static double timeline_adds(const char *file, const char *drill, const char *tempo)
{
    char words[200];
    double at[2];
    for (int k = 0; k < 2; k++) {
        snprintf(words, sizeof words, "timeline %s --drill %s --tempo %s --rest 0 -r %d", file,
            drill, tempo, k == 0 ? 1 : 11);
        at[k] = last_event(words);
    }
    return (at[1] - at[0]) / 10;
}

/* Against the timeline, which is what the console plays. */
static void times_are_those_of_the_timeline(void **state)
{
    (void)state;
    static const struct {
        const char *file, *drill, *start, *goal;
    } cases[] = {{"run.abc", "plain", "47", "200"}, {"run.abc", "long-short", "60", "138"},
        {"run.abc", "links+finger-4", "52", "96"},
        {"run.abc", "short-long --timing goal", "40", "80"}, {"pickup.abc", "plain", "41", "120"},
        {"pickup.abc", "bursts", "1/4=44", "1/4=200"}, {"cut.abc", "blocks", "1/2=63", "1/2=80"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char words[200];
        snprintf(words, sizeof words, "ladder %s --drill %s --from %s --to %s", cases[i].file,
            cases[i].drill, cases[i].start, cases[i].goal);
        for (int goal = 0; goal < 2; goal++) {
            const char *tempo = goal ? cases[i].goal : cases[i].start;
            double told = one_lasts(words, goal);
            double wanted = timeline_adds(cases[i].file, cases[i].drill, tempo);
            if (fabs(told - wanted) > 0.0501)
                fail_msg("evenhand %s: %.3f s, the timeline has %.3f s", words, told, wanted);
        }
    }
}

static void says(const char *words, const char *wanted)
{
    Run r = run(words);
    if (r.code != 0 || strstr(r.out, wanted) == NULL)
        fail_msg("evenhand %s: no '%s' in\n%s%s", words, wanted, r.out, r.err);
    run_free(&r);
}

/* 3 times 8 s at 60 and 3 times 8 s x 60/63 at 63, with a bar of 4 s counted in: calculated. */
static void the_sum_has_the_count_in(void **state)
{
    (void)state;
    says("ladder run.abc --from 60 --to 63 --above 0 --count-in 1",
        "In all 6 repetitions if each is clean, 0:51 with the count-in.\n");
    says("ladder run.abc --from 60 --to 63 --above 0 --count-in 0",
        "In all 6 repetitions if each is clean, 0:47 with the count-in.\n");
    says("ladder run.abc --from 60 --to 60 --above 0 --clean 1 --count-in 16",
        "In all 1 repetition if each is clean, 1:12 with the count-in.\n");
}

static void the_trap_is_told(void **state)
{
    (void)state;
    says("ladder run.abc --to 1/2=60", "1/2 = 60 is twice as fast as 1/4 = 60");
    says("ladder cut.abc --to 120", "1/4 = 120 is half as fast as 1/2 = 120");
    Run r = run("ladder run.abc --to 80");
    assert_null(strstr(r.out, "Note"));
    run_free(&r);
}

static void titles_are_cleaned(void **state)
{
    (void)state;
    says("ladder hostile.abc --to 80", "A ?[31mred? title\n");
}

static void what_cannot_be_is_refused(void **state)
{
    (void)state;
    expect("ladder", 2, "--from 60 --to 120");
    expect("ladder run.abc", 2, "--to 120, --from 60 or both");
    expect("ladder --from 60 --to 80 --drill plain", 2, "--drill needs a file");
    expect("ladder --from 60 --to 80 --count-in 1", 2, "--count-in needs a file");
    expect("ladder run.abc --to 50", 1, "the start 1/4 = 60 is faster than the goal 1/4 = 50");
    expect(
        "ladder run.abc --from 50 --to 1/2=50", 1, "write the start as 1/2 = 25, which is as fast");
    expect("ladder run.abc --to 120 --pattern straight --repetitions 101", 1, "1 to 100 times");
    expect("ladder run.abc --to 400 --by 0.5", 1, "more than 400 rungs");
    expect("run.abc --to 80", 2, "a ladder is practised in a terminal");
    expect("ladder none.abc --to 80", 1, "none.abc");
    expect("ladder run.abc --to 80 --drill beat-9", 1, "there is no place 9");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(as_it_is_printed, put_files),
        cmocka_unit_test_setup(times_are_those_of_the_timeline, put_files),
        cmocka_unit_test_setup(the_sum_has_the_count_in, put_files),
        cmocka_unit_test_setup(the_trap_is_told, put_files),
        cmocka_unit_test_setup(titles_are_cleaned, put_files),
        cmocka_unit_test_setup(what_cannot_be_is_refused, put_files),
    };
    if (!cli_enter())
        return 1;
    int failed = cmocka_run_group_tests_name("cli_ladder", tests, NULL, NULL);
    return cli_leave() ? failed : 1;
}
