/* The curses driver on a pseudo-terminal: what it writes, what it reads, which terminals it
 * refuses. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "console/screen_child.h"
#include "evenhand/console/keys.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* ---- what is written ------------------------------------------------------------------------ */

static int scenario_cells(void)
{
    ScreenDriver *s = child_screen();
    Grid g = child_grid(s);
    pty_report(g.width);
    pty_report(g.height);
    grid_put(&g, 3, 5, -1, STYLE_NORMAL, "twelve cells");
    pty_report(screen_show(s, &g));
    pty_report(screen_show(s, &g)); /* nothing has changed */
    grid_put(&g, 3, 5, -1, STYLE_NORMAL, "tWelve cellS");
    pty_report(screen_show(s, &g));
    grid_put(&g, 3, 5, 1, STYLE_STRONG, "t"); /* a style is a change */
    pty_report(screen_show(s, &g));
    grid_put(&g, 9, 0, -1, STYLE_NORMAL, "音"); /* one character, two cells */
    pty_report(screen_show(s, &g));
    screen_close(s);
    grid_free(&g);
    return 0;
}

static void test_changed_cells_only(void **state)
{
    static const int wanted[] = {
        80, 24, 11, 0, 2, 1, 2}; /* the blank in "twelve cells" is no change */
    (void)state;
    Pty p = pty_start(&(PtyOptions){0}, scenario_cells);
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
        int number;
        assert_true(pty_number(&p, &number));
        assert_int_equal(number, wanted[i]);
    }
    assert_int_equal(pty_end(&p), 0);
    assert_non_null(strstr(p.output, "twelve"));
    assert_non_null(strstr(p.output, "音"));
    assert_true(given_back(&p));
    pty_free(&p);
}

static void mark(const char *text)
{
    if (write(STDOUT_FILENO, text, strlen(text)) < 0)
        exit(96);
}

static int scenario_quiet(void)
{
    ScreenDriver *s = child_screen();
    Grid g = child_grid(s);
    grid_fill(&g, 0, 0, g.height, g.width, STYLE_ACCENT, 'x');
    mark("<begin>");
    screen_show(s, &g);
    mark("<whole>");
    for (int i = 0; i < 100; i++)
        screen_show(s, &g);
    mark("<nothing>");
    grid_put(&g, 5, 5, -1, STYLE_NORMAL, "!");
    screen_show(s, &g);
    mark("<one>");
    screen_close(s);
    grid_free(&g);
    return 0;
}

static size_t between_marks(const Pty *p, const char *from, const char *to)
{
    const char *start = strstr(p->output, from), *end = strstr(p->output, to);
    assert_non_null(start);
    assert_non_null(end);
    return (size_t)(end - start) - strlen(from);
}

/* Bytes, not only our own count: one cell costs a few of them, a whole screen thousands. */
static void test_bytes_written(void **state)
{
    (void)state;
    Pty p = pty_start(&(PtyOptions){0}, scenario_quiet);
    assert_int_equal(pty_end(&p), 0);
    assert_true(between_marks(&p, "<begin>", "<whole>") >= 80 * 24);
    assert_int_equal(between_marks(&p, "<whole>", "<nothing>"), 0);
    assert_in_range(between_marks(&p, "<nothing>", "<one>"), 1, 60);
    pty_free(&p);
}

static int scenario_styles(void)
{
    ScreenDriver *s = child_screen();
    Grid g = child_grid(s);
    for (int style = 0; style < STYLE_KINDS; style++)
        grid_put(&g, style, 0, -1, (Style)style, "style");
    grid_put(&g, STYLE_KINDS, 0, -1, STYLE_NORMAL, "\u266F \u2588");
    screen_show(s, &g);
    pty_report(screen_utf8(s));
    screen_close(s);
    return 0;
}

