/* timeline_items.h - the stretches that a timeline is made of, in ticks. Internal to the room. */
#ifndef EVENHAND_SRC_DRILL_TIMELINE_ITEMS_H
#define EVENHAND_SRC_DRILL_TIMELINE_ITEMS_H

#include "evenhand/drill/timeline.h"

typedef struct {
    int64_t at;     /* ticks from the stretch's beginning */
    int64_t length; /* ticks, notes */
    Ratio beat;
    int32_t bar, note, group;
    int32_t last_note; /* of this repetition, itself included; -1 none yet */
    uint32_t index;    /* in its stretch */
    uint32_t to_pulse; /* how many events back the last pulse lies; 0: this is one */
    uint8_t kind, level, finger;
    bool line; /* stands on a bar line */
} Item;

#define NO_PULSE_YET UINT32_MAX /* as to_pulse: none in this stretch so far */

typedef struct {
    Item *items;
    size_t count;
} Items;

/* Whole bars of count-in, then the pickup's silent part (`offset`, 0 where play begins on a bar
 * line); *length in ticks. All three are false only without memory. */
bool items_count_in(
    Items *out, const Drill *d, const Passage *p, int bars, int64_t offset, int64_t *length);
bool items_repetition(Items *out, const Drill *d, const Passage *p, const Fingering *f);
/* What is missing to the bar line, then whole bars of rest with the announcement. */
bool items_rest(Items *out, const Drill *d, const Passage *p, const Rotation *r, int bars,
    const DrillSpec *next, int64_t *length);
void items_free(Items *items);

#endif
