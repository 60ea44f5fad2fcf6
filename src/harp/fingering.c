/* Plans: marks first, then a search, then a second one in which each figure that comes back
 * is drawn to the fingers it had the first time. */
#include "evenhand/harp/fingering.h"

#include "fingering_figures.h"
#include "fingering_search.h"

#include <stdlib.h>

/* The finger to honour on each note: what the player fixed, else what the file marks. */
static uint8_t *marks_of(const Passage *p, const FingeringOptions *o)
{
    uint8_t *marks = malloc(p->note_count);
    for (size_t i = 0; marks != NULL && i < p->note_count; i++) {
        uint8_t fixed = o->fixed != NULL ? o->fixed[i] : 0;
        marks[i] = fixed != 0 ? fixed : o->ignore_marks ? 0 : p->notes[i].mark;
    }
    return marks;
}

bool rules_make(Rules *r, const Passage *p, const FingeringOptions *options, const uint8_t *marks)
{
    *r = (Rules){.options = *options, .letter = p->notes[0].pitch.letter};
    r->alternate = p->hands == HANDS_ALTERNATE;
    bool given = ratio_valid(options->tempo.beat) && tempo_valid(options->tempo);
    r->stops = stops_make(p, given ? options->tempo : p->tempo, marks, &r->count);
    return r->stops != NULL;
}

void rules_free(Rules *r)
{
    free(r->stops);
    *r = (Rules){0};
}

static void fill_chord(const uint8_t *marks, const Stop *stop, FingeredNote *notes)
{
    int skipped = stop->chord > 4 ? stop->chord - 4 : 0;
    for (int k = skipped; k < stop->chord; k++) {
        FingeredNote *note = &notes[stop->first + k];
        uint8_t mark = marks[stop->first + k];
        note->marked = mark != 0;
        note->finger = mark != 0 ? mark : (uint8_t)mask_finger(stop->chord_mask, 1, k - skipped);
    }
}

/* The strings of a group in the order in which they are first played. */
typedef struct {
    int strings[4];
    uint8_t count;
} Places;

/* From 1 on. */
static uint8_t place_of(Places *places, int string)
{
    for (uint8_t k = 0; k < places->count; k++)
        if (places->strings[k] == string)
            return (uint8_t)(k + 1);
    places->strings[places->count++] = string;
    return places->count;
}

/* Writes what group `g` (of this shape, ending on stop `end`) says about its notes. */
static void fill_group(const Rules *r, const uint8_t *marks, const ChainLink *chain, Link link,
    int32_t g, Fingering *out)
{
    size_t start = (size_t)chain->start, end = (size_t)chain->end;
    bool pivot = (chain->shape & SHAPE_PIVOT) != 0;
    size_t own = start + (pivot ? 1 : 0);
    GroupEnds s = rules_ends(r, chain);
    Hand hand = hand_of(r, chain);
    Places places = {.count = 0};
    const Stop *last = &r->stops[end];
    out->groups[g] = (FingerGroup){.first = r->stops[own].first,
        .pivot = pivot ? r->stops[start].end - 1 : -1,
        .last = last->end - 1,
        .size = (uint8_t)(last->chord > 1 ? last->chord : s.size),
        .direction = (int8_t)(s.across ? 0 : s.last_way),
        .across = s.across};
    if (pivot)
        place_of(&places, r->stops[start].string);
    for (size_t i = own; i <= end; i++) {
        const Stop *stop = &r->stops[i];
        uint8_t place = place_of(&places, stop->string);
        for (int32_t n = stop->first; n < stop->end; n++)
            out->notes[n] = (FingeredNote){
                .finger = stop->chord > 1 ? 0 : (uint8_t)hand_finger(&hand, stop->string),
                .place = place,
                .size = out->groups[g].size,
                .link = (uint8_t)(i == own && (n == stop->first || stop->chord > 1) ? link
                                                                                    : LINK_WITHIN),
                .group = g,
                .marked = stop->chord == 1 && marks[n] != 0};
        if (stop->chord > 1)
            fill_chord(marks, stop, out->notes);
    }
}

/* Played together with the note before, which is lower. */
static bool in_chord(const Passage *p, size_t i)
{
    return i > 0 && i < p->note_count && p->notes[i].block == p->notes[i - 1].block;
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
        bool out_of_order =
            (in_chord(p, i) && note[-1].finger > 0 && note->finger >= note[-1].finger) ||
            (in_chord(p, i + 1) && !note[1].marked && note[1].finger >= note->finger);
        if (alone || out_of_order || (note->link == LINK_LIFT && note->size == 1))
            broken++;
    }
    return broken;
}

static Link link_between(const Rules *r, const ChainLink *a, const ChainLink *b)
{
    Link link;
    GroupEnds x = rules_ends(r, a), y = rules_ends(r, b);
    rules_link(r, (size_t)a->end, &x, &y, (b->shape & SHAPE_PIVOT) != 0, &link);
    return link;
}

static bool build(
    const Rules *r, const Passage *p, const uint8_t *marks, const Chain *chain, Fingering *out)
{
    *out = (Fingering){.cost = chain->cost, .note_count = p->note_count};
    out->notes = calloc(p->note_count, sizeof *out->notes);
    out->groups = calloc(chain->count, sizeof *out->groups);
    if (out->notes == NULL || out->groups == NULL)
        return false;
    out->group_count = chain->count;
    for (size_t g = 0; g < chain->count; g++) {
        const ChainLink *group = &chain->groups[g];
        Link link = g == 0 ? LINK_START : link_between(r, group - 1, group);
        fill_group(r, marks, group, link, (int32_t)g, out);
    }
    out->broken_marks = count_broken(p, out);
    return true;
}

static bool build_all(const Rules *r, const Passage *p, const uint8_t *marks, Chain *chains,
    int count, Fingering *out)
{
    bool done = count > 0;
    for (int i = 0; i < count; i++) {
        done = done && build(r, p, marks, &chains[i], &out[i]);
        chain_free(&chains[i]);
    }
    return done;
}

bool fingering_plans(const Passage *p, const FingeringOptions *options, int wanted, Fingering *out,
    int *found, Error *error)
{
    FingeringOptions o = options != NULL ? *options : (FingeringOptions){0};
    Chain chains[FINGERING_PLANS_MAX];
    Rules r = {0};
    int count = 0;
    *found = 0;
    for (int i = 0; i < wanted; i++)
        out[i] = (Fingering){0};
    if (wanted < 1 || wanted > FINGERING_PLANS_MAX)
        return error_set(error, ERROR_RANGE, "plans are asked for by 1 to %d", FINGERING_PLANS_MAX);
    uint8_t *marks = marks_of(p, &o);
    if (marks != NULL && rules_make(&r, p, &o, marks)) {
        count = search_chains(&r, 1, chains);
        bool again = count > 0 && figures_want(&r, p, &chains[0]);
        if (count > 0 && (again || wanted > 1)) {
            chain_free(&chains[0]);
            count = search_chains(&r, wanted, chains);
        }
    }
    bool done = build_all(&r, p, marks, chains, count, out);
    for (int i = 0; !done && i < wanted; i++)
        fingering_free(&out[i]);
    rules_free(&r);
    free(marks);
    *found = done ? count : 0;
    return done || error_set(error, ERROR_MEMORY, "out of memory for planning the fingering");
}

bool fingering_plan(const Passage *p, const FingeringOptions *options, Fingering *out, Error *error)
{
    int found;
    return fingering_plans(p, options, 1, out, &found, error);
}

void fingering_free(Fingering *f)
{
    free(f->notes);
    free(f->groups);
    *f = (Fingering){0};
}
