#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sound/scene.h"
#include "sound/spectrum.h"

#include <math.h>

/* Every key in one passage: one note each. */
static Passage *all_keys(int low, int high)
{
    Error error = {0};
    Passage *p = passage_new();
    const Metre m = metre(4, 4);
    scene_need(p && passage_add_bar(p, ratio_int(0), &m, 1, &error), &error);
    for (int midi = low; midi <= high; midi++) {
        /* C, D, E, F, G, A, B and the sharps between them. */
        static const int8_t letters[12] = {0, 0, 1, 1, 2, 3, 3, 4, 4, 5, 5, 6};
        static const int8_t alters[12] = {0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1, 0};
        const Note note = {.onset = ratio(midi - low, 64),
            .length = ratio(1, 64),
            .pitch = {letters[midi % 12], alters[midi % 12], (int8_t)(midi / 12 - 1)}};
        scene_need(passage_add_note(p, &note, &error), &error);
    }
    scene_need(passage_finish(p, ratio(high - low + 1, 64), &error), &error);
    return p;
}

static double cents(double hertz, double wanted)
{
    return 1200 * log2(hertz / wanted);
}

/* ISO 16:1975, equal temperament, worked out here and not by the program. */
static double tempered(int midi, double a4)
{
    return a4 * pow(2, (midi - 69) / 12.0);
}

static void check_shape(const Voice *v, int midi, int rate)
{
    double sum = 0;
    assert_float_equal(v->samples[v->peak], 1, 0);
    assert_true((int64_t)v->peak <= (int64_t)rate * VOICE_LEAD_MILLISECONDS / 1000);
    for (size_t i = 0; i < v->count; i++) {
        if (!(fabsf(v->samples[i]) <= 1))
            fail_msg("midi %d at %d: sample %zu is %g", midi, rate, i, (double)v->samples[i]);
        sum += v->samples[i];
    }
    assert_float_equal((float)(sum / (double)v->count), 0, 1e-5F);
    assert_float_equal(v->samples[0], 0, 0);
    assert_float_equal(v->samples[v->count - 1], 0, 0);
}

static void every_string_keeps_the_promises_of_a_voice(void **state)
{
    (void)state;
    const int rates[] = {8000, 44100, 48000, 96000};
    Passage *p = all_keys(12, 120);
    for (size_t r = 0; r < 4; r++) {
        Error error = {0};
        PluckBank *bank = plucks_make(p, rates[r], 440, &error);
        assert_non_null(bank);
        for (int midi = 12; midi <= 120; midi++) {
            const Voice *v = plucks_get(bank, midi);
            if (tempered(midi, 440) < 0.45 * rates[r])
                assert_non_null(v);
            else
                assert_null(v);
            if (v)
                check_shape(v, midi, rates[r]);
        }
        plucks_free(bank);
    }
    passage_free(p);
}

/* Harp compass C1 to G7 (trade-facts 2.1) at several A4, by the phase of the ground tone. */
static void strings_are_in_tune_to_a_cent(void **state)
{
    (void)state;
    const double a4s[] = {380, 415, 440, 442, 480};
    const int rates[] = {44100, 48000};
    Passage *p = all_keys(24, 103);
    double worst = 0;
    for (size_t a = 0; a < 5; a++)
        for (size_t r = 0; r < 2; r++) {
            Error error = {0};
            PluckBank *bank = plucks_make(p, rates[r], a4s[a], &error);
            assert_non_null(bank);
            for (int midi = 24; midi <= 103; midi++) {
                const Voice *v = plucks_get(bank, midi);
                const double wanted = tempered(midi, a4s[a]);
                /* At least eight periods to a window, begun after the attack. */
                const size_t width = (size_t)fmax(4096, 8 * rates[r] / wanted);
                const double found =
                    measure_hertz(v->samples, width, rates[r], wanted, v->peak + 200, width / 4);
                worst = fmax(worst, fabs(cents(found, wanted)));
            }
            plucks_free(bank);
        }
    print_message("worst tuning: %.4f cents\n", worst);
    assert_true(worst < 1);
    passage_free(p);
}

