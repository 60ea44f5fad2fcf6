/* fingering_stops.h - the passage as the hand meets it. Internal to the room.
 *
 * A stop is one string with all strokes on it in a row, or one chord.
 */
#ifndef EVENHAND_SRC_HARP_FINGERING_STOPS_H
#define EVENHAND_SRC_HARP_FINGERING_STOPS_H

#include "evenhand/harp/fingering.h"

typedef struct {
    int32_t first;        /* passage index of its first note */
    int32_t end;          /* one past its last */
    int string;           /* of its lowest note */
    int8_t way;           /* from the stop before: 1 up, -1 down, 0 no group can hold both */
    int in_row;           /* stops in a row that end here and go one way, this one included */
    int turning;          /* stops in a row that end here, this one included, without a breath
                           * between them: all but the first and the last are turns */
    int chord;            /* notes at once, 1 for a single string */
    int chord_mask;       /* fingers a chord takes */
    int32_t chord_cost;   /* of stretching to it */
    uint8_t mark;         /* finger given by the file or fixed, 0 none; single strings only */
    uint8_t wanted;       /* finger that the same figure had before, 0 none */
    int32_t wanted_cost;  /* of another one */
    bool on_pulse;        /* its first stroke stands on a pulse */
    bool breath;          /* the hand may be off the strings before it */
    int64_t microseconds; /* from the stroke before; 0 for the first */
} Stop;

/* Allocates the stops of a passage at a tempo; marks[note] is the finger to honour, 0 none.
 * Caller frees. NULL without memory. */
Stop *stops_make(const Passage *p, Tempo tempo, const uint8_t *marks, size_t *count);

/* Fills in `way`, `in_row` and `turning` of stops that stand in a row. */
void stops_ways(Stop *stops, size_t count);

/* Direction from a to b: 1 up, -1 down, 0 where one group cannot hold both (same string, or a
 * chord). */
int stop_way(const Stop *a, const Stop *b);

int mask_size(int mask);
/* Finger of the k-th note of a group going `way`: up begins with the highest number. */
int mask_finger(int mask, int way, int k);
/* Cost of playing strings `gap` apart with two fingers. */
int32_t stretch_cost(int gap, int finger, int other);

#endif
