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
    int chord;            /* notes at once, 1 for a single string */
    int chord_mask;       /* fingers a chord takes */
    int64_t chord_cost;   /* of stretching to it */
    uint8_t mark;         /* finger given by the file, 0 none; single strings only */
    bool honour_marks;    /* in a chord */
    bool breath;          /* the hand may be off the strings before it */
    int64_t microseconds; /* from the stroke before; 0 for the first */
} Stop;

/* Allocates the stops of a passage at a tempo; caller frees. NULL without memory. */
Stop *stops_make(const Passage *p, Tempo tempo, bool ignore_marks, size_t *count);

/* Direction from a to b: 1 up, -1 down, 0 where one group cannot hold both (same string, or a
 * chord). */
int stop_way(const Stop *a, const Stop *b);

int mask_size(int mask);
/* Finger of the k-th note of a group going `way`: up begins with the highest number. */
int mask_finger(int mask, int way, int k);
/* Cost of playing strings `gap` apart with two fingers. */
int64_t stretch_cost(int gap, int finger, int other);

#endif
