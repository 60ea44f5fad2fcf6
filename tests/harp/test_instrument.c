/* Harps: the usual ones, the player's own, and which of them can play a passage. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "evenhand/harp/instrument.h"

#include <stdio.h>
#include <string.h>

static Instrument harp(const char *text)
{
    Instrument out;
    Error error = {0};
    if (!instrument_parse(text, &out, &error))
        fail_msg("%s: %s", text, error.text);
    return out;
}

/* Pedal harps: 47 strings C1-G7, 46 from D1, 48 to A7 [src: encyclopaedia entry Concert harp;
 * calc]. Lever harps [from memory; makers vary; counts calculated]. */
static void the_usual_harps(void **state)
{
    (void)state;
    static const struct {
        const char *name, *says;
        int no_discs;
    } rows[] = {
        {"pedal-46", "pedal harp, 46 strings D1-G7 (scientific octaves)", 1},
        {"pedal-47", "pedal harp, 47 strings C1-G7 (scientific octaves)", 2},
        {"pedal-48", "pedal harp, 48 strings C1-A7 (scientific octaves)", 2},
        {"lever-22", "lever harp, 22 strings C4-C7, tuned in Eb (scientific octaves)", 0},
        {"lever-22-low", "lever harp, 22 strings C3-C6, tuned in Eb (scientific octaves)", 0},
        {"lever-26-C", "lever harp, 26 strings C3-G6, tuned in C (scientific octaves)", 0},
        {"lever-34-Eb", "lever harp, 34 strings C2-A6, tuned in Eb (scientific octaves)", 0},
        {"lever-36-F", "lever harp, 36 strings C2-C7, tuned in F (scientific octaves)", 0},
        {"lever-38-Ab", "lever harp, 38 strings A1-C7, tuned in Ab (scientific octaves)", 0},
        {"lever-22-low-G", "lever harp, 22 strings C3-C6, tuned in G (scientific octaves)", 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Instrument h = harp(rows[i].name);
        char text[INSTRUMENT_TEXT_MAX];
        assert_string_equal(instrument_text(&h, NAMES_SCIENTIFIC, false, text), rows[i].says);
        assert_int_equal(h.no_discs, rows[i].no_discs);
    }
    char text[INSTRUMENT_TEXT_MAX];
    Instrument h = harp("lever-34");
    assert_string_equal(h.name, "lever-34-Eb");
    assert_string_equal(instrument_text(&h, NAMES_HARP, true, text),
        "lever harp, 34 strings C6-A1, tuned in E♭ (harp octaves)");
}

static void each_of_the_table_is_found_by_its_name(void **state)
{
    (void)state;
    int count;
    const Instrument *table = instrument_table(&count);
    assert_in_range(count, 9, 30);
    for (int i = 0; i < count; i++) {
        Instrument h = harp(table[i].name);
        assert_string_equal(h.name, table[i].name);
        assert_int_equal(h.low, table[i].low);
        assert_int_equal(h.count, table[i].count);
        assert_int_equal(h.no_discs, table[i].no_discs);
        assert_memory_equal(h.tuning, table[i].tuning, sizeof h.tuning);
    }
}

static void a_players_own(void **state)
{
    (void)state;
    Instrument h = harp("lever:C2:34:Eb"), usual = harp("lever-34-Eb");
    assert_string_equal(h.name, "lever:C2:34:Eb");
    assert_int_equal(h.low, usual.low);
    assert_int_equal(h.count, usual.count);
    assert_memory_equal(h.tuning, usual.tuning, sizeof h.tuning);
    h = harp("lever:G2:29");
    assert_memory_equal(h.tuning, usual.tuning, sizeof h.tuning);
    assert_int_equal(h.low, 18);
    h = harp("pedal:C1:47");
    assert_int_equal(h.no_discs, 2);
    h = harp("pedal:G1:40");
    assert_int_equal(h.no_discs, 0);
    h = harp("pedal:C0:60"); /* bounds */
    assert_int_equal(h.no_discs, 9);
    h = harp("lever:D0:60:C");
    assert_int_equal(h.low + h.count, 61);
    h = harp("lever:B8:1:C");
    assert_int_equal(h.low, 62);
}

static void what_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        ErrorKind kind;
        const char *says;
    } rows[] = {
        {"", ERROR_USAGE, "lever-22-low"},
        {"harp", ERROR_USAGE, "no harp \"harp\""},
        {"pedal", ERROR_USAGE, "pedal-46"},
        {"pedal-45", ERROR_USAGE, "pedal-46"},
        {"pedal-471", ERROR_USAGE, "pedal-46"},
        {"pedal-47-C", ERROR_USAGE, "pedal-46"},
        {"Pedal-47", ERROR_USAGE, "pedal-46"},
        {"lever-34-", ERROR_USAGE, "-Eb"},
        {"lever-34-D", ERROR_USAGE, "-Eb"},
        {"lever-34-Ebb", ERROR_USAGE, "-Eb"},
        {"lever-34Eb", ERROR_USAGE, "-Eb"},
        {"lever:", ERROR_USAGE, "lever:C2:34:Eb"},
        {"lever:C", ERROR_USAGE, "lever:C2:34:Eb"},
        {"lever:C2", ERROR_USAGE, "lever:C2:34:Eb"},
        {"lever:C2:", ERROR_USAGE, "lever:C2:34:Eb"},
        {"lever:H2:34", ERROR_USAGE, "lever:C2:34:Eb"},
        {"lever:Bb2:34", ERROR_USAGE, "lever:C2:34:Eb"},
        {"lever:C2:34:", ERROR_USAGE, "lever:C2:34:Eb"},
        {"lever:C2:34:H", ERROR_USAGE, "lever:C2:34:Eb"},
        {"lever:C2:34x", ERROR_USAGE, "lever:C2:34:Eb"},
        {"lever:C2:-4", ERROR_USAGE, "lever:C2:34:Eb"},
        {"lever:C2:00034", ERROR_USAGE, "lever:C2:34:Eb"},
        {"pedal:C1:47:Eb", ERROR_USAGE, "pedal:C1:47"},
        {"lever:C2:0", ERROR_RANGE, "1 to 60"},
        {"lever:C2:61", ERROR_RANGE, "1 to 60"},
        {"lever:C2:9999:C", ERROR_RANGE, "1 to 60"},
        {"lever:B8:2", ERROR_RANGE, "C0 to B8"},
        {"pedal:C9:1", ERROR_RANGE, "C0 to B8"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Instrument out;
        Error error = {0};
        bool made = instrument_parse(rows[i].text, &out, &error);
        if (made)
            fail_msg("\"%s\" was taken", rows[i].text);
        assert_int_equal(error.kind, rows[i].kind);
        if (strstr(error.text, rows[i].says) == NULL)
            fail_msg("\"%s\" says: %s", rows[i].text, error.text);
    }
    assert_false(instrument_parse("nothing", &(Instrument){0}, NULL));
}

