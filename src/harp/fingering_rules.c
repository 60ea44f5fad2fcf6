#include "fingering_rules.h"

#include "fingering_across.h"

#include <stdlib.h>

int shape_size(int shape)
{
    return mask_size(shape & 15);
}

ChainLink group_one_way(size_t end, int shape)
{
    return (ChainLink){(int32_t)(end + 1) - shape_size(shape), (int32_t)end, shape};
}

Hand hand_of(const Rules *r, const ChainLink *group)
{
    Hand hand = {.mask = group->shape & 15};
    for (int32_t i = group->start; i <= group->end && hand.count < 5; i++) {
        int string = r->stops[i].string, at = 0;
        while (at < hand.count && hand.strings[at] > string)
            at++;
        if (at < hand.count && hand.strings[at] == string)
            continue;
        for (int k = hand.count++; k > at; k--)
            hand.strings[k] = hand.strings[k - 1];
        hand.strings[at] = string;
    }
    return hand;
}

int hand_finger(const Hand *hand, int string)
{
    for (int k = 0; k < hand->count && k < mask_size(hand->mask); k++)
        if (hand->strings[k] == string)
            return mask_finger(hand->mask, -1, k);
    return 0;
}

static int way_of(const Rules *r, size_t end, int size)
{
    return size > 1 ? r->stops[end].way : 0;
}

GroupEnds rules_ends(const Rules *r, const ChainLink *group)
{
    int mask = group->shape & 15, size = mask_size(mask);
    if ((group->shape & SHAPE_ACROSS) != 0)
        return across_ends(r, group);
    int way = way_of(r, (size_t)group->end, size);
    return (GroupEnds){(int8_t)size, (int8_t)way, (int8_t)way, (int8_t)mask_finger(mask, way, 0),
        (int8_t)mask_finger(mask, way, size - 1), false};
}

int32_t rules_wish_place(const Rules *r, int size, int low_string)
{
    const FingeringOptions *o = &r->options;
    int32_t cost = 0;
    int letter = ((low_string % 7) + 7) % 7;
    if (o->small == SMALL_AT_LETTER && size < 4 && letter != (int)o->small_letter)
        cost += COST_SMALL_MISPLACED;
    if (o->octaves && size == 4 && letter != r->letter)
        cost += COST_OFF_OCTAVE;
    if (o->octaves && size == 3 && letter != (r->letter + 4) % 7)
        cost += COST_OFF_OCTAVE;
    if (o->avoid_twos && size == 2)
        cost += 4 * COST_GROUP_OF_2;
    return cost;
}

int32_t rules_wish_start(const Rules *r, const Stop *own)
{
    GroupStart start = r->options.start;
    bool misses = start != GROUPS_ANYWHERE && own->on_pulse != (start == GROUPS_ON_BEATS);
    return misses ? COST_OFF_START : 0;
}

static int32_t chord_group(const Stop *stop, int shape)
{
    return shape == 1 ? COST_GROUP + stop->chord_cost : COST_IMPOSSIBLE;
}

int32_t rules_shape(int mask)
{
    static const int32_t by_size[5] = {0, COST_GROUP_OF_1, COST_GROUP_OF_2, COST_GROUP_OF_3, 0};
    int size = mask_size(mask);
    return COST_GROUP + by_size[size] + (size > 1 && (mask & 1) == 0 ? COST_IDLE_THUMB : 0);
}

int32_t rules_finger(const Stop *stop, int finger)
{
    if (stop->mark != 0 && stop->mark != finger)
        return COST_IMPOSSIBLE;
    return stop->wanted != 0 && stop->wanted != finger ? stop->wanted_cost : 0;
}

int rules_largest(const Rules *r)
{
    return r->options.largest_group == 3 ? 3 : 4;
}

bool rules_have_wishes(const Rules *r)
{
    const FingeringOptions *o = &r->options;
    return o->small == SMALL_AT_LETTER || o->octaves || o->avoid_twos ||
           o->start != GROUPS_ANYWHERE;
}

int32_t rules_wish(const Rules *r, size_t end, int shape)
{
    int size = shape_size(shape);
    const Stop *first = &r->stops[end + 1 - (size_t)size];
    int low = way_of(r, end, size) < 0 ? first[size - 1].string : first->string;
    return rules_wish_place(r, size, low) +
           rules_wish_start(r, first + ((shape & SHAPE_PIVOT) != 0 ? 1 : 0));
}

