#include "fingering_figures.h"

#include <stdlib.h>

enum { RUN_MAX = 128 }; /* stops of a run looked at in parts; harps have fewer strings */

/* FNV-1a, a word at a time [after Fowler, Noll, Vo; public domain]. */
static const uint64_t hash_start = 14695981039346656037u;

static uint64_t fold(uint64_t hash, uint64_t word)
{
    hash = (hash ^ word) * 1099511628211u;
    return hash ^ hash >> 29;
}

/* What a place of the table is known by: the stretch, and as what it was put there. */
typedef enum {
    AS_WHOLE, /* a run, on these strings */
    AS_MOVED,
    AS_BEGINNING, /* of a longer run */
    AS_ENDING,    /* of a longer run, on this pulse */
    AS_PLACED,    /* a run, on this pulse */
    AS_STRETCH,   /* the first FIGURE_STRETCH stops */
    AS_PHRASE,
    AS_PHRASE_MOVED
} As;

typedef struct {
    uint64_t hash; /* 0: empty */
    int32_t first, count;
} Entry;

typedef struct {
    size_t first, count;
    Edge before, after;
} Run;

typedef struct {
    const Rules *r;
    const Passage *p;
    uint64_t *steps; /* from the stop before: strings, chord, rest. Of stop 0: nothing */
    Entry *table;    /* open addressing; a power of two */
    size_t mask;
    Return *returns;
    size_t found, room;
    bool failed;
} Finder;

/* The strings of a chord, counted from its lowest; 0 for a single string. */
static uint64_t chord_form(const Finder *f, const Stop *stop)
{
    uint64_t form = 0;
    if (stop->chord > 1)
        for (int32_t n = stop->first + 1; n < stop->end; n++)
            form = fold(form + 1, (uint64_t)(pitch_string(f->p->notes[n].pitch) - stop->string));
    return form;
}

static uint64_t step_of(const Finder *f, size_t i)
{
    const Stop *s = &f->r->stops[i];
    uint64_t step = (uint64_t)(s->string - s[-1].string + 4096) << 1 | (s->breath ? 1 : 0);
    return s->chord > 1 ? fold(chord_form(f, s), step) : step;
}

static uint64_t strings_hash(const Finder *f, size_t first)
{
    const Stop *s = &f->r->stops[first];
    return fold(fold(hash_start, (uint64_t)(s->string + 4096)), chord_form(f, s));
}

/* Of the steps after the first stop. */
static uint64_t steps_hash(const Finder *f, uint64_t hash, size_t first, size_t count)
{
    for (size_t i = first + 1; i < first + count; i++)
        hash = fold(hash, f->steps[i]);
    return hash;
}

static bool same_steps(const Finder *f, size_t a, size_t b, size_t count)
{
    for (size_t i = 1; i < count; i++)
        if (f->steps[a + i] != f->steps[b + i])
            return false;
    return true;
}

static bool same_start(const Finder *f, size_t a, size_t b)
{
    const Stop *x = &f->r->stops[a], *y = &f->r->stops[b];
    return x->string == y->string && chord_form(f, x) == chord_form(f, y);
}

/* The place of the first entry with this hash, or an empty one. */
static Entry *slot_of(Finder *f, uint64_t hash, As as)
{
    hash = fold(hash, (uint64_t)as + 1) | 1;
    size_t at = (size_t)(hash >> 7) & f->mask;
    while (f->table[at].hash != 0 && f->table[at].hash != hash)
        at = (at + 1) & f->mask;
    if (f->table[at].hash == 0)
        f->table[at] = (Entry){.hash = hash, .count = 0};
    return &f->table[at];
}

/* The first place of a stretch known so; NULL: this is the first, which is kept. */
static const Entry *met(Finder *f, uint64_t hash, As as, size_t first, size_t count)
{
    Entry *e = slot_of(f, hash, as);
    if (e->count == 0) {
        e->first = (int32_t)first;
        e->count = (int32_t)count;
        return NULL;
    }
    bool moved = as == AS_MOVED || as == AS_PHRASE_MOVED;
    bool same = (size_t)e->count == count && (moved || same_start(f, (size_t)e->first, first)) &&
                same_steps(f, (size_t)e->first, first, count);
    return same ? e : NULL;
}

/* As `met`, but keeps nothing. */
static const Entry *seen(Finder *f, uint64_t hash, As as, size_t first, size_t count)
{
    const Entry *e = slot_of(f, hash, as);
    bool same = (size_t)e->count == count && same_start(f, (size_t)e->first, first) &&
                same_steps(f, (size_t)e->first, first, count);
    return same ? e : NULL;
}

static void add(Finder *f, ReturnKind kind, size_t first, size_t earlier, size_t count)
{
    if (f->found == f->room) {
        size_t room = f->room == 0 ? 64 : f->room * 2;
        Return *returns = realloc(f->returns, room * sizeof *returns);
        if (returns == NULL) {
            f->failed = true;
            return;
        }
        f->returns = returns;
        f->room = room;
    }
    f->returns[f->found++] = (Return){(int32_t)first, (int32_t)earlier, (int32_t)count, kind};
}

