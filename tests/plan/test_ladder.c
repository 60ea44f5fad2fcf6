/* The tempo ladder: its rungs and its patterns. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/plan/ladder.h"
#include "evenhand/plan/metronome.h"
#include "tools/passages.h"

#include <string.h>

static Tempo quarters(int64_t num, int64_t den)
{
    return tempo(ratio_int(1), ratio(num, den));
}

static LadderSpec spec(int from, int to)
{
    return ladder_default(quarters(from, 1), quarters(to, 1));
}

static Ladder made(const LadderSpec *s)
{
    Ladder l;
    Error error = {0};
    if (!ladder_make(s, &l, &error))
        fail_msg("%s", error.text);
    return l;
}

static void assert_rungs(const LadderSpec *s, const int *rungs, int count, int goal)
{
    Ladder l = made(s);
    assert_int_equal(l.count, count);
    assert_int_equal(l.goal, goal);
    for (int i = 0; i < count; i++)
        assert_true(ratio_equal(l.rungs[i], ratio_int(rungs[i])));
    ladder_free(&l);
    assert_null(l.rungs);
    assert_int_equal(l.count, 0);
}

static void by_numbers(void **state)
{
    (void)state;
    LadderSpec s = spec(60, 80);
    assert_rungs(&s, (int[]){60, 63, 66, 69, 72, 76, 80, 84}, 8, 6);
    s.above = 0;
    assert_rungs(&s, (int[]){60, 63, 66, 69, 72, 76, 80}, 7, 6);
    s.above = LADDER_ABOVE_MAX;
    assert_rungs(&s, (int[]){60, 63, 66, 69, 72, 76, 80, 84, 88, 92, 96}, 11, 6);
    s = spec(61, 79); /* marks off the series are rungs; between them stand its numbers */
    assert_rungs(&s, (int[]){61, 63, 66, 69, 72, 76, 79, 80}, 8, 6);
    s = spec(30, 44);
    s.by = LADDER_BY_NUMBERS;
    assert_rungs(&s, (int[]){30, 40, 42, 44, 46}, 5, 3);
    s = spec(72, 72);
    assert_rungs(&s, (int[]){72, 76}, 2, 0);
    s.above = 0;
    assert_rungs(&s, (int[]){72}, 1, 0);
    s = spec(192, 200);
    assert_rungs(&s, (int[]){192, 200, 208}, 3, 1);
}

static void by_percent_and_amount(void **state)
{
    (void)state;
    LadderSpec s = spec(60, 72);
    s.by = LADDER_BY_PERCENT;
    s.amount = ratio_int(4);
    /* 62.4, 64.5, 67.6 (of 65), 70.7: each rounded to a whole beat */
    assert_rungs(&s, (int[]){60, 62, 64, 67, 70, 72, 75}, 7, 5);
    s = spec(10, 14);
    s.by = LADDER_BY_PERCENT;
    s.amount = ratio_int(1); /* 10.1 rounds to 10: a whole beat at the least */
    assert_rungs(&s, (int[]){10, 11, 12, 13, 14, 15}, 6, 4);
    s = spec(60, 67);
    s.by = LADDER_BY_AMOUNT;
    s.amount = ratio_int(2);
    s.above = 2;
    assert_rungs(&s, (int[]){60, 62, 64, 66, 67, 69, 71}, 7, 4);
    s.amount = ratio(1, 2);
    s.above = 0;
    Ladder l = made(&s);
    assert_int_equal(l.count, 15);
    assert_true(ratio_equal(l.rungs[1], ratio(121, 2)));
    ladder_free(&l);
}

static void assert_visits(LadderPattern pattern, int from, int to, const int *visits, int count)
{
    LadderSpec s = spec(from, to);
    s.above = 0;
    s.pattern = pattern;
    Ladder l = made(&s);
    assert_int_equal(l.visit_count, count);
    for (int i = 0; i < count; i++)
        assert_int_equal(l.visits[i], visits[i]);
    ladder_free(&l);
}

