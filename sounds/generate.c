/* generate.c - makes the click sounds of this folder, the same ones every time.
 *
 *     cc -std=c11 sounds/generate.c -lsndfile -lm -o generate && ./generate sounds
 *
 * To change a click: change its lines below, run the two commands, listen, and run
 * tests/sound/test_voice, which holds the sounds apart (timbre, level, length). Each is a few
 * partials that die away, some with a breath of noise for the attack:
 *
 *     s(t) = rise(t) * sum of  level * exp(-t / tau) * cos(2 pi f (t - peak))  [+ noise]
 *
 * All partials are in phase at the peak, so the peak is sharp and stands there. Figures are by
 * ear and taste. 48 kHz, 16 bit, mono. */
#include <math.h>
#include <sndfile.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

enum { RATE = 48000, PARTIALS = 5, LEVEL = 29000 };

static const double PI = 3.14159265358979323846;

typedef struct {
    double hertz, level, tau; /* tau in seconds */
} Partial;

typedef struct {
    const char *file;
    double seconds; /* whole length */
    double rise;    /* seconds from the start to the peak */
    double noise, noise_tau;
    Partial partial[PARTIALS];
} Sound;

static const Sound sounds[] = {
    /* A low knock with a bright ring on top: one more of each than the pulse. */
    {"downbeat.wav", 0.160, 0.0015, 0, 0,
        {{540, 1.0, 0.030}, {1620, 0.5, 0.022}, {3510, 0.7, 0.018}, {5130, 0.35, 0.012}}},
    /* A plain knock. */
    {"pulse.wav", 0.100, 0.0015, 0, 0, {{860, 1.0, 0.020}, {1720, 0.3, 0.012}}},
    /* A short tick, little body. */
    {"subdivision.wav", 0.040, 0.0010, 0, 0, {{2300, 1.0, 0.006}, {3450, 0.2, 0.004}}},
    /* A soft tap for each note: round, nothing high. */
    {"note.wav", 0.070, 0.0015, 0, 0, {{1480, 1.0, 0.012}, {2960, 0.10, 0.008}}},
    /* The accent: a hard, bright strike, high partials out of tune with each other and a burst
     * of noise, so that it differs from a note even where its level does not. */
    {"accent.wav", 0.110, 0.0010, 0.45, 0.006,
        {{1480, 0.5, 0.020}, {3140, 0.8, 0.022}, {4870, 0.8, 0.018}, {7230, 0.6, 0.012}}},
    /* What comes next: a small bell, long enough not to be taken for a click. */
    {"announce.wav", 0.600, 0.0025, 0, 0,
        {{660, 1.0, 0.160}, {990, 0.5, 0.120}, {1980, 0.3, 0.080}, {2640, 0.1, 0.050}}},
    /* The end of a block of a routine: a low, soft bell, slow to rise and long to ring. */
    {"bell.wav", 0.900, 0.0080, 0, 0,
        {{392, 1.0, 0.300}, {784, 0.35, 0.200}, {1176, 0.12, 0.120}, {1079, 0.10, 0.100}}},
};

/* xorshift: noise that is the same on every machine. -1 .. 1. */
static double noise(uint32_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state / 2147483648.0 - 1;
}

static double tone(const Sound *s, double t)
{
    double sum = 0;
    for (int k = 0; k < PARTIALS; k++) {
        const Partial *p = &s->partial[k];
        if (p->level > 0)
            sum += p->level * exp(-fabs(t) / p->tau) * cos(2 * PI * p->hertz * t);
    }
    return sum;
}

/* Raised cosines at both ends: up to the peak, and over the last quarter. */
static double shape(const Sound *s, double t)
{
    const double end = s->seconds * 0.25;
    if (t < s->rise)
        return 0.5 - 0.5 * cos(PI * t / s->rise);
    if (t > s->seconds - end)
        return 0.5 - 0.5 * cos(PI * (s->seconds - t) / end);
    return 1;
}

static int write_sound(const char *directory, const Sound *s)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%s", directory, s->file);
    SF_INFO info = {.samplerate = RATE, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
    const int count = (int)(s->seconds * RATE + 0.5);
    double *wave = calloc((size_t)count, sizeof *wave);
    short *pcm = calloc((size_t)count, sizeof *pcm);
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    if (!wave || !pcm || !file) {
        fprintf(stderr, "generate: cannot write %s\n", path);
        return 1;
    }
    uint32_t state = 2463534242U;
    double sum = 0, weight = 0, top = 0;
    for (int i = 0; i < count; i++) {
        const double t = (double)i / RATE, from_peak = t - s->rise;
        /* The noise stays below the partials' sum at the peak, so it cannot move it. */
        const double hiss =
            from_peak >= 0 && s->noise > 0 ? s->noise * exp(-from_peak / s->noise_tau) : 0;
        wave[i] = shape(s, t) * (tone(s, from_peak) + hiss * noise(&state));
        sum += wave[i];
        weight += shape(s, t);
    }
    for (int i = 0; i < count; i++) { /* no DC, and as soft at the edges as before */
        wave[i] -= sum / weight * shape(s, (double)i / RATE);
        top = fmax(top, fabs(wave[i]));
    }
    for (int i = 0; i < count; i++)
        pcm[i] = (short)lrint(wave[i] / top * LEVEL);
    const int bad = sf_writef_short(file, pcm, count) != count;
    free(wave);
    free(pcm);
    return sf_close(file) != 0 || bad;
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        fprintf(stderr, "usage: generate DIRECTORY\n");
        return 2;
    }
    int failed = 0;
    for (size_t i = 0; i < sizeof sounds / sizeof sounds[0]; i++)
        failed |= write_sound(argv[1], &sounds[i]);
    return failed;
}
