/* The bundled routines: each reads, finds its passages and drills, and is as long as it says; and
 * what is told of a routine that asks for what is not there. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/routine_load.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[] = "/tmp/evenhand-routine-XXXXXX";

static const char *const presets[] = {"presets/first-year-lesson.ini", "presets/advanced-hour.ini",
    "presets/studio-afternoon.ini", "presets/exam-week.ini"};

static LoadedRoutine load_good(const char *path, const char *student)
{
    LoadedRoutine r;
    Error error = {0};
    setenv("EVENHAND_DATA", ".", 1);
    if (!routine_load(path, student, &r, &error))
        fail_msg("%s:%d: %s", error.source, error.line, error.text);
    return r;
}

static void each_is_as_long_as_it_says(void **state)
{
    (void)state;
    const Options o = options_default();
    for (size_t i = 0; i < sizeof presets / sizeof presets[0]; i++) {
        LoadedRoutine r = load_good(presets[i], NULL);
        int64_t frames = 0, drilled = 0;
        for (int k = 0; k < r.routine.count; k++) {
            RoutineSpan span;
            Error error = {0};
            if (!routine_measure(&r, k, &o, presets[i], 48000, &span, &error))
                fail_msg("%s:%d: %s", error.source, error.line, error.text);
            frames += span.work + span.rest;
            drilled += r.given[k] != NULL;
        }
        assert_true(r.routine.seconds > 0); /* it says so, and the reader holds it to it */
        assert_int_equal(frames, (int64_t)r.routine.seconds * 48000);
        assert_true(drilled >= 4);
        assert_true(r.routine.title[0] != '\0');
        routine_unload(&r);
    }
}

/* The afternoon has a roster, and every student of it a part of their own. */
static void the_afternoon_has_a_roster(void **state)
{
    (void)state;
    static const char *const students[] = {"Student A", "Student B", "Student C", "Student D"};
    LoadedRoutine all = load_good("presets/studio-afternoon.ini", NULL);
    int sum = 0;
    for (int i = 0; i < 4; i++) {
        LoadedRoutine one = load_good("presets/studio-afternoon.ini", students[i]);
        for (int k = 0; k < one.routine.count; k++)
            assert_string_equal(one.routine.blocks[k].student, students[i]);
        int seconds = routine_seconds(&one.routine, NULL);
        assert_in_range(seconds, 25 * 60, 40 * 60);
        sum += seconds;
        routine_unload(&one);
    }
    assert_int_equal(sum, routine_seconds(&all.routine, NULL));
    routine_unload(&all);
    LoadedRoutine none;
    Error error = {0};
    assert_false(routine_load("presets/studio-afternoon.ini", "Student E", &none, &error));
    assert_non_null(strstr(error.text, "Student A, Student B, Student C, Student D"));
    assert_string_equal(error.source, "presets/studio-afternoon.ini");
}

static char *write_file(const char *name, const char *text)
{
    static char path[200];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs(text, f);
    assert_int_equal(fclose(f), 0);
    return path;
}

/* Beside the file first, then among the bundled ones. */
static void passages_are_found_beside_the_file_and_among_the_bundled(void **state)
{
    (void)state;
    write_file("mine.abc", "X:1\nT:Mine\nM:4/4\nL:1/8\nQ:1/4=60\nK:C\nCDEF GABc|\n"
                           "\nX:2\nT:Second\nM:4/4\nL:1/8\nQ:1/4=60\nK:C\ncBAG FEDC|\n");
    char *path = write_file("lesson.ini", "[block]\ntitle=A\nrepetitions=3\npassage=mine.abc:2\n"
                                          "drills=plain, finger-4\nrest=2\n[block]\ntitle=B\n"
                                          "minutes=1\npassage=01-first-crossing.abc\n");
    LoadedRoutine r = load_good(path, NULL);
    assert_non_null(strstr(r.given[0], "/mine.abc:2"));
    assert_non_null(strstr(r.given[1], "/01-first-crossing.abc"));
    const Options o = options_default();
    Error error = {0};
    RoutineSpan span;
    assert_true(routine_measure(&r, 0, &o, path, 8000, &span, &error));
    assert_true(span.by_count);
    /* two drills of a bar counted in, three of playing, one of rest, four seconds each */
    assert_int_equal(span.work, 2 * 5 * 4 * 8000);
    assert_int_equal(span.rest, 2 * 8000);
    Text table = {0};
    assert_true(routine_table(&table, &r, &o, path, &error));
    assert_non_null(strstr(table.bytes, "  1     0:00     0:42    0:02  A\n"));
    assert_non_null(strstr(table.bytes, "mine.abc:2: plain, finger-4; 3 times each\n"));
    assert_non_null(strstr(table.bytes, "  2     0:42     1:00    0:10  B\n"));
    assert_non_null(strstr(table.bytes, "1:42  of which 1:30 at the harp\n"));
    text_free(&table);
    routine_unload(&r);
    unlink(path);
}

/* How fast it is in the fingers stands beside every tempo; a number that counts another beat than
 * the metre's is called out with its line. */
