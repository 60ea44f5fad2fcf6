#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/load.h"
#include "evenhand/formats/abc.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char tune[] = "X:1\nT:First\nM:4/4\nL:1/8\nQ:1/4=72\nK:C\nCDEFGABc|\n\n"
                           "X:5\nT:Second\nM:6/8\nL:1/8\nQ:3/8=50\nK:G\nGAB cde|\n";

/* Two invented tunes, numbered 1 and 5. */
static Loaded load(const Options *o, int reference)
{
    Loaded l;
    Error error = {0};
    if (!load_text(tune, strlen(tune), "two.abc", reference, o, &l, &error))
        fail_msg("%s", error.text);
    return l;
}

static void splits_file_and_number(void **state)
{
    static const struct {
        const char *given, *path;
        int reference;
    } good[] = {{"a.abc", "a.abc", 0}, {"a.abc:5", "a.abc", 5}, {"dir:1/a.abc", "dir:1/a.abc", 0},
        {"dir:1/a.abc:12", "dir:1/a.abc", 12}, {"-", "-", 0}, {"-:2", "-", 2}};
    static const char *const bad[] = {"a.abc:", "a.abc:x", "a.abc:2x", "a.abc:0", "a.abc:-1"};
    char path[PATHS_MAX];
    int reference;
    Error error;
    (void)state;
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        assert_true(load_split(good[i].given, path, &reference, &error));
        assert_string_equal(path, good[i].path);
        assert_int_equal(reference, good[i].reference);
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_false(load_split(bad[i], path, &reference, &error));
        assert_int_equal(error.kind, ERROR_USAGE);
    }
}

/* A file whose name ends in a colon and a number is that file. */
static void a_file_s_whole_name_wins(void **state)
{
    char name[] = "/tmp/evenhand-load-XXXXXX", given[64], path[PATHS_MAX];
    int reference, fd = mkstemp(name);
    Error error;
    (void)state;
    assert_true(fd >= 0);
    close(fd);
    snprintf(given, sizeof given, "%s:3", name);
    assert_int_equal(rename(name, given), 0);
    assert_true(load_split(given, path, &reference, &error));
    assert_string_equal(path, given);
    assert_int_equal(reference, 0);
    unlink(given);
}

static void a_name_too_long_is_told(void **state)
{
    char given[PATHS_MAX + 1], path[PATHS_MAX];
    int reference;
    Error error;
    (void)state;
    memset(given, 'a', PATHS_MAX);
    given[PATHS_MAX] = '\0';
    assert_false(load_split(given, path, &reference, &error));
    assert_int_equal(error.kind, ERROR_LIMIT);
    given[PATHS_MAX - 1] = '\0';
    assert_true(load_split(given, path, &reference, &error));
}

/* 1 MiB is read, one byte more is refused. */
static void the_limit_of_a_file(void **state)
{
    char name[] = "/tmp/evenhand-load-XXXXXX";
    int fd = mkstemp(name);
    Text text;
    Error error;
    (void)state;
    assert_true(fd >= 0);
    assert_int_equal(ftruncate(fd, ABC_BYTES_MAX), 0);
    assert_true(load_bytes(name, &text, &error));
    assert_int_equal(text.size, ABC_BYTES_MAX);
    text_free(&text);
    assert_int_equal(ftruncate(fd, ABC_BYTES_MAX + 1), 0);
    assert_false(load_bytes(name, &text, &error));
    assert_int_equal(error.kind, ERROR_LIMIT);
    assert_string_equal(error.source, name);
    close(fd);
    unlink(name);
    assert_false(load_bytes(name, &text, &error));
    assert_int_equal(error.kind, ERROR_READ);
    assert_false(load_bytes("/tmp", &text, &error));
    assert_int_equal(error.kind, ERROR_READ);
}

