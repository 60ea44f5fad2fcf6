/* fingering_rules.h - what one group costs and what joins two: the rules, apart from the search
 * for the best chain of groups. Internal to the room; pure.
 *
 * A group is a stretch of stops going one way played by a set of fingers (a mask: bit f-1 for
 * finger f). A shape is a mask, plus SHAPE_PIVOT if the group begins on the turning stop that
 * ended the group before.
 */
#ifndef EVENHAND_SRC_HARP_FINGERING_RULES_H
#define EVENHAND_SRC_HARP_FINGERING_RULES_H

#include "fingering_cost.h"
#include "fingering_stops.h"

enum { SHAPE_PIVOT = 16, SHAPES = 32 };

/* What of a group matters to the groups beside it. */
typedef struct {
    int8_t size, way, first_finger, last_finger;
} GroupEnds;

typedef struct {
    Stop *stops;
    size_t count;
    FingeringOptions options;
    bool alternate; /* hand over hand: each group is placed while the other hand plays */
    int letter;     /* where groups of four begin when every octave is 4+3 */
} Rules;

/* The stops and options of a passage; marks[note] is the finger to honour, 0 none. rules_free
 * frees the stops. False without memory. */
bool rules_make(Rules *r, const Passage *p, const FingeringOptions *options, const uint8_t *marks);
void rules_free(Rules *r);

int shape_size(int shape);
/* First stop of a group of this shape that ends on stop `end` (its pivot, if it has one). */
size_t shape_start(size_t end, int shape);
GroupEnds rules_ends(const Rules *r, size_t end, int shape);
/* What a group costs is the sum of: what its fingers are, each finger on its stop, each stretch
 * from one to the next (stretch_cost), and what the teacher wishes. */
int32_t rules_shape(int mask);
int32_t rules_finger(const Stop *stop, int finger); /* COST_IMPOSSIBLE against a mark */
int32_t rules_wish(const Rules *r, size_t end, int shape);
bool rules_have_wishes(const Rules *r); /* else rules_wish is always 0 */
int rules_largest(const Rules *r);      /* group */
/* That sum: what the group costs by itself; COST_IMPOSSIBLE where it cannot be. size <= end + 1. */
int32_t rules_group(const Rules *r, size_t end, int shape);
/* What it costs to come from group a, which ends on stop `end`, to group b, whose first own
 * stop is the next; *link says how. COST_IMPOSSIBLE where it cannot be. */
int32_t rules_link(
    const Rules *r, size_t end, const GroupEnds *a, const GroupEnds *b, bool pivot, Link *link);

#endif