static void patterns(void **state)
{
    (void)state;
    assert_visits(LADDER_STRAIGHT, 60, 72, (int[]){0, 1, 2, 3, 4}, 5);
    assert_visits(LADDER_CLEAN, 60, 72, (int[]){0, 1, 2, 3, 4}, 5);
    assert_visits(LADDER_TWO_UP, 60, 60, (int[]){0}, 1);
    assert_visits(LADDER_TWO_UP, 60, 63, (int[]){0, 1}, 2);
    assert_visits(LADDER_TWO_UP, 60, 66, (int[]){0, 2, 1, 2}, 4);
    assert_visits(LADDER_TWO_UP, 60, 69, (int[]){0, 2, 1, 3}, 4);
    assert_visits(LADDER_TWO_UP, 60, 72, (int[]){0, 2, 1, 3, 2, 4}, 6);
    assert_visits(LADDER_TWO_UP, 60, 76, (int[]){0, 2, 1, 3, 2, 4, 3, 5}, 8);
}

/* Any ladder there can be, and some that cannot. */
static LadderSpec random_spec(Random *r)
{
    LadderSpec s = {.by = (LadderBy)random_between(r, 0, 2),
        .amount = ratio(random_between(r, 1, 200), random_between(r, 1, 4)),
        .pattern = (LadderPattern)random_between(r, 0, 2),
        .clean = random_between(r, 1, 5),
        .repetitions = random_between(r, 1, 4),
        .above = random_between(r, 0, LADDER_ABOVE_MAX)};
    Ratio beat = random_between(r, 0, 1) ? ratio_int(1) : ratio(3, 2);
    int den = random_between(r, 1, 2), top = random_between(r, 60, 400);
    s.start = tempo(beat, ratio(random_between(r, 10 * den, 200 * den), den));
    s.goal = tempo(beat, ratio_int(top));
    return s;
}

static void rungs_of_any_ladder(void **state)
{
    (void)state;
    Random r = {0x1adde7};
    int made_count = 0;
    for (int round = 0; round < 20000; round++) {
        LadderSpec s = random_spec(&r);
        Ladder l;
        Error error = {0};
        if (!ladder_make(&s, &l, &error)) {
            assert_int_equal(error.kind, ERROR_RANGE);
            assert_true(l.rungs == NULL && l.visits == NULL && l.count == 0);
            continue;
        }
        made_count++;
        assert_true(ratio_equal(l.rungs[0], s.start.per_minute));
        assert_true(ratio_equal(l.rungs[l.goal], s.goal.per_minute));
        assert_int_equal(l.count, l.goal + 1 + s.above);
        assert_true(l.count <= LADDER_RUNGS_MAX);
        assert_true(ratio_cmp(l.rungs[l.count - 1], ratio_int(TEMPO_MAX)) <= 0);
        for (int i = 1; i < l.count; i++)
            if (ratio_cmp(l.rungs[i], l.rungs[i - 1]) <= 0)
                fail_msg("round %d: rung %d does not rise", round, i);
        if (s.by == LADDER_BY_NUMBERS) /* none of the numbers between is left out */
            for (int i = 1; i < l.count; i++)
                assert_true(
                    ratio_equal(l.rungs[i], metronome_step(l.rungs[i - 1], 1)) ||
                    (i == l.goal && ratio_cmp(l.rungs[i], metronome_step(l.rungs[i - 1], 1)) < 0));
        bool seen[LADDER_RUNGS_MAX] = {false};
        for (int i = 0; i < l.visit_count; i++)
            seen[l.visits[i]] = true;
        for (int i = 0; i < l.count; i++)
            assert_true(seen[i]);
        assert_int_equal(l.visits[0], 0);
        assert_int_equal(l.visits[l.visit_count - 1], l.count - 1);
        ladder_free(&l);
    }
    assert_true(made_count > 3000);
}

