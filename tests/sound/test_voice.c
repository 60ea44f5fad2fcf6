#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sound/scene.h"
#include "sound/spectrum.h"

#include <math.h>
#include <sys/stat.h>

static char folder[] = "/tmp/evenhand-voice-XXXXXX";

static const char *in_folder(const char *name)
{
    static char path[4][256];
    static int turn;
    char *out = path[turn = (turn + 1) % 4];
    snprintf(out, 256, "%s/%s", folder, name);
    return out;
}

static const int rates[] = {8000, 22050, 44100, 48000, 96000, 192000};

/* What every voice promises, whatever it was loaded from. */
static void check_voice(const Voice *v, int rate)
{
    double sum = 0;
    assert_true(v->count > 0 && v->peak < v->count);
    assert_float_equal(fabsf(v->samples[v->peak]), 1, 0);
    assert_true((int64_t)v->peak <= (int64_t)rate * VOICE_LEAD_MILLISECONDS / 1000);
    for (size_t i = 0; i < v->count; i++) {
        assert_true(fabsf(v->samples[i]) <= 1);
        sum += v->samples[i];
    }
    assert_float_equal((float)(sum / (double)v->count), 0, 1e-4F); /* no DC */
    assert_float_equal(v->samples[0], 0, 0.01F);                   /* soft edges */
    assert_float_equal(v->samples[v->count - 1], 0, 0.01F);
}

static void the_bundled_sounds_load_at_any_rate(void **state)
{
    (void)state;
    for (size_t r = 0; r < sizeof rates / sizeof rates[0]; r++) {
        Error error = {0};
        VoiceBank *bank = voices_load("sounds", NULL, rates[r], &error);
        assert_non_null(bank);
        assert_int_equal(voices_rate(bank), rates[r]);
        for (int k = 0; k < VOICE_KINDS; k++) {
            const Voice *v = voices_get(bank, (VoiceKind)k);
            check_voice(v, rates[r]);
            assert_true(v->count < (size_t)rates[r]); /* well under a second */
        }
        voices_free(bank);
    }
}

static void rates_out_of_range_are_refused(void **state)
{
    (void)state;
    const int bad[] = {0, -1, VOICE_RATE_MIN - 1, VOICE_RATE_MAX + 1};
    for (size_t i = 0; i < 4; i++) {
        Error error = {0};
        assert_null(voices_load("sounds", NULL, bad[i], &error));
        assert_int_equal(error.kind, ERROR_RANGE);
    }
    voices_free(NULL);
}

/* Timbres are told apart by their spectral centroid and length; the factors are a design
 * choice, well beyond what a listener needs to tell two clicks. */
static void the_bundled_sounds_differ_in_timbre(void **state)
{
    (void)state;
    Error error = {0};
    double centre[VOICE_KINDS];
    VoiceBank *bank = voices_load("sounds", NULL, 48000, &error);
    assert_non_null(bank);
    for (int k = 0; k < VOICE_KINDS; k++) {
        const Voice *v = voices_get(bank, (VoiceKind)k);
        centre[k] = spectral_centroid(v->samples, v->count, 48000);
        print_message("%s: centroid %.0f Hz\n", voice_word((VoiceKind)k), centre[k]);
    }
    assert_true(centre[VOICE_ACCENT] > 2 * centre[VOICE_NOTE]);
    assert_true(centre[VOICE_DOWNBEAT] > 1.5 * centre[VOICE_PULSE]);
    assert_true(centre[VOICE_NOTE] > 1.4 * centre[VOICE_PULSE]);
    assert_true(centre[VOICE_SUBDIVISION] > 1.4 * centre[VOICE_NOTE]);
    /* The downbeat is the lower one and the brighter one: more below 700 Hz, more above 2 kHz. */
    const Voice *down = voices_get(bank, VOICE_DOWNBEAT), *pulse = voices_get(bank, VOICE_PULSE);
    assert_true(band_share(down->samples, down->count, 48000, 0, 700) >
                2 * band_share(pulse->samples, pulse->count, 48000, 0, 700));
    assert_true(band_share(down->samples, down->count, 48000, 2000, 24000) >
                2 * band_share(pulse->samples, pulse->count, 48000, 2000, 24000));
    assert_true(voices_get(bank, VOICE_ANNOUNCE)->count > 3 * down->count);
    /* The bell lies below all of them and rings longest. */
    for (int k = 0; k < VOICE_BELL; k++) {
        assert_true(centre[VOICE_BELL] < 0.75 * centre[k]);
        assert_true(voices_get(bank, VOICE_BELL)->count > voices_get(bank, (VoiceKind)k)->count);
    }
    voices_free(bank);
}

static void names_and_words_are_distinct(void **state)
{
    (void)state;
    for (int i = 0; i < VOICE_KINDS; i++)
        for (int k = 0; k < i; k++) {
            assert_string_not_equal(voice_file_name((VoiceKind)i), voice_file_name((VoiceKind)k));
            assert_string_not_equal(voice_word((VoiceKind)i), voice_word((VoiceKind)k));
        }
    assert_string_equal(voice_file_name(VOICE_DOWNBEAT), "downbeat.wav");
    assert_string_equal(voice_word(VOICE_DOWNBEAT), "downbeat");
}

