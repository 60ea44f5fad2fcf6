/* Defaults of the player, settings of the file, words of the command line: each goes before the
 * one named first. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/defaults.h"
#include "evenhand/app/load.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char home[] = "/tmp/evenhand-defaults-XXXXXX";

static int make_home(void **state)
{
    char path[100];
    (void)state;
    if (mkdtemp(home) == NULL)
        return -1;
    snprintf(path, sizeof path, "%s/evenhand", home);
    return mkdir(path, 0700) == 0 && setenv("XDG_CONFIG_HOME", home, 1) == 0 ? 0 : -1;
}

static int remove_home(void **state)
{
    char path[100];
    (void)state;
    snprintf(path, sizeof path, "%s/evenhand/fingers", home);
    unlink(path);
    snprintf(path, sizeof path, "%s/evenhand", home);
    rmdir(path);
    return rmdir(home);
}

static void write_defaults(const char *text)
{
    char path[100];
    snprintf(path, sizeof path, "%s/evenhand/fingers", home);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs(text, f);
    assert_int_equal(fclose(f), 0);
}

/* Fifteen notes up from G3, with this line in the header. */
static const char *grouping(const char *setting, const Options *o)
{
    static char text[64];
    char tune[200];
    Loaded l;
    Error error = {0};
    snprintf(tune, sizeof tune, "X:1\n%s\nM:4/4\nL:1/8\nK:C\nG,A,B,C DEFG ABcd efg|\n", setting);
    assert_true(load_text(tune, strlen(tune), "tune.abc", 0, o, &l, &error));
    fingering_grouping(&l.fingering, text, sizeof text);
    loaded_free(&l);
    return text;
}

static void each_goes_before_the_last(void **state)
{
    (void)state;
    Options o = options_default();
    assert_string_equal(grouping("T:plain", &o), "4+4+4+3");
    write_defaults("# mine\nsmall=bottom\n");
    assert_string_equal(grouping("T:plain", &o), "3+4+4+4");
    assert_string_equal(grouping("%%evenhand fingers small=top", &o), "4+4+4+3");
    assert_string_equal(grouping("%%evenhand fingers largest-group=3", &o), "3+3+3+3+3");
    o.has_small = true;
    o.fingers.small = SMALL_AT_BOTTOM;
    assert_string_equal(grouping("%%evenhand fingers small=top", &o), "3+4+4+4");
    write_defaults("");
}

static void errors_tell_their_place(void **state)
{
    (void)state;
    Options o = options_default();
    Loaded l;
    Error error = {0};
    static const char bad[] = "X:1\n%%evenhand fingers small=top loose\nK:C\nC\n";
    assert_false(load_text(bad, sizeof bad - 1, "tune.abc", 0, &o, &l, &error));
    assert_int_equal(error.kind, ERROR_SYNTAX);
    assert_int_equal(error.line, 2);
    assert_string_equal(error.source, "tune.abc");
    write_defaults("lifted\nloose\n");
    static const char good[] = "X:1\nK:C\nC\n";
    error = (Error){0};
    assert_false(load_text(good, sizeof good - 1, "tune.abc", 0, &o, &l, &error));
    assert_int_equal(error.line, 2);
    assert_non_null(strstr(error.source, "/evenhand/fingers"));
    write_defaults("");
}

/* XDG base directories: a path that is not absolute is as good as none. */
static void the_file_is_where_the_standard_says(void **state)
{
    (void)state;
    char path[200], kept[200];
    snprintf(kept, sizeof kept, "%s", getenv("HOME") != NULL ? getenv("HOME") : "");
    assert_true(defaults_path(path, sizeof path));
    assert_int_equal(strncmp(path, home, strlen(home)), 0);
    setenv("HOME", "/somewhere", 1);
    setenv("XDG_CONFIG_HOME", "relative", 1);
    assert_true(defaults_path(path, sizeof path));
    assert_string_equal(path, "/somewhere/.config/evenhand/fingers");
    setenv("XDG_CONFIG_HOME", "", 1);
    assert_true(defaults_path(path, sizeof path));
    assert_string_equal(path, "/somewhere/.config/evenhand/fingers");
    setenv("HOME", kept, 1);
    setenv("XDG_CONFIG_HOME", home, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_goes_before_the_last),
        cmocka_unit_test(errors_tell_their_place),
        cmocka_unit_test(the_file_is_where_the_standard_says),
    };
    return cmocka_run_group_tests_name("defaults", tests, make_home, remove_home);
}
