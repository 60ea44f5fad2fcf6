/* fingering_search.h - the cheapest chains of groups. Internal to the room; pure. */
#ifndef EVENHAND_SRC_HARP_FINGERING_SEARCH_H
#define EVENHAND_SRC_HARP_FINGERING_SEARCH_H

#include "fingering_rules.h"

/* Groups from first to last. */
typedef struct {
    ChainLink *groups;
    size_t count;
    int64_t cost;
} Chain;

/* Fills up to `wanted` chains, cheapest first (equal costs: in a fixed order); returns how many
 * there are, 0 without memory. chain_free each. Exact; time linear in stops. */
int search_chains(const Rules *r, int wanted, Chain *out);
void chain_free(Chain *chain);

#endif
