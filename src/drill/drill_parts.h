/* drill_parts.h - the steps of building a drill. Internal to the room. */
#ifndef EVENHAND_SRC_DRILL_PARTS_H
#define EVENHAND_SRC_DRILL_PARTS_H

#include "evenhand/drill/drill.h"

/* Shapes the lengths of drill->notes, which hold the passage as written. For TIMING_GOAL the
 * onsets of everything behind a group move; `written` keeps the notes as they were. */
bool rhythm_shape(Drill *drill, const Passage *p, Error *error);

/* Ends each note where the next begins, at the latest. */
void rhythm_cut_overlaps(Drill *drill);

/* Where a moment of the written passage lies after shaping (ticks to ticks). Moments must be
 * asked for in rising order: *cursor, 0 to begin with, remembers the place. */
int64_t rhythm_warp(
    const DrillNote *written, const DrillNote *shaped, size_t count, int64_t at, size_t *cursor);

/* Lays the pulses of one cycle (and of the pickup's silent part), in written time. */
bool pulses_lay(Drill *drill, const Passage *p, Ratio subdivision, Error *error);

/* a as ticks; exact by the choice of drill->ticks. */
int64_t drill_ticks(const Drill *drill, Ratio a);

#endif
