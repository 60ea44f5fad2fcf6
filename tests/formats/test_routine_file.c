/* Routine files: what they say, and what each mistake is told. Invented names. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/formats/routine_file.h"

#include <stdio.h>
#include <string.h>

static Routine read_good(const char *text)
{
    Routine r;
    Error error = {0};
    if (!routine_read(text, strlen(text), &r, &error))
        fail_msg("line %d: %s", error.line, error.text);
    return r;
}

static void a_whole_file_is_read(void **state)
{
    (void)state;
    Routine r = read_good("[routine]\ntitle = Tuesday\nbreak-after = 20\nminutes = 16\n"
                          "[block]\ntitle = Tune\nminutes = 2.5\nrest = 2\n"
                          "[student]\nname = Ann\n"
                          "[block]\ntitle = Crossings\nminutes = 5\npassage = one.abc:2\n"
                          "drills = links, finger-4+long-short\ntempo = 1/4=66.5\nrest = 20\n"
                          "[break]\nminutes = 3.5\n"
                          "[block]\ntitle = Climb\nminutes = 5\npassage = two.abc\n"
                          "ladder = 60 to 96\nsteps = 5 percent\npattern = clean-4\nabove = 2\n");
    assert_string_equal(r.title, "Tuesday");
    assert_int_equal(r.break_after, 20);
    assert_int_equal(r.seconds, 16 * 60);
    assert_int_equal(r.count, 4);
    const RoutineBlock *tune = &r.blocks[0], *links = &r.blocks[1], *pause = &r.blocks[2],
                       *climb = &r.blocks[3];
    assert_string_equal(tune->title, "Tune");
    assert_string_equal(tune->student, "");
    assert_string_equal(tune->passage, "");
    assert_int_equal(tune->seconds, 150);
    assert_int_equal(tune->rest, 2);
    assert_int_equal(tune->line, 5);
    assert_string_equal(links->student, "Ann");
    assert_string_equal(links->passage, "one.abc:2");
    assert_int_equal(links->drill_count, 2);
    assert_int_equal(links->drills[0].placing.kind, PLACING_LINKS);
    assert_int_equal(links->drills[1].finger, 4);
    assert_true(ratio_equal(links->tempo.beat, ratio_int(1)));
    assert_true(ratio_equal(links->tempo.per_minute, ratio(133, 2)));
    assert_int_equal(links->rest, 20);
    assert_false(links->has_ladder);
    assert_true(pause->breaks);
    assert_string_equal(pause->title, "Break");
    assert_int_equal(pause->seconds, 210);
    assert_true(climb->has_ladder);
    assert_int_equal(climb->ladder.by, LADDER_BY_PERCENT);
    assert_true(ratio_equal(climb->ladder.amount, ratio_int(5)));
    assert_int_equal(climb->ladder.pattern, LADDER_CLEAN);
    assert_int_equal(climb->ladder.clean, 4);
    assert_int_equal(climb->ladder.above, 2);
    assert_true(ratio_equal(climb->ladder.start.per_minute, ratio_int(60)));
    assert_true(ratio_equal(climb->ladder.goal.per_minute, ratio_int(96)));
    assert_int_equal(climb->ladder.goal.beat.num, 0);
    routine_free(&r);
}

static void what_is_left_out_has_a_sensible_value(void **state)
{
    (void)state;
    Routine r =
        read_good("[block]\ntitle=A\nrepetitions=4\npassage=a.abc\n"
                  "[block]\ntitle=B\nminutes=5\npassage=b.abc\nladder = 3/8=40 to 3/8=60\n");
    assert_int_equal(r.break_after, ROUTINE_BREAK_MINUTES);
    assert_int_equal(r.seconds, 0);
    assert_int_equal(r.blocks[0].repetitions, 4);
    assert_int_equal(r.blocks[0].seconds, 0);
    assert_int_equal(r.blocks[0].drill_count, 0);
    assert_int_equal(r.blocks[0].rest, ROUTINE_REST);
    assert_int_equal(r.blocks[0].tempo.per_minute.num, 0);
    assert_int_equal(r.blocks[1].ladder.by, LADDER_BY_NUMBERS);
    assert_int_equal(r.blocks[1].ladder.clean, 3);
    assert_true(ratio_equal(r.blocks[1].ladder.goal.beat, ratio(3, 2)));
    routine_free(&r);
}

#define BLOCK "[block]\ntitle = A\nminutes = 5\n"
#define PIECE BLOCK "passage = a.abc\n"

/* Each mistake: the line, and words of what is wrong and what to write. */
static const struct {
    const char *text;
    int line;
    const char *wrong, *write;
} mistakes[] = {
    {"", 1, "no block", "write [block]"},
    {"[routine]\ntitle = A\n", 1, "no block", "write [block]"},
    {"title = A\n", 1, "before any section", "write [routine] or [block]"},
    {BLOCK "nonsense\n", 4, "neither", "name = value"},
    {"[blok]\n", 1, "no section [blok]", "perhaps [block]"},
    {"[exam]\n", 1, "it is an exam plan", "evenhand plan FILE"},
    {"[exercise]\n", 1, "no section [exercise]", "write [routine], [student], [block] or [break]"},
    {BLOCK "[routine]\n", 4, "[routine] stands once", "at the top"},
    {BLOCK "minuets = 5\n", 4, "no minuets in [block]", "write minutes"},
    {BLOCK "colour = red\n", 4, "no colour in [block]",
        "title, minutes, repetitions, passage, drills, tempo, ladder, steps, pattern, above, rest"},
    {"[break]\ntempo = 60\n", 2, "no tempo in [break]", "there is title, minutes"},
    {BLOCK "minutes = 6\n", 4, "minutes stands twice", "leave one of them out"},
    {BLOCK "title =\n", 4, "twice", "leave one"},
    {"[block]\ntitle =\n", 2, "title is empty", "write it"},
    {"[block]\nminutes = 5\n", 1, "no title", "write title ="},
    {"\n[block]\ntitle = A\n", 2, "no length", "write minutes = 5 or repetitions = 4"},
    {"[break]\n" BLOCK, 1, "no length", "write minutes = 5"},
    {PIECE "repetitions = 4\n", 1, "minutes and repetitions", "write one of them"},
    {"[block]\ntitle=A\nminutes = 0\n", 3, "not '0'", "minutes = 5"},
    {"[block]\ntitle=A\nminutes = 241\n", 3, "at most 240", "minutes = 5"},
    {"[block]\ntitle=A\nminutes = 0.333\n", 3, "whole seconds", "minutes = 5"},
    {"[block]\ntitle=A\nminutes = five\n", 3, "not 'five'", "minutes = 5"},
    {"[block]\ntitle=A\nminutes = -5\n", 3, "not '-5'", "minutes = 5"},
    {"[block]\ntitle=A\npassage=a\nrepetitions = 0\n", 4, "from 1 to 200", "repetitions = 4"},
    {"[block]\ntitle=A\npassage=a\nrepetitions = 4.5\n", 4, "whole number", "repetitions = 4"},
    {"[block]\ntitle=A\nrepetitions = 4\n", 1, "repetitions of what", "passage = FILE.abc"},
    {BLOCK "drills = plain\n", 1, "drills of what", "passage = FILE.abc"},
    {BLOCK "tempo = 60\n", 1, "tempo of what", "passage = FILE.abc"},
    {BLOCK "ladder = 60 to 72\n", 1, "ladder of what", "passage = FILE.abc"},
    {PIECE "drills = plain, finger-5\n", 5, "'finger-5' is no drill", "finger-1 to finger-4"},
    {PIECE "drills = ,\n", 5, "which drills", "drills = plain, links"},
    {PIECE "drills = plain plain plain plain plain plain plain plain plain plain plain plain plain",
        5, "at most 12 drills", "a block of their own"},
    {PIECE "tempo = 9\n", 5, "10 to 400", "tempo = 72"},
    {PIECE "tempo = 401\n", 5, "not '401'", "tempo = 1/4=72"},
    {PIECE "tempo = 0/4=60\n", 5, "10 to 400", "tempo = 72"},
    {PIECE "tempo = 1/4=\n", 5, "10 to 400", "tempo = 72"},
    {PIECE "tempo = quick\n", 5, "not 'quick'", "tempo = 72"},
    {PIECE "tempo = 60\nladder = 60 to 72\n", 1, "a tempo and a ladder", "write one of them"},
    {"[block]\ntitle=A\npassage=a\nrepetitions=3\nladder = 60 to 72\n", 1, "own repetitions",
        "write minutes"},
    {PIECE "ladder = 60\n", 5, "from a tempo to another", "ladder = 60 to 96"},
    {PIECE "ladder = 60 to 500\n", 5, "10 to 400", "ladder = 60 to 96"},
    {PIECE "ladder = 1/4= to 80\n", 5, "from a tempo to another", "ladder = 60 to 96"},
    {PIECE "ladder = 96 to 60\n", 5, "climbs", "slower tempo first"},
    {PIECE "ladder = 1/4=60 to 90\n", 5, "same beat", "before both numbers"},
    {PIECE "ladder = 60 to 72\nsteps = many\n", 6, "not 'many'", "5 percent"},
    {PIECE "ladder = 60 to 72\nsteps = 51 percent\n", 6, "1 to 50", "5 percent"},
    {PIECE "ladder = 60 to 72\npattern = zigzag\n", 6, "not 'zigzag'", "straight, two-up"},
    {PIECE "ladder = 60 to 72\npattern = clean-0\n", 6, "not 'clean-0'", "clean-3"},
    {PIECE "ladder = 60 to 72\nabove = 5\n", 6, "from 0 to 4", "above = 4"},
    {PIECE "steps = 4\n", 1, "steps of what", "ladder = 60 to 96"},
    {PIECE "pattern = straight\n", 1, "pattern of what", "ladder = 60 to 96"},
    {BLOCK "rest = 1\n", 4, "from 2 to 1800", "rest = 4"},
    {BLOCK "rest = 300\n", 1, "all of this block", "write more minutes"},
    {"[student]\n" BLOCK, 1, "whose blocks", "name ="},
    {"[student]\nname =\n", 2, "name is empty", "write it"},
    {"[routine]\nminutes = 6\n" BLOCK, 2, "come to 5:00 minutes, not 6:00", "change one"},
    {"[routine]\nminutes = 6\n[block]\ntitle=A\npassage=a\nrepetitions=3\n", 2, "by repetitions",
        "leave this line out"},
    {"[routine]\nbreak-after = often\n" BLOCK, 2, "whole number from 0 to 240", "break-after = 4"},
};

