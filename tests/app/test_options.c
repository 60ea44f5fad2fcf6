#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/command.h"
#include "evenhand/app/help.h"
#include "evenhand/app/options.h"
#include "evenhand/app/values.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WORDS_MAX = 16 };

/* Reads a command line written as one string, words parted by single blanks. */
static bool parse(const char *line, Options *o, Error *error)
{
    static char copy[512];
    char *argv[WORDS_MAX] = {"evenhand"};
    int argc = 1;
    snprintf(copy, sizeof copy, "%s", line);
    for (char *word = strtok(copy, " "); word; word = strtok(NULL, " "))
        argv[argc++] = word;
    *error = (Error){0};
    return options_parse(argc, argv, o, error);
}

static Options good(const char *line)
{
    Options o;
    Error error;
    if (!parse(line, &o, &error))
        fail_msg("'%s' is refused: %s", line, error.text);
    return o;
}

static void commands_and_files(void **state)
{
    (void)state;
    assert_int_equal(good("").command, COMMAND_ID_PRACTICE);
    assert_null(good("").file);
    assert_string_equal(good("runs.abc:2").file, "runs.abc:2");
    assert_int_equal(good("runs.abc").command, COMMAND_ID_PRACTICE);
    assert_int_equal(good("show runs.abc").command, COMMAND_ID_SHOW);
    assert_int_equal(good("--tempo 60 show runs.abc").command, COMMAND_ID_SHOW);
    assert_string_equal(good("show -- show").file, "show");
    assert_string_equal(good("-- show").file, "show");
    assert_int_equal(good("-- show").command, COMMAND_ID_PRACTICE);
    assert_string_equal(good("notes -").file, "-");
    assert_int_equal(good("passages").command, COMMAND_ID_PASSAGES);
    assert_true(good("show --help").help);
    assert_true(good("-V").version);
}

static void defaults(void **state)
{
    (void)state;
    Options o = good("show x.abc");
    Mix mix = mix_default();
    assert_int_equal(o.repetitions, 0);
    assert_int_equal(o.count_in_bars, -1);
    assert_int_equal(o.rest_bars, -1);
    assert_int_equal(o.tempo.per_minute.num, 0);
    assert_int_equal(o.rate, 0);
    assert_memory_equal(&o.mix, &mix, sizeof mix);
    assert_null(o.drill);
    assert_int_equal(o.spec.rhythm.p, 3);
    assert_int_equal(o.spec.rhythm.q, 1);
}

static void values_reach_their_fields(void **state)
{
    (void)state;
    Options o = good("write a.abc -o b.wav --tempo 3/8=66.5 --repetitions 4 --count-in 0 --rest 2 "
                     "--rate 44100 --force");
    assert_true(ratio_equal(o.tempo.beat, ratio(3, 2)));
    assert_true(ratio_equal(o.tempo.per_minute, ratio(133, 2)));
    assert_int_equal(o.repetitions, 4);
    assert_int_equal(o.count_in_bars, 0);
    assert_int_equal(o.rest_bars, 2);
    assert_int_equal(o.rate, 44100);
    assert_string_equal(o.output, "b.wav");
    assert_true(o.force);
    o = good(
        "write a.abc --output=b.wav --hands octaves --largest-group=3 --ignore-marks --a4 442");
    assert_true(o.has_hands && o.hands == HANDS_OCTAVES);
    o = good("a.abc --hands both");
    assert_true(o.has_hands && o.hands == HANDS_OCTAVES);
    o = good(
        "a.abc --hands left --sound announcement=a.wav --sound notes=n.wav --layers announcement");
    assert_true(o.hands == HANDS_LEFT && o.mix.on[LAYER_ANNOUNCE]);
    assert_string_equal(o.own[VOICE_ANNOUNCE], "a.wav");
    assert_string_equal(o.own[VOICE_NOTE], "n.wav");
    o = good(
        "write a.abc --output=b.wav --hands octaves --largest-group=3 --ignore-marks --a4 442");
    assert_int_equal(o.fingers.largest_group, 3);
    assert_true(o.fingers.ignore_marks);
    assert_true(o.a4 > 441.999 && o.a4 < 442.001);
    o = good("a.abc --silent --ascii --device pulse -ob.wav");
    assert_true(o.silent && o.ascii);
    assert_string_equal(o.device, "pulse");
    assert_string_equal(o.output, "b.wav");
}