static void tempo_counts_the_passage_s_beat(void **state)
{
    Options o = options_default();
    (void)state;
    Loaded l = load(&o, 5);
    assert_true(ratio_equal(l.session.steps[0].tempo.per_minute, ratio_int(50)));
    loaded_free(&l);
    o.tempo.per_minute = ratio_int(66);
    l = load(&o, 5);
    assert_true(ratio_equal(l.session.steps[0].tempo.beat, ratio(3, 2)));
    assert_true(ratio_equal(l.session.steps[0].tempo.per_minute, ratio_int(66)));
    loaded_free(&l);
    o.tempo.beat = ratio(1, 2);
    l = load(&o, 5);
    assert_true(ratio_equal(l.session.steps[0].tempo.beat, ratio(1, 2)));
    loaded_free(&l);
}

static void options_shape_the_session(void **state)
{
    Options o = options_default();
    (void)state;
    o.repetitions = 7;
    o.count_in_bars = 0;
    o.rest_bars = 0;
    Loaded l = load(&o, 1);
    assert_true(l.session.count > 5);
    for (size_t i = 0; i < l.session.count; i++) {
        assert_int_equal(l.session.steps[i].repetitions, 7);
        assert_int_equal(l.session.steps[i].count_in_bars, 0);
        assert_int_equal(l.session.steps[i].rest_bars, 0);
    }
    loaded_free(&l);
    o.count_in_bars = 3;
    o.rest_bars = 2;
    o.drill = "finger-4";
    assert_true(drill_parse(o.drill, &o.spec, NULL));
    l = load(&o, 1);
    assert_int_equal(l.session.count, 1);
    assert_int_equal(l.session.steps[0].drill.accent, ACCENT_FINGER);
    assert_int_equal(l.session.steps[0].count_in_bars, 3);
    loaded_free(&l);
}

static void options_shape_the_fingers(void **state)
{
    Options o = options_default();
    (void)state;
    o.fingers.largest_group = 3;
    o.has_hands = true;
    o.hands = HANDS_LEFT;
    Loaded l = load(&o, 1);
    assert_int_equal(l.passage->hands, HANDS_LEFT);
    for (size_t g = 0; g < l.fingering.group_count; g++)
        assert_true(l.fingering.groups[g].size <= 3);
    loaded_free(&l);
}

static void errors_carry_their_source(void **state)
{
    Options o = options_default();
    Loaded l;
    Error error = {0};
    (void)state;
    assert_false(load_text(tune, strlen(tune), "two.abc", 3, &o, &l, &error));
    assert_int_equal(error.kind, ERROR_NO_TUNE);
    assert_string_equal(error.source, "two.abc");
    assert_null(l.passage);
    assert_false(load_text("", 0, "empty.abc", 0, &o, &l, &error));
    assert_string_equal(error.source, "empty.abc");
    o.drill = "beat-999";
    assert_true(drill_parse(o.drill, &o.spec, NULL));
    assert_false(load_text(tune, strlen(tune), "two.abc", 1, &o, &l, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    assert_string_equal(error.source, "two.abc");
}

/* Words of the command line that do not fit the passage's metre. */
static void beats_must_be_in_the_metre(void **state)
{
    static const char body[] = "X:1\nM:4/4\nL:1/4\nK:C\nCDEF|GABc|\n";
    static const struct {
        const char *beats;
        Ratio subdivision;
        const char *says; /* NULL: taken */
    } cases[] = {{"1,3", {0, 1}, NULL}, {"4", {0, 1}, NULL}, {"9", {0, 1}, "1 to 4, not 9"},
        {"1,5", {0, 1}, "1 to 4, not 5"}, {"5/3", {0, 1}, "no note of this passage begins"},
        {"1,5/3", {0, 1}, NULL}, {NULL, {4, 7}, "--subdivision 1/7 never"},
        {NULL, {3, 1}, "return after 1/2"}, {NULL, {1, 3}, NULL}, {NULL, {2, 1}, NULL}};
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        Options o = options_default();
        Loaded l;
        Error error = {0};
        if (cases[i].beats)
            assert_true(beat_pattern_parse(cases[i].beats, &o.spec.beats, &error));
        o.spec.subdivision = cases[i].subdivision;
        bool done = load_text(body, strlen(body), "four.abc", 0, &o, &l, &error);
        assert_int_equal(done, cases[i].says == NULL);
        loaded_free(&l);
        if (done)
            continue;
        assert_int_equal(error.kind, ERROR_USAGE);
        if (!strstr(error.text, cases[i].says))
            fail_msg("%s, wanted %s", error.text, cases[i].says);
    }
}

static void notes_beyond_the_harp_are_told(void **state)
{
    static const struct {
        const char *notes;
        Hands hands;
        const char *says; /* "": nothing */
    } cases[] = {{"C,,, g''", HANDS_RIGHT, ""}, {"g'' a'' b''", HANDS_RIGHT, "A7"},
        {"C,,,,", HANDS_RIGHT, "C0"}, {"C,,,", HANDS_OCTAVES, "C1, with the left hand below it"},
        {"D,,,", HANDS_THIRDS, "D1, with the left hand below it"}, {"E,,,", HANDS_THIRDS, ""},
        {"C,, g''", HANDS_OCTAVES, ""}, {"C a''", HANDS_OCTAVES, "A7 lies"}};
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char body[100];
        Options o = options_default();
        Loaded l;
        Error error = {0};
        o.has_hands = true;
        o.hands = cases[i].hands;
        snprintf(body, sizeof body, "X:1\nM:none\nL:1/4\nK:C\n%s\n", cases[i].notes);
        assert_true(load_text(body, strlen(body), "far.abc", 0, &o, &l, &error));
        assert_int_equal(l.passage->notice_count, cases[i].says[0] != 0);
        if (cases[i].says[0] && !strstr(l.passage->notices[0].text, cases[i].says))
            fail_msg("%s: %s", cases[i].notes, l.passage->notices[0].text);
        loaded_free(&l);
    }
}

