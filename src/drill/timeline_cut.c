/* Timelines that end early, and the silence between two blocks of a routine. */
#include "timeline_items.h"

#include <stdlib.h>
#include <string.h>

static const int64_t REST_FRAMES_MAX = (int64_t)1 << 40;

static bool copy_items(const Items *from, Items *to)
{
    *to = (Items){.count = from->count};
    if (from->count == 0)
        return true;
    to->items = malloc(from->count * sizeof *to->items);
    if (to->items == NULL)
        return false;
    memcpy(to->items, from->items, from->count * sizeof *to->items);
    return true;
}

static bool copy_parts(const Timeline *from, Timeline *to)
{
    size_t notes = from->passage->note_count;
    to->notes = malloc(notes > 0 ? notes : 1);
    if (to->notes == NULL)
        return false;
    memcpy(to->notes, from->notes, notes);
    return copy_items(&from->count_in, &to->count_in) &&
           copy_items(&from->repetition, &to->repetition) &&
           copy_items(&from->closing, &to->closing);
}

Timeline *timeline_until(const Timeline *t, int64_t frame, Error *error)
{
    if (frame < 0 || frame > timeline_frames(t)) {
        error_set(error, ERROR_RANGE, "a drill can end early only within its length");
        return NULL;
    }
    Timeline *cut = malloc(sizeof *cut);
    if (cut != NULL) {
        *cut = *t;
        cut->notes = NULL;
        cut->count_in = cut->repetition = cut->closing = (Items){0};
    }
    if (cut == NULL || !copy_parts(t, cut)) {
        timeline_free(cut);
        error_set(error, ERROR_MEMORY, "out of memory for the timeline");
        return NULL;
    }
    cut->cut = frame;
    cut->cut_count = timeline_find(t, frame);
    return cut;
}

static bool make_bell(Timeline *t)
{
    t->closing.items = malloc(sizeof *t->closing.items);
    if (t->closing.items == NULL)
        return false;
    t->closing.count = 1;
    t->closing.items[0] = (Item){.beat = {0, 1},
        .bar = -1,
        .note = -1,
        .group = -1,
        .last_note = -1,
        .to_pulse = NO_PULSE_YET,
        .kind = EVENT_BELL};
    return true;
}

/* One tick is one frame; nothing is counted in or repeated. */
Timeline *timeline_rest(const Passage *p, int64_t frames, bool bell, int rate, Error *error)
{
    if (frames < 1 || frames > REST_FRAMES_MAX || rate < 1000 || rate > 1000000) {
        error_set(error, ERROR_RANGE, "such a rest cannot be counted");
        return NULL;
    }
    Timeline *t = calloc(1, sizeof *t);
    if (t != NULL) {
        t->passage = p;
        t->step.drill = drill_plain();
        t->step.tempo = tempo(ratio_int(1), ratio_int(60));
        t->step.repetitions = 1;
        t->rate = rate;
        t->frames_per_tick = ratio_int(1);
        t->end = frames;
        t->cut = -1;
        t->notes = calloc(p->note_count > 0 ? p->note_count : 1, sizeof *t->notes);
    }
    if (t != NULL && t->notes != NULL && (!bell || make_bell(t)))
        return t;
    timeline_free(t);
    error_set(error, ERROR_MEMORY, "out of memory for the rest");
    return NULL;
}

static bool on_line(const TimelineEvent *e)
{
    return e->kind == EVENT_DOWNBEAT || (e->kind == EVENT_COUNT_IN && e->level == 2);
}

int64_t timeline_line_near(const Timeline *t, int64_t frame)
{
    int64_t end = timeline_frames(t), after = end, before = -1;
    size_t count = timeline_count(t), middle = timeline_find(t, frame);
    for (size_t i = middle; i < count; i++) {
        TimelineEvent e = timeline_event(t, i);
        if (on_line(&e)) {
            after = e.frame;
            break;
        }
    }
    for (size_t i = middle; i > 0 && before < 0; i--) {
        TimelineEvent e = timeline_event(t, i - 1);
        if (on_line(&e))
            before = e.frame;
    }
    if (frame >= end)
        return end;
    return before < 0 || after - frame < frame - before ? after : before;
}