/* What a teacher sets, for every command that plans fingers. */
static void fingers_and_harp(void **state)
{
    (void)state;
    Options o = good("show a.abc --small bottom --each-octave --avoid-twos --lifted --start on");
    assert_int_equal(o.fingers.small, SMALL_AT_BOTTOM);
    assert_true(o.fingers.octaves && o.fingers.avoid_twos && o.fingers.lifted);
    assert_int_equal(o.fingers.start, GROUPS_ON_BEATS);
    o = good("mark a.abc -o b.abc --small g --start off");
    assert_int_equal(o.fingers.small, SMALL_AT_LETTER);
    assert_int_equal(o.fingers.small_letter, LETTER_G);
    assert_int_equal(o.fingers.start, GROUPS_OFF_BEATS);
    o = good("notes a.abc --small C --small top");
    assert_int_equal(o.fingers.small, SMALL_ON_TOP);
    o = good("show a.abc --plans 8 --check --instrument lever-34-C --names harp");
    assert_int_equal(o.plans, 8);
    assert_true(o.check && o.has_harp);
    assert_int_equal(o.harp.kind, HARP_LEVER);
    assert_int_equal(o.names, NAMES_HARP);
    static const char *const words[HANDS_KINDS] = {
        "right", "left", "octaves", "thirds", "sixths", "tenths", "alternate"};
    for (int i = 0; i < HANDS_KINDS; i++) {
        char line[60];
        snprintf(line, sizeof line, "notes a.abc --hands %s", words[i]);
        assert_int_equal(good(line).hands, i);
    }
}

static void plans_by_the_calendar(void **state)
{
    (void)state;
    Options o = good("plan x.ini --months --today 2028-02-29 -o x.ics -f");
    assert_int_equal(o.command, COMMAND_ID_PLAN);
    assert_true(o.months && o.has_today && o.force);
    assert_int_equal(o.today, date_day(2028, 2, 29));
    o = good("x.abc --plan y.ini");
    assert_string_equal(o.exam_plan, "y.ini");
    assert_false(o.has_today);
}

/* The drill's word, its ratio, timing, beats and subdivision may come in any order. */
static void drill_options_in_any_order(void **state)
{
    static const char *const words[] = {"--drill finger-2+short-long", "--ratio 7:1",
        "--timing goal", "--beats 1,5/2", "--subdivision 1/16"};
    static const int orders[][5] = {{0, 1, 2, 3, 4}, {4, 3, 2, 1, 0}, {2, 0, 4, 1, 3}};
    (void)state;
    for (int i = 0; i < 3; i++) {
        char line[256] = "show x.abc";
        for (int k = 0; k < 5; k++) {
            strcat(line, " ");
            strcat(line, words[orders[i][k]]);
        }
        DrillSpec s = good(line).spec;
        assert_int_equal(s.accent, ACCENT_FINGER);
        assert_int_equal(s.finger, 2);
        assert_int_equal(s.rhythm.notes, 2);
        assert_int_equal(s.rhythm.long_at, 1);
        assert_int_equal(s.rhythm.p, 7);
        assert_int_equal(s.rhythm.q, 1);
        assert_int_equal(s.rhythm.timing, TIMING_GOAL);
        assert_int_equal(s.beats.count, 2);
        assert_true(ratio_equal(s.beats.at[1], ratio(5, 2)));
        assert_true(ratio_equal(s.subdivision, ratio(1, 4)));
    }
}