static void choices_of_a_file_and_bundled(void **state)
{
    char name[] = "/tmp/evenhand-load-XXXXXX", second[64];
    int fd = mkstemp(name);
    Choices c = {0};
    Error error;
    (void)state;
    assert_true(fd >= 0);
    assert_int_equal(write(fd, tune, strlen(tune)), (ssize_t)strlen(tune));
    close(fd);
    assert_true(choices_add_file(&c, name, false, &error));
    assert_int_equal(c.count, 2);
    snprintf(second, sizeof second, "%s:5", name);
    assert_string_equal(c.items[1].given, second);
    assert_string_equal(c.items[1].title, "Second");
    assert_int_equal(setenv("EVENHAND_DATA", ".", 1), 0);
    assert_true(choices_add_bundled(&c, &error));
    assert_true(c.count >= 2 + 14);
    assert_true(c.items[2].bundled && !c.items[0].bundled);
    assert_string_equal(c.items[0].remark, "");
    assert_string_equal(c.items[2].remark,
        "One group of four, then 4 crosses under and lands on the fifth note. Be there before the "
        "thumb has played.");
    for (size_t i = 3; i < c.count; i++)
        assert_true(strcmp(c.items[i - 1].given, c.items[i].given) < 0);
    choices_free(&c);
    unlink(name);
}

static void data_is_where_the_environment_says(void **state)
{
    char out[PATHS_MAX];
    Error error;
    (void)state;
    assert_int_equal(setenv("EVENHAND_DATA", "/nowhere", 1), 0);
    assert_false(paths_data("presets", out, &error));
    assert_int_equal(error.kind, ERROR_READ);
    assert_non_null(strstr(error.text, "/nowhere"));
    assert_int_equal(setenv("EVENHAND_DATA", ".", 1), 0);
    assert_true(paths_data("presets", out, &error));
    assert_string_equal(out, "./presets");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(splits_file_and_number),
        cmocka_unit_test(a_file_s_whole_name_wins),
        cmocka_unit_test(a_name_too_long_is_told),
        cmocka_unit_test(the_limit_of_a_file),
        cmocka_unit_test(tempo_counts_the_passage_s_beat),
        cmocka_unit_test(options_shape_the_session),
        cmocka_unit_test(options_shape_the_fingers),
        cmocka_unit_test(errors_carry_their_source),
        cmocka_unit_test(beats_must_be_in_the_metre),
        cmocka_unit_test(notes_beyond_the_harp_are_told),
        cmocka_unit_test(choices_of_a_file_and_bundled),
        cmocka_unit_test(data_is_where_the_environment_says),
    };
    return cmocka_run_group_tests_name("load", tests, NULL, NULL);
}
