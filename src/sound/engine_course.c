#include "evenhand/sound/engine_course.h"

#include <string.h>

/* The first click after silence has this share of its loudness, the rest comes over a second:
 * quiet enough not to startle, loud enough to count by. */
static const float RAMP_FLOOR = 0.25F;

void course_init(Course *c, int64_t lead, int rate, Queue *events)
{
    memset(c, 0, sizeof *c);
    c->leading = c->changing = c->queued = c->heard = COURSE_NONE;
    c->lead = lead;
    c->ramp_frames = rate;
    c->ramp_start = -c->ramp_frames;
    c->events = events;
    mixer_init(&c->mixer, rate / 200); /* fades last 5 ms */
}

bool course_can_lend(const Course *c)
{
    return c->lent_count < COURSE_LENT;
}

static int lend(Course *c, const Source *source)
{
    for (int i = 0; i < COURSE_LENT; i++) {
        if (c->lent[i].timeline)
            continue;
        c->lent[i] = *source;
        c->lent_count++;
        return i;
    }
    return COURSE_NONE; /* not reached: course_can_lend was asked */
}

static const Timeline *leading_timeline(const Course *c)
{
    return c->lent[c->leading].timeline;
}

/* The frame of `leading` whose events are decided at `now`. */
static int64_t leading_frame(const Course *c, int64_t now)
{
    return now + c->lead - c->base;
}

static void tell(Course *c, EngineEventKind kind, int lent, int64_t clock, int64_t timeline_frame)
{
    const EngineEvent event = {.kind = kind,
        .source = lent == COURSE_NONE ? (Source){0} : c->lent[lent],
        .engine_frame = clock + c->held,
        .timeline_frame = timeline_frame};
    queue_push(c->events, &event); /* a full queue counts what it refuses */
}

/* Marks are made a lead ahead, in order. Where too many fall into one lead (sources shorter
 * than a few milliseconds) the newest takes the place of the one before: where things stand at
 * last is right, and what was left out is counted. */
static void mark(Course *c, int64_t at, int lent, int64_t timeline_frame, bool ended)
{
    if (c->mark_count == COURSE_MARKS) {
        c->mark_count--;
        c->missed++;
    }
    c->mark[c->mark_count++] =
        (Mark){.at = at, .timeline_frame = timeline_frame, .lent = lent, .ended = ended};
}

/* From now on events are decided from `lent`, whose `frame` is heard a lead from now. */
static void lead_on(Course *c, int64_t now, int lent, int64_t frame, size_t next)
{
    c->leading = lent;
    c->base = now + c->lead - frame;
    c->next = next;
    mark(c, now + c->lead, lent, frame, false);
}

void course_play(Course *c, int64_t now, const Source *source, int64_t from, bool silent)
{
    mixer_release_all(&c->mixer, now);
    c->mark_count = 0;
    c->changing = c->queued = COURSE_NONE;
    if (silent)
        c->ramp_start = now;
    lead_on(c, now, lend(c, source), from, timeline_find(source->timeline, from));
}

/* A change keeps the place by the events' numbers, which means the same music only within one
 * drill: the console may have asked while the course was passing on to the next. Either may end
 * early. */
static bool same_music(const Timeline *a, const Timeline *b)
{
    return timeline_passage(a) == timeline_passage(b) &&
           timeline_whole_count(a) == timeline_whole_count(b) &&
           drill_spec_equal(&timeline_step(a)->drill, &timeline_step(b)->drill);
}

void course_change(Course *c, int64_t now, const Source *source)
{
    c->changing = lend(c, source);
    if (c->leading != COURSE_NONE && same_music(leading_timeline(c), source->timeline)) {
        const Timeline *t = leading_timeline(c);
        c->change_at = timeline_next_pulse(t, leading_frame(c, now));
        if (c->change_at < timeline_count(t) && c->change_at < timeline_count(source->timeline))
            return;
    }
    c->changing = COURSE_NONE; /* other music, or no pulse is left to change at */
}

void course_queue(Course *c, int64_t now, const Source *source)
{
    c->queued = lend(c, source);
    if (c->leading != COURSE_NONE)
        return;
    lead_on(c, now, c->queued, 0, 0);
    c->queued = COURSE_NONE;
}

void course_stop(Course *c, int64_t now)
{
    mixer_release_all(&c->mixer, now);
    if (!course_empty(c))
        course_tell(c, now, ENGINE_ENDED);
    c->mark_count = 0;
    c->leading = c->changing = c->queued = c->heard = COURSE_NONE;
}

bool course_empty(const Course *c)
{
    return c->leading == COURSE_NONE && c->heard == COURSE_NONE && c->mark_count == 0;
}

