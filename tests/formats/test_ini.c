/* Files written by hand: entries with their lines, and what is refused. The grammar is inih's
 * (from memory: its read-me file). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/formats/ini.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static Ini read_good(const char *text)
{
    Ini ini;
    Error error = {0};
    if (!ini_read(text, strlen(text), &ini, &error))
        fail_msg("line %d: %s", error.line, error.text);
    return ini;
}

static Error read_bad(const char *text, size_t size)
{
    Ini ini;
    Error error = {0};
    assert_false(ini_read(text, size, &ini, &error));
    assert_null(ini.entries);
    assert_int_equal(ini.count, 0);
    assert_true(error.text[0] != '\0');
    return error;
}

static void check(
    const Ini *ini, size_t i, const char *section, const char *key, const char *value, int line)
{
    assert_true(i < ini->count);
    assert_string_equal(ini->entries[i].section, section);
    assert_string_equal(ini->entries[i].key, key);
    assert_string_equal(ini->entries[i].value, value);
    assert_int_equal(ini->entries[i].line, line);
}

static void entries_have_their_lines(void **state)
{
    (void)state;
    Ini ini = read_good("; a remark\ntitle = Monday\n\n[block]\nTitle = Warm up\n"
                        "# another\n[block]\n\n[block]\nminutes: 5\n");
    assert_int_equal(ini.count, 6);
    check(&ini, 0, "", "title", "Monday", 2);
    check(&ini, 1, "block", "", "", 4);
    check(&ini, 2, "block", "title", "Warm up", 5);
    check(&ini, 3, "block", "", "", 7);
    check(&ini, 4, "block", "", "", 9);
    check(&ini, 5, "block", "minutes", "5", 10);
    ini_free(&ini);
    assert_null(ini.entries);
}

static void values_are_kept_as_written(void **state)
{
    (void)state;
    Ini ini = read_good("tempo = 1/4=72\ntitle = Up; and down ; not this\nempty =\n"
                        "  rest   =   30  \r\nold = caf\xE9\rescape = a\x1b[2Jb");
    check(&ini, 0, "", "tempo", "1/4=72", 1);
    check(&ini, 1, "", "title", "Up; and down", 2);
    check(&ini, 2, "", "empty", "", 3);
    check(&ini, 3, "", "rest", "30", 4);
    check(&ini, 4, "", "old", "caf\xC3\xA9", 5);
    check(&ini, 5, "", "escape", "a?[2Jb", 6);
    ini_free(&ini);
}

/* To inih alone an indented line would continue the value above it. */
static void indented_lines_are_entries_of_their_own(void **state)
{
    (void)state;
    Ini ini = read_good("[block]\n  title = One\n\tminutes = 5\n  [rest]\n    title = Two\n");
    assert_int_equal(ini.count, 5);
    check(&ini, 1, "block", "title", "One", 2);
    check(&ini, 2, "block", "minutes", "5", 3);
    check(&ini, 3, "rest", "", "", 4);
    check(&ini, 4, "rest", "title", "Two", 5);
    ini_free(&ini);
}

static void a_byte_order_mark_is_passed_over(void **state)
{
    (void)state;
    Ini ini = read_good("\xEF\xBB\xBF[block]\ntitle = One\n");
    assert_int_equal(ini.count, 2);
    check(&ini, 0, "block", "", "", 1);
    ini_free(&ini);
    ini = read_good("");
    assert_int_equal(ini.count, 0);
    ini_free(&ini);
}

static void what_is_no_entry_is_refused_with_its_line(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int line;
    } bad[] = {{"nonsense\n", 1}, {"[a]\n[b]\nx = 1\nnonsense\n[c]\ny = 1\n", 4},
        {"[a]\n[b\nx = 1\n", 2}, {"\n\n[never closed", 3}, {"x = 1\n = 2\n", 2},
        {"[a]\n[b]\n= 1\n[c]\n", 3}, {"[a]\nwrong\n= 1\n", 2}, {"[a]\n= 1\nwrong\n", 2}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        Error error = read_bad(bad[i].text, strlen(bad[i].text));
        assert_int_equal(error.kind, ERROR_SYNTAX);
        assert_int_equal(error.line, bad[i].line);
    }
}

