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

#include "fingering_across.h"
#include "fingering_fro.h"
#include "fingering_links.h"

#include <stdlib.h>

enum {
    FRO_EXITS = 0, /* places of ways: groups to and fro that end on a stop, by their last finger, */
    EXITS = 4,     /* the other groups by class, */
    ENTRIES = EXITS + CLASSES,      /* by class the groups that begin behind it, */
    PIVOTS = ENTRIES + CLASSES - 1, /* by the finger, from 1 on, that stays on it, */
    FRO_ENTRY = PIVOTS + 5,         /* and the groups to and fro that begin behind it */
    PLACES,
    BACKS = PLACES - ENTRIES, /* entries and pivots remember where they came from */
    RING = 8,
    MASKS = 16,
    GAPS = 16, /* stretches over fewer strings stand in a table */
    PAIRS = 6, /* of two fingers */
    RANK_SHIFT = 5
};

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
    Way *ring;                 /* [(end % RING * PLACES + place) * wanted + rank] */
    uint8_t *backs;            /* [(end * BACKS + place - ENTRIES) * wanted + rank]: shape, rank */
    int32_t *starts;           /* likewise: start; NULL without groups to and fro */
    bool *ended;               /* [end]: whether one ends there, else `starts` says nothing */
    Fro *fro;                  /* NULL without them */
    LinkTable *tables;         /* [LINK_TABLES] */
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