/* The measure itself: a tone 1.5 cents sharp is found to be so. */
static void the_measure_of_tuning_can_tell_a_cent(void **state)
{
    (void)state;
    static float tone[12000];
    const double sharp = 262 * pow(2, 1.5 / 1200);
    for (int i = 0; i < 12000; i++)
        tone[i] = (float)(exp(-i / 9000.0) * cos(2 * SPECTRUM_PI * sharp * i / 48000));
    const double found = measure_hertz(tone, 4096, 48000, 262, 100, 1024);
    assert_float_equal((float)cents(found, 262), 1.5F, 0.02F);
}

/* An ear that is not ours: aubiopitch (aubio-tools) by the YIN method, the one of its methods
 * that is good to a fraction of a cent on steady tones in this range. */
static void an_independent_ear_agrees(void **state)
{
    (void)state;
    Error error = {0};
    Passage *p = all_keys(48, 84);
    PluckBank *bank = plucks_make(p, 48000, 440, &error);
    assert_non_null(bank);
    if (system("command -v aubiopitch >/dev/null") != 0)
        fail_msg("aubiopitch is missing: install the Debian package aubio-tools");
    for (int midi = 48; midi <= 84; midi += 4) {
        char path[] = "/tmp/evenhand-pluck-XXXXXX", command[256];
        const int fd = mkstemp(path);
        assert_true(fd >= 0);
        close(fd);
        const Voice *v = plucks_get(bank, midi);
        write_samples(path, 48000, 1, v->samples, v->count);
        snprintf(command, sizeof command,
            "aubiopitch -i %s -r 48000 -p yin -B 4096 -H 1024 -u Hz 2>/dev/null", path);
        FILE *ear = popen(command, "r");
        assert_non_null(ear);
        double at, hertz, sum = 0;
        int heard = 0;
        while (fscanf(ear, "%lf %lf", &at, &hertz) == 2)
            if (at > 0.1 && at < 0.4) {
                sum += hertz;
                heard++;
            }
        pclose(ear);
        unlink(path);
        assert_true(heard > 5);
        const double off = cents(sum / heard, tempered(midi, 440));
        if (fabs(off) > 1)
            fail_msg("midi %d: heard %.2f Hz, %.2f cents off", midi, sum / heard, off);
    }
    plucks_free(bank);
    passage_free(p);
}

static double loudness(const Voice *v, double rate, double from, double to)
{
    double sum = 0;
    size_t i = v->peak + (size_t)(from * rate), count = 0;
    for (; i < v->peak + (size_t)(to * rate) && i < v->count; i++, count++)
        sum += (double)v->samples[i] * (double)v->samples[i];
    return 10 * log10(sum / (double)count);
}

static void strings_die_away_and_end_softly(void **state)
{
    (void)state;
    Error error = {0};
    Passage *p = all_keys(24, 103);
    PluckBank *bank = plucks_make(p, 48000, 440, &error);
    assert_non_null(bank);
    size_t before = SIZE_MAX;
    for (int midi = 24; midi <= 103; midi++) {
        const Voice *v = plucks_get(bank, midi);
        const double seconds = (double)v->count / 48000, step = seconds / 5;
        assert_true(v->count * sizeof(float) <= 200 * 1024);
        assert_true(v->count <= before); /* no string is shorter than a higher one */
        before = v->count;
        for (int k = 0; k < 4; k++)
            assert_true(loudness(v, 48000, (k + 1) * step, (k + 2) * step) <
                        loudness(v, 48000, k * step, (k + 1) * step) - 2);
        for (size_t i = v->count - 480; i < v->count; i++) /* the last 10 ms: below -50 dB */
            assert_true(fabsf(v->samples[i]) < 0.00316F);
        /* Brightness goes first: the higher partials die sooner. */
        if (midi < 72 && midi % 5 == 0) {
            const size_t width = 4800;
            assert_true(spectral_centroid(v->samples + v->peak, width, 48000) >
                        spectral_centroid(v->samples + v->peak + 4 * width, width, 48000));
        }
    }
    assert_true(plucks_get(bank, 24)->count >= 48000);
    assert_true(plucks_get(bank, 103)->count < 24001);
    plucks_free(bank);
    passage_free(p);
}

