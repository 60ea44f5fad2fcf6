/* spectrum.h - a plain discrete Fourier transform for tests: slow, short, and none of the
 * program's own code. */
#ifndef EVENHAND_TESTS_SOUND_SPECTRUM_H
#define EVENHAND_TESTS_SOUND_SPECTRUM_H

#include <math.h>
#include <stddef.h>

static const double SPECTRUM_PI = 3.14159265358979323846;

/* Power of samples at one frequency. */
static inline double power_at(const float *samples, size_t count, double rate, double hertz)
{
    const double turn = 2 * SPECTRUM_PI * hertz / rate;
    double re = 0, im = 0;
    for (size_t i = 0; i < count; i++) {
        re += (double)samples[i] * cos(turn * (double)i);
        im += (double)samples[i] * sin(turn * (double)i);
    }
    return re * re + im * im;
}

/* Power-weighted mean frequency, probed every 40 Hz up to 16 kHz. */
static inline double spectral_centroid(const float *samples, size_t count, double rate)
{
    double sum = 0, weighted = 0;
    for (double hertz = 40; hertz < 16000 && hertz < rate / 2; hertz += 40) {
        const double power = power_at(samples, count, rate, hertz);
        sum += power;
        weighted += power * hertz;
    }
    return weighted / sum;
}

/* Share of the power (probed as above) that lies between two frequencies. */
static inline double band_share(
    const float *samples, size_t count, double rate, double low, double high)
{
    double sum = 0, inside = 0;
    for (double hertz = 40; hertz < 16000 && hertz < rate / 2; hertz += 40) {
        const double power = power_at(samples, count, rate, hertz);
        sum += power;
        if (hertz >= low && hertz < high)
            inside += power;
    }
    return inside / sum;
}

/* Frequency near `guess` in hertz: the phase of a partial at two windows a known time apart
 * tells it far more finely than the windows' own resolution. Hann windows of `width` samples;
 * `guess` within rate / (2 * apart). */
static inline double phase_at(
    const float *samples, size_t width, double rate, double hertz, size_t from)
{
    const double turn = 2 * SPECTRUM_PI * hertz / rate;
    double re = 0, im = 0;
    for (size_t i = 0; i < width; i++) {
        const double w = 0.5 - 0.5 * cos(2 * SPECTRUM_PI * (double)i / (double)width);
        re += w * (double)samples[from + i] * cos(turn * (double)(from + i));
        im -= w * (double)samples[from + i] * sin(turn * (double)(from + i));
    }
    return atan2(im, re);
}

static inline double measure_hertz(
    const float *samples, size_t width, double rate, double guess, size_t from, size_t apart)
{
    double change = phase_at(samples, width, rate, guess, from + apart) -
                    phase_at(samples, width, rate, guess, from);
    while (change > SPECTRUM_PI)
        change -= 2 * SPECTRUM_PI;
    while (change < -SPECTRUM_PI)
        change += 2 * SPECTRUM_PI;
    return guess + change * rate / (2 * SPECTRUM_PI * (double)apart);
}

#endif