static void the_table_tells_how_fast_it_is(void **state)
{
    (void)state;
    char *path = write_file("fast.ini", "[block]\ntitle=A\nminutes=5\npassage=mine.abc:2\n"
                                        "ladder=1/4=60 to 1/4=120\n[block]\ntitle=B\nminutes=5\n"
                                        "passage=mine.abc:2\ntempo=1/2=60\n");
    LoadedRoutine r = load_good(path, NULL);
    const Options o = options_default();
    Error error = {0};
    Text table = {0};
    assert_true(routine_table(&table, &r, &o, path, &error));
    if (strstr(table.bytes, "ladder 1/4 = 60 to 1/4 = 120, 2.0 to 4.0 notes a second\n") == NULL ||
        strstr(table.bytes, "1/2 = 60, 4.0 notes a second\n") == NULL ||
        strstr(table.bytes, "fast.ini:10: 1/2 = 60 is twice as fast as 1/4 = 60 in") == NULL ||
        strstr(table.bytes, ":5: ") != NULL)
        fail_msg("%s", table.bytes);
    text_free(&table);
    routine_unload(&r);
    unlink(path);
}

/* What a ladder's lines leave out is as the ladder command takes it: no step above where there is
 * none, and where a tempo is no metronome number, per cent: 30 to 40 would be no step but a leap.
 */
static void ladders_without_words_are_the_usual_ones(void **state)
{
    (void)state;
    static const struct {
        const char *ladder;
        LadderBy by;
        int above;
    } usual[] = {{"1/4=60 to 1/4=96", LADDER_BY_NUMBERS, 1},
        {"1/4=184 to 1/4=208", LADDER_BY_NUMBERS, 0}, {"30 to 60", LADDER_BY_PERCENT, 1},
        {"1/4=60 to 1/4=240", LADDER_BY_PERCENT, 1},
        {"30 to 60\nsteps=numbers", LADDER_BY_NUMBERS, 1},
        {"60 to 96\nabove=2", LADDER_BY_NUMBERS, 2}};
    for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++) {
        char text[200];
        snprintf(text, sizeof text, "[block]\ntitle=A\nminutes=5\npassage=mine.abc:2\nladder=%s\n",
            usual[i].ladder);
        char *path = write_file("ladder.ini", text);
        LoadedRoutine r = load_good(path, NULL);
        Passage passage = {.tempo = tempo(ratio_int(1), ratio_int(60))};
        LadderSpec spec = routine_ladder_spec(&r.routine.blocks[0], &passage);
        assert_int_equal(spec.by, usual[i].by);
        assert_int_equal(spec.above, usual[i].above);
        Ladder ladder;
        assert_true(ladder_make(&spec, &ladder, NULL));
        ladder_free(&ladder);
        routine_unload(&r);
        unlink(path);
    }
}

static void what_is_not_there_is_told_with_its_line(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int line;
        const char *says;
    } bad[] = {{"\n[block]\ntitle=A\nminutes=5\npassage=nowhere.abc\n", 5, "no passage 'nowhere"},
        {"[block]\ntitle=A\nminutes=5\n[block]\ntitle=B\nminutes=5\npassage=02-one-octave-up.abc\n"
         "drills=beat-99\n",
            8, "place"},
        {"[block]\ntitle=A\nminutes=5\npassage=02-one-octave-up.abc\nladder=60 to 208\nabove=1\n",
            5, "above = 0"},
        {"[block]\ntitle=A\nminutes=5\npassage=02-one-octave-up.abc\nladder=1/4=60 to 1/4=240\n"
         "steps=numbers\n",
            5, "208"}};
    const Options o = options_default();
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        char *path = write_file("bad.ini", bad[i].text);
        LoadedRoutine r;
        RoutineSpan span;
        Error error = {0};
        bool done = routine_load(path, NULL, &r, &error);
        for (int k = 0; done && k < r.routine.count; k++)
            done = routine_measure(&r, k, &o, path, 48000, &span, &error);
        assert_false(done);
        assert_int_equal(error.line, bad[i].line);
        assert_string_equal(error.source, path);
        if (strstr(error.text, bad[i].says) == NULL)
            fail_msg("%s", error.text);
        routine_unload(&r);
        unlink(path);
    }
}

static int make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) != NULL ? 0 : -1;
}

static int remove_folder(void **state)
{
    char path[200];
    (void)state;
    snprintf(path, sizeof path, "%s/mine.abc", folder);
    unlink(path);
    return rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_is_as_long_as_it_says),
        cmocka_unit_test(the_afternoon_has_a_roster),
        cmocka_unit_test(passages_are_found_beside_the_file_and_among_the_bundled),
        cmocka_unit_test(the_table_tells_how_fast_it_is),
        cmocka_unit_test(ladders_without_words_are_the_usual_ones),
        cmocka_unit_test(what_is_not_there_is_told_with_its_line),
    };
    return cmocka_run_group_tests_name("routine presets", tests, make_folder, remove_folder);
}
