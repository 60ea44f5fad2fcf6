/* Exact dynamic programming over groups.
 *
 *     best[end][shape] = own(shape) + min over groups that end just before it of
 *                        best[before][previous] + link(previous, shape)
 *
 * What a link costs depends of the two groups only on their sizes and on the fingers that meet
 * (their class), and of the place only on a few numbers that hardly change along a scale. So
 * each stop first sorts the groups that end there into classes ("exits"), then prices every
 * class of group that may begin behind it ("entries"), with a table of link costs that is kept
 * from stop to stop. For K plans each of these holds its K best.
 */
#include "fingering_search.h"

#include <stdlib.h>
#include <string.h>

enum { CLASSES = 25, RING = 8, TABLES = 127, KEPT = FINGERING_PLANS_MAX };

typedef struct {
    int64_t cost;
    uint8_t shape, rank; /* of the group that ends there: where this came from */
} Way;

/* The K cheapest, rising. */
typedef struct {
    Way way[KEPT];
    int count;
} Best;

/* For groups that end on one stop, and those that begin behind it. */
typedef struct {
    Best exits[CLASSES];   /* by size and last finger */
    Best entries[CLASSES]; /* by size and first finger */
    Best pivots[5];        /* by the finger that stays */
} Joint;

/* What a link's cost depends on, besides the classes of the two groups. */
typedef struct {
    int gap, chords, a_way, b_way;
    int64_t micros;
    bool breath, valid;
} LinkKind;

typedef struct {
    LinkKind kind;
    int32_t cost[CLASSES][CLASSES];
} LinkTable;

typedef struct {
    uint8_t shape, rank;
} Back;

typedef struct {
    const Rules *rules;
    int wanted;
    Joint *ring;       /* the latest RING stops */
    Back *backs;       /* [(end * SHAPES + shape) * wanted + rank] */
    LinkTable *tables; /* [TABLES]: a passage has few kinds of links, again and again */
    LinkTable *links;  /* the one in use */
    Best last;         /* chains that end on the last stop */
} Search;

static int class_of(int size, int finger)
{
    return size * 5 + finger;
}

/* Puts a way among the best, behind those that cost the same. */
static void offer(Best *best, int wanted, Way way)
{
    int at = best->count;
    if (at == wanted && way.cost >= best->way[at - 1].cost)
        return;
    if (at < wanted)
        best->count++;
    else
        at--;
    for (; at > 0 && best->way[at - 1].cost > way.cost; at--)
        best->way[at] = best->way[at - 1];
    best->way[at] = way;
}

/* Fingers that can be first (or last) in a group of this size going this way. */
static void finger_range(int size, int way, bool first, int *low, int *high)
{
    bool high_number = (way > 0) == first;
    *low = size == 1 ? 1 : high_number ? size : 1;
    *high = size == 1 ? 4 : high_number ? 4 : 5 - size;
}

static int way_into(const Rules *r, size_t stop)
{
    return stop < r->count ? r->stops[stop].way : 0;
}

static void fill_links(Search *s, size_t end)
{
    const Rules *r = s->rules;
    LinkTable *t = s->links;
    for (int a_size = 1; a_size <= 4; a_size++)
        for (int b_size = 1; b_size <= 4; b_size++) {
            int a_low, a_high, b_low, b_high;
            finger_range(a_size, t->kind.a_way, false, &a_low, &a_high);
            finger_range(b_size, t->kind.b_way, true, &b_low, &b_high);
            for (int last = a_low; last <= a_high; last++)
                for (int first = b_low; first <= b_high; first++) {
                    GroupEnds a = {
                        (int8_t)a_size, (int8_t)(a_size > 1 ? t->kind.a_way : 0), 0, (int8_t)last};
                    GroupEnds b = {
                        (int8_t)b_size, (int8_t)(b_size > 1 ? t->kind.b_way : 0), (int8_t)first, 0};
                    Link link;
                    t->cost[class_of(a_size, last)][class_of(b_size, first)] =
                        rules_link(r, end, &a, &b, false, &link);
                }
        }
}

static bool same_kind(const LinkKind *a, const LinkKind *b)
{
    return a->valid && a->gap == b->gap && a->chords == b->chords && a->micros == b->micros &&
           a->breath == b->breath && a->a_way == b->a_way && a->b_way == b->b_way;
}

/* Where a kind of link has its table; another kind may have to give way. */
static size_t table_of(const LinkKind *kind)
{
    size_t hash = (size_t)(kind->gap + 64) * 31 + (size_t)(kind->micros % 1021);
    hash = hash * 3 + (size_t)(kind->a_way + 1);
    hash = hash * 3 + (size_t)(kind->b_way + 1);
    return (hash * 8 + (size_t)kind->chords * 2 + (kind->breath ? 1 : 0)) % TABLES;
}

/* The table for the link behind stop `end`; made anew only where it is not kept. */
static void use_links(Search *s, size_t end)
{
    const Rules *r = s->rules;
    const Stop *here = &r->stops[end], *next = here + 1;
    LinkKind kind = {.gap = next->string - here->string,
        .chords = (here->chord > 1 ? 1 : 0) + (next->chord > 1 ? 2 : 0),
        .a_way = way_into(r, end),
        .b_way = way_into(r, end + 2),
        .micros = next->microseconds,
        .breath = next->breath,
        .valid = true};
    LinkTable *table = &s->tables[table_of(&kind)];
    s->links = table;
    if (same_kind(&table->kind, &kind))
        return;
    table->kind = kind;
    fill_links(s, end);
}

