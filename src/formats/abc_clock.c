#include "abc_clock.h"

#include <string.h>

/* With at most so many quarters in one length, the sum of all that can be played fits. */
enum { QUARTERS_MAX = 1 << 20 };

/* Ticks of a quarter that all lengths are made of; 0 where there are too many. */
static int64_t common_ticks(const AbcScore *score)
{
    int64_t ticks = 1;
    for (size_t i = 0; i < score->length_count; i++) {
        Ratio length = score->lengths[i].exact;
        if (!ratio_valid(length) || length.den > ABC_TICKS_MAX || length.num < 0 ||
            length.num / length.den >= QUARTERS_MAX)
            return 0;
        if (ticks % length.den != 0)
            ticks = ticks / gcd64(ticks, length.den) * length.den;
        if (ticks > ABC_TICKS_MAX)
            return 0;
    }
    return ticks;
}

void abc_clock_measure(AbcScore *score)
{
    int64_t ticks = common_ticks(score);
    score->ticks = (int)ticks;
    for (size_t i = 0; ticks > 0 && i < score->length_count; i++) {
        AbcLength *length = &score->lengths[i];
        int64_t den = length->exact.den, whole = length->exact.num / den;
        length->whole = (int32_t)whole;
        length->ticks = (int32_t)((length->exact.num - whole * den) * (ticks / den));
    }
}

void abc_clock_start(AbcClock *c, const AbcScore *score)
{
    c->score = score;
    memset(c->lowest, 0, (size_t)score->ticks * sizeof *c->lowest);
    abc_clock_zero(c);
}

void abc_clock_reduce(AbcClock *c)
{
    Ratio part = ratio(c->ticks, c->score->ticks);
    c->lowest[c->ticks].num = (int16_t)part.num;
    c->lowest[c->ticks].den = (int16_t)part.den;
}