/* ---- users' own files ---------------------------------------------------------------------- */

static VoiceBank *load_own(const char *file, int rate, Error *error)
{
    const char *own[VOICE_KINDS] = {NULL};
    own[VOICE_NOTE] = file;
    return voices_load("sounds", own, rate, error);
}

/* A tone that begins hard, `late` seconds in, over a constant offset. */
static const char *tone_file(
    const char *name, int rate, int channels, double seconds, double late, float offset)
{
    const size_t count = (size_t)(seconds * rate);
    float *samples = calloc(count * (size_t)channels, sizeof *samples);
    for (size_t i = 0; i < count; i++) {
        const double t = (double)i / rate - late;
        const double s = t < 0 ? 0 : 0.4 * exp(-20 * t) * cos(2 * 3.14159265358979 * 600 * t);
        for (int c = 0; c < channels; c++)
            samples[i * (size_t)channels + (size_t)c] = (float)s + offset;
    }
    write_samples(in_folder(name), rate, channels, samples, count);
    free(samples);
    return in_folder(name);
}

static void own_files_of_any_rate_and_channels_become_voices(void **state)
{
    (void)state;
    const int file_rates[] = {8000, 11025, 44100, 48000, 96000, 192000};
    for (size_t f = 0; f < 6; f++)
        for (int channels = 1; channels <= 6; channels += 5)
            for (size_t r = 0; r < sizeof rates / sizeof rates[0]; r++) {
                Error error = {0};
                const char *file = tone_file("own.wav", file_rates[f], channels, 0.3, 0.1, 0.2F);
                VoiceBank *bank = load_own(file, rates[r], &error);
                if (!bank)
                    fail_msg("%d -> %d: %s", file_rates[f], rates[r], error.text);
                check_voice(voices_get(bank, VOICE_NOTE), rates[r]);
                voices_free(bank);
            }
}

/* The attack, 100 ms in, is brought to the front; length and pitch survive a change of rate. */
static void resampling_keeps_pitch_and_length(void **state)
{
    (void)state;
    Error error = {0};
    const char *file = tone_file("late.wav", 44100, 1, 0.5, 0.1, 0);
    VoiceBank *bank = load_own(file, 48000, &error);
    assert_non_null(bank);
    const Voice *v = voices_get(bank, VOICE_NOTE);
    assert_true(v->peak > 900 && v->peak <= 960);
    /* 400 ms after the attack and the lead before it. */
    assert_in_range(v->count, 48000 * 0.4 + 960 - 100, 48000 * 0.4 + 960 + 100);
    assert_float_equal((float)spectral_centroid(v->samples, v->count, 48000), 600, 30);
    voices_free(bank);
}

static void a_long_even_tone_still_keeps_every_promise(void **state)
{
    (void)state;
    Error error = {0};
    enum { COUNT = 48000 };
    float *samples = calloc(COUNT, sizeof *samples);
    for (int i = 0; i < COUNT; i++) /* swelling, so that the peak is at the very end */
        samples[i] = (float)(sin(i * 0.05) * (0.5 + 0.5 * i / COUNT));
    write_samples(in_folder("swell.wav"), 48000, 1, samples, COUNT);
    VoiceBank *bank = load_own(in_folder("swell.wav"), 48000, &error);
    assert_non_null(bank);
    check_voice(voices_get(bank, VOICE_NOTE), 48000);
    voices_free(bank);
    for (int i = 0; i < COUNT; i++)
        samples[i] = i % 2 ? -0.5F : 0.5F;
    write_samples(in_folder("even.wav"), 48000, 1, samples, COUNT);
    bank = load_own(in_folder("even.wav"), 48000, &error);
    assert_non_null(bank);
    check_voice(voices_get(bank, VOICE_NOTE), 48000);
    voices_free(bank);
    free(samples);
}

static void expect_refusal(const char *file, ErrorKind kind, const char *word)
{
    Error error = {0};
    assert_null(load_own(file, 48000, &error));
    if (error.kind != kind || !strstr(error.text, word) || !strstr(error.source, file))
        fail_msg("%s: kind %d, source '%s', text '%s', wanted '%s'", file, (int)error.kind,
            error.source, error.text, word);
}