static void ladders(void **state)
{
    (void)state;
    LadderWishes w = good("ladder a.abc").ladder;
    assert_int_equal(w.from.per_minute.num, 0);
    assert_int_equal(w.to.per_minute.num, 0);
    assert_false(w.has_by || w.has_pattern);
    assert_int_equal(w.clean, 0);
    assert_int_equal(w.above, -1);
    assert_int_equal(w.beat_notes, 0);
    w = good("ladder --from 60 --to 1/2=100.5 --by 4% --pattern clean --clean 5 --above 0 "
             "--notes-per-beat 4")
            .ladder;
    assert_true(w.from.beat.num == 0 && ratio_equal(w.from.per_minute, ratio_int(60)));
    assert_true(ratio_equal(w.to.beat, ratio_int(2)));
    assert_true(ratio_equal(w.to.per_minute, ratio(201, 2)));
    assert_true(w.has_by && w.by == LADDER_BY_PERCENT && ratio_equal(w.amount, ratio_int(4)));
    assert_true(w.has_pattern && w.pattern == LADDER_CLEAN);
    assert_int_equal(w.clean, 5);
    assert_int_equal(w.above, 0);
    assert_int_equal(w.beat_notes, 4);
    w = good("ladder --to 96 --pattern clean-5").ladder;
    assert_true(w.pattern == LADDER_CLEAN && w.clean == 5);
    w = good("a.abc --to 120 --by 0.5 --pattern two-up --above 4").ladder;
    assert_true(w.by == LADDER_BY_AMOUNT && ratio_equal(w.amount, ratio(1, 2)));
    assert_int_equal(w.pattern, LADDER_TWO_UP);
    w = good("practice a.abc --to 120 --by 2 --by numbers --pattern straight").ladder;
    assert_int_equal(w.by, LADDER_BY_NUMBERS);
    assert_int_equal(w.pattern, LADDER_STRAIGHT);
}

static void layers_and_sounds(void **state)
{
    (void)state;
    Options o = good("x.abc --layers pulse=-12,notes,accent=9 --level -20 --sound pulse=tick.wav "
                     "--sound accent=bell.flac");
    assert_true(o.mix.on[LAYER_PULSE] && o.mix.on[LAYER_NOTES] && o.mix.on[LAYER_ACCENT]);
    assert_false(o.mix.on[LAYER_GUIDE] || o.mix.on[LAYER_SUBDIVISION] || o.mix.on[LAYER_ANNOUNCE]);
    assert_int_equal(o.mix.level[LAYER_PULSE], -12);
    assert_int_equal(o.mix.accent, 9);
    assert_int_equal(o.mix.master, -20);
    assert_string_equal(o.own[VOICE_PULSE], "tick.wav");
    assert_string_equal(o.own[VOICE_ACCENT], "bell.flac");
    assert_null(o.own[VOICE_NOTE]);
}