static void the_bank_holds_what_the_passage_needs_and_no_more(void **state)
{
    (void)state;
    for (int hands = HANDS_RIGHT; hands <= HANDS_OCTAVES; hands++) {
        Error error = {0};
        Passage *p = passage_scale(28, 8, 1, ratio(1, 2)); /* C4 to C5 */
        p->hands = (Hands)hands;
        PluckBank *bank = plucks_make(p, 48000, 440, &error);
        assert_non_null(bank);
        static const int scale[8] = {60, 62, 64, 65, 67, 69, 71, 72};
        for (int midi = -5; midi < 140; midi++) {
            bool wanted = false;
            for (int i = 0; i < 8; i++)
                wanted =
                    wanted || midi == scale[i] || (hands == HANDS_OCTAVES && midi == scale[i] - 12);
            assert_int_equal(plucks_get(bank, midi) != NULL, wanted);
        }
        plucks_free(bank);
        passage_free(p);
    }
}

/* Whatever the left hand plays below, in the passage or in a drill made of it, is there. */
static void the_bank_holds_the_left_hand(void **state)
{
    (void)state;
    for (int hands = HANDS_OCTAVES; hands <= HANDS_TENTHS; hands++) {
        Error error = {0};
        Passage *p = passage_scale(30, 12, 1, ratio(1, 2));
        p->hands = (Hands)hands;
        p->key_alter[LETTER_B] = -1;
        p->notes[8].pitch.alter = 1; /* F5 */
        PluckBank *bank = plucks_make(p, 48000, 440, &error);
        assert_non_null(bank);
        for (size_t i = 0; i < p->note_count; i++)
            assert_non_null(plucks_get(bank, pitch_midi(passage_left(p, i))));
        if (hands == HANDS_THIRDS) /* below A4: F natural by the key, sharp once F5 was played */
            assert_true(plucks_get(bank, 65) != NULL && plucks_get(bank, 66) != NULL);
        plucks_free(bank);
        passage_free(p);
    }
}

static void ranges_are_told(void **state)
{
    (void)state;
    Passage *p = passage_scale(28, 2, 1, ratio(1, 2));
    const double bad[] = {379.9, 480.1, 0, -440, NAN, INFINITY};
    for (size_t i = 0; i < 6; i++) {
        Error error = {0};
        assert_null(plucks_make(p, 48000, bad[i], &error));
        assert_int_equal(error.kind, ERROR_RANGE);
    }
    const double good[] = {380, 480};
    for (size_t i = 0; i < 2; i++) {
        PluckBank *bank = plucks_make(p, 48000, good[i], NULL);
        assert_non_null(bank);
        plucks_free(bank);
    }
    Error error = {0};
    assert_null(plucks_make(p, 100, 440, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    plucks_free(NULL);
    passage_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_string_keeps_the_promises_of_a_voice),
        cmocka_unit_test(strings_are_in_tune_to_a_cent),
        cmocka_unit_test(the_measure_of_tuning_can_tell_a_cent),
        cmocka_unit_test(an_independent_ear_agrees),
        cmocka_unit_test(strings_die_away_and_end_softly),
        cmocka_unit_test(the_bank_holds_what_the_passage_needs_and_no_more),
        cmocka_unit_test(the_bank_holds_the_left_hand),
        cmocka_unit_test(ranges_are_told),
    };
    return cmocka_run_group_tests_name("pluck", tests, NULL, NULL);
}