static void each_mistake_has_its_line_and_what_to_write(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof mistakes / sizeof mistakes[0]; i++) {
        Routine r;
        Error error = {0};
        bool read = routine_read(mistakes[i].text, strlen(mistakes[i].text), &r, &error);
        if (read || error.line != mistakes[i].line ||
            strstr(error.text, mistakes[i].wrong) == NULL ||
            strstr(error.text, mistakes[i].write) == NULL)
            fail_msg("%s\n-> line %d: %s", mistakes[i].text, error.line, error.text);
        assert_null(r.blocks);
        bool plan = strcmp(mistakes[i].write, "evenhand plan FILE") == 0; /* nothing to correct */
        assert_int_equal(error.kind, plan ? ERROR_USAGE : ERROR_SYNTAX);
        assert_true(strlen(error.text) < ERROR_TEXT_MAX - 1); /* not cut */
    }
}

/* One student, however the name is written the second time. */
static void a_name_is_spelled_as_it_was_first(void **state)
{
    (void)state;
    static const char text[] = "[student]\nname=Ann\n[block]\ntitle=A\nminutes=1\n"
                               "[student]\nname=Ben\n[block]\ntitle=B\nminutes=1\n"
                               "[student]\nname=ANN\n[block]\ntitle=C\nminutes=1\n";
    Routine r;
    Error error = {0};
    assert_true(routine_read(text, strlen(text), &r, &error));
    assert_string_equal(r.blocks[1].student, "Ben");
    assert_string_equal(r.blocks[2].student, "Ann");
    routine_free(&r);
}

