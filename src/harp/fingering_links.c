#include "fingering_links.h"

#include <stdlib.h>

static const int8_t first_class[6] = {0, 0, 4, 7, 9, CLASSES}; /* of each size */

/* Fingers that can be first (or last) in a group of this size going this way: from here on. */
static int lowest_finger(int size, int way, bool first)
{
    return (way > 0) == first ? size : 1;
}

int class_of(int size, int way, bool first, int finger)
{
    return first_class[size] + finger - (size > 1 ? lowest_finger(size, way, first) : 1);
}

int class_size(int class)
{
    return class < 4 ? 1 : class < 7 ? 2 : class < 9 ? 3 : 4;
}

int class_finger(int class, int way, bool first)
{
    int size = class_size(class);
    return class - first_class[size] + (size > 1 ? lowest_finger(size, way, first) : 1);
}

static int way_into(const Rules *r, size_t stop)
{
    return stop < r->count ? r->stops[stop].way : 0;
}

static LinkKind kind_behind(const Rules *r, size_t end)
{
    const Stop *here = &r->stops[end], *next = here + 1;
    LinkKind kind = {.breath = next->breath, .known = true};
    int gap = next->string - here->string;
    kind.blocks = here->chord > 1 && next->chord > 1;
    bool crosses = here->chord == 1 && next->chord == 1 && gap != 0 && abs(gap) <= CROSSING_REACH;
    if (!crosses || kind.breath || r->options.lifted || r->alternate)
        return kind;
    kind.gap = gap;
    kind.a_way = way_into(r, end);
    kind.b_way = way_into(r, end + 2);
    kind.micros = next->microseconds;
    return kind;
}

static bool same_kind(const LinkKind *a, const LinkKind *b)
{
    return a->gap == b->gap && a->micros == b->micros && a->a_way == b->a_way &&
           a->b_way == b->b_way && a->breath == b->breath && a->blocks == b->blocks &&
           a->known == b->known;
}

/* Where a kind of link has its table; another kind may have to give way. */
static size_t table_of(const LinkKind *kind)
{
    uint64_t hash = (uint64_t)kind->micros * 16 + (uint64_t)(kind->gap + CROSSING_REACH);
    hash = hash * 9 + (uint64_t)(3 * (kind->a_way + 1) + kind->b_way + 1);
    hash = hash * 4 + (kind->blocks ? 2 : 0) + (kind->breath ? 1 : 0);
    return (hash * 0x9E3779B97F4A7C15u >> 32) % LINK_TABLES; /* the golden ratio spreads it */
}

static void fill(LinkTable *t, const Rules *r, size_t end)
{
    for (int a = 0; a < CLASSES; a++)
        for (int b = 0; b < CLASSES; b++) {
            int a_size = class_size(a), b_size = class_size(b);
            GroupEnds from = {.size = (int8_t)a_size,
                .last_way = (int8_t)(a_size > 1 ? t->kind.a_way : 0),
                .last_finger = (int8_t)class_finger(a, t->kind.a_way, false)};
            GroupEnds to = {.size = (int8_t)b_size,
                .first_way = (int8_t)(b_size > 1 ? t->kind.b_way : 0),
                .first_finger = (int8_t)class_finger(b, t->kind.b_way, true)};
            Link link;
            t->cost[b][a] = rules_link(r, end, &from, &to, false, &link);
        }
}

const LinkTable *links_behind(LinkTable tables[LINK_TABLES], const Rules *r, size_t end)
{
    LinkKind kind = kind_behind(r, end);
    LinkTable *table = &tables[table_of(&kind)];
    if (!same_kind(&table->kind, &kind)) {
        table->kind = kind;
        fill(table, r, end);
    }
    return table;
}
