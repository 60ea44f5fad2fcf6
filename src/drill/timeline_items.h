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

/*    items of the count-in | items of one repetition, used again for each | items of the rest
 *
 * so that a thousand repetitions take no more memory than one. */
struct Timeline {
    const Passage *passage;
    SessionStep step;
    int rate;
    Ratio frames_per_tick;
    int64_t play, rest, end; /* ticks where repetitions, rest and nothing begin */
    int64_t zero;            /* where repetition 0 would begin if it were played whole */
    int64_t cycle;
    Items count_in, repetition, closing;
    size_t first;       /* the item that repetition 0 begins with */
    int32_t first_note; /* and its first note */
    int8_t *notes;      /* per passage note: bit 0 accent; +2 longer, +4 shorter */
    int64_t cut;        /* frame at which it ends early; -1: it does not */
    size_t cut_count;   /* events before that frame */
};

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
