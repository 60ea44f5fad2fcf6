#include "abc_clock.h"
#include "abc_reader.h"

#include <stdlib.h>
#include <string.h>

/* Notes that a tie holds open, as indices into the passage. */
typedef struct {
    size_t notes[2 * PASSAGE_BLOCK_MAX];
    size_t count;
} Ties;

typedef struct {
    AbcReader *r;
    AbcClock *clock;
    int32_t bar;  /* of the page; -1: the next music begins a bar */
    int32_t last; /* the event played last; -1: none */
    Ties held;    /* by ties of the thing played last */
    Ties opening; /* by ties of the thing being played */
} Build;

static bool same_pitch(const Pitch *a, const Pitch *b)
{
    return a->letter == b->letter && a->alter == b->alter && a->octave == b->octave;
}

/* The note that a tie joins this one to: taken out of those held. */
static bool take_held(Build *b, const AbcEvent *e, size_t *note)
{
    Ties *held = &b->held;
    for (size_t i = 0; i < held->count; i++) {
        if (!same_pitch(&b->r->passage->notes[held->notes[i]].pitch, &e->pitch))
            continue;
        *note = held->notes[i];
        held->notes[i] = held->notes[--held->count];
        return true;
    }
    return false;
}

/* Whether more than a bar line lies between this event and the one played before it. */
static bool begins_section(const Build *b, int32_t event)
{
    const AbcEvent *events = b->r->score.events;
    int32_t i = event - 1;
    while (i >= 0 && events[i].kind == ABC_BAR)
        i--;
    return i < 0 || i != b->last;
}

static bool begin_bar(Build *b, int32_t event)
{
    const AbcEvent *e = &b->r->score.events[event];
    Passage *p = b->r->passage;
    if (e->bar == b->bar)
        return true;
    b->bar = e->bar;
    const AbcBar *bar = &b->r->score.bars[e->bar];
    const Metre *metre = &b->r->score.metres[bar->metre].metre;
    if (!passage_add_bar(p, abc_clock_now(b->clock), metre, bar->number, b->r->error))
        return false;
    p->bars[p->bar_count - 1].section = begins_section(b, event);
    return true;
}

static bool sound(Build *b, const AbcEvent *e)
{
    Passage *p = b->r->passage;
    Ratio length = b->r->score.lengths[e->value].exact;
    size_t note;
    if (b->held.count > 0 && take_held(b, e, &note)) {
        p->notes[note].length = ratio_add(p->notes[note].length, length);
        if (!ratio_valid(p->notes[note].length))
            return error_at(b->r->error, ERROR_LIMIT, e->line, e->column,
                "this tied note's length is too fine to be kept exactly");
    } else {
        note = p->note_count;
        Note *n =
            passage_new_note(p, abc_clock_now(b->clock), length, e->line, e->column, b->r->error);
        if (n == NULL)
            return false;
        n->pitch = e->pitch;
        n->mark = e->mark;
        n->accent = e->accent;
        n->breath = e->breath;
    }
    if (e->tie && b->opening.count < sizeof b->opening.notes / sizeof *b->opening.notes)
        b->opening.notes[b->opening.count++] = note;
    return true;
}

/* One event of the playing order. */
static bool play(Build *b, int32_t event)
{
    const AbcEvent *e = &b->r->score.events[event];
    if (e->kind != ABC_NOTE && e->kind != ABC_REST) {
        b->bar = -1;
        return true;
    }
    if (!begin_bar(b, event) || (e->kind == ABC_NOTE && !sound(b, e)))
        return false;
    b->last = event;
    if (!e->more) {
        abc_clock_add(b->clock, e);
        if (b->held.count > 0 || b->opening.count > 0)
            b->held = b->opening;
        b->opening.count = 0;
    }
    return true;
}

bool abc_build(AbcReader *r)
{
    AbcOrder order = {0};
    AbcClock clock;
    Build b = {.r = r, .clock = &clock, .bar = -1, .last = -1};
    abc_score_number(&r->score);
    abc_clock_start(&clock, &r->score);
    bool ok = abc_unfold(r, &order) &&
              passage_reserve(r->passage, order.notes, r->score.bar_count, r->error);
    for (size_t i = 0; ok && i < order.count; i++)
        for (int32_t at = order.runs[i].from; ok && at < order.runs[i].to; at++)
            ok = play(&b, at);
    free(order.runs);
    return ok && passage_finish(r->passage, abc_clock_now(&clock), r->error);
}
