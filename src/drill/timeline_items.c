#include "timeline_items.h"

#include "announce.h"
#include "drill_parts.h"

#include <stdlib.h>

/* The bar that count-in and rest are made of: the passage's first metre; four quarters where
 * it is free. */
typedef struct {
    Ratio unit;
    int64_t at[METRE_NUM_MAX];
    int count;
    int64_t bar, pulse;
} IdleBar;

static IdleBar idle_bar(const Drill *d, const Passage *p)
{
    Metre m = metre_free(&p->metre) ? metre(4, 4) : p->metre;
    Ratio at[METRE_NUM_MAX];
    IdleBar idle = {.unit = metre_unit(&m), .count = metre_pulses(&m, at)};
    for (int i = 0; i < idle.count; i++)
        idle.at[i] = drill_ticks(d, at[i]);
    idle.bar = drill_ticks(d, metre_bar(&m));
    idle.pulse = idle.count > 1 ? idle.at[1] : idle.bar;
    return idle;
}

static Ratio beat_of(const Drill *d, Ratio unit, int64_t in_bar)
{
    return ratio_add(ratio_int(1), ratio_div(ratio(in_bar, d->ticks), unit));
}

static Item pulse_item(
    const Drill *d, const IdleBar *idle, int64_t at, int k, EventKind line, EventKind other)
{
    return (Item){.at = at,
        .beat = beat_of(d, idle->unit, idle->at[k]),
        .bar = -1,
        .note = -1,
        .group = -1,
        .last_note = -1,
        .kind = (uint8_t)(k == 0 ? line : other),
        .level = k == 0 ? 2 : 1,
        .line = k == 0};
}

/* Counts back to the last pulse and on from the last note. */
static void chain(Items *items)
{
    uint32_t since = NO_PULSE_YET;
    int32_t note = -1;
    for (size_t i = 0; i < items->count; i++) {
        Item *item = &items->items[i];
        bool pulse = item->kind == EVENT_COUNT_IN || item->kind == EVENT_DOWNBEAT ||
                     item->kind == EVENT_PULSE;
        since = pulse ? 0 : since == NO_PULSE_YET ? since : since + 1;
        note = item->note >= 0 ? item->note : note;
        item->index = (uint32_t)i;
        item->to_pulse = since;
        item->last_note = note;
    }
}

bool items_count_in(
    Items *out, const Drill *d, const Passage *p, int bars, int64_t offset, int64_t *length)
{
    IdleBar idle = idle_bar(d, p);
    *length = idle.bar * bars + offset;
    out->items = malloc((size_t)(bars + 1) * (size_t)idle.count * sizeof *out->items);
    if (out->items == NULL)
        return false;
    for (int bar = 0; bar <= bars; bar++)
        for (int k = 0; k < idle.count; k++) {
            int64_t at = idle.bar * bar + idle.at[k];
            if (at < *length)
                out->items[out->count++] =
                    pulse_item(d, &idle, at, k, EVENT_COUNT_IN, EVENT_COUNT_IN);
        }
    chain(out);
    return true;
}

static Item of_pulse(const Drill *d, const Passage *p, const DrillPulse *pulse)
{
    static const EventKind kinds[3] = {EVENT_DOWNBEAT, EVENT_PULSE, EVENT_SUBDIVISION};
    return (Item){.at = pulse->at - d->offset,
        .beat = beat_of(d, metre_unit(&p->bars[pulse->bar].metre), pulse->in_bar),
        .bar = pulse->bar,
        .note = -1,
        .group = -1,
        .kind = (uint8_t)kinds[pulse->kind],
        .level = pulse->kind == PULSE_DOWNBEAT ? 2
                 : pulse->kind == PULSE_BEAT   ? 1
                                               : 0,
        .line = pulse->kind == PULSE_DOWNBEAT};
}

static Item of_note(const Drill *d, const Passage *p, const Fingering *f, const DrillNote *note)
{
    return (Item){.at = note->onset - d->offset,
        .length = note->length,
        .beat = passage_beat(p, (size_t)note->note),
        .bar = p->notes[note->note].bar,
        .note = note->note,
        .group = f->notes[note->note].group,
        .finger = f->notes[note->note].finger,
        .kind = note->accent ? EVENT_ACCENT : EVENT_NOTE,
        .level = note->accent ? 2 : 0};
}

bool items_repetition(Items *out, const Drill *d, const Passage *p, const Fingering *f)
{
    out->items = malloc((d->note_count + d->pulse_count) * sizeof *out->items);
    if (out->items == NULL)
        return false;
    size_t pulse = 0;
    while (pulse < d->pulse_count && d->pulses[pulse].at < d->offset)
        pulse++;
    for (size_t note = 0; note < d->note_count || pulse < d->pulse_count;) {
        bool pulse_first = pulse < d->pulse_count &&
                           (note == d->note_count || d->pulses[pulse].at <= d->notes[note].onset);
        out->items[out->count++] =
            pulse_first ? of_pulse(d, p, &d->pulses[pulse++]) : of_note(d, p, f, &d->notes[note++]);
    }
    chain(out);
    return true;
}

static int by_time(const void *a, const void *b)
{
    const Item *x = a, *y = b;
    if (x->at != y->at)
        return x->at < y->at ? -1 : 1;
    return (x->kind == EVENT_ANNOUNCE) - (y->kind == EVENT_ANNOUNCE);
}

bool items_rest(Items *out, const Drill *d, const Passage *p, const Rotation *r, int bars,
    const DrillSpec *next, int64_t *length)
{
    IdleBar idle = idle_bar(d, p);
    *length = d->tail + idle.bar * bars;
    size_t room = (size_t)(bars + 1) * (size_t)idle.count + ANNOUNCE_STROKES_MAX;
    out->items = malloc(room * sizeof *out->items);
    if (out->items == NULL)
        return false;
    for (int bar = -1; bar < bars; bar++)
        for (int k = 0; k < idle.count; k++) {
            int64_t at = d->tail + idle.bar * bar + idle.at[k];
            if (at >= 0)
                out->items[out->count++] = pulse_item(d, &idle, at, k, EVENT_DOWNBEAT, EVENT_PULSE);
        }
    if (bars > 0 && next != NULL) {
        int64_t at[ANNOUNCE_STROKES_MAX];
        int strokes = announce_strokes(next, r, d->ticks, idle.bar, idle.pulse, at);
        for (int i = 0; i < strokes; i++) {
            Item stroke = pulse_item(d, &idle, d->tail + at[i], 0, EVENT_ANNOUNCE, EVENT_ANNOUNCE);
            stroke.beat = beat_of(d, idle.unit, at[i]);
            stroke.line = false;
            stroke.level = 0;
            out->items[out->count++] = stroke;
        }
    }
    qsort(out->items, out->count, sizeof *out->items, by_time);
    chain(out);
    return true;
}

void items_free(Items *items)
{
    free(items->items);
    *items = (Items){0};
}