/* The bytes of a screen in all styles. The caller frees them. */
static char *styles_on(const PtyOptions *options, int *utf8)
{
    Pty p = pty_start(options, scenario_styles);
    assert_true(pty_number(&p, utf8));
    assert_int_equal(pty_end(&p), 0);
    char *output = strdup(p.output);
    pty_free(&p);
    return output;
}

static void test_colors(void **state)
{
    (void)state;
    int utf8;
    char *output = styles_on(&(PtyOptions){0}, &utf8);
    assert_non_null(strstr(output, "38;5;163m")); /* one tone of 256 */
    assert_null(strstr(output, "48;5;"));         /* the background stays the user's */
    free(output);
    output = styles_on(&(PtyOptions){.term = "xterm"}, &utf8); /* 8 colours */
    assert_non_null(strstr(output, "\x1B[35m"));
    free(output);
    output = styles_on(&(PtyOptions){.no_color = true}, &utf8);
    assert_null(strstr(output, "38;5;"));
    for (int color = 30; color <= 37; color++) {
        char sequence[16] = "\x1B[3_m";
        sequence[3] = (char)('0' + color - 30);
        assert_null(strstr(output, sequence));
    }
    assert_non_null(strstr(output, "style"));
    free(output);
    output = styles_on(&(PtyOptions){.term = "vt100"}, &utf8); /* no colours at all */
    assert_non_null(strstr(output, "style"));
    free(output);
}

static void test_locale(void **state)
{
    (void)state;
    int utf8;
    char *output = styles_on(&(PtyOptions){0}, &utf8);
    assert_int_equal(utf8, 1);
    assert_non_null(strstr(output, "\u266F"));
    free(output);
    output = styles_on(&(PtyOptions){.locale = "C"}, &utf8);
    assert_int_equal(utf8, 0);
    assert_null(strstr(output, "\u266F"));
    for (const char *s = output; *s != '\0'; s++)
        assert_true((unsigned char)*s < 0x80);
    free(output);
}

/* ---- keys ------------------------------------------------------------------------------------ */

static int scenario_keys(void)
{
    ScreenDriver *s = child_screen();
    pty_report(0);
    for (;;) {
        uint32_t key = screen_key(s, 1000);
        if (key != 0)
            pty_report((int)key);
        if (key == 'q')
            break;
    }
    screen_close(s);
    return 0;
}

/* As xterm sends them with the keypad on (smkx of its terminfo entry). */
static void test_keys(void **state)
{
    static const struct {
        const char *bytes;
        uint32_t key;
    } typed[] = {{" ", ' '}, {"\r", KEY_CODE_ENTER}, {"\n", KEY_CODE_ENTER},
        {"\x1B[5~", KEY_CODE_PAGE_UP}, {"\x1B[6~", KEY_CODE_PAGE_DOWN}, {"\x1BOA", KEY_CODE_UP},
        {"\x1BOB", KEY_CODE_DOWN}, {"\x1BOC", KEY_CODE_RIGHT}, {"\x1BOD", KEY_CODE_LEFT},
        {"\x1B", KEY_CODE_ESCAPE}, {"\x7F", KEY_CODE_BACKSPACE}, {"\x08", KEY_CODE_BACKSPACE},
        {"é", 0xE9}, {"+", '+'}, {"\x1BOH", KEY_CODE_HOME}, {"\x1BOF", KEY_CODE_END}};
    (void)state;
    int number;
    Pty p = pty_start(&(PtyOptions){0}, scenario_keys);
    assert_true(pty_number(&p, &number));
    for (size_t i = 0; i < sizeof typed / sizeof typed[0]; i++) {
        pty_type(&p, typed[i].bytes);
        assert_true(pty_number(&p, &number));
        assert_int_equal(number, typed[i].key);
    }
    pty_type(&p, "\x1B[15~q"); /* F5 has no meaning: passed over */
    assert_true(pty_number(&p, &number));
    assert_int_equal(number, 'q');
    assert_int_equal(pty_end(&p), 0);
    assert_true(given_back(&p));
    pty_free(&p);
}

