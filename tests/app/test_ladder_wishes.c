/* From the command line's words to a tempo ladder. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/ladder_wishes.h"
#include "tools/passages.h"

#include <stdio.h>
#include <string.h>

static Options read_words(const char *line)
{
    static char copy[256];
    char *argv[16] = {"evenhand"};
    int argc = 1;
    Options o;
    Error error = {0};
    snprintf(copy, sizeof copy, "%s", line);
    for (char *word = strtok(copy, " "); word; word = strtok(NULL, " "))
        argv[argc++] = word;
    if (!options_parse(argc, argv, &o, &error))
        fail_msg("'%s' is refused: %s", line, error.text);
    return o;
}

/* The passage's own tempo, in a passage of four quarters. */
static Passage *passage_at(Ratio beat, int per_minute)
{
    Passage *p = passage_scale(21, 4, 1, ratio_int(1));
    p->tempo = tempo(beat, ratio_int(per_minute));
    return p;
}

static void expect_tempos(const char *line, const Passage *p, const char *from, const char *to)
{
    Options o = read_words(line);
    Tempo start, goal;
    Error error = {0};
    char words[TEMPO_TEXT_MAX];
    if (!ladder_wishes_tempos(&o, p, &start, &goal, &error))
        fail_msg("'%s': %s", line, error.text);
    assert_string_equal(tempo_text(start, words), from);
    assert_string_equal(tempo_text(goal, words), to);
}

static void start_and_goal_of_a_passage(void **state)
{
    (void)state;
    Passage *p = passage_at(ratio_int(1), 72);
    expect_tempos("ladder a --to 120", p, "1/4 = 72", "1/4 = 120");
    expect_tempos("ladder a --from 50", p, "1/4 = 50", "1/4 = 72");
    expect_tempos("ladder a --from 50 --to 60.5", p, "1/4 = 50", "1/4 = 60.5");
    /* the passage's speed, told in the other one's beat */
    expect_tempos("ladder a --to 1/2=60", p, "1/2 = 36", "1/2 = 60");
    expect_tempos("ladder a --from 1/8=100", p, "1/8 = 100", "1/8 = 144");
    /* a bare number counts the passage's beat, whatever the other counts */
    expect_tempos("ladder a --from 40 --to 1/2=60", p, "1/4 = 40", "1/2 = 60");
    expect_tempos("practice a --to 120 --tempo 60", p, "1/4 = 60", "1/4 = 120");
    expect_tempos("practice a --to 120 --tempo 1/2=40", p, "1/4 = 80", "1/4 = 120");
    passage_free(p);
    p = passage_at(ratio(3, 2), 50);
    expect_tempos("ladder a --to 80", p, "3/8 = 50", "3/8 = 80");
    expect_tempos("ladder a --to 1/4=90", p, "1/4 = 75", "1/4 = 90");
    passage_free(p);
}

static void start_and_goal_alone(void **state)
{
    (void)state;
    expect_tempos("ladder --from 60 --to 120", NULL, "1/4 = 60", "1/4 = 120");
    expect_tempos("ladder --from 60 --to 3/8=120", NULL, "3/8 = 60", "3/8 = 120");
    expect_tempos("ladder --from 1/2=60 --to 120", NULL, "1/2 = 60", "1/2 = 120");
    expect_tempos("ladder --from 1/2=60 --to 1/4=120", NULL, "1/2 = 60", "1/4 = 120");
}

static void what_is_missing_is_told(void **state)
{
    (void)state;
    Passage *p = passage_at(ratio_int(1), 72);
    static const char *const alone[] = {"ladder", "ladder --from 60", "ladder --to 60"};
    Options o = read_words("ladder a --by 2");
    Tempo start, goal;
    Error error = {0};
    assert_false(ladder_wished(&o.ladder));
    assert_false(ladder_wishes_tempos(&o, p, &start, &goal, &error));
    assert_int_equal(error.kind, ERROR_USAGE);
    assert_non_null(strstr(error.text, "--to 120, --from 60 or both"));
    for (int i = 0; i < 3; i++) {
        o = read_words(alone[i]);
        assert_false(ladder_wishes_tempos(&o, NULL, &start, &goal, &error));
        assert_int_equal(error.kind, ERROR_USAGE);
        assert_non_null(strstr(error.text, "--from 60 --to 120"));
        assert_int_equal(ladder_wished(&o.ladder), i > 0);
    }
    passage_free(p);
}

