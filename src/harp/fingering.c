/* Exact dynamic programming over groups.
 *
 * The passage becomes stops: a string with however many strokes in a row on it, or a chord. A
 * plan is a chain of groups; a group is a stretch of stops going one way with a set of fingers
 * (a mask: bit f-1 for finger f), optionally begun on the turning stop of the group before
 * ("pivot"). What a link costs depends only on the two groups it joins, so
 *
 *     best[end][group] = own(group) + min over groups that end just before it of
 *                        best[start][previous] + link(previous, group)
 *
 * is exact. At most 30 group shapes end at each stop: time is linear in notes.
 */
#include "evenhand/harp/fingering.h"

#include "fingering_cost.h"
#include "fingering_stops.h"

#include <stdlib.h>

enum { SHAPES = 32 }; /* a shape: mask (1..15), + 16 if the group begins on a pivot */

static const int64_t unreachable = INT64_MAX / 2;

typedef struct {
    int64_t cost;
    uint8_t from; /* shape of the group before; 0 at the start */
} Cell;

typedef struct {
    const Stop *stops;
    size_t count;
    int largest;
    Cell *best; /* [end stop * SHAPES + shape] */
} Planner;

static bool is_pivot(int shape)
{
    return shape >= 16;
}

static size_t start_of(size_t end, int shape)
{
    return end + 1 - (size_t)mask_size(shape & 15);
}

/* What a group costs by itself: its size, its reach, marks it would overrule. */
static int64_t own_cost(const Planner *pl, size_t end, int shape)
{
    static const int by_size[5] = {0, COST_GROUP_OF_1, COST_GROUP_OF_2, COST_GROUP_OF_3, 0};
    int mask = shape & 15, size = mask_size(mask);
    const Stop *first = &pl->stops[start_of(end, shape)];
    if (size > pl->largest)
        return COST_IMPOSSIBLE;
    if (first->chord > 1)
        return size == 1 && !is_pivot(shape) && mask == 1 ? COST_GROUP + first->chord_cost
                                                          : COST_IMPOSSIBLE;
    int way = size > 1 ? stop_way(first, first + 1) : 0;
    if (size > 1 && way == 0)
        return COST_IMPOSSIBLE;
    int64_t cost = COST_GROUP + by_size[size];
    for (int k = 0; k < size; k++) {
        const Stop *stop = first + k;
        int finger = mask_finger(mask, way, k);
        if (stop->chord > 1 || (stop->mark != 0 && stop->mark != finger))
            return COST_IMPOSSIBLE;
        if (k == 0)
            continue;
        if (stop_way(stop - 1, stop) != way)
            return COST_IMPOSSIBLE;
        cost += stretch_cost(stop->string - stop[-1].string, finger, mask_finger(mask, way, k - 1));
    }
    if (size > 1 && (mask & 1) == 0)
        cost += COST_IDLE_THUMB;
    return cost;
}

/* The link's share that grows with tempo: budget (u - 1) notes, u the upper group's size. */
static int64_t time_cost(const Stop *arrival, int upper_size)
{
    int64_t budget = arrival->microseconds * (upper_size > 1 ? upper_size - 1 : 1);
    if (budget <= 0)
        return COST_LINK_TIME_MAX;
    int64_t cost = COST_LINK_TIME / budget;
    return cost > COST_LINK_TIME_MAX ? COST_LINK_TIME_MAX : cost;
}

typedef struct {
    int size, way, first_finger, last_finger;
} Shape;

static Shape shape_of(const Planner *pl, size_t end, int shape)
{
    int mask = shape & 15, size = mask_size(mask);
    const Stop *last = &pl->stops[end];
    int way = size > 1 ? stop_way(last - 1, last) : 0;
    return (Shape){size, way, mask_finger(mask, way, 0), mask_finger(mask, way, size - 1)};
}

static int64_t cross_cost(const Stop *arrival, const Shape *lower, const Shape *upper, bool up)
{
    int64_t cost = COST_LINK + time_cost(arrival, upper->size);
    if (lower->size < upper->size && lower->size > 1)
        cost += COST_SMALL_BELOW;
    bool by_thumb = up ? lower->last_finger == 1 : lower->first_finger == 1;
    return by_thumb ? cost : cost + COST_LINK_BAD_FINGER;
}

/* Cost of coming from group `a`, which ends on stop `end`, to group `b`, whose first own stop is
 * the next; *link says how. */
