/* Three stretches of items in ticks; events are worked out from them when asked for. */
#include "timeline_items.h"

#include <stdlib.h>

__extension__ typedef __int128 Wide;

static int64_t frame_of(const Timeline *t, int64_t tick)
{
    Wide n = (Wide)tick * t->frames_per_tick.num, d = t->frames_per_tick.den;
    return (int64_t)((2 * n + d) / (2 * d)); /* tick >= 0 */
}

static bool mark_notes(Timeline *t, const Drill *d)
{
    t->notes = calloc(t->passage->note_count, sizeof *t->notes);
    if (t->notes == NULL)
        return false;
    for (size_t i = 0; i < d->note_count; i++) {
        const DrillNote *note = &d->notes[i];
        int8_t flags = (int8_t)((note->accent ? 1 : 0) + (note->change > 0      ? 2
                                                             : note->change < 0 ? 4
                                                                                : 0));
        size_t end = passage_block_end(t->passage, (size_t)note->note);
        for (size_t k = (size_t)note->note; k < end; k++)
            t->notes[k] = flags;
    }
    return true;
}

static bool check_step(const SessionStep *step, int rate, Error *error)
{
    if (!tempo_valid(step->tempo))
        return error_set(
            error, ERROR_RANGE, "a tempo is %d to %d beats a minute", TEMPO_MIN, TEMPO_MAX);
    if (step->repetitions < 1 || step->repetitions > SESSION_REPETITIONS_MAX)
        return error_set(error, ERROR_RANGE, "repetitions are 1 to %d", SESSION_REPETITIONS_MAX);
    if (step->count_in_bars < 0 || step->count_in_bars > SESSION_BARS_MAX || step->rest_bars < 0 ||
        step->rest_bars > SESSION_BARS_MAX)
        return error_set(
            error, ERROR_RANGE, "count-in and rest are 0 to %d bars each", SESSION_BARS_MAX);
    if (rate < 1000 || rate > 1000000)
        return error_set(error, ERROR_RANGE, "a rate is 1000 to 1000000 frames a second");
    return true;
}

/* Begins repetition 0 in the middle, on the bar line of that bar. */
static void start_in_bar(Timeline *t, int bar)
{
    const Items *r = &t->repetition;
    for (size_t i = 0; bar > 0 && i < r->count; i++)
        if (r->items[i].kind == EVENT_DOWNBEAT && r->items[i].bar == bar) {
            t->first = i;
            break;
        }
    for (size_t i = t->first; i < r->count; i++)
        if (r->items[i].note >= 0) {
            t->first_note = r->items[i].note;
            return;
        }
    t->first = 0; /* no note is left in it: all of it, then */
}

/* False for a step so long that its ticks or frames would not fit; asked before they are added
 * up. */
static bool check_length(const Drill *d, Error *error)
{
    int64_t furthest = (int64_t)1 << 62;
    return d->cycle < furthest / (SESSION_REPETITIONS_MAX + 2 * SESSION_BARS_MAX + 2) ||
           error_set(error, ERROR_LIMIT, "this drill lasts longer than can be counted");
}

static bool scale(Timeline *t, const Drill *d, Error *error)
{
    Ratio per_quarter = ratio_mul(tempo_seconds_per_quarter(t->step.tempo), ratio_int(t->rate));
    t->frames_per_tick = ratio_div(per_quarter, ratio_int(d->ticks));
    Wide furthest = (Wide)1 << 62;
    bool fits = ratio_valid(t->frames_per_tick) &&
                (Wide)t->end * t->frames_per_tick.num / t->frames_per_tick.den < furthest;
    return fits || error_set(error, ERROR_LIMIT, "this drill lasts longer than can be counted");
}

static bool lay_stretches(Timeline *t, const Drill *d, const Passage *p, const Fingering *f,
    const Rotation *r, const DrillSpec *next)
{
    if (!items_repetition(&t->repetition, d, p, f))
        return false;
    start_in_bar(t, t->step.from_bar);
    int64_t offset = t->first > 0 ? 0 : d->offset;
    if (!items_count_in(&t->count_in, d, p, t->step.count_in_bars, offset, &t->play) ||
        !items_rest(&t->closing, d, p, r, t->step.rest_bars, next, &t->end))
        return false;
    t->zero = t->play - (t->first > 0 ? t->repetition.items[t->first].at : 0);
    t->rest = t->zero + d->cycle * t->step.repetitions;
    t->end += t->rest;
    return mark_notes(t, d);
}

