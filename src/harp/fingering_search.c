/* Exact dynamic programming over groups.
 *
 *     best[end][shape] = own(shape) + min over groups that end just before it of
 *                        best[before][previous] + link(previous, shape)
 *
 * Each stop first sorts the groups that end there into classes ("exits"), then prices every
 * class of group that may begin behind it ("entries"), with a table of link costs. What a group
 * costs by itself is what it cost a stop earlier without its last finger, and one step more. For
 * K plans each of these holds its K best.
 */
#include "fingering_search.h"

#include "fingering_links.h"

#include <stdlib.h>

enum {
    EXITS = 0,                /* places of ways: by class of the groups that end on a stop, */
    ENTRIES = CLASSES,        /* by class of the groups that begin behind it, */
    PIVOTS = 2 * CLASSES - 1, /* and by the finger, from 1 on, that stays on it */
    PLACES = 2 * CLASSES + 4,
    BACKS = PLACES - ENTRIES, /* entries and pivots remember where they came from */
    RING = 8,
    MASKS = 16,
    GAPS = 16, /* stretches over fewer strings stand in a table */
    PAIRS = 6, /* of two fingers */
    RANK_SHIFT = 5
};

static const int64_t no_way = INT64_MAX;

/* A chain so far: what it costs, the shape of its last group, and which of the chains that end
 * so it is. A place has K of them at rising cost; unused ones cost `no_way`. */
typedef struct {
    int64_t cost;
    uint8_t shape, rank;
} Way;

/* A set of fingers as a group going one way. */
typedef struct {
    uint8_t size;
    uint8_t entry, exit;     /* classes */
    uint8_t first, last;     /* fingers */
    uint8_t rest, last_pair; /* without its last finger; the pair that this makes with the one
                              * before */
} MaskKind;

typedef struct {
    const Rules *rules;
    size_t wanted;
    int largest;
    bool wishes;
    Way *ring;         /* [(end % RING * PLACES + place) * wanted + rank] */
    uint8_t *backs;    /* [(end * BACKS + place - ENTRIES) * wanted + rank]: shape and rank */
    LinkTable *tables; /* [LINK_TABLES] */
    int32_t sums[RING][MASKS]; /* fingers and stretches of the groups that end on a stop */
    int32_t stretches[GAPS][PAIRS];
    MaskKind kinds[2][MASKS];      /* going down, going up */
    int32_t shapes[MASKS];         /* rules_shape */
    Way last[FINGERING_PLANS_MAX]; /* chains that end on the last stop */
} Search;

static int pair_of(int finger, int other)
{
    static const int8_t pairs[5][5] = {
        {0, 0, 0, 0, 0}, {0, 0, 0, 1, 2}, {0, 0, 0, 3, 4}, {0, 1, 3, 0, 5}, {0, 2, 4, 5, 0}};
    return pairs[finger][other];
}

static const int8_t pair_fingers[PAIRS][2] = {{1, 2}, {1, 3}, {1, 4}, {2, 3}, {2, 4}, {3, 4}};

static MaskKind kind_of(int mask, int way)
{
    int size = mask_size(mask);
    int first = mask_finger(mask, way, 0), last = mask_finger(mask, way, size - 1);
    int before = size > 1 ? mask_finger(mask, way, size - 2) : last;
    return (MaskKind){.size = (uint8_t)size,
        .entry = (uint8_t)class_of(size, way, true, first),
        .exit = (uint8_t)class_of(size, way, false, last),
        .first = (uint8_t)first,
        .last = (uint8_t)last,
        .rest = (uint8_t)(mask & ~(1 << (last - 1))),
        .last_pair = (uint8_t)pair_of(last, before)};
}

static void fill_tables(Search *s)
{
    for (int mask = 1; mask < MASKS; mask++) {
        s->kinds[0][mask] = kind_of(mask, -1);
        s->kinds[1][mask] = kind_of(mask, 1);
        s->shapes[mask] = rules_shape(mask);
    }
    for (int gap = 0; gap < GAPS; gap++)
        for (int pair = 0; pair < PAIRS; pair++)
            s->stretches[gap][pair] =
                stretch_cost(gap, pair_fingers[pair][0], pair_fingers[pair][1]);
}

static Way *place(const Search *s, size_t end, int number)
{
    return s->ring + (end % RING * PLACES + (size_t)number) * s->wanted;
}

static uint8_t *back(const Search *s, size_t end, int number)
{
    return s->backs + (end * BACKS + (size_t)(number - ENTRIES)) * s->wanted;
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
    for (size_t k = 0; k < wanted && from[k].cost != no_way; k++)
        if (!offer(best, wanted, (Way){from[k].cost + more, from[k].shape, from[k].rank}))
            return;
}

