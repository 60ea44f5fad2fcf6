/* Plucked guide tones, made from their partials:
 *
 *   s(t) = rise(t) * sum over k of  a_k exp(-t / tau_k) cos(2 pi k f t),   t = 0 at the peak
 *
 * Every partial is an exact multiple of f, so the string is in tune by construction (a looped
 * delay line would need a tuned fractional delay to say the same). All partials are in phase
 * at t = 0, so the peak stands there whatever the pitch. a_k is that of a string plucked at
 * two fifths of its length, as a harp's are near the middle [common practice]; high partials
 * die sooner, as on any string. The figures are chosen by ear and taste, not measured. */
#include "evenhand/sound/voice.h"

#include <math.h>
#include <stdlib.h>

enum { MIDI_KEYS = 128, PARTIALS_MAX = 48 };

static const double PI = 3.14159265358979323846;
static const double A4_MIN = 380, A4_MAX = 480;
static const double RISE_SECONDS = 0.003; /* before the peak */
static const double PLUCKED_AT = 0.4;     /* of the string's length */
static const double SLOPE = 1.5;          /* a_k falls as 1 / k^SLOPE */
static const double HIGHEST = 0.45;       /* partials stay below this share of the rate */
static const double SOFT_END_SECONDS = 0.08;
static const double FLOOR = 1e-5; /* a partial below -100 dB is done */

struct PluckBank {
    Voice voice[MIDI_KEYS]; /* samples NULL: none */
};

/* 1 s up to C3, falling to 0.45 s at G7 and above. */
static double string_seconds(int midi)
{
    const double low = 48, high = 103;
    double share = (midi - low) / (high - low);
    share = fmin(fmax(share, 0), 1);
    return 1.0 - 0.55 * share;
}

/* Adds one partial from sample `peak` on; samples before it mirror the first ones, so that
 * the wave runs through the peak without a corner. A rotating phasor: two multiplications a
 * sample where cos would take forty. */
static void add_partial(
    double *sum, size_t peak, size_t count, double turn, double level, double decay)
{
    double re = level, im = 0;
    const double cr = cos(turn) * decay, ci = sin(turn) * decay;
    for (size_t i = peak; i < count && level > FLOOR; i++, level *= decay) {
        sum[i] += re;
        const double next = re * cr - im * ci;
        im = re * ci + im * cr;
        re = next;
    }
}

static void add_partials(
    double *sum, size_t peak, size_t count, double hertz, int rate, double seconds)
{
    const double tau = seconds / 3.5; /* the ground tone falls by 30 dB */
    for (int k = 1; k <= PARTIALS_MAX && k * hertz < HIGHEST * rate; k++) {
        const double level = fabs(sin(PI * k * PLUCKED_AT)) / pow(k, SLOPE);
        const double tau_k = tau / (1 + 0.35 * (k - 1));
        if (level > FLOOR)
            add_partial(
                sum, peak, count, 2 * PI * k * hertz / rate, level, exp(-1 / (tau_k * rate)));
    }
    for (size_t i = 1; i <= peak && peak + i < count; i++)
        sum[peak - i] = sum[peak + i];
}

static double shape(size_t i, size_t peak, size_t count, size_t soft_end)
{
    const size_t left = count - 1 - i;
    double w = 1;
    if (i < peak)
        w *= 0.5 - 0.5 * cos(PI * (double)i / (double)peak);
    if (left < soft_end)
        w *= 0.5 - 0.5 * cos(PI * (double)left / (double)soft_end);
    return w;
}

/* Shaped, without DC, its peak exactly 1. */
static void finish(const double *sum, float *samples, size_t peak, size_t count, size_t soft_end)
{
    double total = 0, weight = 0;
    for (size_t i = 0; i < count; i++) {
        const double w = shape(i, peak, count, soft_end);
        total += sum[i] * w;
        weight += w;
    }
    const double offset = total / weight;
    const double top = sum[peak] - offset;
    for (size_t i = 0; i < count; i++)
        samples[i] = (float)((sum[i] - offset) * shape(i, peak, count, soft_end) / top);
}

