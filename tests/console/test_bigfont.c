/* Large figures: every sign that a view draws has a glyph, and no two can be confused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/console/bigfont.h"

#include <stdlib.h>
#include <string.h>

static const BigSize plain[] = {{BIG_SMALL, 1, 1}, {BIG_MEDIUM, 1, 1}, {BIG_LARGE, 1, 1}};

static char *drawn(BigSize size, char sign)
{
    const char text[2] = {sign, '\0'};
    Grid g;
    assert_true(grid_init(&g, 12, 9));
    g.ascii = true;
    big_draw(&g, 0, 0, size, STYLE_NORMAL, INK_SOLID, text);
    char *picture = grid_text(&g, false);
    grid_free(&g);
    return picture;
}

static void test_no_two_alike(void **state)
{
    static const char *const signs[] = {
        "0123456789ABCDEFGHINOPRSTUY->", "0123456789->", "0123456789->"};
    (void)state;
    for (size_t font = 0; font < 3; font++)
        for (const char *a = signs[font]; *a != '\0'; a++) {
            char *picture = drawn(plain[font], *a);
            assert_non_null(strchr(picture, '#'));
            for (const char *b = signs[font]; b < a; b++) {
                char *other = drawn(plain[font], *b);
                bool alike = strcmp(picture, other) == 0;
                bool letter = *a >= 'A' && *b <= '9'; /* O is as 0, S as 5: by the word */
                free(other);
                if (alike && !letter)
                    fail_msg("'%c' and '%c' look alike", *a, *b);
            }
            free(picture);
        }
}

/* Fingers and beats fill their box from top to bottom, so that they are as large as they say. */
static void test_digits_fill_their_height(void **state)
{
    (void)state;
    for (size_t font = 0; font < 3; font++)
        for (char digit = '0'; digit <= '9'; digit++) {
            char *picture = drawn(plain[font], digit), *line = picture;
            for (int row = 0; row < big_height(plain[font]); row++) {
                size_t length = strcspn(line, "\n");
                assert_non_null(memchr(line, '#', length));
                assert_true((int)length <= big_width(plain[font], "0"));
                line += length + 1;
            }
            assert_null(strchr(line, '#'));
            free(picture);
        }
}

static void test_words_can_be_written(void **state)
{
    static const struct {
        const char *word;
        int dots;
    } words[] = {{"READY", 19}, {"COUNT-IN", 30}, {"REST", 15}, {"PAUSED", 23}, {"FINISHED", 28}};
    (void)state;
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        assert_int_equal(big_width(plain[BIG_SMALL], words[i].word), words[i].dots);
    assert_int_equal(big_width(plain[BIG_LARGE], "12"), 13);
    assert_int_equal(big_width((BigSize){BIG_LARGE, 2, 4}, "12"), 52);
    assert_int_equal(big_height((BigSize){BIG_LARGE, 2, 4}), 18);
    assert_int_equal(big_width(plain[BIG_SMALL], ""), 0);
    assert_int_equal(big_width(plain[BIG_SMALL], "!?"), 0); /* no such glyphs */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_no_two_alike),
        cmocka_unit_test(test_digits_fill_their_height),
        cmocka_unit_test(test_words_can_be_written),
    };
    return cmocka_run_group_tests_name("bigfont", tests, NULL, NULL);
}