/* What is off, and a word that the message must hold. */
static const struct {
    const char *line, *says;
} bad[] = {
    {"--tempo", "--tempo needs a value"},
    {"--tempo 9", "10 to 400"},
    {"--tempo 401", "10 to 400"},
    {"--tempo fast", "'fast'"},
    {"--tempo 60.1234", "60.1234"},
    {"--tempo 0/4=60", "0/4=60"},
    {"--tempo 1/4=", "1/4="},
    {"--tempo -60", "-60"},
    {"--repetitions 0", "1 to 1000"},
    {"--repetitions 1001", "1 to 1000"},
    {"--repetitions 2x", "2x"},
    {"--count-in 17", "0 to 16"},
    {"--count-in -1", "0 to 16"},
    {"--rest 17", "0 to 16"},
    {"--drill wobbly", "wobbly"},
    {"--drill finger-5", "finger-5"},
    {"--drill long-4-of-3", "long-4-of-3"},
    {"--ratio 3", "3:1"},
    {"--ratio 65:1", "64"},
    {"--timing later", "total or goal"},
    {"--beats 0", "strong beats"},
    {"--beats 1,,3", "strong beats"},
    {"--subdivision 1/256", "1/128"},
    {"--subdivision 3", "1/128 to 2"},
    {"--hands three", "right, left, both (octaves), thirds, sixths, tenths or alternate"},
    {"--hands oct", "octaves"},
    {"plan", "plan needs a file: evenhand plan FILE"},
    {"plan x.ini --today soon", "2026-11-25"},
    {"plan x.ini --tempo 60", "--tempo has no meaning for plan"},
    {"show x.abc --months", "--months has no meaning for show"},
    {"--plan=", "--plan needs a file"},
    {"--small side", "top, bottom or a letter"},
    {"--small H", "'H'"},
    {"--small=", "top, bottom"},
    {"--start late", "on or off"},
    {"--each-octave=yes", "takes no value"},
    {"show a.abc --plans 0", "1 to 8"},
    {"show a.abc --plans 9", "1 to 8"},
    {"notes a.abc --plans 2", "--plans has no meaning for notes"},
    {"notes a.abc --check", "--check has no meaning for notes"},
    {"show a.abc --names latin", "scientific, harp or syllables"},
    {"--largest-group 5", "3 to 4"},
    {"--rate 7999", "8000 to 192000"},
    {"--rate 192001", "8000 to 192000"},
    {"--device=", "--device"},
    {"--a4 379", "380 to 480"},
    {"--level 1", "-60 to 0"},
    {"--accent 13", "0 to 12"},
    {"--layers drums", "pulse, subdivision, notes, accent, guide, announcement"},
    {"--layers pulse=5", "-60 to 0"},
    {"--layers pulse=", "-60 to 0"},
    {"--sound gong=x.wav", "downbeat, pulse"},
    {"--sound pulse", "KIND=FILE"},
    {"--sound pulse=", "KIND=FILE"},
    {"ladder --from 9", "--from takes 10 to 400"},
    {"ladder --to 401", "--to takes 10 to 400"},
    {"ladder --by 0.4", "0.5 to 50 beats a minute; of the record passage, drill, student or day, "
                        "not '0.4'"},
    {"ladder --pattern clean-21", "clean-1 to clean-20"},
    {"ladder --by 50.001", "0.5 to 50 beats"},
    {"ladder --by 0.9%", "1% to 50%"},
    {"ladder --by 51%", "1% to 50%"},
    {"ladder --by %", "not '%'"},
    {"ladder --by=", "--by takes numbers"},
    {"ladder --by number", "'number'"},
    {"ladder --by 2222222222222222222222", "--by takes"},
    {"ladder --pattern up", "straight, two-up or clean"},
    {"ladder --clean 0", "1 to 20"},
    {"ladder --clean 21", "1 to 20"},
    {"ladder --above 5", "0 to 4"},
    {"ladder --above -1", "0 to 4"},
    {"ladder --notes-per-beat 65", "1 to 64"},
    {"ladder a.abc --tempo 60", "--tempo has no meaning for ladder"},
    {"ladder a.abc --rest 1", "--rest has no meaning for ladder"},
    {"show a.abc --to 60", "--to has no meaning for show"},
    {"--silent=yes", "takes no value"},
    {"--nonsense", "no option --nonsense"},
    {"-z", "no option -z"},
    {"a.abc b.abc", "b.abc"},
    {"show", "needs a file"},
    {"notes", "needs a file"},
    {"notes a.abc --rate 48000", "--rate has no meaning for notes"},
    {"show a.abc --force", "--force has no meaning for show"},
    {"passages --tempo 60", "--tempo has no meaning for passages"},
};

static void what_is_off_is_told(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        Options o;
        Error error;
        if (parse(bad[i].line, &o, &error))
            fail_msg("'%s' is taken", bad[i].line);
        assert_int_equal(error.kind, ERROR_USAGE);
        if (!strstr(error.text, bad[i].says))
            fail_msg("'%s': '%s' does not say '%s'", bad[i].line, error.text, bad[i].says);
    }
}

/* The table is sound: names and letters once, a reader and a command each. */
static void the_table_is_sound(void **state)
{
    int count, commands;
    const OptionRow *rows = options_table(&count);
    (void)state;
    assert_true(count <= 64);
    for (int i = 0; i < count; i++) {
        assert_non_null(rows[i].read);
        assert_true(rows[i].commands != 0 && rows[i].text[0] != '\0');
        for (int k = 0; k < i; k++) {
            assert_string_not_equal(rows[i].name, rows[k].name);
            assert_true(rows[i].letter == 0 || rows[i].letter != rows[k].letter);
        }
    }
    const CommandRow *table = command_table(&commands);
    for (int i = 0; i < commands; i++) {
        assert_non_null(table[i].run);
        assert_ptr_equal(command_find(table[i].id), &table[i]);
    }
}