/* ---- edges and runs ---- */

/* Which way a run goes from the stop before to this one; 0: no run has both. */
static int run_way(const Rules *r, size_t i)
{
    const Stop *s = &r->stops[i];
    if (i == 0 || s->breath || s->way == 0 || abs(s->string - s[-1].string) > CROSSING_REACH)
        return 0;
    return s->way;
}

/* Between stop i - 1 and stop i, of which no run has both. */
static Edge edge_into(const Rules *r, size_t i)
{
    if (i == 0 || i >= r->count || r->stops[i].breath)
        return EDGE_REST;
    return r->stops[i].way == 0 ? EDGE_OTHER : EDGE_LEAP;
}

Edge figures_edge(const Rules *r, size_t stop, bool begins)
{
    int in = run_way(r, stop), out = stop + 1 < r->count ? run_way(r, stop + 1) : 0;
    if (in != 0 && out != 0)
        return in == out ? EDGE_NONE : EDGE_TURN;
    if (begins)
        return in == 0 ? edge_into(r, stop) : EDGE_NONE;
    return out == 0 ? edge_into(r, stop + 1) : EDGE_NONE;
}

static bool edge_before(const Finder *f, size_t stop)
{
    return figures_edge(f->r, stop, true) != EDGE_NONE;
}

static bool edge_after(const Finder *f, size_t stop)
{
    return figures_edge(f->r, stop, false) != EDGE_NONE;
}

/* One past the last stop of the run that begins on stop i. */
static size_t run_end(const Rules *r, size_t i)
{
    size_t end = i + 1;
    while (end < r->count && run_way(r, end) != 0 &&
           (end == i + 1 || run_way(r, end) == run_way(r, end - 1)))
        end++;
    return end;
}

/* ---- runs ---- */

static size_t least_part(size_t whole)
{
    size_t part = (3 * whole + 3) / 4;
    return part < FIGURE_PART ? FIGURE_PART : part;
}

static uint64_t moved_hash(const Finder *f, size_t first, Edge before, Edge after)
{
    const FingeringOptions *o = &f->r->options;
    bool by_letter = o->octaves || o->small == SMALL_AT_LETTER;
    int string = f->r->stops[first].string;
    uint64_t hash = fold(hash_start, (uint64_t)before * 8 + (uint64_t)after);
    hash = fold(hash, by_letter ? (uint64_t)(((string % 7) + 7) % 7) : 7);
    return fold(hash, chord_form(f, &f->r->stops[first]));
}

/* The longest part that this run and an earlier one begin with, one of them being all of it; and
 * keeps this one's beginnings. hashes[c] is that of its first c stops. */
static void find_begun(Finder *f, const Run *run, const uint64_t *hashes, bool wanted)
{
    const Entry *e = wanted && run->count >= FIGURE_PART
                         ? seen(f, hashes[run->count], AS_BEGINNING, run->first, run->count)
                         : NULL;
    if (e != NULL)
        add(f, RETURN_BEGUN, run->first, (size_t)e->first, run->count);
    wanted = wanted && e == NULL;
    for (size_t c = run->count - 1; c >= least_part(run->count); c--) {
        e = wanted ? seen(f, hashes[c], AS_WHOLE, run->first, c) : NULL;
        if (e != NULL)
            add(f, RETURN_BEGUN, run->first, (size_t)e->first, c);
        wanted = wanted && e == NULL;
        met(f, hashes[c], AS_BEGINNING, run->first, c);
    }
}

/* The hash of the last c stops of a run, told from its end, with the pulse that they begin on. */
static uint64_t place_hash(const Finder *f, uint64_t hash, size_t first)
{
    Ratio at = passage_in_bar(f->p, (size_t)f->r->stops[first].first);
    return fold(fold(hash, (uint64_t)at.num), (uint64_t)at.den);
}

/* Likewise for what runs end with. */
static void find_ending(Finder *f, const Run *run, bool wanted)
{
    size_t last = run->first + run->count - 1, least = least_part(run->count);
    uint64_t hash = strings_hash(f, last);
    for (size_t c = 2; c <= run->count; c++) {
        size_t first = last + 1 - c;
        hash = fold(hash, f->steps[first + 1]);
        if (c < least || !f->r->stops[first].on_pulse)
            continue;
        uint64_t placed = place_hash(f, hash, first);
        const Entry *e = NULL;
        if (c < run->count) {
            e = seen(f, placed, AS_PLACED, first, c);
            met(f, placed, AS_ENDING, first, c);
        } else {
            e = seen(f, placed, AS_ENDING, first, c);
            met(f, placed, AS_PLACED, first, c);
        }
        if (wanted && e != NULL)
            add(f, RETURN_ENDING, first, (size_t)e->first, c);
        wanted = wanted && e == NULL;
    }
}

