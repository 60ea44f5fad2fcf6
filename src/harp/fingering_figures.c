#include "fingering_figures.h"

#include <stdlib.h>
#include <string.h>

typedef struct {
    size_t first, count; /* stops */
    uint64_t hash;
} Run;

/* One past the last stop of the run that begins on stop i. A turning stop ends one run and
 * begins the next. */
static size_t run_end(const Rules *r, size_t i)
{
    size_t end = i + 1;
    int way = 0;
    while (end < r->count && !r->stops[end].breath) {
        int step = stop_way(&r->stops[end - 1], &r->stops[end]);
        if (step == 0 || (way != 0 && step != way))
            break;
        way = step;
        end++;
    }
    return end;
}

/* FNV-1a over the strings [public domain, Fowler, Noll, Vo]. */
static uint64_t hash_of(const Rules *r, size_t first, size_t count)
{
    uint64_t hash = 14695981039346656037u;
    for (size_t i = 0; i < count; i++) {
        hash ^= (uint64_t)(uint32_t)r->stops[first + i].string;
        hash *= 1099511628211u;
    }
    return hash;
}

static int by_hash_then_place(const void *a, const void *b)
{
    const Run *x = a, *y = b;
    if (x->hash != y->hash)
        return x->hash < y->hash ? -1 : 1;
    return x->first < y->first ? -1 : x->first > y->first;
}

static size_t find_runs(const Rules *r, Run *runs)
{
    size_t count = 0;
    for (size_t i = 0; i < r->count;) {
        size_t end = run_end(r, i);
        if (end - i >= FIGURE_STOPS)
            runs[count++] = (Run){i, end - i, hash_of(r, i, end - i)};
        bool turns = end < r->count && end - i > 1 && !r->stops[end].breath &&
                     stop_way(&r->stops[end - 1], &r->stops[end]) != 0;
        i = turns ? end - 1 : end;
    }
    return count;
}

static bool same_run(const Rules *r, const Run *a, const Run *b)
{
    if (a->hash != b->hash || a->count != b->count)
        return false;
    for (size_t i = 0; i < a->count; i++)
        if (r->stops[a->first + i].string != r->stops[b->first + i].string)
            return false;
    return true;
}

/* The finger of every stop in the chain. */
static void fingers_of(const Rules *r, const Chain *chain, uint8_t *fingers)
{
    for (size_t g = 0; g < chain->count; g++) {
        size_t end = (size_t)chain->groups[g].end;
        int shape = chain->groups[g].shape, mask = shape & 15, size = shape_size(shape);
        size_t start = shape_start(end, shape);
        int way = size > 1 ? stop_way(&r->stops[end - 1], &r->stops[end]) : 0;
        for (int k = 0; k < size; k++)
            fingers[start + (size_t)k] = (uint8_t)mask_finger(mask, way, k);
    }
}

/* A turning stop keeps what the run before asked of it. */
static bool want(Rules *r, const Run *model, const Run *run, const uint8_t *fingers)
{
    bool differs = false;
    for (size_t i = 0; i < run->count; i++) {
        Stop *stop = &r->stops[run->first + i];
        if (stop->wanted != 0)
            continue;
        stop->wanted = fingers[model->first + i];
        differs = differs || fingers[run->first + i] != stop->wanted;
    }
    return differs;
}

bool figures_want(Rules *r, const Chain *chain)
{
    bool differs = false;
    Run *runs = malloc(r->count * sizeof *runs);
    uint8_t *fingers = malloc(r->count);
    if (runs == NULL || fingers == NULL)
        goto out; /* the first plan stands */
    size_t count = find_runs(r, runs);
    fingers_of(r, chain, fingers);
    qsort(runs, count, sizeof *runs, by_hash_then_place);
    const Run *model = runs;
    for (size_t i = 0; i < count; i++) {
        if (!same_run(r, model, &runs[i]))
            model = &runs[i];
        /* The first run wants its own fingers too, lest the second search trade it away. */
        differs = want(r, model, &runs[i], fingers) || differs;
    }
out:
    free(runs);
    free(fingers);
    return differs;
}
