/* Random models in grids of every size: whatever the application fills in, the screen holds. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/console/runes.h"
#include "../../src/console/view_practice_notes.h"
#include "evenhand/console/view.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ROUNDS = 3000, NOTES_MAX = 60, ITEMS_MAX = 30 };

static struct {
    uint64_t seed;
    Model model;
    ModelNote notes[NOTES_MAX];
    ModelItem items[ITEMS_MAX];
    ModelNote plans[MODEL_PLANS_MAX][NOTES_MAX];
    uint8_t fixed[NOTES_MAX];
} made;

/* xorshift64*; the seed of a round is printed when it fails. */
static uint32_t random_bits(void)
{
    made.seed ^= made.seed >> 12;
    made.seed ^= made.seed << 25;
    made.seed ^= made.seed >> 27;
    return (uint32_t)(made.seed * 2685821657736338717u >> 32);
}

static int between(int low, int high)
{
    return low + (int)(random_bits() % (uint32_t)(high - low + 1));
}

/* Mostly sensible, sometimes anything at all: bytes that are no UTF-8, controls, wide ones. */
static void random_text(char *out, size_t size)
{
    static const char *const parts[] = {"a", "note ", "é", "音", "e\xCC\x81", "\x1B[J", "\xFF", "♯",
        "7", "\xE2\x80\xAE", "  ", "\n", "long-short "};
    size_t used = 0;
    int count = between(0, 3) == 0 ? between(0, 80) : between(0, 6);
    out[0] = '\0';
    for (int i = 0; i < count; i++) {
        const char *part = parts[between(0, (int)(sizeof parts / sizeof parts[0]) - 1)];
        if (used + strlen(part) + 1 > size)
            return;
        strcpy(out + used, part);
        used += strlen(part);
    }
}

static void random_note(ModelNote *n, int i, bool sane)
{
    static const char letters[] = "CDEFGAB";
    *n = (ModelNote){.string = between(10, 50), .finger = between(sane ? 1 : 0, 4)};
    n->letter = letters[n->string % 7];
    if (sane || between(0, 9) > 0)
        snprintf(n->name, sizeof n->name, "%c%s%d", n->letter, between(0, 2) == 0 ? "♯" : "",
            n->string / 7);
    else
        random_text(n->name, sizeof n->name);
    const ModelNote *last = i > 0 ? n - 1 : NULL;
    bool first = last == NULL || last->place >= last->size;
    n->group = last == NULL ? 0 : first ? last->group + 1 : last->group;
    n->size = first ? between(2, 4) : last->size;
    n->place = !first ? last->place + 1 : last != NULL && last->turn ? 2 : 1;
    n->turn = n->place >= n->size && between(0, 5) == 0;
    n->link = !first ? MODEL_LINK_WITHIN : (ModelLink)between(MODEL_LINK_START, MODEL_LINK_LIFT);
    if (first && last != NULL && n->link == MODEL_LINK_WITHIN)
        n->link = MODEL_LINK_LIFT;
    n->accent = between(0, 2) == 0;
    n->bar_start = between(0, 5) == 0;
    n->on_beat = between(0, 1) == 0;
    n->length = between(0, 3) == 0 ? between(-1, 1) : 0;
    snprintf(n->beat, sizeof n->beat, "%d%s", between(1, 12), n->on_beat ? "" : ".5");
    if (between(0, sane ? 1 << 20 : 9) > 0)
        return;
    random_text(n->chord, sizeof n->chord);
    for (int k = between(0, 5); k > 0; k--)
        n->fingers[k - 1] = (char)('0' + between(0, 4));
}

static void random_cue(ModelCue *cue)
{
    cue->kind = (CueKind)between(CUE_NONE, CUE_NUMBER);
    int slots = cue->kind == CUE_FINGER   ? 1
                : cue->kind == CUE_NUMBER ? 4
                                          : between(1, MODEL_CUE_SLOTS);
    for (int i = 0; i < slots && cue->kind != CUE_NONE; i++)
        cue->accent[i] = cue->kind != CUE_PATTERN ? (char)('0' + between(0, 9))
                         : between(0, 2) == 0     ? '>'
                                                  : '.';
    for (int i = between(0, MODEL_CUE_NOTES); i > 0; i--)
        cue->rhythm[i - 1] = between(0, 1) == 0 ? 'L' : 's';
    cue->p = between(0, 64);
    cue->q = between(0, 64);
}

