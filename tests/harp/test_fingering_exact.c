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

enum { PLANS = 5, COSTS = 20000 };

typedef struct {
    const Rules *rules;
    int64_t bound;  /* chains that cost more are not followed: no cost is negative */
    int64_t *costs; /* of every chain within the bound */
    size_t count;
} Everything;

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
    for (int shape = 1; shape < SHAPES; shape++) {
        size_t size = (size_t)shape_size(shape);
        bool pivot = (shape & SHAPE_PIVOT) != 0;
        if (size == 0 || (pivot && (size < 2 || before == NULL)))
            continue;
        size_t end = next + size - 1 - (pivot ? 1 : 0);
        if (end >= r->count)
            continue;
        int64_t own = rules_group(r, end, shape);
        if (own >= COST_IMPOSSIBLE)
            continue;
        GroupEnds ends = rules_ends(r, end, shape);
        Link link;
        int64_t joint = before == NULL ? 0 : rules_link(r, next - 1, before, &ends, pivot, &link);
        if (joint < COST_IMPOSSIBLE)
            try_from(e, end + 1, &ends, so_far + own + joint);
    }
}

static int by_cost(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return x < y ? -1 : x > y;
}

static void check(const Passage *p, const FingeringOptions *o, const uint8_t *marks)
{
    Rules r;
    Chain chains[PLANS];
    static int64_t costs[COSTS];
    assert_true(rules_make(&r, p, o, marks));
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
        check(p, &o, marks);
        passage_free(p);
    }
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
            check(p, &o, marks);
            passage_free(p);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(equal_to_trying_everything),
        cmocka_unit_test(scales_too),
    };
    return cmocka_run_group_tests_name("fingering exact", tests, NULL, NULL);
}
