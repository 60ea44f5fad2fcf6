#include "fingering_fro.h"

#include "fingering_across.h"

#include <stdlib.h>

/* Ways are kept apart by how many stops their group has so far, until it has as many as it needs:
 * else one that cannot end yet might push out one that can. */
enum { FIRST_TWO, FIRST_THREE, ENOUGH, AGES };

/* A set of fingers, and those of them that have their strings: two or more. */
typedef struct {
    uint8_t mask, placed;
} State;

enum { STATES = 33, MASKS = 16, NO_STATE = 255 };

struct Fro {
    const Rules *r;
    size_t wanted;
    Way *ways;          /* [((stop % 2 * AGES + age) * STATES + state) * wanted + rank] */
    bool live[2][AGES]; /* whether there are any */
    State states[STATES];
    uint8_t index[MASKS][MASKS]; /* of the state; NO_STATE */
    int recent[4];               /* the last distinct strings, the latest first */
    int recent_count;
    size_t anchor; /* a stop on the string that comes back, for groups on three strings or more:
                    * two of them that disagree would have only two strings in common */
};

bool fro_possible(const Rules *r)
{
    for (size_t i = 0; i < r->count; i++)
        if (r->stops[i].turning >= ACROSS_STOPS && across_from(r, i + 1 - ACROSS_STOPS))
            return true;
    return false;
}

Fro *fro_make(const Rules *r, size_t wanted)
{
    Fro *f = calloc(1, sizeof *f);
    if (f == NULL)
        return NULL;
    *f = (Fro){.r = r, .wanted = wanted};
    f->ways = malloc(2 * AGES * STATES * wanted * sizeof *f->ways);
    if (f->ways == NULL) {
        free(f);
        return NULL;
    }
    uint8_t count = 0;
    for (int mask = 0; mask < MASKS; mask++)
        for (int placed = 0; placed < MASKS; placed++) {
            bool is_state = (placed & ~mask) == 0 && mask_size(placed) > 1;
            f->index[mask][placed] = is_state ? count : NO_STATE;
            if (is_state)
                f->states[count++] = (State){(uint8_t)mask, (uint8_t)placed};
        }
    return f;
}

void fro_free(Fro *f)
{
    if (f == NULL)
        return;
    free(f->ways);
    free(f);
}

static Way *ways_of(const Fro *f, size_t stop, int age, size_t state)
{
    return f->ways + ((stop % 2 * AGES + (size_t)age) * STATES + state) * f->wanted;
}

/* How recently a string was played, 0 the last; 4: not among the last four. */
static int recency(const Fro *f, int string)
{
    for (int k = 0; k < f->recent_count; k++)
        if (f->recent[k] == string)
            return k;
    return 4;
}

static void remember(Fro *f, int string)
{
    int at = recency(f, string);
    if (at == 4)
        at = f->recent_count < 4 ? f->recent_count++ : 3;
    for (; at > 0; at--)
        f->recent[at] = f->recent[at - 1];
    f->recent[0] = string;
}

/* The finger of `placed` that lies on the last string played. */
static int last_finger(const Fro *f, int placed)
{
    int rank = 0;
    for (int k = 1; k < mask_size(placed); k++)
        rank += f->recent[k] > f->recent[0];
    return mask_finger(placed, -1, rank);
}

static void open_group(
    Fro *f, size_t end, size_t state, const FroEntry *entry, int shape, int32_t more)
{
    static const Way nothing = {.cost = 0, .start = -1};
    size_t count = entry->ways == NULL ? 1 : f->wanted;
    const Way *from = entry->ways == NULL ? &nothing : entry->ways;
    Way *best = ways_of(f, end, FIRST_TWO, state);
    for (size_t k = 0; k < count && from[k].cost != no_way; k++)
        if (!offer(best, f->wanted,
                (Way){.cost = from[k].cost + more,
                    .start = (int32_t)(end - 1),
                    .shape = (uint8_t)shape,
                    .rank = (uint8_t)k}))
            return;
}

/* Groups whose first two stops are the last two. */
static void open_groups(Fro *f, size_t end, const void *search, FroEntries *entries)
{
    const Rules *r = f->r;
    const Stop *first = &r->stops[end - 1], *second = first + 1;
    if (!across_from(r, end - 1))
        return;
    f->live[end % 2][FIRST_TWO] = true;
    ways_clear(ways_of(f, end, FIRST_TWO, 0), STATES * f->wanted);
    for (size_t i = 0; i < STATES; i++) {
        const State *s = &f->states[i];
        int size = mask_size(s->mask);
        if (mask_size(s->placed) != 2 || size > rules_largest(r))
            continue;
        int finger = mask_finger(s->placed, second->way, 0);
        int32_t a = rules_finger(first, finger);
        int32_t b = rules_finger(second, mask_finger(s->placed, second->way, 1));
        if (a >= COST_IMPOSSIBLE || b >= COST_IMPOSSIBLE)
            continue;
        for (int pivot = 0; pivot <= (end > 1 ? 1 : 0); pivot++) {
            FroEntry entry = entries(search, end - 1, size, finger, pivot != 0);
            open_group(f, end, i, &entry, s->mask | SHAPE_ACROSS | (pivot ? SHAPE_PIVOT : 0),
                a + b + rules_wish_start(r, first + pivot));
        }
    }
}