/* Plans of the same notes with fingers and groups of their own. */
static void random_fingers(ModelFingers *f, int notes, bool sane)
{
    f->plan_count = between(sane ? 1 : -1, sane ? MODEL_PLANS_MAX : MODEL_PLANS_MAX + 1);
    for (int plan = 0; plan < MODEL_PLANS_MAX; plan++) {
        for (int i = 0; i < notes; i++) {
            ModelNote *n = &made.plans[plan][i];
            random_note(n, i, sane);
            memcpy(n->name, made.notes[i].name, sizeof n->name);
            made.fixed[i] = (uint8_t)(between(0, 3) == 0 ? between(1, 4) : 0);
        }
        f->plans[plan].notes = made.plans[plan];
        f->plans[plan].cost = between(0, 9999999);
        random_text(f->plans[plan].grouping, MODEL_TEXT_MAX);
        random_text(f->plans[plan].words, MODEL_WORDS_MAX);
    }
    f->fixed = between(0, 3) == 0 ? NULL : made.fixed;
    f->note_count = notes;
    f->note = sane ? between(0, notes - 1) : between(-1, notes);
    f->cursor = sane ? between(0, f->plan_count - 1) : between(-1, MODEL_PLANS_MAX);
    f->used = sane ? between(0, f->plan_count - 1) : between(-1, MODEL_PLANS_MAX);
    f->unsaved = between(0, 1) == 0;
    random_text(f->finding, sizeof f->finding);
}

static void random_model(bool sane)
{
    Model *m = &made.model;
    memset(m, 0, sizeof *m);
    m->screen = sane ? SCREEN_PRACTICE : (Screen)between(0, SCREEN_KINDS - 1);
    m->run = sane ? RUN_PLAYING : (RunState)between(RUN_READY, RUN_FINISHED);
    m->utf8 = between(0, 1) == 0;
    random_text(m->title, sizeof m->title);
    random_text(m->drill, sizeof m->drill);
    random_text(m->next, sizeof m->next);
    random_text(m->key, sizeof m->key);
    random_text(m->tempo, sizeof m->tempo);
    random_text(m->audio, sizeof m->audio);
    if (between(0, 2) == 0)
        random_text(m->message, sizeof m->message);
    m->message_warns = between(0, 1) == 0;
    m->audio_warns = between(0, 4) == 0;
    m->note_count = between(sane ? 1 : 0, NOTES_MAX);
    for (int i = 0; i < m->note_count; i++)
        random_note(&made.notes[i], i, sane);
    m->notes = made.notes;
    m->now = sane ? between(0, m->note_count - 1) : between(-2, m->note_count + 1);
    m->now_accent = between(0, 1) == 0;
    m->coming = between(-1, m->note_count);
    m->beats = sane ? between(1, 12) : between(-1, 64);
    m->beat = sane ? between(1, m->beats) : between(-1, 70);
    m->beat_fresh = between(0, 1) == 0;
    m->bars_to_go = sane ? 0 : between(0, 16);
    m->subs = between(0, 3);
    m->sub = between(0, 4);
    random_cue(&m->cue);
    random_text(m->drill_brief, sizeof m->drill_brief);
    random_text(m->next_brief, sizeof m->next_brief);
    random_text(m->message_brief, sizeof m->message_brief);
    m->single = between(0, 3) == 0;
    m->repetitions = between(0, 1000);
    m->repetition = between(0, 1000);
    m->seconds_left = between(-1, 20000);
    for (int i = 0; i < ITEMS_MAX; i++) {
        random_text(made.items[i].title, MODEL_TEXT_MAX);
        random_text(made.items[i].detail, MODEL_TEXT_MAX);
    }
    m->drills = m->passages =
        (ModelList){made.items, between(0, ITEMS_MAX), between(-1, 40), between(-1, 35)};
    m->layer_cursor = between(-1, MODEL_LAYERS);
    for (int i = 0; i < MODEL_LAYERS; i++)
        m->layers[i].level = between(-80, 20);
    m->master = between(-80, 20);
    m->underruns = between(0, 3) == 0 ? UINT64_MAX : 0;
    m->help_top = between(-5, 300);
    if (!sane)
        random_fingers(&m->fingers, m->note_count, false);
}

/* Mostly the sizes that people have, sometimes tiny or huge. */
static Grid random_grid(void)
{
    Grid g;
    int kind = between(0, 9);
    int width = kind == 0 ? between(1, 45) : kind == 1 ? between(40, 500) : between(40, 170);
    int height = kind == 0 ? between(1, 14) : kind == 1 ? between(12, 200) : between(12, 60);
    assert_true(grid_init(&g, width, height));
    return g;
}

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

