/* Names of notes: scientific, harp octaves, fixed do. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/harp/instrument.h"

#include <stdio.h>
#include <string.h>

static const char *named(int string, int alter, Names names, bool utf8)
{
    static char out[PITCH_NAME_MAX];
    Pitch p = {
        .letter = (int8_t)(string % 7), .alter = (int8_t)alter, .octave = (int8_t)(string / 7)};
    return names_pitch(p, names, utf8, out);
}

/* [src: Morley Harps, Compass explained: middle C is the C of the 4th octave, an octave runs from
 * E down to F, the lowest C of the concert harp is the 7th-octave C] Walked down string by string
 * from that rule: a new octave begins below each F. */
static void harp_octaves_count_from_the_top(void **state)
{
    (void)state;
    int octave = 0;
    for (int string = 52; string >= 7; string--) { /* G7 down to C1 */
        char want[PITCH_NAME_MAX];
        snprintf(want, sizeof want, "%c%d", "CDEFGAB"[string % 7], octave);
        assert_string_equal(named(string, 0, NAMES_HARP, false), want);
        if (string % 7 == LETTER_F)
            octave++;
    }
}

/* Both sides of every boundary, written out. [calc from the same source] */
static void harp_octaves_at_every_boundary(void **state)
{
    (void)state;
    static const struct {
        const char *scientific, *harp;
    } bounds[] = {{"C1", "C7"}, {"E1", "E7"}, {"F1", "F6"}, {"B1", "B6"}, {"C2", "C6"},
        {"E2", "E6"}, {"F2", "F5"}, {"E3", "E5"}, {"F3", "F4"}, {"B3", "B4"}, {"C4", "C4"},
        {"E4", "E4"}, {"F4", "F3"}, {"E5", "E3"}, {"F5", "F2"}, {"E6", "E2"}, {"F6", "F1"},
        {"E7", "E1"}, {"F7", "F0"}, {"G7", "G0"}, {"A7", "A0"}};
    for (size_t i = 0; i < sizeof bounds / sizeof *bounds; i++) {
        int letter = (int)(strchr("CDEFGAB", bounds[i].scientific[0]) - "CDEFGAB");
        int string = 7 * (bounds[i].scientific[1] - '0') + letter;
        assert_string_equal(named(string, 0, NAMES_SCIENTIFIC, false), bounds[i].scientific);
        assert_string_equal(named(string, 0, NAMES_HARP, false), bounds[i].harp);
    }
}

static void signs_stay_with_the_letter(void **state)
{
    (void)state;
    assert_string_equal(named(28, 1, NAMES_HARP, false), "C#4");
    assert_string_equal(named(34, -2, NAMES_HARP, true), "B♭♭3");
    assert_string_equal(
        named(28, 0, NAMES_SYLLABLES, false), "do4"); /* fixed do, common practice */
    assert_string_equal(named(32, 2, NAMES_SYLLABLES, true), "sol♯♯4");
    assert_string_equal(named(34, -1, NAMES_SYLLABLES, false), "sib4");
    Pitch low = {.letter = LETTER_G, .alter = 1, .octave = -1};
    char out[PITCH_NAME_MAX];
    assert_string_equal(names_pitch(low, NAMES_SYLLABLES, true, out), "sol♯-1");
    assert_string_equal(names_pitch(low, NAMES_HARP, false, out), "G#8");
}

static void every_way_has_a_label(void **state)
{
    (void)state;
    assert_string_equal(names_label(NAMES_SCIENTIFIC), "scientific octaves");
    assert_string_equal(names_label(NAMES_HARP), "harp octaves");
    assert_string_equal(names_label(NAMES_SYLLABLES), "fixed do");
    Names names;
    Error error = {0};
    assert_true(names_parse("harp", &names, &error) && names == NAMES_HARP);
    assert_true(names_parse("do", &names, &error) && names == NAMES_SYLLABLES);
    assert_true(names_parse("scientific", &names, &error) && names == NAMES_SCIENTIFIC);
    assert_false(names_parse("dodo", &names, &error));
    assert_int_equal(error.kind, ERROR_USAGE);
    assert_non_null(strstr(error.text, "scientific, harp or do"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(harp_octaves_count_from_the_top),
        cmocka_unit_test(harp_octaves_at_every_boundary),
        cmocka_unit_test(signs_stay_with_the_letter),
        cmocka_unit_test(every_way_has_a_label),
    };
    return cmocka_run_group_tests_name("names", tests, NULL, NULL);
}
