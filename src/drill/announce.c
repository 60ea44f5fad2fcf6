#include "announce.h"

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

static int place_strokes(const Rotation *r, int place, int64_t ticks, int64_t bar, int64_t pulse,
    int64_t at[ANNOUNCE_STROKES_MAX])
{
    Ratio shift = r->places[place].shift;
    int64_t first = ratio_floor(ratio_mul(shift, ratio_int(ticks)));
    int64_t apart = bar > 2 * pulse && bar % (2 * pulse) == 0 ? 2 * pulse : bar;
    int count = 0;
    for (int64_t stroke = first; stroke < bar && count < ANNOUNCE_STROKES_MAX; stroke += apart)
        at[count++] = stroke;
    return count;
}

int announce_strokes(const DrillSpec *next, const Rotation *r, int64_t ticks, int64_t bar,
    int64_t pulse, int64_t at[ANNOUNCE_STROKES_MAX])
{
    int count = 0;
    if (next->accent == ACCENT_FINGER)
        count = even_strokes(next->finger, bar, pulse / 2, at);
    else if (next->rhythm.notes > 0)
        count = rhythm_strokes(&next->rhythm, bar, pulse, at);
    else if (next->accent == ACCENT_PLACE && (size_t)next->place < r->place_count)
        count = place_strokes(r, next->place, ticks, bar, pulse, at);
    if (count == 0)
        at[count++] = 0;
    return count;
}