static void add_exit(Search *s, Best *exit, int32_t cost, const Best *from)
{
    for (int k = 0; k < from->count; k++)
        offer(exit, s->wanted,
            (Way){from->way[k].cost + cost, from->way[k].shape, from->way[k].rank});
}

static void price_entries(Search *s, size_t end, Joint *joint)
{
    use_links(s, end);
    int exits[CLASSES], used = 0; /* the classes that occur */
    for (int c = 0; c < CLASSES; c++) {
        joint->entries[c].count = 0;
        if (joint->exits[c].count > 0)
            exits[used++] = c;
    }
    for (int finger = 0; finger < 5; finger++)
        joint->pivots[finger].count = 0;
    for (int b_size = 1; b_size <= 4; b_size++) {
        int low, high;
        finger_range(b_size, s->links->kind.b_way, true, &low, &high);
        for (int first = low; first <= high; first++) {
            int b = class_of(b_size, first);
            for (int i = 0; i < used; i++)
                if (s->links->cost[exits[i]][b] < COST_IMPOSSIBLE)
                    add_exit(s, &joint->entries[b], s->links->cost[exits[i]][b],
                        &joint->exits[exits[i]]);
        }
    }
    /* A pivot: the way turns here, and the finger stays. */
    if (s->rules->options.lifted || s->rules->alternate || s->links->kind.a_way == 0 ||
        way_into(s->rules, end + 1) != -s->links->kind.a_way)
        return;
    for (int size = 2; size <= 4; size++)
        for (int finger = 1; finger <= 4; finger++)
            if (joint->exits[class_of(size, finger)].count > 0)
                add_exit(
                    s, &joint->pivots[finger], COST_REPLACE, &joint->exits[class_of(size, finger)]);
}

static const Best *entry_of(const Search *s, size_t end, int shape, const GroupEnds *ends)
{
    size_t start = shape_start(end, shape);
    if ((shape & SHAPE_PIVOT) != 0)
        return &s->ring[start % RING].pivots[ends->first_finger];
    return &s->ring[(start - 1) % RING].entries[class_of(ends->size, ends->first_finger)];
}

/* All chains whose last group has this shape, costs this much by itself and ends here. */
static void end_group(Search *s, size_t end, int shape, int32_t own, Joint *joint)
{
    if (own >= COST_IMPOSSIBLE)
        return;
    GroupEnds ends = rules_ends(s->rules, end, shape);
    Best *exit = &joint->exits[class_of(ends.size, ends.last_finger)];
    if ((size_t)ends.size == end + 1) {
        offer(exit, s->wanted, (Way){own, (uint8_t)shape, 0});
        return;
    }
    const Best *entry = entry_of(s, end, shape, &ends);
    for (int k = 0; k < entry->count; k++) {
        s->backs[(end * SHAPES + (size_t)shape) * (size_t)s->wanted + (size_t)k] =
            (Back){entry->way[k].shape, entry->way[k].rank};
        offer(exit, s->wanted, (Way){entry->way[k].cost + own, (uint8_t)shape, (uint8_t)k});
    }
}

/* Both kinds of group with these fingers: begun afresh, and on the turn of the one before. */
static void end_mask(Search *s, size_t end, int mask, Joint *joint)
{
    size_t size = (size_t)shape_size(mask);
    if (size > (size_t)s->rules->stops[end].in_row)
        return;
    int32_t own = rules_group(s->rules, end, mask);
    end_group(s, end, mask, own, joint);
    if (size < 2 || size > end || own >= COST_IMPOSSIBLE)
        return;
    if (s->rules->options.start != GROUPS_ANYWHERE)
        own = rules_group(s->rules, end, mask | SHAPE_PIVOT);
    end_group(s, end, mask | SHAPE_PIVOT, own, joint);
}

static void sweep(Search *s)
{
    for (size_t end = 0; end < s->rules->count; end++) {
        Joint *joint = &s->ring[end % RING];
        for (int c = 0; c < CLASSES; c++)
            joint->exits[c].count = 0;
        for (int mask = 1; mask < SHAPE_PIVOT; mask++)
            end_mask(s, end, mask, joint);
        if (end + 1 < s->rules->count)
            price_entries(s, end, joint);
        else
            for (int c = 0; c < CLASSES; c++)
                add_exit(s, &s->last, 0, &joint->exits[c]);
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
        size_t start = shape_start(end, shape);
        if (start == 0)
            break;
        Back back = s->backs[(end * SHAPES + (size_t)shape) * (size_t)s->wanted + (size_t)rank];
        end = (shape & SHAPE_PIVOT) != 0 ? start : start - 1;
        shape = back.shape;
        rank = back.rank;
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
    Search s = {.rules = r, .wanted = wanted > KEPT ? KEPT : wanted};
    int found = 0;
    s.ring = malloc(RING * sizeof *s.ring);
    s.backs = malloc(r->count * SHAPES * (size_t)s.wanted * sizeof *s.backs);
    s.tables = calloc(TABLES, sizeof *s.tables);
    if (s.ring != NULL && s.backs != NULL && s.tables != NULL) {
        sweep(&s);
        while (found < s.last.count && walk_back(&s, &s.last.way[found], &out[found]))
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
