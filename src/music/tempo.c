#include "evenhand/music/tempo.h"

#include <inttypes.h>
#include <stdio.h>

__extension__ typedef __int128 Wide;

Tempo tempo(Ratio beat, Ratio per_minute)
{
    return (Tempo){beat, per_minute};
}

bool tempo_valid(Tempo t)
{
    if (!ratio_valid(t.beat) || !ratio_valid(t.per_minute) || t.beat.num <= 0)
        return false;
    return ratio_cmp(t.per_minute, ratio_int(TEMPO_MIN)) >= 0 &&
           ratio_cmp(t.per_minute, ratio_int(TEMPO_MAX)) <= 0;
}

Ratio tempo_seconds_per_quarter(Tempo t)
{
    return ratio_div(ratio_int(60), ratio_mul(t.beat, t.per_minute));
}

int64_t tempo_frame(Tempo t, Ratio quarters, int rate)
{
    Ratio frames = ratio_mul(tempo_seconds_per_quarter(t), ratio_int(rate));
    if (!ratio_valid(frames) || !ratio_valid(quarters))
        return -1;
    /* floor(x + 1/2) = floor((2n + d) / 2d) of x = n / d. Exact, as long as 2n + d
     * fits 127 bits. */
    Wide n = (Wide)quarters.num * frames.num;
    Wide d = (Wide)quarters.den * frames.den;
    Wide room = (Wide)1 << 124;
    if (n > room || n < -room || d > room)
        return -1;
    Wide doubled = 2 * n + d;
    Wide whole = doubled / (2 * d);
    if (doubled % (2 * d) < 0)
        whole--;
    Wide limit = (Wide)1 << 62;
    if (whole > limit || whole < -limit)
        return -1;
    return (int64_t)whole;
}

/* 72, 72.5, 133.25: the nearest thousandth, without zeros that say nothing. */
static void number_text(Ratio a, char out[24])
{
    Ratio nearest = ratio_add(ratio_mul(a, ratio_int(1000)), ratio(1, 2));
    if (!ratio_valid(nearest)) {
        snprintf(out, 24, "?");
        return;
    }
    int64_t thousandths = ratio_floor(nearest);
    int size = snprintf(out, 24, "%" PRId64 ".%03d", thousandths / 1000, (int)(thousandths % 1000));
    while (out[size - 1] == '0')
        out[--size] = '\0';
    if (out[size - 1] == '.')
        out[size - 1] = '\0';
}

char *tempo_text(Tempo t, char out[TEMPO_TEXT_MAX])
{
    char beat[RATIO_TEXT_MAX], number[24];
    Ratio whole = ratio_div(t.beat, ratio_int(4));
    ratio_text(whole, beat);
    number_text(t.per_minute, number);
    snprintf(out, TEMPO_TEXT_MAX, "%.20s%s = %.20s", beat, whole.den == 1 ? "/1" : "", number);
    return out;
}
