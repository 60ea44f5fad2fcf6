#include "announce.h"

#include <stdlib.h>

static int even_strokes(int count, int64_t bar, int64_t gap, int64_t at[ANNOUNCE_STROKES_MAX])
{
    if (gap * count > bar)
        gap = bar / count;
    for (int i = 0; i < count; i++)
        at[i] = gap * i;
    return count;
}

/* One group of the rhythm in each pulse, as many as the bar and the array hold. */
static int rhythm_strokes(
    const Rhythm *r, int64_t bar, int64_t pulse, int64_t at[ANNOUNCE_STROKES_MAX])
{
    int64_t parts = r->p + (int64_t)(r->notes - 1) * r->q;
    int count = 0;
    for (int64_t start = 0; start + pulse <= bar; start += pulse) {
        if (count + r->notes > ANNOUNCE_STROKES_MAX)
            break;
        int64_t passed = 0;
        for (int k = 0; k < r->notes; k++) {
            at[count++] = start + pulse * passed / parts;
            passed += k == r->long_at ? r->p : r->q;
        }
    }
    return count;
}

static int by_time(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return x < y ? -1 : x > y;
}

/* Where the accents will fall: each beat of the pattern, moved, in every period of the bar. */
static int pattern_strokes(
    const Rotation *r, Ratio shift, int64_t ticks, int64_t bar, int64_t at[ANNOUNCE_STROKES_MAX])
{
    int64_t period = ratio_floor(ratio_mul(r->period, ratio_int(ticks)));
    int count = 0;
    for (int beat = 0; period > 0 && beat < r->beat_count; beat++) {
        Ratio moved = ratio_mod(ratio_add(r->beats[beat], shift), r->period);
        int64_t stroke = ratio_floor(ratio_mul(moved, ratio_int(ticks)));
        for (; stroke < bar && count < ANNOUNCE_STROKES_MAX; stroke += period)
            at[count++] = stroke;
    }
    qsort(at, (size_t)count, sizeof *at, by_time);
    return count;
}

int announce_strokes(const DrillSpec *next, const Rotation *r, int64_t ticks, int64_t bar,
    int64_t pulse, int64_t at[ANNOUNCE_STROKES_MAX])
{
    int count;
    if (next->accent == ACCENT_FINGER)
        count = even_strokes(next->finger, bar, pulse / 2, at);
    else if (next->rhythm.notes > 0)
        count = rhythm_strokes(&next->rhythm, bar, pulse, at);
    else if (next->accent == ACCENT_PLACE && (size_t)next->place < r->place_count)
        count = pattern_strokes(r, r->places[next->place].shift, ticks, bar, at);
    else
        count = pattern_strokes(r, ratio_int(0), ticks, bar, at);
    if (count == 0)
        at[count++] = 0;
    return count;
}