/* Whatever comes clean or missed: never outside, a miss never raises, up only after what was asked
 * for, done only on the last rung. */
static void any_repetitions(void **state)
{
    (void)state;
    Random r = {0xc11b};
    for (int round = 0; round < 3000; round++) {
        LadderSpec s = random_spec(&r);
        Ladder l;
        if (!ladder_make(&s, &l, NULL))
            continue;
        int need = s.pattern == LADDER_CLEAN ? s.clean : s.repetitions;
        int skill = random_between(&r, 0, 10), row = 0;
        Climb at = climb_start(&l);
        for (int i = 0; i < 300; i++) {
            bool clean = random_between(&r, 0, 9) < skill;
            Climb next = climb_next(&l, at, clean);
            assert_true(next.rung >= 0 && next.rung < l.count);
            assert_true(next.visit >= 0 && next.visit < l.visit_count);
            assert_int_equal(next.rung, l.visits[next.visit]);
            assert_true(ratio_equal(climb_tempo(&l, next).per_minute, l.rungs[next.rung]));
            assert_true(climb_left(&l, next) >= (next.done ? 0 : 1));
            if (at.done) {
                assert_true(next.done && next.visit == at.visit && next.rung == at.rung &&
                            next.clean_in_row == at.clean_in_row);
            } else if (!clean) {
                assert_true(next.rung <= at.rung);
                assert_false(next.done);
                assert_true(climb_left(&l, next) >= climb_left(&l, at));
                if (s.pattern == LADDER_CLEAN)
                    assert_int_equal(next.rung, at.rung > 0 ? at.rung - 1 : 0);
                row = s.pattern == LADDER_CLEAN ? 0 : row;
            } else {
                row++;
                assert_int_equal(climb_left(&l, next), climb_left(&l, at) - 1);
                bool on = row == need;
                assert_int_equal(
                    next.visit, at.visit + (on && at.visit < l.visit_count - 1 ? 1 : 0));
                assert_int_equal(next.done, on && at.visit == l.visit_count - 1);
                row = on ? 0 : row;
                assert_true(!next.done || next.rung == l.count - 1);
            }
            at = next;
        }
        ladder_free(&l);
    }
}

static void all_clean_reaches_the_end(void **state)
{
    (void)state;
    Random r = {0xa11};
    for (int round = 0; round < 1000; round++) {
        LadderSpec s = random_spec(&r);
        Ladder l;
        if (!ladder_make(&s, &l, NULL))
            continue;
        Climb at = climb_start(&l);
        for (int i = random_between(&r, 0, 40); i > 0 && !at.done; i--)
            at = climb_next(&l, at, random_between(&r, 0, 2) > 0);
        int left = climb_left(&l, at);
        for (int i = 0; i < left; i++) {
            assert_false(at.done);
            at = climb_next(&l, at, true);
        }
        assert_true(at.done);
        assert_int_equal(at.rung, l.count - 1);
        assert_int_equal(climb_left(&l, at), 0);
        ladder_free(&l);
    }
}

static void one_climb_step_by_step(void **state)
{
    (void)state;
    LadderSpec s = spec(60, 63);
    s.clean = 2, s.above = 0;
    Ladder l = made(&s);
    static const struct {
        bool clean;
        int rung, in_row, left;
        bool done;
    } steps[] = {{true, 0, 1, 3, false}, {false, 0, 0, 4, false}, {true, 0, 1, 3, false},
        {true, 1, 0, 2, false}, {true, 1, 1, 1, false}, {false, 0, 0, 4, false},
        {true, 0, 1, 3, false}, {true, 1, 0, 2, false}, {true, 1, 1, 1, false},
        {true, 1, 2, 0, true}, {false, 1, 2, 0, true}};
    Climb at = climb_start(&l);
    assert_int_equal(climb_left(&l, at), 4);
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        at = climb_next(&l, at, steps[i].clean);
        assert_int_equal(at.rung, steps[i].rung);
        assert_int_equal(at.clean_in_row, steps[i].in_row);
        assert_int_equal(climb_left(&l, at), steps[i].left);
        assert_int_equal(at.done, steps[i].done);
    }
    ladder_free(&l);
}

