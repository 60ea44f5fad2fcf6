/* announce.h - the signal that tells by ear what comes next. Internal to the room.
 *
 * Strokes inside one bar of rest: a finger accent is told by as many strokes as the finger's
 * number, half a beat apart; plain and the beat places by strokes where the accents will fall; a
 * rhythm by its own long and short strokes.
 */
#ifndef EVENHAND_SRC_DRILL_ANNOUNCE_H
#define EVENHAND_SRC_DRILL_ANNOUNCE_H

#include "evenhand/drill/drill.h"

enum { ANNOUNCE_STROKES_MAX = 16 };

/* Fills at[] with positions in ticks inside a bar of `bar` ticks whose pulses are `pulse` ticks
 * apart; returns how many (>= 1), rising. */
int announce_strokes(const DrillSpec *next, const Rotation *r, int64_t ticks, int64_t bar,
    int64_t pulse, int64_t at[ANNOUNCE_STROKES_MAX]);

#endif
