/* The search against trying everything: all chains of groups of random passages. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/harp/fingering_search.h"
#include "../tools/passages.h"

#include <stdlib.h>
#include <string.h>

enum { PLANS = 5, COSTS = 200000 };

typedef struct {
    const Rules *rules;
    int64_t bound;  /* chains that cost more are not followed: no cost is negative */
    int64_t *costs; /* of every chain within the bound */
    size_t count;
    bool met; /* a chain within the bound had a group to and fro */
} Everything;

static void try_from(Everything *e, size_t next, const GroupEnds *before, int64_t so_far);

static void try_group(
    Everything *e, size_t next, const GroupEnds *before, const ChainLink *group, int64_t so_far)
{
    const Rules *r = e->rules;
    bool pivot = (group->shape & SHAPE_PIVOT) != 0;
    int64_t own = rules_group(r, group);
    if (own >= COST_IMPOSSIBLE)
        return;
    GroupEnds ends = rules_ends(r, group);
    Link link;
    int64_t joint = before == NULL ? 0 : rules_link(r, next - 1, before, &ends, pivot, &link);
    if (joint >= COST_IMPOSSIBLE)
        return;
    e->met = e->met || ends.across;
    try_from(e, (size_t)group->end + 1, &ends, so_far + own + joint);
}

static void try_from(Everything *e, size_t next, const GroupEnds *before, int64_t so_far)
{
    const Rules *r = e->rules;
    if (so_far > e->bound)
        return;
    if (next == r->count) {
        assert_true(e->count < COSTS);
        e->costs[e->count++] = so_far;
        return;
    }
    for (int shape = 1; shape < 2 * SHAPE_ACROSS; shape++) {
        int32_t size = shape_size(shape);
        bool pivot = (shape & SHAPE_PIVOT) != 0, across = (shape & SHAPE_ACROSS) != 0;
        if (size == 0 || (pivot && (size < 2 || before == NULL)))
            continue;
        ChainLink group = {.start = (int32_t)next - (pivot ? 1 : 0), .shape = shape};
        int32_t first = group.start + (across ? 0 : size - 1);
        int32_t last = across ? (int32_t)r->count - 1 : first;
        for (group.end = first; group.end <= last && (size_t)group.end < r->count; group.end++)
            try_group(e, next, before, &group, so_far);
    }
}

static int by_cost(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return x < y ? -1 : x > y;
}

/* Fingers that figures had before, at their several prices. */
static void wish_at_random(Rules *r, Random *random)
{
    static const int32_t prices[] = {COST_CHANGED, COST_CHANGED_MOVED, COST_CHANGED_PART};
    for (size_t i = 0; i < r->count; i++) {
        r->stops[i].wanted = (uint8_t)random_between(random, 0, 4);
        r->stops[i].wanted_cost = prices[random_between(random, 0, 2)];
    }
}

/* `random`: with wishes; NULL without. */
static bool check(const Passage *p, const FingeringOptions *o, const uint8_t *marks, Random *random)
{
    Rules r;
    Chain chains[PLANS];
    static int64_t costs[COSTS];
    assert_true(rules_make(&r, p, o, marks));
    if (random != NULL)
        wish_at_random(&r, random);
    int found = search_chains(&r, PLANS, chains);
    assert_true(found >= 1);
    Everything e = {.rules = &r, .bound = chains[found - 1].cost, .costs = costs};
    if (found < PLANS)
        e.bound = INT64_MAX / 4; /* there are no more: count them all */
    try_from(&e, 0, NULL, 0);
    qsort(costs, e.count, sizeof *costs, by_cost);
    assert_true(e.count >= (size_t)found);
    for (int i = 0; i < found; i++)
        assert_int_equal(chains[i].cost, costs[i]);
    if (found < PLANS)
        assert_int_equal(e.count, found);
    for (int i = 0; i < found; i++) /* distinct */
        for (int k = 0; k < i; k++)
            assert_false(chains[i].count == chains[k].count &&
                         memcmp(chains[i].groups, chains[k].groups,
                             chains[i].count * sizeof *chains[i].groups) == 0);
    for (int i = 0; i < found; i++)
        chain_free(&chains[i]);
    rules_free(&r);
    return e.met;
}