static size_t back(const Search *s, size_t end, int number)
{
    return (end * BACKS + (size_t)(number - ENTRIES)) * s->wanted;
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
    *best = *place(s, end, EXITS + from);
    best->cost = least;
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

static bool turns_at(const Rules *r, size_t end)
{
    int way = r->stops[end].way;
    return !r->options.lifted && !r->alternate && way != 0 && r->stops[end + 1].way == -way;
}

/* Likewise from groups to and fro, which have ended on a turn or where the hand is free, and into
 * them: nothing crosses there. */
static void price_fro(const Search *s, size_t end, const Exits *exits, int most)
{
    const Rules *r = s->rules;
    int32_t apart = r->stops[end + 1].breath ? 0 : COST_LIFT;
    bool from = across_from(r, end + 1), turns = turns_at(r, end);
    Way *entry = place(s, end, FRO_ENTRY);
    for (int i = 0; from && i < exits->count; i++)
        offer_all(entry, s->wanted, place(s, end, EXITS + exits->classes[i]), apart);
    for (int finger = 1; finger <= 4; finger++) {
        const Way *exit = place(s, end, FRO_EXITS + finger - 1);
        if (exit->cost == no_way)
            continue;
        s->ended[end] = true;
        for (int b = 0; b < CLASSES && class_size(b) <= most; b++)
            offer_all(place(s, end, ENTRIES + b), s->wanted, exit, apart);
        if (from)
            offer_all(entry, s->wanted, exit, apart);
        if (turns)
            offer_all(place(s, end, PIVOTS + finger), s->wanted, exit, COST_REPLACE);
    }
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
    if (s->fro != NULL)
        price_fro(s, end, &exits, most);
    if (!turns_at(r, end))
        return; /* else a pivot: the finger stays */
    for (int i = 0; i < exits.count; i++)
        if (class_size(exits.classes[i]) > 1)
            offer_all(place(s, end, PIVOTS + class_finger(exits.classes[i], way, false)), s->wanted,
                place(s, end, EXITS + exits.classes[i]), COST_REPLACE);
}

static void keep_backs(Search *s, size_t end)
{
    const Way *from = place(s, end, ENTRIES);
    size_t to = back(s, end, ENTRIES), count = BACKS * s->wanted;
    for (size_t i = 0; i < count; i++)
        s->backs[to + i] = (uint8_t)((from[i].shape & (SHAPES - 1)) | from[i].rank << RANK_SHIFT);
    for (size_t i = 0; s->ended != NULL && s->ended[end] && i < count; i++)
        s->starts[to + i] = from[i].start;
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
    if (s->rules->stops[end].chord > 1) {
        ChainLink chord = group_one_way(end, shape);
        return rules_group(s->rules, &chord);
    }
    int32_t wish = s->wishes ? rules_wish(s->rules, end, shape) : 0;
    return s->shapes[mask] + s->sums[end % RING][mask] + wish;
}

/* All chains whose last group has this shape, costs this much by itself and goes on from there. */
static inline void end_group(const Search *s, const Way *entry, int shape, int32_t own, Way *exit)
{
    for (size_t k = 0; k < s->wanted && entry[k].cost != no_way; k++)
        if (!offer(exit, s->wanted, (Way){entry[k].cost + own, -1, (uint8_t)shape, (uint8_t)k}))
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
            offer(exit, s->wanted, (Way){own, -1, (uint8_t)mask, 0});
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

static void end_fro(const Search *s, size_t end)
{
    FroDoors doors = {.entry = end > 1 ? place(s, end - 2, FRO_ENTRY) : NULL,
        .pivots = place(s, end - 1, PIVOTS + 1),
        .exits = place(s, end, FRO_EXITS)};
    fro_step(s->fro, end, &doors);
}

static void sweep(Search *s)
{
    for (size_t end = 0; end < s->rules->count; end++) {
        ways_clear(place(s, end, 0), PLACES * s->wanted);
        add_up(s, end);
        end_groups(s, end);
        if (s->fro != NULL && end > 0)
            end_fro(s, end);
        if (end + 1 < s->rules->count) {
            price_entries(s, end);
            keep_backs(s, end);
            continue;
        }
        ways_clear(s->last, s->wanted);
        for (int c = FRO_EXITS; c < EXITS + CLASSES; c++)
            offer_all(s->last, s->wanted, place(s, end, c), 0);
    }
}

/* The place of the ways into a group. */
static int place_before(const Search *s, const ChainLink *group)
{
    bool pivot = (group->shape & SHAPE_PIVOT) != 0;
    if ((group->shape & SHAPE_ACROSS) != 0)
        return pivot ? PIVOTS + rules_ends(s->rules, group).first_finger : FRO_ENTRY;
    bool up = s->rules->stops[group->end].way > 0;
    const MaskKind *kind = &s->kinds[up][group->shape & (MASKS - 1)];
    return pivot ? PIVOTS + kind->first : ENTRIES + kind->entry;
}

/* Follows the backs from the end; false without memory. */
static bool walk_back(const Search *s, const Way *way, Chain *out)
{
    size_t end = s->rules->count - 1, count = 0;
    int shape = way->shape & (SHAPES - 1), rank = way->rank;
    int32_t start = way->start;
    *out = (Chain){.cost = way->cost, .groups = malloc(s->rules->count * sizeof *out->groups)};
    if (out->groups == NULL)
        return false;
    for (;;) {
        ChainLink *group = &out->groups[count++];
        *group = start >= 0 ? (ChainLink){start, (int32_t)end, shape | SHAPE_ACROSS}
                            : group_one_way(end, shape);
        if (group->start == 0)
            break;
        end = (size_t)(group->start - ((shape & SHAPE_PIVOT) != 0 ? 0 : 1));
        size_t at = back(s, end, place_before(s, group)) + (size_t)rank;
        shape = s->backs[at] & (SHAPES - 1);
        rank = s->backs[at] >> RANK_SHIFT;
        start = s->ended != NULL && s->ended[end] ? s->starts[at] : -1;
    }
    for (size_t i = 0; i < count / 2; i++) {
        ChainLink swap = out->groups[i];
        out->groups[i] = out->groups[count - 1 - i];
        out->groups[count - 1 - i] = swap;
    }
    out->count = count;
    return true;
}

/* False without memory. */
static bool search_open(Search *s, const Rules *r, size_t wanted)
{
    bool fro = fro_possible(r);
    *s = (Search){
        .rules = r, .wanted = wanted, .largest = rules_largest(r), .wishes = rules_have_wishes(r)};
    size_t backs = r->count * BACKS * wanted;
    s->ring = malloc(wanted * RING * PLACES * sizeof *s->ring);
    s->backs = malloc(backs);
    s->tables = calloc(LINK_TABLES, sizeof *s->tables);
    s->starts = fro ? malloc(backs * sizeof *s->starts) : NULL;
    s->ended = fro ? calloc(r->count, sizeof *s->ended) : NULL;
    s->fro = fro ? fro_make(r, wanted) : NULL;
    return s->ring != NULL && s->backs != NULL && s->tables != NULL &&
           (!fro || (s->starts != NULL && s->ended != NULL && s->fro != NULL));
}

static void search_close(Search *s)
{
    fro_free(s->fro);
    free(s->ended);
    free(s->starts);
    free(s->tables);
    free(s->backs);
    free(s->ring);
}

int search_chains(const Rules *r, int wanted, Chain *out)
{
    int found = 0;
    Search s;
    size_t most = wanted > FINGERING_PLANS_MAX ? FINGERING_PLANS_MAX : (size_t)wanted;
    if (search_open(&s, r, most)) {
        fill_tables(&s);
        sweep(&s);
        while (found < (int)most && s.last[found].cost != no_way &&
               walk_back(&s, &s.last[found], &out[found]))
            found++;
    }
    search_close(&s);
    return found;
}

void chain_free(Chain *chain)
{
    free(chain->groups);
    *chain = (Chain){0};
}
