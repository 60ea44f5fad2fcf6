/* metronome.h - the 39 numbers of the traditional metronome (40 .. 208). Pure.
 * [range: Oxford Dictionary of Music, Metronome; the series: common practice] */
#ifndef EVENHAND_PLAN_METRONOME_H
#define EVENHAND_PLAN_METRONOME_H

#include "evenhand/music/ratio.h"

enum { METRONOME_COUNT = 39 };

int metronome_number(int index); /* 0 .. METRONOME_COUNT - 1, rising; -1 outside */
/* The number `steps` places above (below: negative) `per_minute`; a mark off the series counts
 * as lying between its neighbours. Stops at either end: beyond 40 or 208 returns per_minute. */
Ratio metronome_step(Ratio per_minute, int steps);

#endif