static FingeringOptions random_options(Random *r)
{
    return (FingeringOptions){.largest_group = random_between(r, 3, 4),
        .tempo = tempo(ratio_int(1), ratio_int(random_between(r, 30, 300))),
        .small = (SmallPlace)random_between(r, 0, 2),
        .small_letter = (Letter)random_between(r, 0, 6),
        .octaves = random_between(r, 0, 4) == 0,
        .avoid_twos = random_between(r, 0, 3) == 0,
        .lifted = random_between(r, 0, 9) == 0,
        .start = (GroupStart)random_between(r, 0, 2)};
}

static void equal_to_trying_everything(void **state)
{
    (void)state;
    Random r = {.state = 31};
    for (int round = 0; round < 4000; round++) {
        Passage *p = passage_random(&r, 10);
        uint8_t marks[16] = {0};
        FingeringOptions o = random_options(&r);
        if (random_between(&r, 0, 2) == 0)
            for (size_t i = 0; i < p->note_count; i++)
                marks[i] = (uint8_t)(random_between(&r, 0, 2) ? 0 : random_between(&r, 1, 4));
        check(p, &o, marks, round % 4 == 0 ? &r : NULL);
        passage_free(p);
    }
}

static void random_marks(Random *r, size_t count, uint8_t marks[16])
{
    for (size_t i = 0; i < count; i++)
        marks[i] = (uint8_t)(random_between(r, 0, 3) ? 0 : random_between(r, 1, 4));
}

static void to_and_fro_too(void **state)
{
    (void)state;
    Random r = {.state = 77};
    int met = 0;
    for (int round = 0; round < 3000; round++) {
        Passage *p = passage_to_and_fro(&r, 12);
        uint8_t marks[16] = {0};
        FingeringOptions o = random_options(&r);
        if (random_between(&r, 0, 3) == 0)
            random_marks(&r, p->note_count, marks);
        met += check(p, &o, marks, round % 4 == 0 ? &r : NULL);
        passage_free(p);
    }
    assert_true(met > 1000); /* the property was put to the test */
}

static void scales_too(void **state)
{
    (void)state;
    uint8_t marks[16] = {0};
    for (int count = 1; count <= 10; count++)
        for (int step = -2; step <= 2; step++) {
            if (step == 0)
                continue;
            Passage *p = passage_scale(30, count, step, ratio(1, 4));
            FingeringOptions o = {0};
            check(p, &o, marks, NULL);
            passage_free(p);
        }
}

static int32_t link_price(int per_minute, int way, int lower, int upper)
{
    Passage *p = passage_scale(way > 0 ? 20 : 40, 9, way, ratio(1, 4));
    FingeringOptions o = {.tempo = tempo(ratio_int(1), ratio_int(per_minute))};
    uint8_t marks[16] = {0};
    Rules r;
    Link link;
    assert_true(rules_make(&r, p, &o, marks));
    /* Up: from the lower group's thumb to the upper's first finger. Down: to the lower's thumb. */
    GroupEnds low = {(int8_t)lower, (int8_t)way, (int8_t)way, way > 0 ? (int8_t)lower : 1,
        way > 0 ? 1 : (int8_t)lower, false};
    GroupEnds high = {(int8_t)upper, (int8_t)way, (int8_t)way, way > 0 ? (int8_t)upper : 1,
        way > 0 ? 1 : (int8_t)upper, false};
    int32_t price = way > 0 ? rules_link(&r, 4, &low, &high, false, &link)
                            : rules_link(&r, 4, &high, &low, false, &link);
    assert_int_equal(link, way > 0 ? LINK_CROSS_UNDER : LINK_CROSS_OVER);
    rules_free(&r);
    passage_free(p);
    return price;
}

/* The budget of a link is (u - 1) notes, u the UPPER group's size, whichever way it goes: dearer
 * with tempo and as the upper group shrinks; the lower group's size does not matter to it. [own,
 * trade-facts 1.8] */
static void a_links_time_is_the_upper_groups(void **state)
{
    (void)state;
    for (int way = -1; way <= 1; way += 2) {
        for (int upper = 2; upper <= 4; upper++)
            assert_true(link_price(180, way, 4, upper) > link_price(60, way, 4, upper));
        assert_true(link_price(120, way, 4, 2) > link_price(120, way, 4, 3));
        assert_true(link_price(120, way, 4, 3) > link_price(120, way, 4, 4));
        assert_int_equal(link_price(120, way, 4, 3), link_price(120, way, 3, 3));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(equal_to_trying_everything),
        cmocka_unit_test(to_and_fro_too),
        cmocka_unit_test(scales_too),
        cmocka_unit_test(a_links_time_is_the_upper_groups),
    };
    return cmocka_run_group_tests_name("fingering exact", tests, NULL, NULL);
}