static void all_names_fit_the_error(void **state)
{
    (void)state;
    Instrument out;
    Error error = {0};
    assert_false(instrument_parse("a-very-long-word-that-is-no-harp-at-all", &out, &error));
    assert_non_null(strstr(error.text, "pedal:C1:47")); /* the end of the sentence */
}

/* Which can play it, in one line. Boundaries of the compass from the table above. */
static void which_harps_can_play(void **state)
{
    (void)state;
    static const struct {
        int from, count, alter_note, alter;
        const char *says;
    } rows[] = {
        {28, 8, -1, 0, /* C4-C5: tuned in E flat the levers make C major */
            "pedal 46 47 48; lever in Eb 22 22-low 26 34 36 38, in C 22 22-low 26 34 36 38"},
        {14, 8, -1, 0, "pedal 46 47 48; lever in Eb 34 36 38, in C 34 36 38"}, /* C2-C3 */
        {13, 8, -1, 0, "pedal 46 47 48; lever in Eb 38, in C 38"},             /* B1-B2 */
        {11, 8, -1, 0, "pedal 46 47 48; lever in Eb none, in C none"},         /* G1-G2 */
        {7, 8, -1, 0, "pedal 47 48; lever in Eb none, in C none"},             /* C1-C2 */
        {46, 8, -1, 0, "pedal 48; lever in Eb none, in C none"},               /* G6-A7 below */
        {28, 8, 7, 1, /* C4 ... C#5: another octave, another lever, the same pedal */
            "pedal 46 47 48 with 1 change; lever in Eb 22 22-low 26 34 36 38, "
            "in C 22 22-low 26 34 36 38"},
        {28, 8, 3, -1, /* F flat: below any tuning */
            "pedal 46 47 48; lever in Eb none, in C none"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Passage *p = passage_scale(rows[i].from, rows[i].count, 1, ratio(1, 4));
        if (rows[i].from == 46)
            p->notes[7].pitch = pitch_on(54); /* A7 */
        if (rows[i].alter_note >= 0)
            p->notes[rows[i].alter_note].pitch.alter = (int8_t)rows[i].alter;
        char line[200];
        assert_string_equal(instruments_for(p, line, sizeof line), rows[i].says);
        passage_free(p);
    }
}

static void a_flip_is_counted_and_a_short_line_is_cut(void **state)
{
    (void)state;
    Passage *p = passage_scale(28, 9, 0, ratio(1, 1));
    p->notes[3].pitch.alter = 1; /* C C C C# C ... on one string */
    char line[200], small[12], none[1] = "x";
    assert_string_equal(instruments_for(p, line, sizeof line),
        "pedal 46 47 48 with 2 changes; lever in Eb 22 22-low 26 34 36 38 with 2 flips, "
        "in C 22 22-low 26 34 36 38 with 2 flips");
    assert_string_equal(instruments_for(p, small, sizeof small), "pedal 46 47");
    assert_string_equal(instruments_for(p, none, sizeof none), "");
    passage_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_usual_harps),
        cmocka_unit_test(each_of_the_table_is_found_by_its_name),
        cmocka_unit_test(a_players_own),
        cmocka_unit_test(what_is_refused),
        cmocka_unit_test(all_names_fit_the_error),
        cmocka_unit_test(which_harps_can_play),
        cmocka_unit_test(a_flip_is_counted_and_a_short_line_is_cut),
    };
    return cmocka_run_group_tests_name("instrument", tests, NULL, NULL);
}