/* ---- sizes ----------------------------------------------------------------------------------- */

static int scenario_sizes(void)
{
    ScreenDriver *s = child_screen();
    pty_report(0);
    for (;;) {
        uint32_t key = screen_key(s, 20);
        Grid g = child_grid(s);
        grid_fill(&g, 0, 0, g.height, g.width, STYLE_BAR, '*');
        int written = screen_show(s, &g);
        if (key == 'w') { /* width, height, whether all was drawn by now */
            pty_report(g.width);
            pty_report(g.height);
            pty_report(written);
        }
        grid_free(&g);
        if (key == 'q')
            break;
    }
    screen_close(s);
    return 0;
}

static void test_resize_storm(void **state)
{
    (void)state;
    int number, width = 0, height = 0;
    unsigned seed = 12345;
    Pty p = pty_start(&(PtyOptions){0}, scenario_sizes);
    assert_true(pty_number(&p, &number));
    for (int i = 0; i < 300; i++) {
        seed = seed * 1103515245u + 12345u;
        width = 1 + (int)(seed >> 16) % 180;
        height = 1 + (int)(seed >> 8) % 60;
        pty_resize(&p, width, height);
        pty_output_has(&p, p.size, ""); /* take in what is written */
    }
    for (int tries = 0;; tries++) { /* the last size arrives in the end */
        int written, shown_width, shown_height;
        pty_type(&p, "w");
        assert_true(pty_number(&p, &shown_width));
        assert_true(pty_number(&p, &shown_height));
        assert_true(pty_number(&p, &written));
        if (shown_width == width && shown_height == height)
            break;
        assert_true(tries < 1000);
    }
    pty_type(&p, "q");
    assert_int_equal(pty_end(&p), 0);
    assert_true(given_back(&p));
    pty_free(&p);
}

/* ---- terminals that will not do -------------------------------------------------------------- */

static int scenario_refused(void)
{
    Error error = {0};
    ScreenDriver *s = screen_open(&(ScreenOptions){0}, &error);
    pty_report(s == NULL ? (int)error.kind : -1);
    pty_report((int)strlen(error.text));
    return 0;
}

static void test_refused(void **state)
{
    static const char *const terms[] = {"dumb", "no-such-terminal", ""};
    (void)state;
    for (size_t i = 0; i < sizeof terms / sizeof terms[0]; i++) {
        int kind, length;
        Pty p = pty_start(&(PtyOptions){.term = terms[i]}, scenario_refused);
        assert_true(pty_number(&p, &kind));
        assert_true(pty_number(&p, &length));
        assert_int_equal(kind, ERROR_TERMINAL);
        assert_true(length > 10);
        assert_int_equal(pty_end(&p), 0); /* curses did not end the program */
        assert_true(pty_settings_restored(&p));
        assert_int_equal(p.size, 0); /* nothing was sent */
        pty_free(&p);
    }
}

static int scenario_no_terminal(void)
{
    int nothing[2];
    if (pipe(nothing) != 0)
        return 1;
    dup2(nothing[1], STDOUT_FILENO);
    return scenario_refused();
}

static void test_no_terminal(void **state)
{
    int kind, length;
    (void)state;
    Pty p = pty_start(&(PtyOptions){0}, scenario_no_terminal);
    assert_true(pty_number(&p, &kind));
    assert_true(pty_number(&p, &length));
    assert_int_equal(kind, ERROR_TERMINAL);
    assert_int_equal(pty_end(&p), 0);
    pty_free(&p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_changed_cells_only),
        cmocka_unit_test(test_bytes_written),
        cmocka_unit_test(test_colors),
        cmocka_unit_test(test_locale),
        cmocka_unit_test(test_keys),
        cmocka_unit_test(test_resize_storm),
        cmocka_unit_test(test_refused),
        cmocka_unit_test(test_no_terminal),
    };
    return cmocka_run_group_tests_name("screen", tests, NULL, NULL);
}
