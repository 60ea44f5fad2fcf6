/* Pitch, metre and tempo against published values. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>

#include "../tools/passages.h"
#include "evenhand/music/metre.h"
#include "evenhand/music/pitch.h"
#include "evenhand/music/tempo.h"

#include <math.h>

static Pitch note(int letter, int alter, int octave)
{
    return (Pitch){(int8_t)letter, (int8_t)alter, (int8_t)octave};
}

static void midi_keys_and_names(void **state)
{
    (void)state;
    char name[PITCH_NAME_MAX];
    /* C4 = 60: Standard MIDI File 1.0 and scientific pitch notation */
    assert_int_equal(pitch_midi(note(LETTER_C, 0, 4)), 60);
    assert_int_equal(pitch_midi(note(LETTER_B, 1, 3)), 60);
    assert_int_equal(pitch_midi(note(LETTER_C, -1, 5)), 71);
    assert_int_equal(pitch_midi(note(LETTER_G, 0, 7)), 103);
    assert_string_equal(pitch_name(note(LETTER_F, 1, 5), false, name), "F#5");
    assert_string_equal(pitch_name(note(LETTER_B, -1, 3), true, name), "B♭3");
    assert_string_equal(pitch_name(note(LETTER_E, -2, 2), false, name), "Ebb2");
    /* 47 strings from C1 to G7: encyclopaedia entry on the concert harp */
    assert_int_equal(
        pitch_string(note(LETTER_G, 0, 7)) - pitch_string(note(LETTER_C, 0, 1)) + 1, 47);
}

static void hertz_by_the_standard(void **state)
{
    (void)state;
    /* ISO 16:1975, A4 = 440 Hz; C1, C4 and G7 calculated from it */
    assert_true(fabs(pitch_hertz(69, 440.0) - 440.0) < 1e-9);
    assert_true(fabs(pitch_hertz(24, 440.0) - 32.703) < 0.001);
    assert_true(fabs(pitch_hertz(60, 440.0) - 261.626) < 0.001);
    assert_true(fabs(pitch_hertz(103, 440.0) - 3135.963) < 0.001);
    assert_true(fabs(pitch_hertz(69, 415.0) - 415.0) < 1e-9);
}

static void check_metre(Metre m, const char *text, Ratio bar, int pulses, int strong)
{
    Ratio at[METRE_NUM_MAX];
    char out[METRE_TEXT_MAX];
    assert_string_equal(metre_text(&m, out), text);
    assert_true(ratio_equal(metre_bar(&m), bar));
    assert_int_equal(metre_pulses(&m, at), pulses);
    for (int i = 1; i < pulses; i++)
        assert_true(ratio_cmp(at[i - 1], at[i]) < 0 && ratio_cmp(at[i], bar) < 0);
    assert_int_equal(metre_strong(&m, at), strong);
}

static void metres(void **state)
{
    (void)state;
    /* strong beats: common practice */
    check_metre(metre(4, 4), "4/4", ratio_int(4), 4, 2);
    check_metre(metre(2, 2), "2/2", ratio_int(4), 2, 1);
    check_metre(metre(3, 4), "3/4", ratio_int(3), 3, 1);
    check_metre(metre(6, 8), "6/8", ratio_int(3), 2, 2);
    check_metre(metre(12, 8), "12/8", ratio_int(6), 4, 4);
    check_metre(metre(3, 8), "3/8", ratio(3, 2), 3, 1);
    check_metre((Metre){5, 8, 2, {3, 2}}, "(3+2)/8", ratio(5, 2), 2, 2);
    check_metre((Metre){0}, "free", ratio_int(0), 1, 1);
    Metre six = metre(6, 8), three = metre(3, 4);
    assert_true(metre_compound(&six));
    assert_false(metre_compound(&three));
}

static void frames_are_the_nearest(void **state)
{
    (void)state;
    Tempo t = tempo(ratio_int(1), ratio_int(137));
    assert_int_equal(tempo_frame(t, ratio_int(0), 44100), 0);
    assert_int_equal(tempo_frame(t, ratio_int(137), 44100), 60 * 44100);
    assert_int_equal(tempo_frame(t, ratio_int(1), 44100), 19314); /* 19313.87 */
    /* a half frame goes up: 1/2 of a frame at rate 1, 60 quarters a minute */
    assert_int_equal(tempo_frame(tempo(ratio_int(1), ratio_int(60)), ratio(1, 2), 1), 1);
    assert_int_equal(tempo_frame(tempo(ratio_int(1), ratio_int(60)), ratio(-1, 2), 1), 0);
    /* dotted quarter = 60: a quarter lasts 2/3 of a second */
    assert_int_equal(tempo_frame(tempo(ratio(3, 2), ratio_int(60)), ratio_int(3), 48000), 96000);
    assert_int_equal(tempo_frame(t, ratio_int(INT64_MAX), 192000), -1);
    Random r = {.state = 3};
    for (int i = 0; i < 20000; i++) {
        Tempo any =
            tempo(ratio(random_between(&r, 1, 3), 2), ratio(random_between(&r, 100, 4000), 10));
        Ratio quarters = ratio(random_between(&r, 0, 1000000), random_between(&r, 1, 96));
        int64_t frame = tempo_frame(any, quarters, 44100);
        Ratio ideal =
            ratio_mul(ratio_mul(tempo_seconds_per_quarter(any), quarters), ratio_int(44100));
        Ratio off = ratio_sub(ideal, ratio_int(frame));
        assert_true(ratio_cmp(off, ratio(1, 2)) < 0 && ratio_cmp(off, ratio(-1, 2)) >= 0);
    }
}

static void tempo_in_words(void **state)
{
    (void)state;
    char text[TEMPO_TEXT_MAX];
    assert_string_equal(tempo_text(tempo(ratio_int(1), ratio_int(72)), text), "1/4 = 72");
    assert_string_equal(tempo_text(tempo(ratio(3, 2), ratio(121, 2)), text), "3/8 = 60.5");
    static const struct {
        Ratio number;
        const char *text;
    } numbers[] = {{{533, 4}, "133.25"}, {{100, 1}, "100"}, {{1001, 10}, "100.1"},
        {{133333, 1000}, "133.333"}, {{400, 3}, "133.333"}, {{200, 3}, "66.667"},
        {{100001, 1000}, "100.001"}, {{399999, 4000}, "100"}, {{10, 1}, "10"}};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        char wanted[TEMPO_TEXT_MAX];
        snprintf(wanted, sizeof wanted, "1/4 = %s", numbers[i].text);
        assert_string_equal(tempo_text(tempo(ratio_int(1), numbers[i].number), text), wanted);
    }
    assert_false(tempo_valid(tempo(ratio_int(1), ratio(99, 10))));
    assert_true(tempo_valid(tempo(ratio_int(1), ratio_int(TEMPO_MIN))));
    assert_true(tempo_valid(tempo(ratio_int(1), ratio_int(TEMPO_MAX))));
    assert_false(tempo_valid(tempo(ratio_int(0), ratio_int(60))));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(midi_keys_and_names),
        cmocka_unit_test(hertz_by_the_standard),
        cmocka_unit_test(metres),
        cmocka_unit_test(frames_are_the_nearest),
        cmocka_unit_test(tempo_in_words),
    };
    return cmocka_run_group_tests_name("music", tests, NULL, NULL);
}
