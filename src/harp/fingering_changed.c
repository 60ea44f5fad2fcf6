/* Where a figure that comes back has other fingers than before, and why.
 *
 * The reason is found by trying: the stops around the place are planned once as they like and
 * once with the fingers that the figure had, and the two plans are held against each other. */
#include "fingering_check.h"

#include "fingering_figures.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Stops on either side that are planned along: three hands full. What lies further off has no
 * say in which plan is cheaper. */
enum { AROUND = 12, REASON_MAX = 200 };

typedef struct {
    Checker *c;
    Rules r; /* without marks: a figure is one whatever the file marks */
    Return *returns;
    size_t found;
} Changed;

/* What a plan has in it that a teacher would not have. */
typedef struct {
    int64_t cost;
    int alone, lifts, bad_links, twos, beyond, thumbless;
} Faults;

static int shape_gap_beyond(const Rules *r, const ChainLink *g)
{
    Hand hand = hand_of(r, g);
    int beyond = 0;
    for (int k = 1; k < hand.count; k++)
        beyond += hand.strings[k - 1] - hand.strings[k] >
                  fingering_reach[mask_finger(hand.mask, -1, k - 1)][mask_finger(hand.mask, -1, k)];
    return beyond;
}

static Faults faults_of(const Rules *r, const Chain *chain)
{
    Faults faults = {.cost = chain->cost};
    for (size_t i = 0; i < chain->count; i++) {
        const ChainLink *g = &chain->groups[i];
        int size = shape_size(g->shape);
        faults.alone += size == 1 && r->stops[g->end].chord == 1;
        faults.twos += size == 2;
        faults.thumbless += size > 1 && (g->shape & 1) == 0;
        faults.beyond += size > 1 ? shape_gap_beyond(r, g) : 0;
        if (i == 0)
            continue;
        const ChainLink *b = g - 1;
        Link link;
        GroupEnds from = rules_ends(r, b), to = rules_ends(r, g);
        int32_t cost =
            rules_link(r, (size_t)b->end, &from, &to, (g->shape & SHAPE_PIVOT) != 0, &link);
        bool crosses = link == LINK_CROSS_UNDER || link == LINK_CROSS_OVER;
        faults.lifts += link == LINK_LIFT && !r->options.lifted;
        faults.bad_links += crosses && cost >= COST_LINK_BAD_FINGER;
    }
    return faults;
}

/* Plans the stops from..end, the figure on `first` bound to these fingers (NULL: free). False
 * without memory. */
static bool try_plan(const Rules *r, size_t from, size_t end, const Return *figure,
    const uint8_t *fingers, Faults *out)
{
    Rules part = *r;
    Chain chain;
    part.count = end - from;
    part.stops = malloc(part.count * sizeof *part.stops);
    if (part.stops == NULL)
        return false;
    memcpy(part.stops, r->stops + from, part.count * sizeof *part.stops);
    stops_ways(part.stops, part.count);
    for (int32_t i = 0; fingers != NULL && i < figure->count; i++)
        part.stops[(size_t)(figure->first + i) - from].mark = fingers[i];
    bool done = search_chains(&part, 1, &chain) == 1;
    if (done) {
        *out = faults_of(&part, &chain);
        chain_free(&chain);
    }
    free(part.stops);
    return done;
}

/* The first fingers of the model's stops; 0 for chords. Caller frees. */
static uint8_t *model_fingers(const Changed *d, const Return *figure)
{
    uint8_t *fingers = calloc((size_t)figure->count, 1);
    for (int32_t i = 0; fingers != NULL && i < figure->count; i++) {
        const Stop *stop = &d->r.stops[figure->earlier + i];
        fingers[i] = stop->chord > 1 ? 0 : d->c->f->notes[stop->first].finger;
    }
    return fingers;
}

static const char *worst_of(const Faults *bound, const Faults *loose)
{
    return bound->alone > loose->alone           ? "would leave a note by itself"
           : bound->lifts > loose->lifts         ? "would take the hand off the strings"
           : bound->beyond > loose->beyond       ? "would span more than the hand reaches"
           : bound->bad_links > loose->bad_links ? "would cross with a wrong finger"
           : bound->twos > loose->twos           ? "would leave a group of two"
           : bound->thumbless > loose->thumbless ? "would leave the thumb out"
                                                 : "would link worse";
}

static const char *comes_from(Edge edge)
{
    static const char *const words[] = {[EDGE_NONE] = "it is under way",
        [EDGE_REST] = "it begins after a rest",
        [EDGE_TURN] = "it begins on a turn",
        [EDGE_LEAP] = "a leap comes before it",
        [EDGE_OTHER] = "a chord or the same string comes before it"};
    return words[edge];
}

static const char *goes_to(Edge edge)
{
    static const char *const words[] = {[EDGE_NONE] = "it goes on",
        [EDGE_REST] = "it ends",
        [EDGE_TURN] = "it turns",
        [EDGE_LEAP] = "a leap follows",
        [EDGE_OTHER] = "a chord or the same string follows"};
    return words[edge];
}

/* What is not the same around the two places, "here it turns, there it goes on: ". */
static void say_around(const Rules *r, const Return *figure, char out[REASON_MAX])
{
    size_t last = (size_t)(figure->first + figure->count - 1);
    size_t model_last = (size_t)(figure->earlier + figure->count - 1);
    Edge after = figures_edge(r, last, false), model_after = figures_edge(r, model_last, false);
    Edge before = figures_edge(r, (size_t)figure->first, true);
    Edge model_before = figures_edge(r, (size_t)figure->earlier, true);
    out[0] = '\0';
    if (after != model_after)
        snprintf(out, REASON_MAX, "here %s, there %s: ", goes_to(after), goes_to(model_after));
    else if (before != model_before)
        snprintf(
            out, REASON_MAX, "here %s, there %s: ", comes_from(before), comes_from(model_before));
}

