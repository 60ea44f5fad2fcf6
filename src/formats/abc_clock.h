/* abc_clock.h - adds up the lengths of a tune, exactly.
 *
 * Where all lengths are whole numbers of ticks, few to a quarter, time is counted in those, and a
 * table tells the fraction in lowest terms: no division is made for a note.
 *
 *     ticks 12:   whole 5, ticks 9  =  5 3/4  =  23/4
 *
 * Elsewhere (a tune of thirteenths against seventeenths) the fractions themselves are added up.
 */
#ifndef ABC_CLOCK_H
#define ABC_CLOCK_H

#include "abc_score.h"

enum { ABC_TICKS_MAX = 1024 };

typedef struct {
    const AbcScore *score;
    Ratio sum; /* where there are no ticks */
    int64_t whole;
    int32_t ticks;
    struct {
        int16_t num, den; /* den 0: not yet known */
    } lowest[ABC_TICKS_MAX];
} AbcClock;

/* Settles the ticks of the score, whose lengths are all known by now. */
void abc_clock_measure(AbcScore *score);
void abc_clock_start(AbcClock *c, const AbcScore *score);
void abc_clock_reduce(AbcClock *c); /* makes the ticks that the clock shows known */

/* Where the clock stands; the invalid ratio where that cannot be told exactly. */
static inline Ratio abc_clock_now(AbcClock *c)
{
    if (c->score->ticks == 0)
        return c->sum;
    if (c->lowest[c->ticks].den == 0)
        abc_clock_reduce(c);
    int64_t den = c->lowest[c->ticks].den;
    return (Ratio){c->whole * den + c->lowest[c->ticks].num, den};
}

static inline void abc_clock_zero(AbcClock *c)
{
    c->sum = ratio_int(0);
    c->whole = c->ticks = 0;
}

static inline void abc_clock_add(AbcClock *c, const AbcEvent *e)
{
    const AbcLength *length = &c->score->lengths[e->value];
    if (c->score->ticks == 0) {
        c->sum = ratio_add(c->sum, length->exact);
        return;
    }
    c->whole += length->whole;
    c->ticks += length->ticks;
    if (c->ticks >= c->score->ticks) {
        c->ticks -= c->score->ticks;
        c->whole++;
    }
}

#endif
