/* The one key table: unambiguous, complete, and the same in the help and in the manual. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/console/keys.h"
#include "evenhand/console/view.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void test_no_key_twice(void **state)
{
    int count;
    const KeyBinding *table = keys_table(&count);
    (void)state;
    for (int i = 0; i < count; i++)
        for (int j = i + 1; j < count; j++)
            if (table[i].key == table[j].key && (table[i].screens & table[j].screens) != 0)
                fail_msg("%s is bound twice on one screen", table[i].name);
}

/* The same key has one name, different keys have different names: the manual goes by names. */
static void test_names(void **state)
{
    int count;
    const KeyBinding *table = keys_table(&count);
    (void)state;
    for (int i = 0; i < count; i++) {
        assert_true(table[i].name[0] != '\0');
        if (table[i].name[1] == '\0') /* "+" is the key that prints + */
            assert_int_equal(table[i].key, table[i].name[0]);
        assert_true(table[i].screens != 0 && table[i].screens < 1u << SCREEN_KINDS);
        for (int j = 0; j < count; j++)
            assert_int_equal(
                table[i].key == table[j].key, strcmp(table[i].name, table[j].name) == 0);
    }
}

static void test_every_action_is_reachable(void **state)
{
    int count;
    const KeyBinding *table = keys_table(&count);
    (void)state;
    for (Action action = ACTION_NONE + 1; action < ACTION_KINDS; action++) {
        bool found = false;
        for (int i = 0; i < count; i++)
            found = found || table[i].action == action;
        if (!found)
            fail_msg("no key for: %s", action_text(action));
        assert_non_null(action_text(action));
        assert_true(strlen(action_text(action)) > 3);
    }
}

static void test_dispatch(void **state)
{
    int count;
    const KeyBinding *table = keys_table(&count);
    (void)state;
    for (int i = 0; i < count; i++)
        for (int screen = 0; screen < SCREEN_KINDS; screen++)
            if ((table[i].screens & 1u << screen) != 0)
                assert_int_equal(keys_action(table[i].key, (Screen)screen), table[i].action);
    assert_int_equal(keys_action('Q', SCREEN_PRACTICE), ACTION_QUIT); /* caps lock */
    assert_int_equal(keys_action('z', SCREEN_PRACTICE), ACTION_NONE);
    assert_int_equal(keys_action(0, SCREEN_PRACTICE), ACTION_NONE);
    assert_int_equal(keys_action(KEY_CODE_RESIZE, SCREEN_PRACTICE), ACTION_NONE);
}

/* Each pair that page-turn pedals send must do the one thing with its forward half, and nothing in
 * mid-bar that cannot be taken back with the other. [common practice: Page Down and Page Up, right
 * and left, down and up arrows, Space and Enter] */
static void test_pedals(void **state)
{
    static const uint32_t go[] = {
        ' ', KEY_CODE_PAGE_DOWN, KEY_CODE_ENTER, KEY_CODE_RIGHT, KEY_CODE_DOWN};
    static const uint32_t back[] = {KEY_CODE_PAGE_UP, KEY_CODE_LEFT, KEY_CODE_UP};
    (void)state;
    for (size_t i = 0; i < sizeof go / sizeof go[0]; i++)
        assert_int_equal(keys_action(go[i], SCREEN_PRACTICE), ACTION_GO);
    for (size_t i = 0; i < sizeof back / sizeof back[0]; i++)
        assert_int_equal(keys_action(back[i], SCREEN_PRACTICE), ACTION_PEDAL_BACK);
    /* A stray Escape must not end or leave anything while somebody plays. */
    assert_int_equal(keys_action(KEY_CODE_ESCAPE, SCREEN_PRACTICE), ACTION_NONE);
    for (int screen = 0; screen < SCREEN_KINDS; screen++) {
        assert_int_equal(keys_action('q', (Screen)screen), ACTION_QUIT);
        assert_int_equal(keys_action('h', (Screen)screen), ACTION_HELP);
        if (screen != SCREEN_PRACTICE)
            assert_int_equal(keys_action(KEY_CODE_ESCAPE, (Screen)screen), ACTION_BACK);
    }
}

static void test_debounce(void **state)
{
    Debounce d = {0};
    (void)state;
    assert_true(debounce_pass(&d, ' ', ACTION_GO, 0)); /* the first press, even at 0 */
    assert_false(debounce_pass(&d, ' ', ACTION_GO, 199));
    assert_false(debounce_pass(&d, ' ', ACTION_GO, 398)); /* held down: still one press */
    assert_true(debounce_pass(&d, ' ', ACTION_GO, 598));  /* 200 ms of quiet */
    assert_true(debounce_pass(&d, KEY_CODE_PAGE_DOWN, ACTION_GO, 600)); /* another key */
    assert_true(debounce_pass(&d, '+', ACTION_TEMPO_UP, 601));
    assert_true(debounce_pass(&d, '+', ACTION_TEMPO_UP, 602));           /* tempo keys may repeat */
    assert_false(debounce_pass(&d, KEY_CODE_PAGE_DOWN, ACTION_GO, 700)); /* and change nothing */
    assert_true(debounce_pass(&d, KEY_CODE_PAGE_DOWN, ACTION_GO, 10));   /* a clock set back */
    assert_true(debounce_pass(&d, 'n', ACTION_NEXT, 20));
    assert_false(debounce_pass(&d, 'n', ACTION_NEXT, 30));
}

/* ---- the manual ---------------------------------------------------------------------------- */

enum { ROW_MAX = 300 };