Timeline *timeline_new(const Passage *p, const Fingering *f, const Rotation *r,
    const SessionStep *step, const DrillSpec *next, int rate, Error *error)
{
    Drill drill;
    if (!check_step(step, rate, error) || !drill_build(p, f, r, &step->drill, &drill, error))
        return NULL;
    if (!check_length(&drill, error)) {
        drill_free(&drill);
        return NULL;
    }
    Timeline *t = calloc(1, sizeof *t);
    bool done = false;
    if (t == NULL)
        goto out;
    t->passage = p;
    t->step = *step;
    t->rate = rate;
    t->cut = -1;
    t->cycle = drill.cycle;
    done = lay_stretches(t, &drill, p, f, r, next);
out:
    if (!done)
        error_set(error, ERROR_MEMORY, "out of memory for the timeline");
    else
        done = scale(t, &drill, error);
    drill_free(&drill);
    if (done)
        return t;
    timeline_free(t);
    return NULL;
}

void timeline_free(Timeline *t)
{
    if (t == NULL)
        return;
    items_free(&t->count_in);
    items_free(&t->repetition);
    items_free(&t->closing);
    free(t->notes);
    free(t);
}

const Passage *timeline_passage(const Timeline *t)
{
    return t->passage;
}

const SessionStep *timeline_step(const Timeline *t)
{
    return &t->step;
}

int timeline_rate(const Timeline *t)
{
    return t->rate;
}

int64_t timeline_frames(const Timeline *t)
{
    return t->cut >= 0 ? t->cut : frame_of(t, t->end);
}

int64_t timeline_repetition_frame(const Timeline *t, int k)
{
    int64_t frame = frame_of(t, k == 0 ? t->play : t->zero + t->cycle * k);
    return t->cut >= 0 && frame > t->cut ? t->cut : frame;
}

size_t timeline_count(const Timeline *t)
{
    return t->cut >= 0 ? t->cut_count : timeline_whole_count(t);
}

size_t timeline_whole_count(const Timeline *t)
{
    size_t played = t->repetition.count * (size_t)t->step.repetitions - t->first;
    return t->count_in.count + played + t->closing.count;
}

/* Which item event i is, and the tick its stretch begins at. */
static const Item *item_of(const Timeline *t, size_t i, int *repetition, int64_t *base)
{
    *repetition = -1;
    *base = 0;
    if (i < t->count_in.count)
        return &t->count_in.items[i];
    i -= t->count_in.count;
    size_t played = t->repetition.count * (size_t)t->step.repetitions - t->first;
    if (i < played) {
        i += t->first;
        *repetition = (int)(i / t->repetition.count);
        *base = t->zero + t->cycle * *repetition;
        return &t->repetition.items[i % t->repetition.count];
    }
    *base = t->rest;
    return &t->closing.items[i - played];
}

TimelineEvent timeline_event(const Timeline *t, size_t i)
{
    int repetition;
    int64_t base;
    const Item *item = item_of(t, i, &repetition, &base);
    int64_t frame = frame_of(t, base + item->at);
    bool note = item->kind == EVENT_NOTE || item->kind == EVENT_ACCENT;
    int64_t off = note ? frame_of(t, base + item->at + item->length) : frame;
    if (t->cut >= 0 && off > t->cut)
        off = t->cut;
    return (TimelineEvent){.frame = frame,
        .kind = (EventKind)item->kind,
        .level = item->level,
        .repetition = repetition,
        .bar = item->bar,
        .beat = item->beat,
        .note = item->note,
        .finger = item->finger,
        .group = item->group,
        .length = off - frame};
}

static int64_t event_frame(const Timeline *t, size_t i)
{
    int repetition;
    int64_t base;
    const Item *item = item_of(t, i, &repetition, &base);
    return frame_of(t, base + item->at);
}

