/* fingering_rules.h - what one group costs and what joins two: the rules, apart from the search
 * for the best chain of groups. Internal to the room; pure.
 *
 * A group is a stretch of stops played by a set of fingers (a mask: bit f-1 for finger f), each on
 * its string: the lowest number on the highest string. It goes one way, or to and fro
 * (fingering_across.h). A shape is a mask, plus SHAPE_PIVOT if the group begins on the turning
 * stop that ended the group before, plus SHAPE_ACROSS if it goes to and fro.
 */
#ifndef EVENHAND_SRC_HARP_FINGERING_RULES_H
#define EVENHAND_SRC_HARP_FINGERING_RULES_H

#include "fingering_cost.h"
#include "fingering_stops.h"

enum { SHAPE_PIVOT = 16, SHAPES = 32, SHAPE_ACROSS = 32 };

/* A group: its first stop (its pivot, if it has one) and its last. */
typedef struct {
    int32_t start, end;
    int32_t shape;
} ChainLink;

/* What of a group matters to the groups beside it. */
typedef struct {
    int8_t size; /* fingers */
    int8_t first_way, last_way, first_finger, last_finger;
    bool across;
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
/* The group of this shape that goes one way and ends on stop `end`. */
ChainLink group_one_way(size_t end, int shape);

/* The strings that a group is placed on and the fingers that lie on them. */
typedef struct {
    int strings[5]; /* from the highest down; one too many where there are more than four */
    int count;
    int mask;
} Hand;

/* Time linear in the group's stops. */
Hand hand_of(const Rules *r, const ChainLink *group);
int hand_finger(const Hand *hand, int string); /* 0 where it has no finger for it */

GroupEnds rules_ends(const Rules *r, const ChainLink *group);
/* What a group costs is the sum of: what its fingers are, each finger on its stop, each stretch
 * from one to the next (stretch_cost), what the teacher wishes, and its turns. */
int32_t rules_shape(int mask);
int32_t rules_finger(const Stop *stop, int finger);        /* COST_IMPOSSIBLE against a mark */
int32_t rules_wish(const Rules *r, size_t end, int shape); /* of one that goes one way */
/* The parts of the wish: the letter of its lowest string, and where its first own stop stands. */
int32_t rules_wish_place(const Rules *r, int size, int low_string);
int32_t rules_wish_start(const Rules *r, const Stop *own);
bool rules_have_wishes(const Rules *r); /* else rules_wish is always 0 */
int rules_largest(const Rules *r);      /* group */
/* That sum: what the group costs by itself; COST_IMPOSSIBLE where it cannot be. */
int32_t rules_group(const Rules *r, const ChainLink *group);
/* What it costs to come from group a, which ends on stop `end`, to group b, whose first own
 * stop is the next; *link says how. COST_IMPOSSIBLE where it cannot be. */
int32_t rules_link(
    const Rules *r, size_t end, const GroupEnds *a, const GroupEnds *b, bool pivot, Link *link);

#endif
