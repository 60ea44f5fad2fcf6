/* Random models in grids of every size: whatever the application fills in, the screen holds. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/console/runes.h"
#include "../../src/console/view_practice_notes.h"
#include "console/made.h"
#include "evenhand/console/view.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *cell_fault(const Grid *g, int y, int x)
{
    const Cell *c = grid_at(g, y, x), *left = grid_at(g, y, x - 1);
    if (c->style >= STYLE_KINDS)
        return "no such style";
    if (c->rune == 0)
        return left != NULL && rune_columns(left->rune) == 2 ? NULL : "half a character";
    if (rune_clean(c->rune) != c->rune)
        return "a control character";
    if (rune_columns(c->rune) == 0)
        return "a mark without a letter";
    if (rune_columns(c->rune) == 2 && (x + 1 >= g->width || grid_at(g, y, x + 1)->rune != 0))
        return "a wide character without its right half";
    if (c->mark != 0 && rune_columns(c->mark) != 0)
        return "a mark that takes a column";
    if (g->ascii && (c->rune < 0x20 || c->rune > 0x7E || c->mark != 0))
        return "no ASCII";
    return NULL;
}

/* Under the sanitizer, writing outside the grid ends the test as well. */
static void test_cells_are_sound(void **state)
{
    (void)state;
    for (int round = 0; round < ROUNDS; round++) {
        made.seed = 1000003u * (unsigned)round + 1;
        random_model(false);
        Grid g = random_grid();
        view_draw(&made.model, &g);
        for (int y = 0; y < g.height; y++)
            for (int x = 0; x < g.width; x++)
                if (cell_fault(&g, y, x) != NULL)
                    fail_msg("round %d, screen %d, %d x %d, row %d column %d: %s", round,
                        (int)made.model.screen, g.width, g.height, y, x, cell_fault(&g, y, x));
        grid_free(&g);
    }
}

static void test_same_model_same_grid(void **state)
{
    (void)state;
    for (int round = 0; round < 200; round++) {
        made.seed = 1000003u * (unsigned)round + 7;
        random_model(false);
        Grid g = random_grid(), again;
        assert_true(grid_init(&again, g.width, g.height));
        grid_fill(&again, 0, 0, g.height, g.width, STYLE_WARNING, 'x'); /* what was there before */
        view_draw(&made.model, &g);
        view_draw(&made.model, &again);
        for (int i = 0; i < g.width * g.height; i++) {
            assert_int_equal(g.cells[i].rune, again.cells[i].rune);
            assert_int_equal(g.cells[i].style, again.cells[i].style);
        }
        grid_free(&again);
        grid_free(&g);
    }
}

/* Whether the figure stands at y, x with all its dots, and nothing else in its box. */
static bool shows(const Grid *g, int y, int x, BigSize size, const char *figure, Ink ink)
{
    Grid only;
    bool same = true;
    assert_true(grid_init(&only, g->width, g->height));
    only.ascii = g->ascii;
    big_draw(&only, y, x, size, STYLE_NORMAL, ink, figure);
    for (int row = y; row < y + big_height(size); row++)
        for (int column = x; column < x + big_width(size, figure); column++) {
            const Cell *want = grid_at(&only, row, column), *got = grid_at(g, row, column);
            same = same && want != NULL && got->rune == want->rune;
        }
    grid_free(&only);
    return same;
}

/* Readable from two metres: at least 9 rows at 80x24, 7 at 60x20, 5 at 40x12. */
static void test_finger_and_beat_are_large(void **state)
{
    (void)state;
    for (int round = 0; round < ROUNDS; round++) {
        made.seed = 1000003u * (unsigned)round + 3;
        random_model(true);
        Grid g = random_grid();
        const Model *m = &made.model;
        if (g.width < VIEW_WIDTH_MIN || g.height < VIEW_HEIGHT_MIN) {
            grid_free(&g);
            continue;
        }
        view_draw(m, &g);
        PracticeLayout l = practice_layout(m, g.width, g.height);
        int least = g.width >= 80 && g.height >= 24 ? 9 : g.width >= 60 && g.height >= 20 ? 7 : 5;
        char finger[16], beat[16];
        int y = l.top[BAND_PANEL];
        snprintf(finger, sizeof finger, "%d", m->notes[m->now].finger);
        snprintf(beat, sizeof beat, "%d", m->beat);
        int beat_x = l.beat_x + l.beat_width - big_width(l.size, beat);
        bool good = big_height(l.size) >= least && y + big_height(l.size) < g.height &&
                    shows(&g, y, l.finger_x, l.size, finger, INK_SOLID) &&
                    shows(&g, y, beat_x, l.size, beat, m->beat_fresh ? INK_SOLID : INK_SHADED) &&
                    (!m->now_accent || shows(&g, y, l.accent_x, l.size, ">", INK_SOLID));
        if (!good)
            fail_msg("round %d, %d x %d: finger %s, beat %s of %d", round, g.width, g.height,
                finger, beat, m->beats);
        grid_free(&g);
    }
}

/* Below the smallest screen both sizes are told, the window's own whole, wherever they go in:
 * one under the other in a high window, line by line in a low one, side by side in one row. */
