/* test_abc_errors.c - what is refused, and where the message points: files in tests/formats/bad,
 * and limits at their edges. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "abc_reading.h"

#include <glob.h>

static const struct {
    const char *file;
    ErrorKind kind;
    int line, column; /* bytes, from 1; 0: the whole file or tune */
    const char *text; /* part of the message */
} cases[] = {
    {"second-voice", ERROR_UNSUPPORTED, 7, 3, "second voice"},
    {"second-voice-inline", ERROR_UNSUPPORTED, 6, 4, "second voice"},
    {"overlay", ERROR_UNSUPPORTED, 5, 11, "overlay"},
    {"microtone", ERROR_UNSUPPORTED, 5, 4, "microtone"},
    {"chord-open-at-bar", ERROR_SYNTAX, 5, 6, "not closed"},
    {"chord-open-at-line", ERROR_SYNTAX, 5, 3, "not closed"},
    {"field-open", ERROR_SYNTAX, 5, 3, "not closed"},
    {"ending-of-zero", ERROR_SYNTAX, 5, 5, "numbered from 1"},
    {"ending-backwards", ERROR_SYNTAX, 5, 5, "numbered from 1"},
    {"too-low", ERROR_RANGE, 5, 3, "outside"},
    {"too-high", ERROR_RANGE, 5, 6, "outside"},
    {"too-many-accidentals", ERROR_SYNTAX, 5, 3, "accidentals"},
    {"too-long", ERROR_LIMIT, 5, 4, "digits"},
    {"too-short", ERROR_LIMIT, 5, 4, "too short"},
    {"too-broken", ERROR_SYNTAX, 5, 2, "broken rhythm"},
    {"too-fine", ERROR_LIMIT, 5, 10, "exactly"},
    {"tuplet-too-large", ERROR_LIMIT, 5, 1, "tuplet"},
    {"chord-too-large", ERROR_LIMIT, 5, 1, "16 notes"},
    {"too-many-bars", ERROR_LIMIT, 16, 1, "10000 bars"},
    {"rest-too-long", ERROR_LIMIT, 5, 3, "999"},
    {"part-order-too-long", ERROR_LIMIT, 4, 1, "parts"},
    {"hands", ERROR_SYNTAX, 3, 1,
        "right, left, both (octaves), thirds, sixths, tenths or alternate"},
    {"own-setting", ERROR_SYNTAX, 3, 3, "hands"},
    {"no-key", ERROR_SYNTAX, 1, 1, "no K:"},
    {"no-note", ERROR_EMPTY, 2, 0, "not a note"},
    {"no-music", ERROR_EMPTY, 1, 0, "not a note"},
    {"no-tune", ERROR_NO_TUNE, 0, 0, "X:"},
    {"empty", ERROR_NO_TUNE, 0, 0, "X:"},
    {"macro-without-end", ERROR_LIMIT, 3, 1, "macro"},
};

enum { CASES = sizeof cases / sizeof *cases };

static char *read_file(const char *name, size_t *size)
{
    char path[256];
    snprintf(path, sizeof path, "tests/formats/bad/%s.abc", name);
    FILE *f = fopen(path, "rb");
    if (f == NULL)
        fail_msg("%s is missing", path);
    char *text = malloc(ABC_BYTES_MAX);
    assert_non_null(text);
    *size = fread(text, 1, ABC_BYTES_MAX, f);
    fclose(f);
    return text;
}

static void each_bad_file_is_refused_at_its_place(void **state)
{
    (void)state;
    for (size_t i = 0; i < CASES; i++) {
        size_t size;
        char *text = read_file(cases[i].file, &size);
        Error e = {0};
        assert_null(abc_read(text, size, 0, &e));
        if (e.kind != cases[i].kind || e.line != cases[i].line || e.column != cases[i].column ||
            strstr(e.text, cases[i].text) == NULL)
            fail_msg(
                "%s: kind %d at %d:%d: %s", cases[i].file, (int)e.kind, e.line, e.column, e.text);
        assert_true(strlen(e.text) > 0 && e.text[strlen(e.text) - 1] != '.');
        free(text);
    }
}

static void each_bad_file_is_in_the_table(void **state)
{
    (void)state;
    glob_t found;
    assert_int_equal(glob("tests/formats/bad/*.abc", 0, NULL, &found), 0);
    assert_int_equal(found.gl_pathc, CASES);
    globfree(&found);
}

static void a_tune_that_is_not_there_is_named(void **state)
{
    (void)state;
    static const char text[] = "X:1\nK:C\nC\n";
    Error e = {0};
    assert_null(abc_read(text, strlen(text), 5, &e));
    assert_int_equal(e.kind, ERROR_NO_TUNE);
    assert_non_null(strstr(e.text, "X:5"));
}