/* What may happen at a stop to groups that have so many strings already. */
typedef struct {
    bool stays[5], grows[5]; /* it is on one of them; it brings one more */
} Moves;

static Moves moves_at(const Fro *f, size_t end)
{
    Moves m = {{false}, {false}};
    const Stop *here = &f->r->stops[end];
    int at = recency(f, here->string);
    bool due = (end - f->anchor) % 2 == 0; /* the string that comes back is */
    bool back = end > 1 && here->string == here[-2].string;
    for (int strings = 2; strings <= 4; strings++) {
        bool kept = strings == 2 || !due || back;
        m.stays[strings] = kept && at < strings;
        m.grows[strings] = kept && at >= strings;
    }
    return m;
}

/* Carries the groups of one age on to this stop, which turns from the one before. */
static bool carry(Fro *f, size_t end, int age, int to, const Moves *m)
{
    const Stop *here = &f->r->stops[end];
    bool grown = false;
    if (!f->live[(end - 1) % 2][age])
        return false;
    if (!f->live[end % 2][to])
        ways_clear(ways_of(f, end, to, 0), STATES * f->wanted);
    f->live[end % 2][to] = true;
    for (size_t i = 0; i < STATES; i++) {
        const State *s = &f->states[i];
        int strings = mask_size(s->placed);
        if (strings > f->recent_count)
            continue;
        int finger = last_finger(f, s->placed);
        int32_t cost = rules_finger(here, finger);
        if (cost >= COST_IMPOSSIBLE)
            continue;
        Way *best = ways_of(f, end, to, i);
        if (m->stays[strings])
            offer_all(best, f->wanted, ways_of(f, end - 1, age, i), cost + COST_ACROSS);
        if (strings < 3 || !m->grows[strings - 1])
            continue;
        const Way *from =
            ways_of(f, end - 1, age, f->index[s->mask][s->placed & ~(1 << (finger - 1))]);
        offer_all(best, f->wanted, from, cost + COST_ACROSS);
        grown = grown || (strings == 3 && from->cost != no_way);
    }
    return grown;
}

static void leave_groups(const Fro *f, size_t end, const void *search, FroExit *leave)
{
    for (int mask = 1; mask < MASKS; mask++) {
        size_t state = f->index[mask][mask];
        int size = mask_size(mask);
        if (state == NO_STATE || size > f->recent_count)
            continue;
        const Way *ways = ways_of(f, end, ENOUGH, state);
        if (ways->cost == no_way)
            continue;
        Hand hand = {.count = size, .mask = mask};
        for (int k = 0; k < size; k++) {
            int at = k;
            for (; at > 0 && hand.strings[at - 1] < f->recent[k]; at--)
                hand.strings[at] = hand.strings[at - 1];
            hand.strings[at] = f->recent[k];
        }
        int32_t more = across_hand(f->r, &hand);
        int finger = hand_finger(&hand, f->r->stops[end].string);
        for (size_t k = 0; k < f->wanted && ways[k].cost != no_way; k++) {
            Way way = ways[k];
            way.cost += more;
            leave(search, end, size, finger, &way);
        }
    }
}

void fro_step(Fro *f, size_t end, const void *search, FroEntries *entries, FroExit *leave)
{
    const Stop *here = &f->r->stops[end];
    bool *live = f->live[end % 2];
    for (int age = 0; age < AGES; age++)
        live[age] = false;
    if (here->turning < 2)
        return;
    if (here->turning == 2) {
        f->recent_count = 1;
        f->recent[0] = here[-1].string;
    }
    Moves moves = moves_at(f, end);
    remember(f, here->string);
    if (here->turning > 2) {
        bool grown = carry(f, end, FIRST_TWO, FIRST_THREE, &moves);
        grown = carry(f, end, FIRST_THREE, ENOUGH, &moves) || grown;
        grown = carry(f, end, ENOUGH, ENOUGH, &moves) || grown;
        f->anchor = grown ? end - 1 : f->anchor;
    }
    open_groups(f, end, search, entries);
    if (live[ENOUGH] && across_may_end(f->r, end))
        leave_groups(f, end, search, leave);
}