/* The classes of groups that end on a stop. */
typedef struct {
    int classes[CLASSES];
    int64_t costs[CLASSES]; /* of the cheapest */
    int count;
} Exits;

static void list_exits(const Search *s, size_t end, Exits *exits)
{
    exits->count = 0;
    for (int c = 0; c < CLASSES; c++) {
        const Way *exit = place(s, end, EXITS + c);
        if (exit->cost == no_way)
            continue;
        exits->classes[exits->count] = c;
        exits->costs[exits->count++] = exit->cost;
    }
}

/* The ways into one class of group, over links that cost so much by the class before. */
static void price_entry(
    const Search *s, size_t end, const Exits *exits, const int32_t links[CLASSES], Way *best)
{
    if (s->wanted > 1) {
        for (int i = 0; i < exits->count; i++)
            offer_all(best, s->wanted, place(s, end, EXITS + exits->classes[i]),
                links[exits->classes[i]]);
        return;
    }
    int64_t least = no_way; /* the same for a single plan, which is most of the work */
    int from = 0;
    for (int i = 0; i < exits->count; i++) {
        int64_t cost = exits->costs[i] + links[exits->classes[i]];
        from = cost < least ? exits->classes[i] : from;
        least = cost < least ? cost : least;
    }
    const Way *exit = place(s, end, EXITS + from);
    *best = (Way){least, exit->shape, exit->rank};
}

/* Strings in the largest group that can begin behind this stop. */
static int largest_behind(const Search *s, size_t end)
{
    int most = 1;
    for (size_t at = end + 2; most < s->largest && at < s->rules->count; at++, most++)
        if (s->rules->stops[at].in_row <= most)
            break;
    return most;
}

static void price_entries(const Search *s, size_t end)
{
    const Rules *r = s->rules;
    const LinkTable *links = links_behind(s->tables, r, end);
    int most = largest_behind(s, end), way = r->stops[end].way;
    Exits exits;
    list_exits(s, end, &exits);
    for (int b = 0; b < CLASSES && class_size(b) <= most; b++)
        price_entry(s, end, &exits, links->cost[b], place(s, end, ENTRIES + b));
    /* A pivot: the way turns here, and the finger stays. */
    if (r->options.lifted || r->alternate || way == 0 || r->stops[end + 1].way != -way)
        return;
    for (int i = 0; i < exits.count; i++)
        if (class_size(exits.classes[i]) > 1)
            offer_all(place(s, end, PIVOTS + class_finger(exits.classes[i], way, false)), s->wanted,
                place(s, end, EXITS + exits.classes[i]), COST_REPLACE);
}

static void keep_backs(Search *s, size_t end)
{
    const Way *from = place(s, end, ENTRIES);
    uint8_t *to = back(s, end, ENTRIES);
    for (size_t i = 0; i < BACKS * s->wanted; i++)
        to[i] = (uint8_t)(from[i].shape | from[i].rank << RANK_SHIFT);
}

/* What the fingers cost of every group that can end here, by mask. */
static void add_up(Search *s, size_t end)
{
    const Stop *here = &s->rules->stops[end];
    int32_t fingers[5], far[PAIRS], *sums = s->sums[end % RING];
    for (int finger = 1; finger <= 4; finger++)
        sums[1 << (finger - 1)] = fingers[finger] = rules_finger(here, finger);
    if (here->in_row < 2)
        return;
    const int32_t *before = s->sums[(end - 1) % RING], *stretches = far;
    int gap = abs(here->string - here[-1].string);
    if (gap < GAPS)
        stretches = s->stretches[gap];
    else
        for (int pair = 0; pair < PAIRS; pair++)
            far[pair] = stretch_cost(gap, pair_fingers[pair][0], pair_fingers[pair][1]);
    for (int mask = 1; mask < MASKS; mask++) {
        const MaskKind *kind = &s->kinds[here->way > 0][mask];
        if (kind->rest != 0)
            sums[mask] = before[kind->rest] + stretches[kind->last_pair] + fingers[kind->last];
    }
}

/* What the group costs by itself, as rules_group has it. */
static int32_t own_cost(const Search *s, size_t end, int shape)
{
    int mask = shape & (MASKS - 1);
    if (s->rules->stops[end].chord > 1)
        return rules_group(s->rules, end, shape);
    int32_t wish = s->wishes ? rules_wish(s->rules, end, shape) : 0;
    return s->shapes[mask] + s->sums[end % RING][mask] + wish;
}