/* The example in the manual is a routine. */
static void the_manuals_example_is_read(void **state)
{
    (void)state;
    static char text[1 << 17];
    FILE *f = fopen("src/app/evenhand.1", "r");
    assert_non_null(f);
    size_t size = fread(text, 1, sizeof text - 1, f);
    fclose(f);
    assert_true(size < sizeof text - 1);
    char *section = strstr(text, ".Sh ROUTINES\n");
    assert_non_null(section);
    char *example = strstr(section, "\n[routine]\n");
    assert_non_null(example);
    char *end = strstr(example, ".Ed\n");
    assert_non_null(end);
    *end = '\0';
    Routine r = read_good(example);
    assert_int_equal(r.count, 3);
    assert_int_equal(r.seconds, 13 * 60);
    assert_string_equal(r.blocks[0].student, "Student A");
    assert_true(r.blocks[1].breaks && r.blocks[2].has_ladder);
    routine_free(&r);
}

static void too_many_blocks_are_refused(void **state)
{
    (void)state;
    static char text[(ROUTINE_BLOCKS_MAX + 1) * sizeof BLOCK];
    for (int i = 0; i < ROUTINE_BLOCKS_MAX; i++)
        strcat(text, BLOCK);
    Routine r = read_good(text);
    assert_int_equal(r.count, ROUTINE_BLOCKS_MAX);
    routine_free(&r);
    Error error = {0};
    strcat(text, BLOCK);
    assert_false(routine_read(text, strlen(text), &r, &error));
    assert_int_equal(error.kind, ERROR_LIMIT);
    assert_int_equal(error.line, 3 * ROUTINE_BLOCKS_MAX + 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_whole_file_is_read),
        cmocka_unit_test(what_is_left_out_has_a_sensible_value),
        cmocka_unit_test(each_mistake_has_its_line_and_what_to_write),
        cmocka_unit_test(a_name_is_spelled_as_it_was_first),
        cmocka_unit_test(the_manuals_example_is_read),
        cmocka_unit_test(too_many_blocks_are_refused),
    };
    return cmocka_run_group_tests_name("routine file", tests, NULL, NULL);
}