static char *filled(const char *before, size_t length, const char *after)
{
    char *text = malloc(strlen(before) + length + strlen(after) + 1);
    assert_non_null(text);
    strcpy(text, before);
    memset(text + strlen(before), 'a', length);
    strcpy(text + strlen(before) + length, after);
    return text;
}

/* The longest line that is taken is found, and one byte more is told, never cut. */
static void long_lines_are_refused_not_cut(void **state)
{
    (void)state;
    size_t longest = 0;
    for (size_t length = 150; length < 260; length++) {
        char *text = filled("[a]\nx=", length, "\ny=1\n");
        Ini ini;
        Error error = {0};
        if (ini_read(text, strlen(text), &ini, &error)) {
            assert_true(longest == 0 || longest == length - 1);
            assert_int_equal(strlen(ini.entries[1].value), length);
            check(&ini, 2, "a", "y", "1", 3);
            longest = length;
            ini_free(&ini);
        } else {
            assert_int_equal(error.kind, ERROR_LIMIT);
            assert_int_equal(error.line, 2);
        }
        free(text);
    }
    assert_int_equal(longest + strlen("x="), 197); /* inih: 200 with the line's end and NUL */
}

static void names_that_are_too_long_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *before, *after;
    } around[] = {{"x=1\n[", "]\n"}, {"x=1\n", "=1\n"}};
    for (size_t i = 0; i < 2; i++)
        for (size_t length = INI_NAME_MAX - 2; length < INI_NAME_MAX + 6; length++) {
            char *text = filled(around[i].before, length, around[i].after);
            Ini ini;
            Error error = {0};
            bool fits = length < INI_NAME_MAX;
            assert_int_equal(ini_read(text, strlen(text), &ini, &error), fits);
            assert_int_equal(error.line, fits ? 0 : 2);
            ini_free(&ini);
            free(text);
        }
    char latin[160] = "x=1\ny=";
    memset(latin + 6, 0xE9, 120); /* twice as long in UTF-8 */
    Error error = read_bad(latin, strlen(latin));
    assert_int_equal(error.kind, ERROR_LIMIT);
    assert_int_equal(error.line, 2);
}

static void what_is_no_text_is_refused(void **state)
{
    (void)state;
    assert_int_equal(read_bad("x=1\0y=2\n", 8).kind, ERROR_LIMIT);
    char *big = filled("; ", INI_BYTES_MAX, "");
    assert_int_equal(read_bad(big, INI_BYTES_MAX + 1).kind, ERROR_LIMIT);
    free(big);
    size_t lines = INI_ENTRIES_MAX + 1;
    char *many = malloc(lines * 4 + 1);
    assert_non_null(many);
    for (size_t i = 0; i < lines; i++)
        memcpy(many + i * 4, "x=1\n", 4);
    Error error = read_bad(many, lines * 4);
    assert_int_equal(error.kind, ERROR_LIMIT);
    assert_int_equal(error.line, INI_ENTRIES_MAX + 1);
    Ini ini;
    assert_true(ini_read(many, (lines - 1) * 4, &ini, &error));
    assert_int_equal(ini.count, INI_ENTRIES_MAX);
    ini_free(&ini);
    free(many);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(entries_have_their_lines),
        cmocka_unit_test(values_are_kept_as_written),
        cmocka_unit_test(indented_lines_are_entries_of_their_own),
        cmocka_unit_test(a_byte_order_mark_is_passed_over),
        cmocka_unit_test(what_is_no_entry_is_refused_with_its_line),
        cmocka_unit_test(long_lines_are_refused_not_cut),
        cmocka_unit_test(names_that_are_too_long_are_refused),
        cmocka_unit_test(what_is_no_text_is_refused),
    };
    return cmocka_run_group_tests_name("ini", tests, NULL, NULL);
}