static void test_too_small_tells_both_sizes(void **state)
{
    (void)state;
    made.seed = 7;
    random_model(true);
    for (int height = 1; height < 40; height++)
        for (int width = 1; width < 100; width++) {
            if (width >= VIEW_WIDTH_MIN && height >= VIEW_HEIGHT_MIN)
                continue;
            char needs[32], has[32];
            Grid g;
            snprintf(needs, sizeof needs, "%d x %d", VIEW_WIDTH_MIN, VIEW_HEIGHT_MIN);
            snprintf(has, sizeof has, "%d x %d.", width, height);
            assert_true(grid_init(&g, width, height));
            view_draw(&made.model, &g);
            char *text = grid_text(&g, false);
            assert_non_null(text);
            const bool room = width >= (height >= 6 ? 10 : height >= 2 ? 14 : 26);
            if (room && (strstr(text, needs) == NULL || strstr(text, has) == NULL))
                fail_msg("%d x %d is told as:\n%s", width, height, text);
            if (room && width >= 13 && height >= 3)
                assert_non_null(strstr(text, "too small"));
            free(text);
            grid_free(&g);
        }
}

/* A random model before a drill whose few words take twenty columns; whatever the bars to go,
 * they are told whole (or, on a huge screen, the title is). */
static void check_coming_is_told(unsigned seed, RunState run, int width, int height)
{
    static const char brief[] = "place 12 of 24 moved";
    Model *m = &made.model;
    bool rest = run == RUN_REST;
    Grid g;
    made.seed = seed;
    random_model(true);
    m->run = run;
    m->now = -1;
    memset(m->next, 'x', sizeof m->next - 1);
    memset(m->drill, 'x', sizeof m->drill - 1);
    snprintf(m->next_brief, sizeof m->next_brief, "%s", rest ? brief : "");
    snprintf(m->drill_brief, sizeof m->drill_brief, "%s", rest ? "" : brief);
    assert_true(grid_init(&g, width, height));
    for (m->bars_to_go = 0; m->bars_to_go <= 16; m->bars_to_go++) {
        view_draw(m, &g);
        char *text = grid_text(&g, false);
        assert_non_null(text);
        if (strstr(text, brief) == NULL && strstr(text, rest ? m->next : m->drill) == NULL)
            fail_msg("seed %u, %d x %d, %s of %d bars: the drill to come is not told", seed, width,
                height, rest ? "rest" : "count-in", m->bars_to_go);
        free(text);
    }
    grid_free(&g);
}

/* What the coming drill wants is told whole on every screen, whatever the news. */
static void test_the_coming_drill_is_never_cut(void **state)
{
    (void)state;
    unsigned seed = 13;
    for (int height = VIEW_HEIGHT_MIN; height <= 24; height++)
        for (int width = VIEW_WIDTH_MIN; width <= 82; width++, seed += 1000003u) {
            check_coming_is_told(seed, RUN_COUNT_IN, width, height);
            check_coming_is_told(seed, RUN_REST, width, height);
        }
    for (int round = 0; round < ROUNDS; round++, seed += 1000003u) {
        made.seed = seed;
        int width = between(VIEW_WIDTH_MIN, 500), height = between(VIEW_HEIGHT_MIN, 100);
        check_coming_is_told(seed, round % 2 == 0 ? RUN_COUNT_IN : RUN_REST, width, height);
    }
}

/* Only a finger stands between two upright lines: it is not taken for the beat. */
static void test_only_the_finger_has_a_frame(void **state)
{
    (void)state;
    for (int round = 0; round < ROUNDS; round++) {
        made.seed = 1000003u * (unsigned)round + 17;
        random_model(true);
        Grid g = random_grid();
        if (g.width < VIEW_WIDTH_MIN || g.height < VIEW_HEIGHT_MIN) {
            grid_free(&g);
            continue;
        }
        view_draw(&made.model, &g);
        PracticeLayout l = practice_layout(&made.model, g.width, g.height);
        uint32_t side = g.ascii ? '|' : 0x2503;
        for (int row = 0; row < l.rows[BAND_PANEL]; row++) {
            int y = l.top[BAND_PANEL] + row, sides = 0;
            for (int x = 0; x < g.width; x++)
                sides += grid_at(&g, y, x)->rune == side;
            assert_int_equal(grid_at(&g, y, l.finger_x - 2)->rune, side);
            assert_int_equal(grid_at(&g, y, l.finger_x + l.finger_width + 1)->rune, side);
            assert_int_equal(sides, 2);
        }
        grid_free(&g);
    }
}

/* Bands lie one under the other and fill the screen. */
static void test_bands(void **state)
{
    (void)state;
    made.seed = 99;
    for (int height = VIEW_HEIGHT_MIN; height <= GRID_HEIGHT_MAX; height++)
        for (int width = VIEW_WIDTH_MIN; width <= GRID_WIDTH_MAX; width += 7) {
            random_model(true);
            PracticeLayout l = practice_layout(&made.model, width, height);
            int top = 0;
            for (int band = 0; band < BANDS; band++) {
                assert_int_equal(l.top[band], top);
                assert_true(l.rows[band] >= 0);
                top += l.rows[band];
            }
            assert_int_equal(top, height);
            assert_int_equal(l.rows[BAND_KEYS], 1);
        }
}

