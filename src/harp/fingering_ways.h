/* fingering_ways.h - the K cheapest ways to a place of the search. Internal to the room; pure. */
#ifndef EVENHAND_SRC_HARP_FINGERING_WAYS_H
#define EVENHAND_SRC_HARP_FINGERING_WAYS_H

#include "fingering_rules.h"

/* A chain so far: what it costs, the shape of its last group, and which of the chains that end
 * so it is. A place has K of them at rising cost; unused ones cost `no_way`. */
typedef struct {
    int64_t cost;
    int32_t start; /* stop, of a group to and fro; -1 of one whose shape tells it */
    uint8_t shape, rank;
} Way;

static const int64_t no_way = INT64_MAX;

static inline void ways_clear(Way *ways, size_t count)
{
    for (size_t i = 0; i < count; i++)
        ways[i] = (Way){.cost = no_way, .start = -1};
}

/* Puts a way among the K best, behind those that cost the same; false if it is none of them. */
static inline bool offer(Way *best, size_t wanted, Way way)
{
    size_t at = wanted - 1;
    if (way.cost >= best[at].cost)
        return false;
    for (; at > 0 && best[at - 1].cost > way.cost; at--)
        best[at] = best[at - 1];
    best[at] = way;
    return true;
}

/* Offers all of `from` at so much more. They rise: after one that is too dear so are the rest. */
static inline void offer_all(Way *best, size_t wanted, const Way *from, int32_t more)
{
    for (size_t k = 0; k < wanted && from[k].cost != no_way; k++) {
        Way way = from[k];
        way.cost += more;
        if (!offer(best, wanted, way))
            return;
    }
}

#endif