/* What the coming drill wants is told whole on every screen, whatever the news. */
static void test_the_coming_drill_is_never_cut(void **state)
{
    static const char brief[] = "place 12 of 24 moved"; /* twenty columns */
    (void)state;
    for (int round = 0; round < ROUNDS; round++) {
        made.seed = 1000003u * (unsigned)round + 13;
        random_model(true);
        Grid g = random_grid();
        Model *m = &made.model;
        if (g.width < VIEW_WIDTH_MIN || g.height < VIEW_HEIGHT_MIN) {
            grid_free(&g);
            continue;
        }
        m->run = between(0, 1) == 0 ? RUN_COUNT_IN : RUN_REST;
        m->bars_to_go = between(0, 16);
        m->now = -1;
        memset(m->next, 'x', sizeof m->next - 1);
        memset(m->drill, 'x', sizeof m->drill - 1);
        snprintf(m->next_brief, sizeof m->next_brief, m->run == RUN_REST ? brief : "");
        snprintf(m->drill_brief, sizeof m->drill_brief, m->run == RUN_REST ? "" : brief);
        view_draw(m, &g);
        char *text = grid_text(&g, false);
        assert_non_null(text);
        const char *title = m->run == RUN_REST ? m->next : m->drill; /* a huge screen has it */
        if (strstr(text, brief) == NULL && strstr(text, title) == NULL)
            fail_msg("round %d, %d x %d: the drill to come is not told", round, g.width, g.height);
        free(text);
        grid_free(&g);
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

/* The row of a plan's fingers: the first one below its head that has the digit of the first note
 * shown, and then of all of them, in the columns of their names. */
static bool has_fingers(
    const Grid *g, int y, const ModelNote *notes, int first, int count, int step)
{
    for (int k = 0; k < count; k++) {
        const Cell *c = grid_at(g, y, 3 + k * step);
        if (c == NULL || c->rune != (uint32_t)('0' + notes[first + k].finger))
            return false;
    }
    return true;
}

/* Under each name its fingers in all plans, in order, none of them written over, the note at the
 * cursor and the plan in use among them; a head over each. */
static void test_plans_stand_under_their_notes(void **state)
{
    (void)state;
    for (int round = 0; round < ROUNDS; round++) {
        made.seed = 1000003u * (unsigned)round + 19;
        random_model(true);
        Model *m = &made.model;
        ModelFingers *f = &m->fingers;
        Grid g = random_grid();
        random_fingers(f, m->note_count, true);
        m->screen = SCREEN_FINGERS;
        if (g.width < VIEW_WIDTH_MIN || g.height < VIEW_HEIGHT_MIN) {
            grid_free(&g);
            continue;
        }
        view_draw(m, &g);
        int step = 4, marker = -1, y = 3, first;
        for (int x = 3; x < g.width; x++)
            if (grid_at(&g, 2, x)->rune == (g.ascii ? 'v' : 0x25BC))
                marker = x;
        assert_true(marker >= 3 && (marker - 3) % step == 0);
        first = f->note - (marker - 3) / step;
        int fit = (g.width - 6 + 1) / step, left = f->note_count - first;
        for (int plan = 0; plan < f->plan_count; plan++) {
            assert_int_equal(grid_at(&g, y, 3)->rune, '1' + plan);
            uint32_t used = grid_at(&g, y, 2)->rune;
            assert_int_equal(used == (g.ascii ? '*' : 0x25CF), plan == f->used);
            int head = y++;
            while (y < g.height &&
                   !has_fingers(&g, y, f->plans[plan].notes, first, fit < left ? fit : left, step))
                y++;
            if (y > head + 3)
                fail_msg("round %d, %d x %d: plan %d", round, g.width, g.height, plan + 1);
            for (y++; plan + 1 < f->plan_count && y < g.height - 1 &&
                      grid_at(&g, y, 3)->rune != (uint32_t)('2' + plan);)
                y++;
        }
        assert_true(y < g.height - 1);
        grid_free(&g);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cells_are_sound),
        cmocka_unit_test(test_same_model_same_grid),
        cmocka_unit_test(test_finger_and_beat_are_large),
        cmocka_unit_test(test_the_coming_drill_is_never_cut),
        cmocka_unit_test(test_only_the_finger_has_a_frame),
        cmocka_unit_test(test_bands),
        cmocka_unit_test(test_group_and_next_are_in_sight),
        cmocka_unit_test(test_fingers_of_the_passage),
        cmocka_unit_test(test_plans_stand_under_their_notes),
    };
    return cmocka_run_group_tests_name("properties", tests, NULL, NULL);
}