static bool make_string(Voice *voice, int midi, int rate, double a4)
{
    const double hertz = pitch_hertz(midi, a4);
    if (hertz >= HIGHEST * rate)
        return true;
    const double seconds = string_seconds(midi);
    const size_t peak = (size_t)(RISE_SECONDS * rate);
    const size_t count = (size_t)(seconds * rate);
    double *sum = calloc(count, sizeof *sum);
    voice->samples = malloc(count * sizeof *voice->samples);
    if (sum && voice->samples) {
        add_partials(sum, peak, count, hertz, rate, seconds);
        finish(sum, voice->samples, peak, count, (size_t)(SOFT_END_SECONDS * rate));
        voice->count = count;
        voice->peak = peak;
    }
    const bool made = sum && voice->samples;
    free(sum);
    return made;
}

static bool want_string(PluckBank *bank, int midi, int rate, double a4)
{
    if (midi < 0 || midi >= MIDI_KEYS || bank->voice[midi].samples)
        return true;
    return make_string(&bank->voice[midi], midi, rate, a4);
}

/* The left hand's string below a note. At the octave it is the note's own letter; else what a
 * drill makes of the passage may put other notes before it, so that the letter is wanted in every
 * state (bit 2 + alteration) that it has anywhere. */
static bool want_left(
    PluckBank *bank, const Passage *p, size_t note, const unsigned states[7], int rate, double a4)
{
    Pitch left = passage_left(p, note);
    if (hands_below(p->hands) % 7 == 0)
        return want_string(bank, pitch_midi(left), rate, a4);
    bool made = true;
    for (int8_t alter = -2; made && alter <= 2; alter++) {
        left.alter = alter;
        if (states[left.letter] >> (2 + alter) & 1)
            made = want_string(bank, pitch_midi(left), rate, a4);
    }
    return made;
}

static void find_states(const Passage *p, unsigned states[7])
{
    for (int letter = 0; letter < 7; letter++)
        states[letter] = 1u << (2 + p->key_alter[letter]);
    for (size_t i = 0; i < p->note_count; i++)
        states[p->notes[i].pitch.letter] |= 1u << (2 + p->notes[i].pitch.alter);
}

PluckBank *plucks_make(const Passage *p, int rate, double a4, Error *error)
{
    if (!(a4 >= A4_MIN && a4 <= A4_MAX)) {
        error_set(error, ERROR_RANGE, "A4 = %g Hz is outside %g-%g", a4, A4_MIN, A4_MAX);
        return NULL;
    }
    if (rate < VOICE_RATE_MIN || rate > VOICE_RATE_MAX) {
        error_set(error, ERROR_RANGE, "a rate of %d Hz is outside %d-%d", rate, VOICE_RATE_MIN,
            VOICE_RATE_MAX);
        return NULL;
    }
    PluckBank *bank = calloc(1, sizeof *bank);
    bool made = bank != NULL;
    const bool both = hands_below(p->hands) > 0;
    unsigned states[7];
    find_states(p, states);
    for (size_t i = 0; made && i < p->note_count; i++) {
        made = want_string(bank, pitch_midi(p->notes[i].pitch), rate, a4);
        if (made && both)
            made = want_left(bank, p, i, states, rate, a4);
    }
    if (made)
        return bank;
    error_set(error, ERROR_MEMORY, "no memory for the guide tones");
    plucks_free(bank);
    return NULL;
}

void plucks_free(PluckBank *bank)
{
    if (!bank)
        return;
    for (int midi = 0; midi < MIDI_KEYS; midi++)
        free(bank->voice[midi].samples);
    free(bank);
}

const Voice *plucks_get(const PluckBank *bank, int midi)
{
    if (midi < 0 || midi >= MIDI_KEYS || !bank->voice[midi].samples)
        return NULL;
    return &bank->voice[midi];
}