static LadderSpec wished(const char *line, int from, int to)
{
    Options o = read_words(line);
    LadderSpec s;
    Error error = {0};
    Tempo start = tempo(ratio_int(1), ratio_int(from)), goal = tempo(ratio_int(1), ratio_int(to));
    if (!ladder_wishes_spec(&o, start, goal, &s, &error))
        fail_msg("'%s': %s", line, error.text);
    Ladder l; /* what was not asked for never makes it impossible */
    if (!ladder_make(&s, &l, &error))
        fail_msg("'%s': %s", line, error.text);
    ladder_free(&l);
    return s;
}

static void how_it_climbs(void **state)
{
    (void)state;
    LadderSpec s = wished("ladder a", 60, 120);
    assert_true(s.by == LADDER_BY_NUMBERS && s.pattern == LADDER_CLEAN);
    assert_int_equal(s.clean, 3);
    assert_int_equal(s.above, 1);
    s = wished("ladder a --clean 5 --above 0", 60, 120);
    assert_true(s.pattern == LADDER_CLEAN && s.clean == 5 && s.above == 0);
    s = wished("ladder a --pattern two-up --repetitions 4 --above 2", 60, 120);
    assert_true(s.pattern == LADDER_TWO_UP && s.repetitions == 4 && s.above == 2);
    s = wished("ladder a --by 2.5%", 60, 120);
    assert_true(s.by == LADDER_BY_PERCENT && ratio_equal(s.amount, ratio(5, 2)));
    s = wished("ladder a --by 2", 60, 120);
    assert_true(s.by == LADDER_BY_AMOUNT && ratio_equal(s.amount, ratio_int(2)));
    /* a rung above where the steps asked for have one, and none where they have not */
    assert_int_equal(wished("ladder a", 60, 208).above, 0);
    assert_int_equal(wished("ladder a --by 4%", 60, 208).above, 1);
    assert_int_equal(wished("ladder a --by 10", 60, 390).above, 1);
    assert_int_equal(wished("ladder a --by 10", 60, 391).above, 0);
    assert_int_equal(wished("ladder a --by numbers", 30, 208).above, 0);
    /* in the console --repetitions is the session's, too */
    s = wished("practice a --to 120 --repetitions 1000", 60, 120);
    assert_int_equal(s.pattern, LADDER_CLEAN);
}

static void what_does_not_go_together(void **state)
{
    (void)state;
    static const struct {
        const char *line, *says;
    } bad[] = {
        {"ladder a --clean 3 --pattern straight", "--clean goes with --pattern clean"},
        {"practice a --pattern two-up --clean 3", "two-up takes --repetitions"},
        {"ladder a --repetitions 3", "the pattern clean takes --clean"},
    };
    Tempo start = tempo(ratio_int(1), ratio_int(60)), goal = tempo(ratio_int(1), ratio_int(80));
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        Options o = read_words(bad[i].line);
        LadderSpec s;
        Error error = {0};
        assert_false(ladder_wishes_spec(&o, start, goal, &s, &error));
        assert_int_equal(error.kind, ERROR_USAGE);
        if (strstr(error.text, bad[i].says) == NULL)
            fail_msg("'%s': %s", bad[i].line, error.text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(start_and_goal_of_a_passage),
        cmocka_unit_test(start_and_goal_alone),
        cmocka_unit_test(what_is_missing_is_told),
        cmocka_unit_test(how_it_climbs),
        cmocka_unit_test(what_does_not_go_together),
    };
    return cmocka_run_group_tests_name("ladder wishes", tests, NULL, NULL);
}