/* A player who sets nothing gets a ladder, whatever the tempos. */
static void defaults_always_work(void **state)
{
    (void)state;
    for (int from = 2 * TEMPO_MIN; from <= 2 * TEMPO_MAX; from++)
        for (int to = from; to <= 2 * TEMPO_MAX; to += 7) {
            LadderSpec s = ladder_default(quarters(from, 2), quarters(to, 2));
            Ladder l;
            Error error = {0};
            if (!ladder_make(&s, &l, &error))
                fail_msg("%d/2 to %d/2: %s", from, to, error.text);
            ladder_free(&l);
        }
    assert_int_equal(spec(40, 208).by, LADDER_BY_NUMBERS);
    assert_int_equal(spec(39, 208).by, LADDER_BY_PERCENT);
    assert_int_equal(spec(40, 209).by, LADDER_BY_PERCENT);
    assert_int_equal(spec(40, 208).above, 0);
    assert_int_equal(spec(40, 207).above, 1);
    assert_int_equal(spec(40, 400).above, 0);
    assert_int_equal(spec(60, 120).pattern, LADDER_CLEAN);
    assert_int_equal(spec(60, 120).clean, 3);
}

static void assert_refused(LadderSpec s, const char *says)
{
    Ladder l = {.count = 7};
    Error error = {0};
    assert_false(ladder_make(&s, &l, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    if (strstr(error.text, says) == NULL)
        fail_msg("'%s' lacks '%s'", error.text, says);
    assert_true(l.rungs == NULL && l.visits == NULL && l.count == 0);
    assert_false(ladder_make(&s, &l, NULL));
}

#define REFUSED(says, change)                                                                      \
    do {                                                                                           \
        LadderSpec s = spec(60, 120);                                                              \
        change;                                                                                    \
        assert_refused(s, says);                                                                   \
    } while (0)
#define ACCEPTED(change)                                                                           \
    do {                                                                                           \
        LadderSpec s = spec(60, 120);                                                              \
        change;                                                                                    \
        Ladder l = made(&s);                                                                       \
        ladder_free(&l);                                                                           \
    } while (0)

static void what_is_refused(void **state)
{
    (void)state;
    REFUSED("the start 1/4 = 60 is faster than the goal 1/4 = 59", s.goal = quarters(59, 1));
    REFUSED("write the start as 1/2 = 30, which is as fast", s.goal.beat = ratio_int(2));
    REFUSED("the start of a ladder must be 10 to 400", s.start = quarters(9, 1));
    REFUSED("the goal of a ladder must be 10 to 400", s.goal = quarters(401, 1));
    REFUSED("the goal of a ladder must be 10 to 400", s.goal.beat = ratio_int(0));
    REFUSED("numbers end at 208; climb to a faster goal by per cent", s.goal = quarters(209, 1));
    REFUSED("there are not 1 above the goal; take fewer", s.goal = quarters(208, 1));
    REFUSED("there are not 4 above", (s.goal = quarters(184, 1), s.above = 4));
    ACCEPTED((s.goal = quarters(184, 1), s.above = 3));
    ACCEPTED((s.goal = quarters(208, 1), s.above = 0));
    REFUSED("a ladder ends 0 to 4 rungs above its goal, not 5", s.above = 5);
    REFUSED("0 to 4 rungs above its goal, not -1", s.above = -1);
    REFUSED("after 1 to 20 clean repetitions in a row, not 0", s.clean = 0);
    REFUSED("not 21", s.clean = 21);
    ACCEPTED(s.clean = 20);
    ACCEPTED((s.clean = 0, s.pattern = LADDER_STRAIGHT)); /* not read there */
    REFUSED("played 1 to 100 times, not 0", (s.repetitions = 0, s.pattern = LADDER_STRAIGHT));
    REFUSED("not 101", (s.repetitions = 101, s.pattern = LADDER_TWO_UP));
    ACCEPTED((s.repetitions = 100, s.pattern = LADDER_TWO_UP));
    ACCEPTED(s.repetitions = 0);
}

static void what_is_refused_of_steps(void **state)
{
    (void)state;
    REFUSED("1 to 50 per cent", (s.by = LADDER_BY_PERCENT, s.amount = ratio(99, 100)));
    REFUSED("1 to 50 per cent", (s.by = LADDER_BY_PERCENT, s.amount = ratio(101, 2)));
    ACCEPTED((s.by = LADDER_BY_PERCENT, s.amount = ratio_int(1)));
    ACCEPTED((s.by = LADDER_BY_PERCENT, s.amount = ratio_int(50)));
    REFUSED("0.5 to 50 beats a minute", (s.by = LADDER_BY_AMOUNT, s.amount = ratio(49, 100)));
    REFUSED("0.5 to 50 beats a minute", (s.by = LADDER_BY_AMOUNT, s.amount = ratio_int(51)));
    REFUSED("0.5 to 50 beats a minute", (s.by = LADDER_BY_AMOUNT, s.amount = ratio(1, 0)));
    ACCEPTED((s.by = LADDER_BY_AMOUNT, s.amount = ratio(1, 2)));
    ACCEPTED((s.by = LADDER_BY_AMOUNT, s.amount = ratio_int(50)));
    ACCEPTED(s.amount = ratio_int(0)); /* not read for numbers */
    REFUSED("by numbers, by per cent or by an amount", s.by = (LadderBy)3);
    REFUSED("straight, two-up or clean", s.pattern = (LadderPattern)3);
    REFUSED("more than 400 rungs; take larger steps",
        (s.by = LADDER_BY_AMOUNT, s.amount = ratio(1, 2), s.goal = quarters(300, 1)));
    REFUSED("2 above the goal is faster than 400 beats a minute; take fewer",
        (s.by = LADDER_BY_AMOUNT, s.amount = ratio_int(10), s.goal = quarters(385, 1),
            s.above = 2));
    ACCEPTED((
        s.by = LADDER_BY_AMOUNT, s.amount = ratio_int(10), s.goal = quarters(380, 1), s.above = 2));
    REFUSED(
        "too many digits", (s.by = LADDER_BY_AMOUNT, s.start = quarters(60, INT64_C(1) << 61),
                               s.start.per_minute = ratio((INT64_C(1) << 62) - 1, INT64_C(1) << 56),
                               s.amount = ratio(10, 7)));
}

static void words_of_settings(void **state)
{
    (void)state;
    assert_string_equal(ladder_by_word(LADDER_BY_NUMBERS), "numbers");
    assert_string_equal(ladder_by_word(LADDER_BY_PERCENT), "percent");
    assert_string_equal(ladder_by_word(LADDER_BY_AMOUNT), "amount");
    assert_string_equal(ladder_pattern_word(LADDER_STRAIGHT), "straight");
    assert_string_equal(ladder_pattern_word(LADDER_TWO_UP), "two-up");
    assert_string_equal(ladder_pattern_word(LADDER_CLEAN), "clean");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(by_numbers),
        cmocka_unit_test(by_percent_and_amount),
        cmocka_unit_test(patterns),
        cmocka_unit_test(rungs_of_any_ladder),
        cmocka_unit_test(any_repetitions),
        cmocka_unit_test(all_clean_reaches_the_end),
        cmocka_unit_test(one_climb_step_by_step),
        cmocka_unit_test(defaults_always_work),
        cmocka_unit_test(what_is_refused),
        cmocka_unit_test(what_is_refused_of_steps),
        cmocka_unit_test(words_of_settings),
    };
    return cmocka_run_group_tests_name("ladder", tests, NULL, NULL);
}
