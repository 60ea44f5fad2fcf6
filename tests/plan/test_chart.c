/* Practice over days as points and axes: values, and properties of random ones. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/plan/chart.h"

#include <string.h>

enum { ROUNDS = 4000, POINTS = 60, COLUMNS = 80 };

static uint64_t seed_state;

static int64_t draw(int64_t low, int64_t high)
{
    seed_state ^= seed_state << 13;
    seed_state ^= seed_state >> 7;
    seed_state ^= seed_state << 17;
    return low + (int64_t)(seed_state % (uint64_t)(high - low + 1));
}

static size_t random_points(ChartPoint *points)
{
    size_t count = (size_t)draw(1, POINTS);
    Day day = (Day)draw(0, 30000);
    for (size_t i = 0; i < count; i++) {
        int64_t all = draw(1, 300), clean = draw(0, all);
        points[i] = (ChartPoint){.day = day,
            .clean = clean,
            .count = all,
            .tempo = clean == 0 ? 0 : (double)draw(40, 1600) / 4};
        day += (Day)draw(1, draw(0, 9) == 0 ? 300 : 3);
    }
    return count;
}

/* 3/8 = 60 is 90 quarters a minute: calculated. */
static void tempos_are_told_in_one_unit(void **state)
{
    (void)state;
    RecordLine lines[4];
    ChartPoint points[4];
    Ratio unit;
    memset(lines, 0, sizeof lines);
    for (int i = 0; i < 4; i++)
        lines[i] = (RecordLine){.day = 100 + i, .count = 4, .clean = i, .has_best = i > 0};
    lines[1].best = tempo(ratio(3, 2), ratio_int(60));
    lines[2].best = tempo(ratio_int(2), ratio_int(50));
    lines[3].best = tempo(ratio_int(1), ratio(161, 2));
    chart_points(lines, 4, points, &unit);
    assert_true(ratio_equal(unit, ratio_int(1)));
    static const double wanted[] = {0, 90, 100, 80.5};
    for (int i = 0; i < 4; i++) {
        assert_true(points[i].tempo == wanted[i]);
        assert_int_equal(points[i].day, 100 + i);
        assert_int_equal(points[i].clean, i);
    }
    chart_points(lines, 1, points, &unit);
    assert_true(ratio_equal(unit, ratio_int(1)));
}

/* A record from elsewhere may count any beats: what no axis has room for stands at its end. */
static void wild_beats_have_an_axis(void **state)
{
    (void)state;
    RecordLine lines[2];
    ChartPoint points[2];
    Ratio unit;
    memset(lines, 0, sizeof lines);
    for (int i = 0; i < 2; i++)
        lines[i] = (RecordLine){.day = 100 + i, .count = 1, .clean = 1, .has_best = true};
    lines[0].best = tempo(ratio_int(1000000), ratio_int(400));
    lines[1].best = tempo(ratio(1, 1000000), ratio_int(10));
    chart_points(lines, 2, points, &unit);
    assert_true(points[0].tempo == CHART_TEMPO_MAX);
    assert_true(points[1].tempo == 10);
    ChartAxis axis = chart_tempos(points, 2, 4);
    assert_true(axis.low >= 0 && axis.step > 0 && axis.high >= CHART_TEMPO_MAX);
    assert_true(axis.high <= axis.low + 4 * axis.step);
}

static void axes_are_round(void **state)
{
    (void)state;
    static const struct {
        double low, high;
        int steps;
        ChartAxis wanted;
    } cases[] = {
        {60, 60, 4, {60, 61, 1}},
        {60, 63.5, 4, {60, 64, 1}},
        {60, 96, 4, {60, 100, 10}},
        {59, 101, 4, {40, 120, 20}},
        {99, 101, 1, {0, 200, 200}},
        {72.5, 72.5, 1, {72, 73, 1}},
        {40, 208, 6, {0, 250, 50}},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const ChartPoint points[] = {
            {.tempo = cases[i].low}, {.tempo = 0}, {.tempo = cases[i].high}};
        ChartAxis axis = chart_tempos(points, 3, cases[i].steps);
        if (memcmp(&axis, &cases[i].wanted, sizeof axis) != 0)
            fail_msg("case %zu: %d to %d by %d", i, axis.low, axis.high, axis.step);
    }
    ChartAxis none = chart_tempos(NULL, 0, 3);
    assert_int_equal(none.high, 1);
}

static void any_tempo_is_on_its_axis(void **state)
{
    (void)state;
    ChartPoint points[POINTS];
    for (uint64_t seed = 1; seed <= ROUNDS; seed++) {
        seed_state = seed * 0x9E3779B97F4A7C15u;
        size_t count = random_points(points);
        int steps = (int)draw(1, 12), rows = (int)draw(2, 30);
        ChartAxis axis = chart_tempos(points, count, steps);
        int wide = axis.high - axis.low;
        if (axis.step < 1 || wide < axis.step || wide % axis.step != 0 || wide / axis.step > steps)
            fail_msg("seed %d: %d to %d by %d", (int)seed, axis.low, axis.high, axis.step);
        assert_int_equal(chart_row(axis.low, &axis, rows), 0);
        assert_int_equal(chart_row(axis.high, &axis, rows), rows - 1);
        for (size_t i = 0; i < count; i++) {
            if (points[i].tempo <= 0)
                continue;
            assert_true(points[i].tempo >= axis.low && points[i].tempo <= axis.high);
            int row = chart_row(points[i].tempo, &axis, rows);
            double stands = axis.low + (double)row * wide / (rows - 1);
            double off = stands - points[i].tempo, half = wide / (2.0 * (rows - 1));
            if (off > half + 1e-9 || -off > half + 1e-9)
                fail_msg("seed %d: %g stands at %g", (int)seed, points[i].tempo, stands);
        }
    }
}

/* Columns lose no repetition and no best tempo; the first and the last day are at the edges. */
static void columns_keep_all(void **state)
{
    (void)state;
    ChartPoint points[POINTS], columns[COLUMNS];
    for (uint64_t seed = 1; seed <= ROUNDS; seed++) {
        seed_state = seed * 0x9E3779B97F4A7C15u;
        size_t count = random_points(points);
        int wide = (int)draw(1, COLUMNS);
        int64_t sums[2] = {0}, pooled[2] = {0};
        double best = 0, kept = 0;
        Day before = -1;
        chart_columns(points, count, wide, columns);
        for (size_t i = 0; i < count; i++) {
            sums[0] += points[i].clean;
            sums[1] += points[i].count;
            best = points[i].tempo > best ? points[i].tempo : best;
        }
        for (int i = 0; i < wide; i++) {
            pooled[0] += columns[i].clean;
            pooled[1] += columns[i].count;
            kept = columns[i].tempo > kept ? columns[i].tempo : kept;
            if (columns[i].count > 0 && columns[i].day <= before)
                fail_msg("seed %d: day %d after %d", (int)seed, columns[i].day, before);
            before = columns[i].count > 0 ? columns[i].day : before;
        }
        assert_true(sums[0] == pooled[0] && sums[1] == pooled[1] && best == kept);
        assert_true(columns[0].count > 0);
        if (count > 1)
            assert_int_equal(columns[wide - 1].day, points[count - 1].day);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tempos_are_told_in_one_unit),
        cmocka_unit_test(wild_beats_have_an_axis),
        cmocka_unit_test(axes_are_round),
        cmocka_unit_test(any_tempo_is_on_its_axis),
        cmocka_unit_test(columns_keep_all),
    };
    return cmocka_run_group_tests_name("chart", tests, NULL, NULL);
}
