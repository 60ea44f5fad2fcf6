/* Cells, widths, hostile text, and what a grid looks like as text. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/console/runes.h"
#include "evenhand/console/grid.h"
#include "evenhand/music/text.h"

#include <stdlib.h>
#include <string.h>

static Grid make(int width, int height, bool ascii)
{
    Grid g;
    assert_true(grid_init(&g, width, height));
    g.ascii = ascii;
    return g;
}

static void expect(Grid *g, const char *want)
{
    char *text = grid_text(g, false);
    assert_string_equal(text, want);
    free(text);
    grid_free(g);
}

static void test_size(void **state)
{
    (void)state;
    Grid g = make(0, -5, false);
    assert_int_equal(g.width, 1);
    assert_int_equal(g.height, 1);
    assert_true(grid_resize(&g, 100000, 100000));
    assert_int_equal(g.width, GRID_WIDTH_MAX);
    assert_int_equal(g.height, GRID_HEIGHT_MAX);
    assert_null(grid_at(&g, -1, 0));
    assert_null(grid_at(&g, 0, GRID_WIDTH_MAX));
    assert_null(grid_at(&g, GRID_HEIGHT_MAX, 0));
    assert_int_equal(grid_at(&g, GRID_HEIGHT_MAX - 1, GRID_WIDTH_MAX - 1)->rune, ' ');
    grid_free(&g);
}

static void test_clipped(void **state)
{
    (void)state;
    Grid g = make(6, 3, false);
    assert_int_equal(grid_put(&g, 0, 2, -1, STYLE_NORMAL, "abcdefgh"), 4);
    assert_int_equal(grid_put(&g, 1, -2, -1, STYLE_NORMAL, "abcdefgh"), 8);
    assert_int_equal(grid_put(&g, 2, 1, 3, STYLE_NORMAL, "abcdefgh"), 3);
    assert_int_equal(grid_put(&g, 3, 0, -1, STYLE_NORMAL, "below"), 0);
    assert_int_equal(grid_put(&g, -1, 0, -1, STYLE_NORMAL, "above"), 0);
    assert_int_equal(grid_put(&g, 0, 6, -1, STYLE_NORMAL, "right"), 0);
    assert_int_equal(grid_put(&g, 0, 900, -1, STYLE_NORMAL, "right"), 0);
    expect(&g, "  abcd\ncdefgh\n abc\n");
}

static void test_wide(void **state)
{
    (void)state;
    Grid g = make(7, 4, false);
    assert_int_equal(grid_put(&g, 0, 0, -1, STYLE_NORMAL, "音階音階"), 6); /* no half of one */
    assert_int_equal(grid_at(&g, 0, 1)->rune, 0);
    grid_put(&g, 1, 0, -1, STYLE_NORMAL, "音階");
    grid_put(&g, 1, 1, -1, STYLE_NORMAL, "x"); /* over a right half */
    grid_put(&g, 2, 0, -1, STYLE_NORMAL, "音階");
    grid_put(&g, 2, 2, -1, STYLE_NORMAL, "x"); /* over a left half */
    grid_put(&g, 3, 0, -1, STYLE_NORMAL, "a音階");
    grid_put(&g, 3, 2, -1, STYLE_NORMAL, "音"); /* across two */
    expect(&g, "音階音\n x階\n音x\na 音\n");
}

static void test_combining(void **state)
{
    (void)state;
    Grid g = make(6, 2, false);
    /* One column each; a second mark and one without a letter before it are left out. */
    assert_int_equal(grid_put(&g, 0, 0, -1, STYLE_NORMAL,
                         "\xCC\x81"
                         "Cafe\xCC\x81\xCC\x88s"),
        5);
    assert_int_equal(grid_at(&g, 0, 3)->mark, 0x301);
    assert_int_equal(grid_put(&g, 1, 0, 4, STYLE_NORMAL, "Cafe\xCC\x81"), 4);
    grid_put(&g, 1, 3, -1, STYLE_NORMAL, "e"); /* written over: the mark goes */
    expect(&g, "Cafe\xCC\x81s\nCafe\n");
}