/* `count` notes, and a text of at least `size` bytes. */
static char *long_tune(size_t count, size_t size, size_t *length)
{
    static const char head[] = "X:1\nM:4/4\nL:1/8\nK:C\n";
    size_t room = sizeof head + count * 10 / 8 + size + 64;
    char *text = malloc(room);
    assert_non_null(text);
    size_t n = (size_t)snprintf(text, room, "%s", head);
    for (size_t i = 0; i < count; i++) {
        text[n++] = "CDEFGABc"[i % 8];
        if (i % 8 == 7)
            text[n++] = i % 64 == 63 ? '\n' : '|';
    }
    while (n < size)
        text[n++] = ' ';
    *length = n;
    return text;
}

static void notes_are_limited(void **state)
{
    (void)state;
    size_t size;
    Error e = {0};
    char *text = long_tune(PASSAGE_NOTES_MAX, 0, &size);
    Passage *p = abc_read(text, size, 1, &e);
    assert_non_null(p);
    assert_int_equal(p->note_count, PASSAGE_NOTES_MAX);
    passage_free(p);
    free(text);
    text = long_tune(PASSAGE_NOTES_MAX + 1, 0, &size);
    assert_null(abc_read(text, size, 1, &e));
    assert_int_equal(e.kind, ERROR_LIMIT);
    assert_true(e.line > 4);
    free(text);
}

static void bytes_are_limited(void **state)
{
    (void)state;
    size_t size, count;
    Error e = {0};
    AbcTune *tunes;
    char *text = long_tune(8, ABC_BYTES_MAX, &size);
    assert_int_equal(size, ABC_BYTES_MAX);
    Passage *p = abc_read(text, size, 1, &e);
    assert_non_null(p);
    passage_free(p);
    free(text);
    text = long_tune(8, ABC_BYTES_MAX + 1, &size);
    assert_null(abc_read(text, size, 1, &e));
    assert_int_equal(e.kind, ERROR_LIMIT);
    e = (Error){0};
    assert_false(abc_list(text, size, &tunes, &count, &e));
    assert_int_equal(e.kind, ERROR_LIMIT);
    assert_null(tunes);
    free(text);
}

/* An ending that is passed over takes time as well: ten thousand times a long one is refused, not
 * waited for. */
static void endings_passed_over_are_limited(void **state)
{
    (void)state;
    enum { RESTS = 200000 };
    static const char head[] = "X:1\nP:(A999)9\nL:1/16\nK:C\nP:A\nC [2 ";
    size_t used = sizeof head - 1;
    char *text = malloc(sizeof head + RESTS + 4);
    assert_non_null(text);
    memcpy(text, head, used);
    memset(text + used, 'z', RESTS);
    used += RESTS;
    memcpy(text + used, " |]\n", 4);
    Error error = {0};
    assert_null(abc_read(text, used + 4, 0, &error));
    assert_int_equal(error.kind, ERROR_LIMIT);
    free(text);
}

static void tunes_are_limited(void **state)
{
    (void)state;
    for (int over = 0; over < 2; over++) {
        char *text = malloc(ABC_BYTES_MAX);
        assert_non_null(text);
        size_t n = 0, count;
        for (int i = 1; i <= ABC_TUNES_MAX + over; i++)
            n += (size_t)snprintf(text + n, ABC_BYTES_MAX - n, "X:%d\nK:C\nC\n\n", i);
        AbcTune *tunes;
        Error e = {0};
        assert_int_equal(abc_list(text, n, &tunes, &count, &e), over == 0);
        assert_int_equal(over == 0 ? ERROR_NONE : ERROR_LIMIT, e.kind);
        if (over == 0)
            assert_int_equal(count, ABC_TUNES_MAX);
        free(tunes);
        free(text);
    }
}

/* An error may be unwanted. */
static void no_error_need_be_given(void **state)
{
    (void)state;
    static const char text[] = "X:1\nK:C\nC&D\n";
    assert_null(abc_read(text, strlen(text), 0, NULL));
    assert_null(abc_read("", 0, 0, NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_bad_file_is_refused_at_its_place),
        cmocka_unit_test(each_bad_file_is_in_the_table),
        cmocka_unit_test(a_tune_that_is_not_there_is_named),
        cmocka_unit_test(notes_are_limited),
        cmocka_unit_test(bytes_are_limited),
        cmocka_unit_test(endings_passed_over_are_limited),
        cmocka_unit_test(tunes_are_limited),
        cmocka_unit_test(no_error_need_be_given),
    };
    return cmocka_run_group_tests_name("abc_errors", tests, NULL, NULL);
}