static int64_t link_cost(
    const Planner *pl, size_t end, const Shape *a, const Shape *b, bool pivot, Link *link)
{
    const Stop *here = &pl->stops[end], *next = here + 1;
    if (pivot) {
        *link = LINK_REPLACE;
        bool turns = a->way != 0 && a->way == -b->way;
        return turns && a->last_finger == b->first_finger ? COST_REPLACE : COST_IMPOSSIBLE;
    }
    if (next->breath) {
        *link = LINK_START;
        return 0;
    }
    bool single = here->chord == 1 && next->chord == 1;
    int gap = next->string - here->string;
    int way = gap > 0 ? 1 : -1;
    bool straight = (a->way == way || a->way == 0) && (b->way == way || b->way == 0);
    if (single && gap != 0 && straight && abs(gap) <= CROSSING_REACH) {
        bool up = way > 0;
        *link = up ? LINK_CROSS_UNDER : LINK_CROSS_OVER;
        int64_t skipped = (int64_t)COST_LINK_STRING * (abs(gap) - 1);
        bool stuck = a->last_finger == b->first_finger;
        return skipped + (stuck ? COST_SAME_FINGER : 0) +
               (up ? cross_cost(next, a, b, true) : cross_cost(next, b, a, false));
    }
    *link = LINK_LIFT;
    if (here->chord > 1 && next->chord > 1)
        return COST_BLOCK_AFTER_BLOCK;
    bool same = single && gap != 0 && a->last_finger == b->first_finger;
    return COST_LIFT + (same ? COST_SAME_FINGER : 0);
}

static void relax(const Planner *pl, size_t end, int shape)
{
    Cell *cell = &pl->best[end * SHAPES + (size_t)shape];
    *cell = (Cell){unreachable, 0};
    size_t size = (size_t)mask_size(shape & 15);
    if (size == 0 || size > end + 1 || (is_pivot(shape) && (size < 2 || size > end)))
        return;
    int64_t own = own_cost(pl, end, shape);
    if (own >= COST_IMPOSSIBLE)
        return;
    size_t start = start_of(end, shape);
    if (start == 0) {
        cell->cost = own;
        return;
    }
    /* A pivot group shares its first stop with the group before. */
    size_t before = is_pivot(shape) ? start : start - 1;
    Shape b = shape_of(pl, end, shape);
    for (int from = 1; from < SHAPES; from++) {
        int64_t came = pl->best[before * SHAPES + (size_t)from].cost;
        if (came + own >= cell->cost)
            continue;
        Shape a = shape_of(pl, before, from);
        Link link;
        int64_t through = link_cost(pl, before, &a, &b, is_pivot(shape), &link);
        if (through < COST_IMPOSSIBLE && came + through + own < cell->cost)
            *cell = (Cell){came + through + own, (uint8_t)from};
    }
}

static void fill_chord(const Passage *p, const Stop *stop, FingeredNote *notes)
{
    int skipped = stop->chord > 4 ? stop->chord - 4 : 0;
    for (int k = skipped; k < stop->chord; k++) {
        FingeredNote *note = &notes[stop->first + k];
        const Note *written = &p->notes[stop->first + k];
        note->marked = written->mark != 0 && stop->honour_marks;
        note->finger =
            note->marked ? written->mark : (uint8_t)mask_finger(stop->chord_mask, 1, k - skipped);
    }
}

/* Writes what group `g` (of this shape, ending on stop `end`) says about its notes. */
static void fill_group(const Planner *pl, const Passage *p, size_t end, int shape, Link link,
    int32_t g, Fingering *out)
{
    int mask = shape & 15, size = mask_size(mask);
    size_t start = start_of(end, shape), own = start + (is_pivot(shape) ? 1 : 0);
    Shape s = shape_of(pl, end, shape);
    const Stop *last = &pl->stops[end];
    out->groups[g] = (FingerGroup){.first = pl->stops[own].first,
        .pivot = is_pivot(shape) ? pl->stops[start].end - 1 : -1,
        .last = last->end - 1,
        .size = (uint8_t)(last->chord > 1 ? last->chord : size),
        .direction = (int8_t)s.way};
    for (size_t i = own; i <= end; i++) {
        const Stop *stop = &pl->stops[i];
        for (int32_t n = stop->first; n < stop->end; n++)
            out->notes[n] = (FingeredNote){
                .finger = stop->chord > 1 ? 0 : (uint8_t)mask_finger(mask, s.way, (int)(i - start)),
                .place = (uint8_t)(i - start + 1),
                .size = out->groups[g].size,
                .link = (uint8_t)(i == own && (n == stop->first || stop->chord > 1) ? link
                                                                                    : LINK_WITHIN),
                .group = g,
                .marked = stop->chord == 1 && p->notes[n].mark != 0 && stop->mark != 0};
        if (stop->chord > 1)
            fill_chord(p, stop, out->notes);
    }
}