/* Whether another figure holds this stop to the finger that it has. */
static bool held(const Changed *d, const Return *figure, int32_t stop)
{
    const FingeredNote *notes = d->c->f->notes;
    uint8_t finger = notes[d->r.stops[stop].first].finger;
    for (size_t i = 0; i < d->found; i++) {
        const Return *other = &d->returns[i];
        const int32_t places[2] = {other->first, other->earlier};
        for (int k = 0; k < 2 && other != figure; k++) {
            int32_t at = stop - places[k];
            if (at >= 0 && at < other->count &&
                notes[d->r.stops[places[1 - k] + at].first].finger == finger)
                return true;
        }
    }
    return false;
}

static bool find_reason(const Changed *d, const Return *figure, int32_t differs, char *out)
{
    const Rules *r = &d->r;
    size_t first = (size_t)figure->first, end = first + (size_t)figure->count;
    size_t from = first > AROUND ? first - AROUND : 0;
    size_t until = end + AROUND < r->count ? end + AROUND : r->count;
    uint8_t *fingers = model_fingers(d, figure);
    Faults bound, loose;
    bool done = fingers != NULL && try_plan(r, from, until, figure, NULL, &loose) &&
                try_plan(r, from, until, figure, fingers, &bound);
    free(fingers);
    if (!done)
        return false;
    char around[REASON_MAX];
    long long more = (long long)(bound.cost - loose.cost);
    say_around(r, figure, around);
    if (more <= COST_CHANGED && held(d, figure, figure->first + differs))
        snprintf(out, REASON_MAX, "the note is also in another figure, which keeps its fingers");
    else if (more > 0)
        snprintf(out, REASON_MAX, "%.110sthe same fingers %s (cost %lld more)", around,
            worst_of(&bound, &loose), more);
    else
        snprintf(out, REASON_MAX, "the same fingers would do as well: mark them");
    return true;
}

/* The note by whose mark the two places differ, or -1: a mark on the note or on its like, else
 * one within a hand of the figure, here before there. */
static int32_t mark_at_fault(const Changed *d, const Return *figure, int32_t differs)
{
    const Stop *stops = d->r.stops;
    const FingeredNote *notes = d->c->f->notes;
    const int32_t places[2] = {figure->first, figure->earlier};
    for (int k = 0; k < 2; k++) {
        int32_t note = stops[places[k] + differs].first;
        if (notes[note].marked)
            return note;
    }
    for (int k = 0; k < 2; k++)
        for (int32_t i = places[k] - 4; i < places[k] + figure->count + 4; i++)
            if (i >= 0 && (size_t)i < d->r.count && notes[stops[i].first].marked)
                return stops[i].first;
    return -1;
}

static const char *kind_words(ReturnKind kind)
{
    return kind == RETURN_MOVED ? "by the same steps" : "in the same figure";
}

static void report(const Changed *d, const Return *figure, int32_t differs, int32_t stroke)
{
    Checker *c = d->c;
    int32_t here = d->r.stops[figure->first + differs].first + stroke;
    int32_t there = d->r.stops[figure->earlier + differs].first + stroke;
    int32_t mark = mark_at_fault(d, figure, differs);
    char place[PLACE_TEXT_MAX], marked[PLACE_TEXT_MAX], reason[REASON_MAX];
    checker_place(c->p, (size_t)there, place);
    if (c->f->notes[here].marked)
        snprintf(reason, sizeof reason, "change the mark");
    else if (c->f->notes[there].marked)
        snprintf(reason, sizeof reason, "it is marked so there");
    else if (mark >= 0)
        snprintf(reason, sizeof reason, "for the finger marked on %s",
            checker_place(c->p, (size_t)mark, marked));
    else if (!find_reason(d, figure, differs, reason)) {
        c->failed = true;
        return;
    }
    checker_find(c, FINDING_CHANGED, here, d->r.stops[figure->earlier].first,
        "finger %d, but %d %s at %s; %s", c->f->notes[here].finger, c->f->notes[there].finger,
        kind_words(figure->kind), place, reason);
}

/* The first place where a figure has another finger than its model; false where none. */
static bool differs_at(const Changed *d, const Return *figure, int32_t *stop, int32_t *stroke)
{
    const FingeredNote *notes = d->c->f->notes;
    for (*stop = 0; *stop < figure->count; ++*stop) {
        const Stop *here = &d->r.stops[figure->first + *stop];
        const Stop *there = &d->r.stops[figure->earlier + *stop];
        for (*stroke = 0; here->first + *stroke < here->end && there->first + *stroke < there->end;
             ++*stroke)
            if (notes[here->first + *stroke].finger != notes[there->first + *stroke].finger)
                return true;
    }
    return false;
}

void checker_changed(Checker *c)
{
    Changed d = {.c = c};
    uint8_t *no_marks = calloc(c->p->note_count, 1);
    bool *told = calloc(c->p->note_count, sizeof *told); /* figures may share a note */
    if (no_marks != NULL && told != NULL && rules_make(&d.r, c->p, c->options, no_marks))
        d.returns = figures_find(&d.r, c->p, &d.found);
    else
        c->failed = true;
    for (size_t i = 0; i < d.found; i++) {
        const Return *figure = &d.returns[i];
        int32_t stop, stroke;
        if (!differs_at(&d, figure, &stop, &stroke) || told[figure->first + stop])
            continue;
        report(&d, figure, stop, stroke);
        told[figure->first + stop] = true;
    }
    free(d.returns);
    free(no_marks);
    free(told);
    rules_free(&d.r);
}