/* ".It Sy \&] , Up" as "], Up": mdoc's escapes and its loose commas (mdoc(7)). */
static void read_names(const char *line, char out[ROW_MAX])
{
    size_t used = 0;
    for (; *line != '\0' && *line != '\n' && used + 1 < ROW_MAX; line++) {
        if (line[0] == '\\' && line[1] == '&')
            line++;
        else if (line[0] == ' ' && line[1] == ',' && line[2] == ' ')
            continue;
        else if (line[0] != '\\')
            out[used++] = *line;
    }
    out[used] = '\0';
}

/* Fills rows with the KEYS section's: "heading", or "names: sentence"; returns how many. */
static int manual_rows(char rows[][ROW_MAX], int most)
{
    FILE *manual = fopen("src/app/evenhand.1", "r");
    char line[ROW_MAX], names[ROW_MAX] = "";
    bool keys = false;
    int count = 0;

    assert_non_null(manual);
    while (fgets(line, sizeof line, manual) != NULL) {
        line[strcspn(line, "\n")] = '\0';
        if (strncmp(line, ".Sh ", 4) == 0)
            keys = strcmp(line, ".Sh KEYS") == 0;
        if (!keys)
            continue;
        if (strncmp(line, ".Ss ", 4) == 0) {
            assert_true(count < most);
            snprintf(rows[count++], ROW_MAX, "%.200s", line + 4);
        } else if (strncmp(line, ".It Sy ", 7) == 0) {
            read_names(line + 7, names);
        } else if (names[0] != '\0' && line[0] != '.') {
            assert_true(count < most);
            snprintf(rows[count++], ROW_MAX, "%.90s: %.200s", names, line);
            names[0] = '\0';
        }
    }
    fclose(manual);
    return count;
}

static void expect_row(const char *got, const char *want)
{
    if (strcmp(got, want) != 0)
        fail_msg("src/app/evenhand.1, KEYS: it says\n  %s\nand should say\n  %s", got, want);
}

/* The manual tells the keys under the help's headings, in its order and its words. */
static void test_manual(void **state)
{
    static char rows[2 * ACTION_KINDS][ROW_MAX];
    int count = manual_rows(rows, 2 * ACTION_KINDS), row = 0;
    (void)state;

    for (Screen screen = 0; screen < SCREEN_KINDS; screen++) {
        KeyRow keys[ACTION_KINDS];
        int told = keys_rows(screen, keys);
        if (told > 0)
            expect_row(rows[row++], keys_heading(screen));
        for (int i = 0; i < told; i++) {
            char want[ROW_MAX];
            snprintf(want, sizeof want, "%s: %s", keys[i].names, action_text(keys[i].action));
            expect_row(rows[row++], want);
        }
    }
    assert_int_equal(count, row); /* and nothing that the table does not have */
}

/* Under its headings each row of the table is told once. */
static void test_rows_are_the_table(void **state)
{
    int count, names = 0;
    (void)state;
    keys_table(&count);
    for (Screen screen = 0; screen < SCREEN_KINDS; screen++) {
        KeyRow keys[ACTION_KINDS];
        int told = keys_rows(screen, keys);
        for (int i = 0; i < told; i++) {
            names++;
            for (const char *at = keys[i].names; (at = strstr(at, ", ")) != NULL; at += 2)
                names++;
        }
    }
    assert_int_equal(names, count);
}

/* ---- the help ------------------------------------------------------------------------------ */

/* All of the help, page by page, as one text. */
static char *whole_help(int width, int height)
{
    static Model m;
    Grid g;
    assert_true(grid_init(&g, width, height));
    m = (Model){.screen = SCREEN_HELP, .utf8 = true};
    int last = view_help_last(&g);
    char *all = calloc((size_t)(last + 1), (size_t)width * (size_t)height * 4 + 1);
    assert_non_null(all);
    for (m.help_top = 0; m.help_top <= last; m.help_top++) {
        view_draw(&m, &g);
        char *text = grid_text(&g, false);
        strcat(all, text);
        free(text);
    }
    grid_free(&g);
    return all;
}

static void test_help_tells_all(void **state)
{
    int count;
    const KeyBinding *table = keys_table(&count);
    char *help = whole_help(80, 24);
    (void)state;
    for (Action action = ACTION_NONE + 1; action < ACTION_KINDS; action++)
        if (strstr(help, action_text(action)) == NULL)
            fail_msg("the help does not tell: %s", action_text(action));
    for (int i = 0; i < count; i++)
        if (strstr(help, table[i].name) == NULL)
            fail_msg("the help does not name: %s", table[i].name);
    free(help);
}

/* Nothing of it is cut off on a narrow screen: no ellipsis between title and foot. */
static void test_help_is_whole(void **state)
{
    static const int widths[] = {40, 47, 60, 80, 120};
    (void)state;
    for (size_t i = 0; i < sizeof widths / sizeof widths[0]; i++) {
        char *help = whole_help(widths[i], 12);
        assert_null(strstr(help, "…"));
        free(help);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_no_key_twice),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_every_action_is_reachable),
        cmocka_unit_test(test_dispatch),
        cmocka_unit_test(test_pedals),
        cmocka_unit_test(test_debounce),
        cmocka_unit_test(test_manual),
        cmocka_unit_test(test_rows_are_the_table),
        cmocka_unit_test(test_help_tells_all),
        cmocka_unit_test(test_help_is_whole),
    };
    return cmocka_run_group_tests_name("keys", tests, NULL, NULL);
}