static void find_run(Finder *f, const Run *run)
{
    uint64_t hashes[RUN_MAX];
    uint64_t hash = strings_hash(f, run->first);
    for (size_t c = 1; c <= run->count; c++) {
        hash = c > 1 ? fold(hash, f->steps[run->first + c - 1]) : hash;
        hashes[c] = hash;
    }
    size_t before = f->found;
    const Entry *whole = met(f, hash, AS_WHOLE, run->first, run->count);
    if (whole != NULL)
        add(f, RETURN_WHOLE, run->first, (size_t)whole->first, run->count);
    uint64_t steps = moved_hash(f, run->first, run->before, run->after);
    steps = steps_hash(f, steps, run->first, run->count);
    const Entry *moved = met(f, steps, AS_MOVED, run->first, run->count);
    if (moved != NULL && whole == NULL)
        add(f, RETURN_MOVED, run->first, (size_t)moved->first, run->count);
    find_begun(f, run, hashes, f->found == before);
    find_ending(f, run, f->found == before);
}

static void find_runs(Finder *f)
{
    const Rules *r = f->r;
    for (size_t i = 0; i < r->count;) {
        size_t end = run_end(r, i);
        Run run = {i, end - i, figures_edge(r, i, true), figures_edge(r, end - 1, false)};
        if (run.count >= FIGURE_STOPS && run.count < RUN_MAX)
            find_run(f, &run);
        i = run.count > 1 && run.after == EDGE_TURN ? end - 1 : end;
    }
}

/* ---- phrases and stretches ---- */

static void find_phrases(Finder *f)
{
    size_t count = f->r->count;
    for (size_t first = 0, end; first < count; first = end) {
        for (end = first + 1; end < count && !f->r->stops[end].breath;)
            end++;
        if (end - first < FIGURE_STOPS || run_end(f->r, first) == end)
            continue; /* a run is found as such */
        uint64_t hash = steps_hash(f, strings_hash(f, first), first, end - first);
        uint64_t steps = moved_hash(f, first, EDGE_REST, EDGE_REST);
        steps = steps_hash(f, steps, first, end - first);
        const Entry *same = met(f, hash, AS_PHRASE, first, end - first);
        const Entry *moved = met(f, steps, AS_PHRASE_MOVED, first, end - first);
        if (same != NULL)
            add(f, RETURN_WHOLE, first, (size_t)same->first, end - first);
        else if (moved != NULL)
            add(f, RETURN_MOVED, first, (size_t)moved->first, end - first);
    }
}

/* How far two stretches go on alike, up to the last edge that both have. */
static size_t alike(const Finder *f, size_t a, size_t b)
{
    size_t count = 1, edge = 0;
    while (b + count < f->r->count && f->steps[a + count] == f->steps[b + count]) {
        count++;
        if (edge_after(f, a + count - 1) && edge_after(f, b + count - 1))
            edge = count;
    }
    return edge;
}

static void find_stretches(Finder *f)
{
    const Rules *r = f->r;
    for (size_t i = 0; i + FIGURE_STRETCH <= r->count;) {
        size_t next = i + 1;
        if (edge_before(f, i) && run_end(r, i) < i + FIGURE_STRETCH) {
            uint64_t hash = steps_hash(f, strings_hash(f, i), i, FIGURE_STRETCH);
            const Entry *e = met(f, hash, AS_STRETCH, i, FIGURE_STRETCH);
            size_t count = e != NULL ? alike(f, (size_t)e->first, i) : 0;
            if (count >= FIGURE_STRETCH) {
                add(f, RETURN_WHOLE, i, (size_t)e->first, count);
                next = i + count - 1; /* its last stop may be a turn */
            }
        }
        i = next;
    }
}

static int by_place(const void *a, const void *b)
{
    const Return *x = a, *y = b;
    if (x->first != y->first)
        return x->first < y->first ? -1 : 1;
    return (x->kind > y->kind) - (x->kind < y->kind);
}

static bool finder_make(Finder *f)
{
    size_t entries = 64;
    while (entries < 4 * f->r->count)
        entries *= 2;
    f->mask = entries - 1;
    f->table = calloc(entries, sizeof *f->table);
    f->steps = calloc(f->r->count, sizeof *f->steps);
    if (f->table == NULL || f->steps == NULL)
        return false;
    for (size_t i = 1; i < f->r->count; i++)
        f->steps[i] = step_of(f, i);
    return true;
}

Return *figures_find(const Rules *r, const Passage *p, size_t *found)
{
    Finder f = {.r = r, .p = p};
    if (finder_make(&f)) {
        find_runs(&f);
        find_phrases(&f);
        find_stretches(&f);
    }
    free(f.table);
    free(f.steps);
    if (f.failed) {
        free(f.returns);
        f.returns = NULL;
        f.found = 0;
    }
    *found = f.found;
    if (f.found > 1)
        qsort(f.returns, f.found, sizeof *f.returns, by_place);
    return f.returns;
}