static void test_hostile(void **state)
{
    (void)state;
    Grid g = make(40, 3, false);
    /* escape, bell, DEL, a C1 control in UTF-8, a bidirectional override, a line separator */
    grid_put(&g, 0, 0, -1, STYLE_NORMAL, "\x1B[31m\a\x7F\xC2\x9B\xE2\x80\xAE\xE2\x80\xA8.");
    /* a lone byte, an overlong slash, half a character at the end */
    grid_put(&g, 1, 0, -1, STYLE_NORMAL, "\xFF\xC0\xAF.\xE2\x99");
    grid_fill(&g, 2, 0, 1, 2, STYLE_NORMAL, '\n');
    grid_fill(&g, 2, 2, 1, 1, STYLE_NORMAL, 0x97F3); /* wide: has no room in one cell */
    expect(&g, "?[31m?????.\n???.??\n???\n");
}

static void test_ascii(void **state)
{
    (void)state;
    Grid g = make(40, 2, true);
    assert_int_equal(
        grid_put(&g, 0, 0, -1, STYLE_NORMAL, "Étude in F♯, B♭ – “Ñandú” 音 ß Łódź"), 35);
    grid_fill(&g, 1, 0, 1, 3, STYLE_NORMAL, 0x2588);
    expect(&g, "Etude in F#, Bb - \"Nandu\" ?  s Lodz\n???\n");
}

static void test_fill_clipped(void **state)
{
    (void)state;
    Grid g = make(4, 3, false);
    grid_fill(&g, -5, -5, 7, 7, STYLE_NOW, '#');
    grid_fill(&g, 2, 3, 100, 100, STYLE_BAR, '*');
    assert_int_equal(grid_at(&g, 2, 3)->style, STYLE_BAR);
    assert_int_equal(grid_at(&g, 1, 1)->style, STYLE_NOW);
    expect(&g, "##\n##\n   *\n");
}

static void test_text_with_styles(void **state)
{
    (void)state;
    Grid g = make(5, 2, false);
    grid_printf(&g, 0, 1, -1, STYLE_ACCENT, "%d%c", 4, '>');
    grid_put(&g, 1, 0, -1, STYLE_BAR, "b ");
    char *text = grid_text(&g, true);
    assert_string_equal(text, " 4>\nb\n.aa\nbb\n");
    free(text);
    grid_free(&g);
}

static void encoded(uint32_t rune, char out[RUNE_BYTES_MAX + 1])
{
    out[rune_encode(rune, out)] = '\0';
}

/* Every character there is: as UTF-8 and back, and cleaned alike for the screen and elsewhere. */
static void test_every_character(void **state)
{
    (void)state;
    for (uint32_t rune = 1; rune <= 0x10FFFF; rune++) {
        char text[RUNE_BYTES_MAX + 1], clean[16];
        uint32_t back;
        bool surrogate = rune >= 0xD800 && rune <= 0xDFFF;
        encoded(rune, text);
        assert_int_equal(rune_decode(text, &back), surrogate ? 0 : (int)strlen(text));
        assert_int_equal(back, surrogate ? 0xED : rune);
        assert_int_equal(runes_next(text, &back), surrogate ? 1 : (int)strlen(text));
        assert_int_equal(back, surrogate ? '?' : rune);
        if (surrogate)
            continue;
        encoded(rune_clean(rune), clean);
        char shown[16];
        assert_string_equal(text_clean(text, shown, sizeof shown), clean);
        assert_int_equal(text_columns(text), rune_columns(rune));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_size),
        cmocka_unit_test(test_clipped),
        cmocka_unit_test(test_wide),
        cmocka_unit_test(test_combining),
        cmocka_unit_test(test_hostile),
        cmocka_unit_test(test_ascii),
        cmocka_unit_test(test_fill_clipped),
        cmocka_unit_test(test_text_with_styles),
        cmocka_unit_test(test_every_character),
    };
    return cmocka_run_group_tests_name("grid", tests, NULL, NULL);
}
