/* The pulses beneath a drill: bar by bar, padded to whole bars. */
#include "drill_parts.h"

#include <stdlib.h>

/* The pulse positions of one metre in ticks, from the bar line. */
typedef struct {
    Metre metre;
    int64_t at[METRE_NUM_MAX];
    int count;
    int64_t bar;  /* full length; 0 free */
    int64_t step; /* between pulses, for what goes beyond the metre */
} Beats;

static Beats beats_of(const Drill *d, const Metre *m)
{
    Ratio at[METRE_NUM_MAX];
    Beats b = {.metre = *m, .count = metre_pulses(m, at)};
    for (int i = 0; i < b.count; i++)
        b.at[i] = drill_ticks(d, at[i]);
    b.bar = drill_ticks(d, metre_bar(m));
    Ratio unit = metre_unit(m);
    b.step = drill_ticks(d, metre_compound(m) ? ratio_mul(unit, ratio_int(3)) : unit);
    return b;
}

/* Position of pulse k; beyond the metre (free, or an overfull bar) they go on evenly. */
static int64_t pulse_at(const Beats *b, int k)
{
    if (k < b->count)
        return b->at[k];
    int64_t last = b->at[b->count - 1];
    return last + b->step * (k - b->count + 1);
}

typedef struct {
    Drill *drill;
    size_t room;
    int64_t subdivision; /* ticks; 0: none */
    Error *error;
} Layer;

static bool add(Layer *l, int64_t at, PulseKind kind, int32_t bar, int64_t in_bar)
{
    Drill *d = l->drill;
    if (d->pulse_count == DRILL_PULSES_MAX)
        return error_set(l->error, ERROR_LIMIT, "more than %d pulses; choose a longer subdivision",
            DRILL_PULSES_MAX);
    if (d->pulse_count == l->room) {
        size_t room = l->room == 0 ? 64 : l->room * 2;
        DrillPulse *pulses = realloc(d->pulses, room * sizeof *pulses);
        if (pulses == NULL)
            return error_set(l->error, ERROR_MEMORY, "out of memory for the pulses");
        d->pulses = pulses;
        l->room = room;
    }
    d->pulses[d->pulse_count++] = (DrillPulse){at, kind, bar, in_bar};
    return true;
}

/* The part [from, to) of a bar whose line lies at `line`; positions are from that line. */
static bool lay_part(Layer *l, const Beats *b, int32_t bar, int64_t line, int64_t from, int64_t to)
{
    int k = 0;
    int64_t grid = l->subdivision > 0 ? (from + l->subdivision - 1) / l->subdivision : 0;
    while (pulse_at(b, k) < from)
        k++;
    for (;;) {
        int64_t pulse = pulse_at(b, k);
        int64_t between = l->subdivision > 0 ? grid * l->subdivision : to;
        if (pulse >= to && between >= to)
            return true;
        if (pulse <= between) {
            PulseKind kind = k == 0 ? PULSE_DOWNBEAT : PULSE_BEAT;
            if (!add(l, line + pulse, kind, bar, pulse))
                return false;
            grid += between == pulse && l->subdivision > 0 ? 1 : 0;
            k++;
        } else {
            if (!add(l, line + between, PULSE_SUBDIVISION, bar, between))
                return false;
            grid++;
        }
    }
}

/* Where the cycle ends: the first moment at or after the passage's end that stands as far from
 * a bar line as the passage's beginning does. */
static int64_t cycle_end(const Drill *d, const Passage *p, int64_t end)
{
    const Bar *last = &p->bars[p->bar_count - 1];
    int64_t full = drill_ticks(d, metre_bar(&last->metre));
    int64_t in_bar = drill_ticks(d, ratio_add(last->offset, last->length));
    int64_t line = end - in_bar;
    if (d->offset > 0 && in_bar <= d->offset && metre_equal(&last->metre, &p->metre) && line > 0)
        return line + d->offset;
    return (in_bar < full ? line + full : end) + d->offset;
}

bool pulses_lay(Drill *drill, const Passage *p, Ratio subdivision, Error *error)
{
    Beats b = beats_of(drill, &p->metre);
    Layer l = {.drill = drill, .error = error};
    int64_t step = drill_ticks(drill, subdivision);
    int64_t end = drill_ticks(drill, p->length) + drill->offset;
    int64_t stop = cycle_end(drill, p, end), line = 0;
    l.subdivision = step > 0 && step < b.step ? step : 0;
    drill->cycle = stop - drill->offset;
    drill->tail = drill->offset > 0 ? b.bar - drill->offset : 0;
    for (size_t i = 0; i < p->bar_count; i++) {
        const Bar *bar = &p->bars[i];
        if (!metre_equal(&bar->metre, &b.metre))
            b = beats_of(drill, &bar->metre);
        int64_t offset = drill_ticks(drill, bar->offset);
        int64_t to = offset + drill_ticks(drill, bar->length);
        line = drill_ticks(drill, bar->start) + drill->offset - offset;
        if (i + 1 == p->bar_count) {
            to = b.bar > to ? b.bar : to;
            to = line + to > stop ? stop - line : to;
        }
        if (!lay_part(&l, &b, (int32_t)i, line, i == 0 ? 0 : offset, to))
            return false;
        line += to;
    }
    b = beats_of(drill, &p->metre); /* a bar begun for the pickup's sake */
    return line >= stop || lay_part(&l, &b, (int32_t)p->bar_count - 1, line, 0, stop - line);
}
