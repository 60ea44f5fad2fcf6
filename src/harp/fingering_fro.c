#include "fingering_fro.h"

#include "fingering_across.h"

#include <stdlib.h>
#include <string.h>

/* Ways are kept apart by how many stops their group has so far, until it has as many as it needs:
 * else one that cannot end yet might push out one that can. */
enum { FIRST_TWO, FIRST_THREE, ENOUGH, AGES };

enum { STATES = 33, MASKS = 16, NO_STATE = 255 };

/* A set of fingers, and those of them that have their strings: two or more. */
typedef struct {
    uint8_t mask, placed;
    uint8_t size, strings;
    uint8_t fingers[4]; /* that have their strings, the thumb's side first */
    uint8_t without[4]; /* the state before each of them had; NO_STATE */
} State;

struct Fro {
    const Rules *r;
    size_t wanted;
    Way *ways;            /* [((stop % 2 * AGES + age) * STATES + state) * wanted + rank] */
    size_t live[2][AGES]; /* how many states of them have ways */
    State states[STATES]; /* at rising numbers of strings */
    size_t least[6];      /* the first state with so many strings */
    int recent[4];        /* the last distinct strings, the latest first */
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

static void fill_states(Fro *f)
{
    uint8_t count = 0, index[MASKS][MASKS];
    memset(index, NO_STATE, sizeof index);
    for (int strings = 2; strings <= 4; strings++) {
        f->least[strings] = count;
        for (int mask = 0; mask < MASKS; mask++)
            for (int placed = 0; placed < MASKS; placed++) {
                if ((placed & ~mask) != 0 || mask_size(placed) != strings)
                    continue;
                index[mask][placed] = count;
                State *s = &f->states[count++];
                *s = (State){(uint8_t)mask, (uint8_t)placed, (uint8_t)mask_size(mask),
                    (uint8_t)strings, {0}, {0}};
                for (int k = 0; k < strings; k++) {
                    s->fingers[k] = (uint8_t)mask_finger(placed, -1, k);
                    s->without[k] = index[mask][placed & ~(1 << (s->fingers[k] - 1))];
                }
            }
    }
    f->least[5] = count;
}

/* How many states groups of this age can be in, where the strings are. */
static size_t states_at(const Fro *f, int age)
{
    int strings = age == FIRST_TWO ? 2 : age == FIRST_THREE ? 3 : 4;
    return f->least[(strings < f->recent_count ? strings : f->recent_count) + 1];
}

Fro *fro_make(const Rules *r, size_t wanted)
{
    Fro *f = calloc(1, sizeof *f);
    if (f == NULL)
        return NULL;
    *f = (Fro){.r = r, .wanted = wanted};
    f->ways = malloc((size_t)2 * AGES * STATES * wanted * sizeof *f->ways);
    if (f->ways == NULL) {
        free(f);
        return NULL;
    }
    fill_states(f);
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

/* How many of the last so many distinct strings lie above the last one. */
static int rank_of_last(const Fro *f, int strings)
{
    int rank = 0;
    for (int k = 1; k < strings; k++)
        rank += f->recent[k] > f->recent[0];
    return rank;
}

static void open_group(const Fro *f, Way *best, const Way *from, const Way *group)
{
    for (size_t k = 0; k < f->wanted && from[k].cost != no_way; k++) {
        Way way = *group;
        way.cost += from[k].cost;
        way.rank = (uint8_t)k;
        if (!offer(best, f->wanted, way))
            return;
    }
}

/* Groups whose first two stops are the last two. */
static void open_groups(Fro *f, size_t end, const FroDoors *doors)
{
    const Rules *r = f->r;
    const Stop *first = &r->stops[end - 1], *second = first + 1;
    bool up = second->way > 0;
    if (!across_from(r, end - 1))
        return;
    size_t states = states_at(f, FIRST_TWO);
    f->live[end % 2][FIRST_TWO] = states;
    ways_clear(ways_of(f, end, FIRST_TWO, 0), states * f->wanted);
    int32_t start = rules_wish_start(r, first), start_pivot = rules_wish_start(r, second);
    for (size_t i = 0; i < states; i++) {
        const State *s = &f->states[i];
        if (s->size > rules_largest(r))
            continue;
        int finger = s->fingers[up ? 1 : 0];
        int32_t a = rules_finger(first, finger), b = rules_finger(second, s->fingers[up ? 0 : 1]);
        if (a >= COST_IMPOSSIBLE || b >= COST_IMPOSSIBLE)
            continue;
        Way *best = ways_of(f, end, FIRST_TWO, i);
        Way group = {a + b + start, (int32_t)(end - 1), s->mask | SHAPE_ACROSS, 0};
        if (doors->entry == NULL)
            offer(best, f->wanted, group);
        else
            open_group(f, best, doors->entry, &group);
        group.cost = a + b + start_pivot;
        group.shape |= SHAPE_PIVOT;
        open_group(f, best, doors->pivots + (size_t)(finger - 1) * f->wanted, &group);
    }
}

/* What happens at a stop to groups that have so many strings already, and what it costs. */
typedef struct {
    bool stays[5], grows[5]; /* it is on one of them; it brings one more */
    int rank[5];             /* of its string among so many */
    int32_t costs[5];        /* of each finger on it, its turn included */
} Moves;

static void find_moves(Fro *f, size_t end, Moves *m)
{
    const Stop *here = &f->r->stops[end];
    int at = recency(f, here->string);
    bool due = (end - f->anchor) % 2 == 0; /* the string that comes back is */
    bool back = end > 1 && here->string == here[-2].string;
    remember(f, here->string);
    for (int strings = 2; strings <= 4; strings++) {
        bool kept = strings == 2 || !due || back;
        m->stays[strings] = kept && at < strings;
        m->grows[strings] = kept && at >= strings;
        m->rank[strings] = rank_of_last(f, strings < f->recent_count ? strings : f->recent_count);
    }
    for (int finger = 1; finger <= 4; finger++)
        m->costs[finger] = rules_finger(here, finger) + COST_ACROSS;
}

/* Carries the groups of one age on to this stop, which turns from the one before. */
static bool carry(Fro *f, size_t end, int age, int to, const Moves *m)
{
    bool grown = false;
    size_t known = f->live[(end - 1) % 2][age], states = states_at(f, to);
    if (known == 0)
        return false;
    if (f->live[end % 2][to] == 0)
        ways_clear(ways_of(f, end, to, 0), states * f->wanted);
    f->live[end % 2][to] = states;
    const Way *before = ways_of(f, end - 1, age, 0);
    Way *after = ways_of(f, end, to, 0);
    for (size_t i = 0; i < states; i++) {
        const State *s = &f->states[i];
        int rank = m->rank[s->strings];
        bool grows = s->strings > 2 && m->grows[s->strings - 1];
        bool stays = i < known && m->stays[s->strings];
        if (!(stays || grows))
            continue;
        int32_t cost = m->costs[s->fingers[rank]];
        if (cost >= COST_IMPOSSIBLE)
            continue;
        if (stays)
            offer_all(after + i * f->wanted, f->wanted, before + i * f->wanted, cost);
        if (!grows)
            continue;
        const Way *from = before + s->without[rank] * f->wanted;
        offer_all(after + i * f->wanted, f->wanted, from, cost);
        grown = grown || (s->strings == 3 && from->cost != no_way);
    }
    return grown;
}

/* The last so many distinct strings. */
static Hand last_hand(const Fro *f, int mask)
{
    Hand hand = {.count = mask_size(mask), .mask = mask};
    for (int k = 0; k < hand.count; k++) {
        int at = k;
        for (; at > 0 && hand.strings[at - 1] < f->recent[k]; at--)
            hand.strings[at] = hand.strings[at - 1];
        hand.strings[at] = f->recent[k];
    }
    return hand;
}

static void leave_groups(const Fro *f, size_t end, const FroDoors *doors)
{
    for (size_t i = 0; i < f->live[end % 2][ENOUGH]; i++) {
        const State *s = &f->states[i];
        const Way *ways = ways_of(f, end, ENOUGH, i);
        if (s->mask != s->placed || ways->cost == no_way)
            continue;
        Hand hand = last_hand(f, s->mask);
        int finger = hand_finger(&hand, f->r->stops[end].string);
        Way *exits = doors->exits + (size_t)(finger - 1) * f->wanted;
        offer_all(exits, f->wanted, ways, across_hand(f->r, &hand));
    }
}

void fro_step(Fro *f, size_t end, const FroDoors *doors)
{
    const Stop *here = &f->r->stops[end];
    size_t *live = f->live[end % 2];
    for (int age = 0; age < AGES; age++)
        live[age] = 0;
    if (here->turning < 2)
        return;
    if (here->turning == 2) {
        f->recent_count = 1;
        f->recent[0] = here[-1].string;
    }
    Moves moves;
    find_moves(f, end, &moves);
    if (here->turning > 2) {
        bool grown = carry(f, end, FIRST_TWO, FIRST_THREE, &moves);
        grown = carry(f, end, FIRST_THREE, ENOUGH, &moves) || grown;
        grown = carry(f, end, ENOUGH, ENOUGH, &moves) || grown;
        f->anchor = grown ? end - 1 : f->anchor;
    }
    open_groups(f, end, doors);
    if (live[ENOUGH] > 0 && across_may_end(f->r, end))
        leave_groups(f, end, doors);
}