size_t timeline_find(const Timeline *t, int64_t frame)
{
    size_t low = 0, high = timeline_count(t);
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (event_frame(t, middle) < frame)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

size_t timeline_next_pulse(const Timeline *t, int64_t frame)
{
    size_t count = timeline_count(t);
    for (size_t i = timeline_find(t, frame); i < count; i++) {
        int repetition;
        int64_t base;
        int kind = item_of(t, i, &repetition, &base)->kind;
        if (kind == EVENT_COUNT_IN || kind == EVENT_DOWNBEAT || kind == EVENT_PULSE)
            return i;
    }
    return count;
}

static Section section_at(const Timeline *t, int64_t frame)
{
    if (frame >= timeline_frames(t))
        return SECTION_END;
    if (frame >= frame_of(t, t->rest))
        return SECTION_REST;
    return frame >= frame_of(t, t->play) ? SECTION_PLAY : SECTION_COUNT_IN;
}

/* Bar lines of the rest or the count-in after `frame`, its end included. */
static int bars_left(const Timeline *t, Section section, int64_t frame)
{
    const Items *items = section == SECTION_COUNT_IN ? &t->count_in : &t->closing;
    int64_t base = section == SECTION_COUNT_IN ? 0 : t->rest;
    int bars = 1;
    for (size_t i = 0; i < items->count; i++) {
        int64_t line = frame_of(t, base + items->items[i].at);
        bars += items->items[i].line && line > frame && line < timeline_frames(t);
    }
    return bars;
}

/* The pulse that was passed last when event `last` has happened; NULL before any. */
static const Item *pulse_before(const Timeline *t, size_t last, int64_t *base)
{
    int repetition;
    for (int stretch = 0; stretch < 3; stretch++) {
        const Item *item = item_of(t, last, &repetition, base);
        if (item->to_pulse != NO_PULSE_YET) {
            size_t pulse = last - item->to_pulse;
            return item_of(t, pulse, &repetition, base);
        }
        /* A stretch that begins off the beat: the pulse was in the stretch before. (Where the
         * first repetition begins in its middle, it begins on a pulse.) */
        if (item->index >= last)
            return NULL;
        last -= item->index + 1;
    }
    return NULL;
}

TimelinePlace timeline_at(const Timeline *t, int64_t frame)
{
    TimelinePlace place = {.repetition = -1,
        .note = -1,
        .bar = -1,
        .beat = {0, 1},
        .since_pulse = -1,
        .section = section_at(t, frame)};
    if (place.section == SECTION_COUNT_IN || place.section == SECTION_REST)
        place.bars_left = bars_left(t, place.section, frame);
    size_t next = timeline_find(t, frame + 1);
    int repetition = -1;
    int64_t base = 0;
    const Item *last = next > 0 ? item_of(t, next - 1, &repetition, &base) : NULL;
    if (place.section == SECTION_PLAY) {
        place.repetition = repetition < 0 ? 0 : repetition;
        while (place.repetition + 1 < t->step.repetitions &&
               timeline_repetition_frame(t, place.repetition + 1) <= frame)
            place.repetition++;
    }
    if (last == NULL)
        return place;
    if (place.repetition >= 0 && place.repetition == repetition) {
        bool played = repetition > 0 || last->last_note >= t->first_note;
        place.note = played ? last->last_note : -1;
        place.accent = place.note >= 0 && timeline_accents(t, place.note);
        place.bar = last->bar;
    }
    const Item *pulse = pulse_before(t, next - 1, &base);
    if (pulse == NULL)
        return place;
    place.beat = pulse->beat;
    place.downbeat = pulse->level == 2;
    place.since_pulse = frame - frame_of(t, base + pulse->at);
    return place;
}

bool timeline_accents(const Timeline *t, int32_t note)
{
    return (t->notes[note] & 1) != 0;
}

int timeline_change(const Timeline *t, int32_t note)
{
    return (t->notes[note] & 2) != 0 ? 1 : (t->notes[note] & 4) != 0 ? -1 : 0;
}

const char *event_word(EventKind kind)
{
    static const char *const words[EVENT_KINDS] = {
        "count-in", "downbeat", "pulse", "subdivision", "note", "accent", "announce", "bell"};
    return (unsigned)kind < EVENT_KINDS ? words[kind] : "";
}