typedef struct {
    size_t end;
    int shape;
} Step;

static int best_last_shape(const Planner *pl)
{
    int best = 1;
    const Cell *row = &pl->best[(pl->count - 1) * SHAPES];
    for (int shape = 1; shape < SHAPES; shape++)
        if (row[shape].cost < row[best].cost)
            best = shape;
    return best;
}

/* Follows the cells back from the end; steps come out last group first. */
static size_t walk_back(const Planner *pl, Step *steps)
{
    size_t count = 0, end = pl->count - 1;
    int shape = best_last_shape(pl);
    for (;;) {
        steps[count++] = (Step){end, shape};
        size_t start = start_of(end, shape);
        if (start == 0)
            return count;
        int from = pl->best[end * SHAPES + (size_t)shape].from;
        end = is_pivot(shape) ? start : start - 1;
        shape = from;
    }
}

/* Marks of the file that force what the rules would not have: a note alone in mid-phrase, a
 * lift, a finger used twice, a chord that the hand cannot take so. */
static size_t count_broken(const Passage *p, const Fingering *f)
{
    size_t broken = 0;
    for (size_t i = 0; i < f->note_count; i++) {
        const FingeredNote *note = &f->notes[i];
        if (!note->marked)
            continue;
        bool last = (size_t)f->groups[note->group].last + 1 == f->note_count;
        bool alone = note->size == 1 && !last;
        bool chord = i > 0 && p->notes[i].block == p->notes[i - 1].block;
        bool out_of_order = chord && note->finger >= f->notes[i - 1].finger;
        if (alone || out_of_order || (note->link == LINK_LIFT && note->size == 1))
            broken++;
    }
    return broken;
}

static bool build(const Planner *pl, const Passage *p, Fingering *out, Error *error)
{
    Step *steps = calloc(pl->count + 1, sizeof *steps);
    out->notes = calloc(p->note_count, sizeof *out->notes);
    out->groups = calloc(pl->count + 1, sizeof *out->groups);
    bool done = steps != NULL && out->notes != NULL && out->groups != NULL;
    if (!done) {
        error_set(error, ERROR_MEMORY, "out of memory for the fingering");
        goto out;
    }
    out->note_count = p->note_count;
    out->group_count = walk_back(pl, steps);
    for (size_t g = 0; g < out->group_count; g++) {
        Step s = steps[out->group_count - 1 - g];
        Link link = LINK_START;
        if (g > 0) {
            Step before = steps[out->group_count - g];
            Shape a = shape_of(pl, before.end, before.shape), b = shape_of(pl, s.end, s.shape);
            link_cost(pl, before.end, &a, &b, is_pivot(s.shape), &link);
        }
        fill_group(pl, p, s.end, s.shape, link, (int32_t)g, out);
    }
    out->broken_marks = count_broken(p, out);
out:
    free(steps);
    return done;
}

bool fingering_plan(const Passage *p, const FingeringOptions *options, Fingering *out, Error *error)
{
    FingeringOptions o = options != NULL ? *options : (FingeringOptions){0};
    Tempo tempo = ratio_valid(o.tempo.beat) && tempo_valid(o.tempo) ? o.tempo : p->tempo;
    Planner pl = {.largest = o.largest_group == 3 ? 3 : 4};
    *out = (Fingering){0};
    Stop *stops = stops_make(p, tempo, o.ignore_marks, &pl.count);
    pl.stops = stops;
    bool done = false;
    if (stops != NULL && pl.count > 0)
        pl.best = calloc(pl.count * SHAPES, sizeof *pl.best);
    if (stops == NULL || pl.best == NULL) {
        error_set(error, ERROR_MEMORY, "out of memory for planning the fingering");
        goto out;
    }
    for (size_t end = 0; end < pl.count; end++)
        for (int shape = 0; shape < SHAPES; shape++)
            relax(&pl, end, shape);
    out->cost = pl.best[(pl.count - 1) * SHAPES + (size_t)best_last_shape(&pl)].cost;
    done = build(&pl, p, out, error);
out:
    free(pl.best);
    free(stops);
    if (!done)
        fingering_free(out);
    return done;
}

void fingering_free(Fingering *f)
{
    free(f->notes);
    free(f->groups);
    *f = (Fingering){0};
}