static int32_t one_way_group(const Rules *r, size_t end, int shape)
{
    int mask = shape & 15, size = mask_size(mask), way = way_of(r, end, size);
    if (size > rules_largest(r) || size > r->stops[end].in_row)
        return COST_IMPOSSIBLE;
    const Stop *first = &r->stops[end + 1 - (size_t)size];
    if (first->chord > 1)
        return size == 1 ? chord_group(first, shape) : COST_IMPOSSIBLE;
    int32_t cost = rules_shape(mask);
    int before = 0;
    for (int k = 0; k < size; k++) {
        const Stop *stop = first + k;
        int finger = mask_finger(mask, way, k);
        int32_t own = rules_finger(stop, finger);
        if (own >= COST_IMPOSSIBLE)
            return own;
        cost += own + (k > 0 ? stretch_cost(stop->string - stop[-1].string, finger, before) : 0);
        before = finger;
    }
    return cost + rules_wish(r, end, shape);
}

int32_t rules_group(const Rules *r, const ChainLink *group)
{
    bool across = (group->shape & SHAPE_ACROSS) != 0;
    return across ? across_group(r, group) : one_way_group(r, (size_t)group->end, group->shape);
}

/* The link's share that grows with tempo: budget (u - 1) notes, u the upper group's size. */
static int32_t time_cost(const Stop *arrival, int upper_size)
{
    int64_t budget = arrival->microseconds * (upper_size > 1 ? upper_size - 1 : 1);
    if (budget <= 0)
        return COST_LINK_TIME_MAX;
    int64_t cost = COST_LINK_TIME / budget;
    return cost > COST_LINK_TIME_MAX ? COST_LINK_TIME_MAX : (int32_t)cost;
}

static int32_t cross_cost(
    const Rules *r, const Stop *arrival, const GroupEnds *lower, const GroupEnds *upper, bool up)
{
    int32_t cost = COST_LINK + time_cost(arrival, upper->size);
    bool small_low = lower->size < upper->size && lower->size > 1;
    bool small_high = upper->size < lower->size;
    if (r->options.small == SMALL_ON_TOP ? small_low
                                         : r->options.small == SMALL_AT_BOTTOM && small_high)
        cost += COST_SMALL_BELOW;
    bool by_thumb = up ? lower->last_finger == 1 : lower->first_finger == 1;
    return by_thumb ? cost : cost + COST_LINK_BAD_FINGER;
}

int32_t rules_link(
    const Rules *r, size_t end, const GroupEnds *a, const GroupEnds *b, bool pivot, Link *link)
{
    const Stop *here = &r->stops[end], *next = here + 1;
    *link = pivot ? LINK_REPLACE : LINK_LIFT;
    if (r->alternate) {
        *link = LINK_HAND;
        return pivot ? COST_IMPOSSIBLE : 0;
    }
    if (r->options.lifted)
        return pivot ? COST_IMPOSSIBLE : 0; /* set by set: every group is placed afresh */
    if (pivot) {
        bool turns = a->last_way != 0 && a->last_way == -b->first_way;
        return turns && a->last_finger == b->first_finger ? COST_REPLACE : COST_IMPOSSIBLE;
    }
    if (next->breath) {
        *link = LINK_START;
        return 0;
    }
    bool single = here->chord == 1 && next->chord == 1;
    int gap = next->string - here->string;
    int way = gap > 0 ? 1 : -1;
    bool straight =
        (a->last_way == way || a->last_way == 0) && (b->first_way == way || b->first_way == 0);
    if (single && gap != 0 && straight && abs(gap) <= CROSSING_REACH) {
        bool up = way > 0;
        *link = up ? LINK_CROSS_UNDER : LINK_CROSS_OVER;
        int32_t skipped = COST_LINK_STRING * (abs(gap) - 1);
        bool stuck = a->last_finger == b->first_finger;
        return skipped + (stuck ? COST_SAME_FINGER : 0) +
               (up ? cross_cost(r, next, a, b, true) : cross_cost(r, next, b, a, false));
    }
    if (here->chord > 1 && next->chord > 1)
        return COST_BLOCK_AFTER_BLOCK;
    return COST_LIFT; /* off the strings, any finger may come next */
}
