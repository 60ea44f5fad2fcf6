/* Where the practice record is, by the XDG Base Directory Specification 0.8: a base that is unset
 * or empty means its default, one that is not absolute is passed over. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/paths.h"

#include <stdlib.h>
#include <string.h>

static void set(const char *name, const char *value)
{
    assert_int_equal(value != NULL ? setenv(name, value, 1) : unsetenv(name), 0);
}

static void the_record_is_where_the_standard_says(void **state)
{
    (void)state;
    static const struct {
        const char *data, *home, *wanted;
    } cases[] = {
        {NULL, "/home/one", "/home/one/.local/share/evenhand/record.db"},
        {"", "/home/one", "/home/one/.local/share/evenhand/record.db"},
        {"share", "/home/one", "/home/one/.local/share/evenhand/record.db"},
        {"./share", "/", "/.local/share/evenhand/record.db"},
        {"/data", "/home/one", "/data/evenhand/record.db"},
        {"/data/", NULL, "/data/evenhand/record.db"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char path[PATHS_MAX];
        Error error = {0};
        set("XDG_DATA_HOME", cases[i].data);
        set("HOME", cases[i].home);
        assert_true(paths_record(path, &error));
        assert_string_equal(path, cases[i].wanted);
    }
}

static void without_a_home_it_says_so(void **state)
{
    (void)state;
    static const char *const homes[] = {NULL, "", "relative"};
    for (size_t i = 0; i < sizeof homes / sizeof homes[0]; i++) {
        char path[PATHS_MAX];
        Error error = {0};
        set("XDG_DATA_HOME", NULL);
        set("HOME", homes[i]);
        assert_false(paths_record(path, &error));
        assert_int_equal(error.kind, ERROR_RECORD);
        assert_non_null(strstr(error.text, "HOME"));
    }
}

static void a_name_that_is_too_long_is_refused_whole(void **state)
{
    (void)state;
    static char base[PATHS_MAX];
    char path[PATHS_MAX];
    const size_t tail = strlen("/evenhand/record.db");
    memset(base, 'a', sizeof base - 1);
    base[0] = '/';
    for (size_t size = PATHS_MAX - 1 - tail; size <= PATHS_MAX - tail; size++) {
        Error error = {0};
        base[size] = '\0';
        set("XDG_DATA_HOME", base);
        bool fits = size + tail < PATHS_MAX;
        assert_int_equal(paths_record(path, &error), fits);
        assert_int_equal(error.kind, fits ? ERROR_NONE : ERROR_LIMIT);
        base[size] = 'a';
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_record_is_where_the_standard_says),
        cmocka_unit_test(without_a_home_it_says_so),
        cmocka_unit_test(a_name_that_is_too_long_is_refused_whole),
    };
    return cmocka_run_group_tests_name("paths", tests, NULL, NULL);
}
