#include "fingering_across.h"

bool across_may_begin(const Rules *r, size_t stop)
{
    const Stop *s = &r->stops[stop];
    return s->way == 0 || s->breath || (stop + 1 < r->count && s->way == -s[1].way);
}

bool across_may_end(const Rules *r, size_t stop)
{
    const Stop *s = &r->stops[stop];
    return stop + 1 == r->count || s[1].way == 0 || s[1].breath || s[1].way == -s->way;
}

/* Whether every second stop from `first` on is on one string. */
static bool comes_back(const Rules *r, size_t first, size_t end)
{
    for (size_t i = first + 2; i <= end; i += 2)
        if (r->stops[i].string != r->stops[i - 2].string)
            return false;
    return true;
}

static bool to_and_fro(const Rules *r, size_t start, size_t end)
{
    if (r->options.lifted || r->alternate)
        return false; /* the next placement is free */
    return end < r->count && (size_t)r->stops[end].turning >= end + 1 - start &&
           (comes_back(r, start, end) || comes_back(r, start + 1, end));
}

bool across_from(const Rules *r, size_t stop)
{
    return across_may_begin(r, stop) && to_and_fro(r, stop, stop + ACROSS_STOPS - 1);
}

int32_t across_hand(const Rules *r, const Hand *hand)
{
    int32_t cost = COST_GROUP + COST_ACROSS_STRING * (hand->count - 2) +
                   ((hand->mask & 1) == 0 ? COST_IDLE_THUMB : 0);
    for (int k = 1; k < hand->count; k++)
        cost += stretch_cost(hand->strings[k - 1] - hand->strings[k],
            mask_finger(hand->mask, -1, k), mask_finger(hand->mask, -1, k - 1));
    return cost + rules_wish_place(r, hand->count, hand->strings[hand->count - 1]);
}

int32_t across_group(const Rules *r, const ChainLink *group)
{
    size_t start = (size_t)group->start, end = (size_t)group->end;
    if (end < start + ACROSS_STOPS - 1 || !to_and_fro(r, start, end) ||
        !across_may_begin(r, start) || !across_may_end(r, end))
        return COST_IMPOSSIBLE;
    Hand hand = hand_of(r, group);
    if (hand.count != mask_size(hand.mask) || hand.count > rules_largest(r))
        return COST_IMPOSSIBLE;
    bool pivot = (group->shape & SHAPE_PIVOT) != 0;
    int32_t cost = across_hand(r, &hand) + (group->end - group->start - 1) * COST_ACROSS +
                   rules_wish_start(r, &r->stops[start + (pivot ? 1 : 0)]);
    for (size_t i = start; i <= end; i++) {
        int32_t own = rules_finger(&r->stops[i], hand_finger(&hand, r->stops[i].string));
        if (own >= COST_IMPOSSIBLE)
            return own;
        cost += own;
    }
    return cost;
}

GroupEnds across_ends(const Rules *r, const ChainLink *group)
{
    const Stop *first = &r->stops[group->start], *last = &r->stops[group->end];
    Hand hand = hand_of(r, group);
    return (GroupEnds){.size = (int8_t)hand.count,
        .first_way = first[1].way,
        .last_way = last->way,
        .first_finger = (int8_t)hand_finger(&hand, first->string),
        .last_finger = (int8_t)hand_finger(&hand, last->string),
        .across = true};
}