/* Where the group of the note that is heard ends, and the one after it. */
static int groups_end(const Model *m, int note, int groups)
{
    int end = note;
    for (; groups > 0 && end < m->note_count; groups--) {
        int group = m->notes[end].group;
        while (end < m->note_count && m->notes[end].group == group)
            end++;
    }
    return end;
}

static void test_group_and_next_are_in_sight(void **state)
{
    (void)state;
    for (int round = 0; round < ROUNDS; round++) {
        made.seed = 1000003u * (unsigned)round + 5;
        random_model(true);
        const Model *m = &made.model;
        for (int width = VIEW_WIDTH_MIN; width <= 130; width += 5) {
            NoteWindow w = practice_window(m, width);
            int first = m->now;
            while (first > 0 && m->notes[first - 1].group == m->notes[m->now].group)
                first--;
            assert_true(w.first <= first && w.first + w.count >= groups_end(m, m->now, 2));
            for (int k = 0; k < w.count; k++)
                assert_true(w.x[k] >= 2 && w.x[k] + w.cell <= width - 2 &&
                            (k == 0 || w.x[k] > w.x[k - 1] + w.cell));
        }
    }
}

/* Fingers of the passage: one digit, or all dots of the five-row one; nothing written over. */
static void test_fingers_of_the_passage(void **state)
{
    static const BigSize dots = {BIG_SMALL, 1, 1};
    (void)state;
    for (int round = 0; round < ROUNDS; round++) {
        made.seed = 1000003u * (unsigned)round + 11;
        random_model(true);
        Grid g = random_grid();
        const Model *m = &made.model;
        if (g.width < VIEW_WIDTH_MIN || g.height < VIEW_HEIGHT_MIN) {
            grid_free(&g);
            continue;
        }
        view_draw(m, &g);
        PracticeLayout l = practice_layout(m, g.width, g.height);
        NoteWindow w = practice_window(m, g.width);
        int y = l.top[BAND_FINGERS];
        for (int k = 0; k < w.count; k++) {
            char digit[16];
            snprintf(digit, sizeof digit, "%d", m->notes[w.first + k].finger);
            bool good = l.rows[BAND_FINGERS] >= 5
                            ? shows(&g, y, w.x[k], dots, digit, INK_SOLID)
                            : grid_at(&g, y, w.x[k])->rune == (uint32_t)digit[0];
            if (!good)
                fail_msg("round %d, %d x %d, note %d", round, g.width, g.height, w.first + k);
        }
        grid_free(&g);
    }
}

/* Column of the record's axes: where the first tick stands. -1: no plot is drawn. */
static int axis_column(const Grid *g)
{
    for (int y = 1; y < g->height; y++)
        for (int x = 0; x < g->width; x++)
            if (grid_at(g, y, x)->rune == 0x2524) /* a tick */
                return x;
    return -1;
}

static int dots_in(const Grid *g, int x)
{
    int dots = 0;
    for (int y = 1; y < g->height - 2; y++)
        dots += grid_at(g, y, x)->rune == 0x25CF;
    return dots;
}

/* Each column with a tempo has one dot, and no other has any. */
static void test_each_tempo_has_its_dot(void **state)
{
    int drawn = 0;
    (void)state;
    for (int round = 0; round < ROUNDS; round++) {
        made.seed = 1000003u * (unsigned)round + 17;
        random_model(false);
        Model *m = &made.model;
        ChartPoint columns[GRID_WIDTH_MAX];
        Grid g = random_grid();
        m->screen = SCREEN_RECORD;
        m->utf8 = true;
        view_draw(m, &g);
        int axis = axis_column(&g), count = g.width - 2 - axis;
        if (axis >= 0) {
            drawn++;
            chart_columns(m->record.points, (size_t)m->record.point_count, count, columns);
            for (int i = 0; i < count; i++)
                if (dots_in(&g, axis + 1 + i) != (columns[i].tempo > 0))
                    fail_msg("round %d, %d x %d: column %d", round, g.width, g.height, i);
        }
        grid_free(&g);
    }
    assert_true(
        drawn > ROUNDS / 3); /* in the others the cursor is beyond the list, or it is empty */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cells_are_sound),
        cmocka_unit_test(test_same_model_same_grid),
        cmocka_unit_test(test_finger_and_beat_are_large),
        cmocka_unit_test(test_too_small_tells_both_sizes),
        cmocka_unit_test(test_the_coming_drill_is_never_cut),
        cmocka_unit_test(test_only_the_finger_has_a_frame),
        cmocka_unit_test(test_bands),
        cmocka_unit_test(test_group_and_next_are_in_sight),
        cmocka_unit_test(test_fingers_of_the_passage),
        cmocka_unit_test(test_each_tempo_has_its_dot),
    };
    return cmocka_run_group_tests_name("properties", tests, NULL, NULL);
}