void course_tell(Course *c, int64_t now, EngineEventKind kind)
{
    if (c->heard != COURSE_NONE)
        tell(c, kind, c->heard, now, now - c->heard_base);
    else if (c->leading != COURSE_NONE)
        tell(c, kind, c->leading, now, now - c->base);
    else
        tell(c, kind, COURSE_NONE, now, 0);
}

static void reach_marks(Course *c, int64_t now)
{
    size_t reached = 0;
    for (; reached < c->mark_count && c->mark[reached].at <= now; reached++) {
        const Mark *m = &c->mark[reached];
        c->heard = m->ended ? COURSE_NONE : m->lent;
        c->heard_base = m->at - m->timeline_frame;
        tell(c, m->ended ? ENGINE_ENDED : ENGINE_STARTED, m->lent, m->at, m->timeline_frame);
    }
    c->mark_count -= reached;
    memmove(c->mark, c->mark + reached, c->mark_count * sizeof c->mark[0]);
}

static void change_over(Course *c, int64_t now)
{
    const Timeline *t = c->lent[c->changing].timeline;
    const bool there = c->change_at < timeline_count(t);
    const int64_t frame = there ? timeline_event(t, c->change_at).frame : timeline_frames(t);
    lead_on(c, now, c->changing, frame, c->change_at);
    c->changing = COURSE_NONE;
}

static void end_leading(Course *c, int64_t now)
{
    const int ended = c->leading;
    const int64_t frames = timeline_frames(leading_timeline(c));
    c->changing = COURSE_NONE;
    c->leading = COURSE_NONE;
    if (c->queued == COURSE_NONE) {
        mark(c, now + c->lead, ended, frames, true);
        return;
    }
    lead_on(c, now, c->queued, 0, 0);
    c->queued = COURSE_NONE;
}

static void sound(Course *c, int64_t now, const TimelineEvent *event)
{
    const Source *source = &c->lent[c->leading];
    const VoicingSource strings = {.passage = timeline_passage(source->timeline),
        .plucks = source->plucks,
        .owner = c->leading};
    const int64_t risen = now - c->ramp_start;
    float loudness = 1;
    if (risen < c->ramp_frames)
        loudness = RAMP_FLOOR + (1 - RAMP_FLOOR) * ((float)risen / (float)c->ramp_frames);
    voicing_sound(&c->voicing, &c->mixer, now, &strings, event, now + c->lead, loudness);
}

void course_decide(Course *c, int64_t now)
{
    reach_marks(c, now);
    while (c->leading != COURSE_NONE) {
        const Timeline *t = leading_timeline(c);
        const int64_t frame = leading_frame(c, now);
        if (frame >= timeline_frames(t)) {
            end_leading(c, now);
            continue;
        }
        if (c->next >= timeline_count(t))
            return;
        const TimelineEvent event = timeline_event(t, c->next);
        if (event.frame > frame)
            return;
        if (c->changing != COURSE_NONE && c->next >= c->change_at) {
            change_over(c, now);
            continue;
        }
        sound(c, now, &event);
        c->next++;
    }
}

int64_t course_until_next(const Course *c, int64_t now)
{
    int64_t until = INT64_MAX;
    if (c->mark_count > 0)
        until = c->mark[0].at - now;
    if (c->leading == COURSE_NONE)
        return until;
    const Timeline *t = leading_timeline(c);
    int64_t due = timeline_frames(t);
    if (c->next < timeline_count(t)) {
        const int64_t event = timeline_event(t, c->next).frame;
        due = event < due ? event : due;
    }
    due -= leading_frame(c, now);
    return due < until ? due : until;
}

void course_retire(Course *c, int64_t now)
{
    bool used[COURSE_LENT] = {false};
    const int roles[] = {c->leading, c->changing, c->queued, c->heard};
    int in_roles = 0;
    for (size_t i = 0; i < sizeof roles / sizeof roles[0]; i++) {
        if (roles[i] == COURSE_NONE || used[roles[i]])
            continue;
        used[roles[i]] = true;
        in_roles++;
    }
    if (in_roles == c->lent_count)
        return;
    for (size_t i = 0; i < c->mark_count; i++)
        used[c->mark[i].lent] = true;
    mixer_owners(&c->mixer, now, used, COURSE_LENT);
    for (int i = 0; i < COURSE_LENT && !queue_full(c->events); i++) {
        if (!c->lent[i].timeline || used[i])
            continue;
        tell(c, ENGINE_RETIRED, i, now, 0);
        c->lent[i] = (Source){0};
        c->lent_count--;
    }
}