/* All chains whose last group has this shape, costs this much by itself and goes on from there. */
static inline void end_group(const Search *s, const Way *entry, int shape, int32_t own, Way *exit)
{
    for (size_t k = 0; k < s->wanted && entry[k].cost != no_way; k++)
        if (!offer(exit, s->wanted, (Way){entry[k].cost + own, (uint8_t)shape, (uint8_t)k}))
            return;
}

/* Each group that ends here, begun afresh, and on the turn of the one before. */
static void end_groups(const Search *s, size_t end)
{
    const Stop *here = &s->rules->stops[end];
    const MaskKind *kinds = s->kinds[here->way > 0];
    int most = here->in_row < s->largest ? here->in_row : s->largest;
    for (int mask = 1; mask < MASKS; mask++) {
        const MaskKind *kind = &kinds[mask];
        if (kind->size > most)
            continue;
        int32_t own = own_cost(s, end, mask);
        if (own >= COST_IMPOSSIBLE)
            continue;
        Way *exit = place(s, end, EXITS + kind->exit);
        if (kind->size == end + 1) {
            offer(exit, s->wanted, (Way){own, (uint8_t)mask, 0});
            continue;
        }
        end_group(s, place(s, end - kind->size, ENTRIES + kind->entry), mask, own, exit);
        const Way *pivot = place(s, end + 1 - kind->size, PIVOTS + kind->first);
        if (kind->size < 2 || pivot->cost == no_way)
            continue;
        if (s->wishes)
            own = own_cost(s, end, mask | SHAPE_PIVOT);
        end_group(s, pivot, mask | SHAPE_PIVOT, own, exit);
    }
}

static void sweep(Search *s)
{
    for (size_t end = 0; end < s->rules->count; end++) {
        Way *places = place(s, end, 0);
        for (size_t i = 0; i < PLACES * s->wanted; i++)
            places[i] = (Way){.cost = no_way};
        add_up(s, end);
        end_groups(s, end);
        if (end + 1 < s->rules->count) {
            price_entries(s, end);
            keep_backs(s, end);
            continue;
        }
        for (size_t k = 0; k < s->wanted; k++)
            s->last[k] = (Way){.cost = no_way};
        for (int c = 0; c < CLASSES; c++)
            offer_all(s->last, s->wanted, place(s, end, EXITS + c), 0);
    }
}

/* Follows the backs from the end; false without memory. */
static bool walk_back(const Search *s, const Way *way, Chain *out)
{
    size_t end = s->rules->count - 1, count = 0;
    int shape = way->shape, rank = way->rank;
    *out = (Chain){.cost = way->cost, .groups = malloc(s->rules->count * sizeof *out->groups)};
    if (out->groups == NULL)
        return false;
    for (;;) {
        out->groups[count++] = (ChainLink){(int32_t)end, shape};
        if (shape_start(end, shape) == 0)
            break;
        const MaskKind *kind = &s->kinds[s->rules->stops[end].way > 0][shape & (MASKS - 1)];
        bool pivot = (shape & SHAPE_PIVOT) != 0;
        end -= kind->size - (pivot ? 1u : 0u);
        int from = back(s, end, pivot ? PIVOTS + kind->first : ENTRIES + kind->entry)[rank];
        shape = from & (SHAPES - 1);
        rank = from >> RANK_SHIFT;
    }
    for (size_t i = 0; i < count / 2; i++) {
        ChainLink swap = out->groups[i];
        out->groups[i] = out->groups[count - 1 - i];
        out->groups[count - 1 - i] = swap;
    }
    out->count = count;
    return true;
}

int search_chains(const Rules *r, int wanted, Chain *out)
{
    int found = 0;
    size_t most = wanted > FINGERING_PLANS_MAX ? FINGERING_PLANS_MAX : (size_t)wanted;
    Search s = {.rules = r,
        .wanted = most,
        .largest = rules_largest(r),
        .wishes = rules_have_wishes(r),
        .ring = malloc(most * RING * PLACES * sizeof *s.ring),
        .backs = malloc(r->count * BACKS * most),
        .tables = calloc(LINK_TABLES, sizeof *s.tables)};
    if (s.ring != NULL && s.backs != NULL && s.tables != NULL) {
        fill_tables(&s);
        sweep(&s);
        while (found < (int)most && s.last[found].cost != no_way &&
               walk_back(&s, &s.last[found], &out[found]))
            found++;
    }
    free(s.ring);
    free(s.tables);
    free(s.backs);
    return found;
}

void chain_free(Chain *chain)
{
    free(chain->groups);
    *chain = (Chain){0};
}