/* Ranges that --help states are those of the constants. */
static void stated_ranges_are_the_constants(void **state)
{
    static const struct {
        const char *name;
        int low, high;
    } ranges[] = {{"tempo", TEMPO_MIN, TEMPO_MAX}, {"repetitions", 1, SESSION_REPETITIONS_MAX},
        {"count-in", 0, SESSION_BARS_MAX}, {"rest", 0, SESSION_BARS_MAX},
        {"accent", ACCENT_DB_MIN, ACCENT_DB_MAX}, {"level", MIX_DB_MIN, MIX_DB_MAX},
        {"a4", OPTION_A4_MIN, OPTION_A4_MAX}, {"rate", OPTION_RATE_MIN, OPTION_RATE_MAX},
        {"ratio", 1, RHYTHM_PART_MAX}, {"clean", 1, LADDER_CLEAN_MAX},
        {"above", 0, LADDER_ABOVE_MAX}, {"repetitions", 1, LADDER_REPETITIONS_MAX},
        {"notes-per-beat", 1, OPTION_BEAT_NOTES_MAX}};
    int count;
    const OptionRow *rows = options_table(&count);
    (void)state;
    for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++) {
        char words[40];
        bool said = false;
        snprintf(words, sizeof words, "%d to %d", ranges[i].low, ranges[i].high);
        for (int k = 0; k < count; k++)
            said = said || (strcmp(rows[k].name, ranges[i].name) == 0 &&
                               strstr(rows[k].text, words) != NULL);
        if (!said)
            fail_msg("--%s does not state %s", ranges[i].name, words);
    }
}

/* Help names every command and option, within 80 columns. */
static void help_is_the_table(void **state)
{
    Text text = {0};
    int count;
    const OptionRow *rows = options_table(&count);
    (void)state;
    assert_true(help_program(&text));
    for (int i = 0; i < count; i++) {
        char name[64];
        snprintf(name, sizeof name, "--%s", rows[i].name);
        assert_non_null(strstr(text.bytes, name));
    }
    for (const char *line = text.bytes; *line; line += strcspn(line, "\n") + 1)
        assert_true(strcspn(line, "\n") <= 80);
    text_free(&text);
    assert_true(help_command(&text, command_find(COMMAND_ID_NOTES)));
    assert_non_null(strstr(text.bytes, "--hands"));
    assert_null(strstr(text.bytes, "--rate"));
    text_free(&text);
}

static void single_values(void **state)
{
    int whole = 7;
    Ratio r;
    Tempo t;
    Error error;
    (void)state;
    assert_true(value_int("-12", "x", -60, 0, &whole, &error) && whole == -12);
    assert_false(value_int("", "x", 0, 9, &whole, &error));
    assert_false(value_int("99999999999", "x", 0, 9, &whole, &error));
    assert_false(value_int(" 1", "x", 0, 9, &whole, &error));
    assert_true(value_decimal("440.5", "x", 380, 480, &r, &error));
    assert_true(ratio_equal(r, ratio(881, 2)));
    assert_false(value_decimal("440.", "x", 380, 480, &r, &error));
    assert_false(value_decimal(".5", "x", 0, 1, &r, &error));
    assert_false(value_decimal("480.001", "x", 380, 480, &r, &error));
    assert_true(value_length("1/8", "x", &r, &error) && ratio_equal(r, ratio(1, 2)));
    assert_true(value_length("2", "x", &r, &error) && ratio_equal(r, ratio_int(8)));
    assert_false(value_length("1/0", "x", &r, &error));
    assert_false(value_length("1/8/2", "x", &r, &error));
    assert_true(value_tempo("72", "x", &t, &error) && t.beat.num == 0);
    assert_true(value_tempo("400", "x", &t, &error));
    assert_true(value_tempo("10", "x", &t, &error));
    assert_false(value_tempo("400.001", "x", &t, &error));
    assert_false(value_tempo("9.999", "x", &t, &error));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(commands_and_files),
        cmocka_unit_test(defaults),
        cmocka_unit_test(values_reach_their_fields),
        cmocka_unit_test(fingers_and_harp),
        cmocka_unit_test(plans_by_the_calendar),
        cmocka_unit_test(drill_options_in_any_order),
        cmocka_unit_test(ladders),
        cmocka_unit_test(layers_and_sounds),
        cmocka_unit_test(what_is_off_is_told),
        cmocka_unit_test(the_table_is_sound),
        cmocka_unit_test(stated_ranges_are_the_constants),
        cmocka_unit_test(help_is_the_table),
        cmocka_unit_test(single_values),
    };
    return cmocka_run_group_tests_name("options", tests, NULL, NULL);
}