static void what_is_no_sound_is_refused_in_words(void **state)
{
    (void)state;
    static float samples[48000 * 6];
    expect_refusal(in_folder("missing.wav"), ERROR_READ, "cannot open");
    expect_refusal(folder, ERROR_SOUND_FILE, "not a regular file");
    mkfifo(in_folder("pipe.wav"), 0600);
    expect_refusal(in_folder("pipe.wav"), ERROR_SOUND_FILE, "not a regular file");

    FILE *text = fopen(in_folder("text.wav"), "w");
    assert_non_null(text);
    fputs("this is no audio at all, though it is long enough for a header or two\n", text);
    fclose(text);
    expect_refusal(in_folder("text.wav"), ERROR_SOUND_FILE, "no sound file");
    text = fopen(in_folder("nothing.wav"), "w");
    assert_non_null(text);
    fclose(text);
    expect_refusal(in_folder("nothing.wav"), ERROR_SOUND_FILE, "no sound file");

    write_samples(in_folder("empty.wav"), 48000, 1, samples, 0);
    expect_refusal(in_folder("empty.wav"), ERROR_SOUND_FILE, "empty");
    write_samples(in_folder("silent.wav"), 48000, 2, samples, 4800);
    expect_refusal(in_folder("silent.wav"), ERROR_SOUND_FILE, "silent");
    for (int i = 0; i < 48000 * 6; i++)
        samples[i] = 0.5F;
    write_samples(in_folder("steady.wav"), 48000, 1, samples, 4800); /* nothing but DC */
    expect_refusal(in_folder("steady.wav"), ERROR_SOUND_FILE, "silent");
    write_samples(in_folder("long.wav"), 48000, 1, samples, 48000 * VOICE_SECONDS_MAX + 1);
    expect_refusal(in_folder("long.wav"), ERROR_SOUND_FILE, "longer than 5 seconds");
    write_samples(in_folder("short.wav"), 48000, 1, samples, 95);
    expect_refusal(in_folder("short.wav"), ERROR_SOUND_FILE, "shorter than 2 ms");
    write_samples(in_folder("slow.wav"), 100, 1, samples, 95);
    expect_refusal(in_folder("slow.wav"), ERROR_SOUND_FILE, "rate");
    samples[100] = NAN;
    write_samples(in_folder("nan.wav"), 48000, 1, samples, 4800);
    expect_refusal(in_folder("nan.wav"), ERROR_SOUND_FILE, "not numbers");
    samples[100] = INFINITY;
    write_samples(in_folder("inf.wav"), 48000, 1, samples, 4800);
    expect_refusal(in_folder("inf.wav"), ERROR_SOUND_FILE, "not numbers");
}

/* A header that promises more than the file holds must not make up samples or crash. */
static void a_cut_file_is_taken_as_far_as_it_goes_or_refused(void **state)
{
    (void)state;
    const char *file = tone_file("whole.wav", 48000, 1, 0.2, 0.01, 0);
    unsigned char bytes[65536];
    FILE *in = fopen(file, "rb");
    assert_non_null(in);
    const size_t size = fread(bytes, 1, sizeof bytes, in);
    fclose(in);
    for (size_t cut = 0; cut < size; cut += 97) {
        Error error = {0};
        FILE *out = fopen(in_folder("cut.wav"), "wb");
        assert_non_null(out);
        fwrite(bytes, 1, cut, out);
        fclose(out);
        VoiceBank *bank = load_own(in_folder("cut.wav"), 44100, &error);
        if (bank)
            check_voice(voices_get(bank, VOICE_NOTE), 44100);
        else
            assert_int_equal(error.kind, ERROR_SOUND_FILE);
        voices_free(bank);
    }
}

/* The committed files are what the generator makes (libm may round the last bit elsewhere). */
static void the_generator_makes_the_bundled_files(void **state)
{
    (void)state;
    char command[1024];
    snprintf(command, sizeof command,
        "cc -std=c11 sounds/generate.c -lsndfile -lm -o %s/generate && %s/generate %s", folder,
        folder, folder);
    assert_int_equal(system(command), 0); /* needs gcc and libsndfile1-dev, as the build does */
    for (int k = 0; k < VOICE_KINDS; k++) {
        short made[48000], kept[48000];
        SF_INFO a = {0}, b = {0};
        char path[256];
        snprintf(path, sizeof path, "sounds/%s", voice_file_name((VoiceKind)k));
        SNDFILE *one = sf_open(in_folder(voice_file_name((VoiceKind)k)), SFM_READ, &a);
        SNDFILE *two = sf_open(path, SFM_READ, &b);
        assert_true(one && two);
        assert_int_equal(a.frames, b.frames);
        assert_int_equal(sf_read_short(one, made, 48000), a.frames);
        assert_int_equal(sf_read_short(two, kept, 48000), b.frames);
        for (int i = 0; i < (int)a.frames; i++)
            assert_in_range(made[i] - kept[i] + 1, 0, 2);
        sf_close(one);
        sf_close(two);
    }
}

static int make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
    (void)state;
    char command[256];
    snprintf(command, sizeof command, "rm -r %s", folder);
    return system(command);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_bundled_sounds_load_at_any_rate),
        cmocka_unit_test(rates_out_of_range_are_refused),
        cmocka_unit_test(the_bundled_sounds_differ_in_timbre),
        cmocka_unit_test(names_and_words_are_distinct),
        cmocka_unit_test(own_files_of_any_rate_and_channels_become_voices),
        cmocka_unit_test(resampling_keeps_pitch_and_length),
        cmocka_unit_test(a_long_even_tone_still_keeps_every_promise),
        cmocka_unit_test(what_is_no_sound_is_refused_in_words),
        cmocka_unit_test(a_cut_file_is_taken_as_far_as_it_goes_or_refused),
        cmocka_unit_test(the_generator_makes_the_bundled_files),
    };
    return cmocka_run_group_tests_name("voice", tests, make_folder, remove_folder);
}
