/* A routine that runs: which block is played, and for how long.
 *
 *      engine   | music | music (cut)| bell, rest  | music ...
 *      take      work             cut  gap           work of the next block
 *               ^ begin              ^ begin       ^ begin
 *
 * Everything is queued behind what leads, so frame N of one is frame 0 of the next. The clock
 * counts the frames that were heard, from the engine frame on which a fresh start was begun. */
#include "practice_parts.h"

#include <stdio.h>

enum { BREAK_SHOWN_MS = 30000 };

static int64_t span_of(const Practice *p, int block, RoutinePhase phase)
{
    const RoutineSpan *span = &p->routine.run.span[block];
    return phase == ROUTINE_WORK ? span->work : span->rest;
}

static bool only_time(const Practice *p)
{
    const RoutineRun *run = &p->routine.run;
    return run->phase != ROUTINE_WORK || p->routine.loaded.given[run->block] == NULL;
}

/* ---- takes --------------------------------------------------------------------------------- */

static Take *gap_new(
    Practice *p, const Take *behind, int block, RoutinePhase phase, int64_t frames, bool bell)
{
    Error error = {0};
    Take *take = takes_slot(p);
    Timeline *t = take != NULL
                      ? timeline_rest(p->piece->loaded.passage, frames, bell, p->rate, &error)
                      : NULL;
    if (t == NULL) {
        practice_say(p, p->now_ms, true, "No room for the rest: go on with the next block.");
        return NULL;
    }
    *take = (Take){.timeline = t,
        .piece = p->piece,
        .step = p->step,
        .run = ++p->runs,
        .order = ++p->orders,
        .follows = behind != NULL ? behind->run : 0,
        .block = block,
        .phase = phase,
        .gap = true};
    if (behind != NULL) { /* it stands where that one led */
        take->ladder = behind->ladder;
        take->climb = behind->climb;
    }
    p->piece->users++;
    return take;
}

static void queue(Practice *p, Take *take)
{
    if (take != NULL && takes_send(p, COMMAND_QUEUE, take))
        p->queued = take;
}

/* Where this take ends if the block's work may last so many frames more, from its frame 0: on the
 * nearest bar line, 0 where it would not be begun. */
static int64_t end_within(const Take *take, int64_t frames)
{
    int64_t all = timeline_frames(take->timeline);
    if (frames >= all)
        return all;
    return frames > 0 ? timeline_line_near(take->timeline, frames) : 0;
}

static void cut_take(Take *take, int64_t end)
{
    Error error = {0};
    Timeline *cut = timeline_until(take->timeline, end, &error);
    if (cut == NULL)
        return; /* it then ends a little later */
    int whole = 0, repetitions = take->repetitions - take->base;
    while (whole < repetitions && timeline_repetition_frame(take->timeline, whole + 1) <= end)
        whole++;
    timeline_free(take->timeline);
    take->timeline = cut;
    take->whole = take->base + whole;
    take->cut = true;
}

void routine_fit(Practice *p, Take *take)
{
    const RoutineRun *run = &p->routine.run;
    if (!p->routine.on || run->span[run->block].by_count)
        return;
    int64_t left = routine_phase_left(run), end = end_within(take, left);
    while (end == 0) { /* asked for by a key: at least a bar of it */
        left = left * 2 + p->rate / 10;
        end = end_within(take, left);
    }
    if (end < timeline_frames(take->timeline))
        cut_take(take, end);
}

bool routine_plays_gap(Practice *p)
{
    RoutineDesk *d = &p->routine;
    if (!d->on)
        return false;
    if (d->run.phase == ROUTINE_DONE) {
        routine_go(&d->run, 0);
        routine_enter(p, 0);
    }
    routine_hold(&d->run, false);
    if (!only_time(p))
        return false;
    bool bell = d->run.phase == ROUTINE_RESTING && d->run.at == 0;
    Take *take = gap_new(p, NULL, d->run.block, d->run.phase, routine_phase_left(&d->run), bell);
    p->running = take != NULL && takes_send(p, COMMAND_PLAY, take);
    p->awaited = p->running ? take : NULL;
    p->leading = p->queued = NULL;
    return true;
}

/* ---- what follows -------------------------------------------------------------------------- */

/* The drills of a block by time come again until it is over; so does a ladder's last rung. */
static bool wanted_next(const Practice *p, const Take *take, Wanted *w)
{
    bool more = takes_wanted_after(p, take, w);
    if (more || p->routine.run.span[take->block].by_count)
        return more;
    if (!p->ladder.on) {
        w->step = 0;
        w->repetitions = p->piece->loaded.session.steps[0].repetitions;
    }
    return true;
}

/* False where the time is up, or the drills are over. */
static bool queue_music(Practice *p, Take *take, int64_t next)
{
    Wanted wanted;
    const RoutineSpan *span = &p->routine.run.span[take->block];
    if (take->cut || !wanted_next(p, take, &wanted))
        return false;
    Take *following = takes_new(p, &wanted);
    if (following == NULL)
        return true; /* said; tried again at the next start */
    following->follows = take->run;
    if (!span->by_count) {
        int64_t end = end_within(following, p->routine.begin + span->work - next);
        if (end == 0) {
            takes_drop(p, following);
            return false;
        }
        if (end < timeline_frames(following->timeline))
            cut_take(following, end);
    }
    queue(p, following);
    return true;
}

static void queue_rest(Practice *p, const Take *take)
{
    queue(p, gap_new(p, take, take->block, ROUTINE_RESTING,
                 span_of(p, take->block, ROUTINE_RESTING), true));
}

/* The first take of a block that has just been made ready. */
static void queue_block(Practice *p, Take *take, int block)
{
    if (p->routine.loaded.given[block] == NULL) {
        queue(p, gap_new(p, take, block, ROUTINE_WORK, span_of(p, block, ROUTINE_WORK), false));
        return;
    }
    const Wanted wanted = {
        .repetitions = p->ladder.on ? 1 : p->piece->loaded.session.steps[0].repetitions,
        .climb = p->ladder.at,
        .block = block};
    Take *first = takes_new(p, &wanted);
    if (first == NULL)
        return;
    first->follows = take->run;
    const RoutineSpan *span = &p->routine.run.span[block];
    int64_t end = span->by_count ? 0 : end_within(first, span->work);
    if (end > 0 && end < timeline_frames(first->timeline))
        cut_take(first, end);
    queue(p, first);
}

/* In the rest the next block is made ready, once the rest is heard: the screen then shows it. */
static void follow_rest(Practice *p, Take *take)
{
    int64_t frame;
    if (takes_heard(p, p->heard, &frame) != take || take->block + 1 >= p->routine.run.count)
        return;
    if (p->routine.ready != take->block + 1)
        routine_enter(p, take->block + 1);
    queue_block(p, take, take->block + 1);
}

void routine_follow(Practice *p, Take *take)
{
    RoutineDesk *d = &p->routine;
    int64_t next = take->start + timeline_frames(take->timeline);
    if (!take->gap) {
        if (!queue_music(p, take, next)) {
            routine_settle(&d->run, take->block, next - d->begin);
            queue_rest(p, take);
        }
        return;
    }
    int64_t left = d->begin + span_of(p, take->block, take->phase) - next;
    if (left > 0) /* a minute was added */
        queue(p, gap_new(p, take, take->block, take->phase, left, false));
    else if (take->phase == ROUTINE_WORK)
        queue_rest(p, take);
    else
        follow_rest(p, take);
}

/* A take that was rebuilt, at another tempo or with more time, ends early once it is known where
 * it stands. */
static bool refit(Practice *p, Take *take)
{
    const RoutineSpan *span = &p->routine.run.span[take->block];
    if (take->gap || take->cut || span->by_count)
        return false;
    int64_t left = p->routine.begin + span->work - take->start;
    int64_t end = end_within(take, left);
    if (end == 0 || end >= timeline_frames(take->timeline))
        return false;
    Take *slot = takes_slot(p);
    Error error = {0};
    Timeline *copy = slot != NULL
                         ? timeline_until(take->timeline, timeline_frames(take->timeline), &error)
                         : NULL;
    if (copy == NULL)
        return false;
    *slot = *take;
    slot->timeline = copy;
    slot->order = ++p->orders;
    slot->begun = slot->retired = false;
    slot->piece->users++;
    cut_take(slot, end);
    return takes_send(p, COMMAND_CHANGE, slot);
}

void routine_started(Practice *p, Take *take, const EngineEvent *event, bool fresh)
{
    RoutineDesk *d = &p->routine;
    take->start = event->engine_frame - event->timeline_frame;
    if (fresh) {
        d->counted = event->engine_frame;
        d->block = take->block = d->run.block;
        d->phase = take->phase = d->run.phase;
        d->begin = event->engine_frame - d->run.at;
    } else if (take->block != d->block || take->phase != d->phase) {
        if (take->phase == ROUTINE_RESTING)
            routine_settle(&d->run, take->block, take->start - d->begin);
        d->block = take->block;
        d->phase = take->phase;
        d->begin = take->start;
    }
    if (!refit(p, take)) /* else when the shorter one has begun */
        routine_follow(p, take);
}

/* ---- the clock ----------------------------------------------------------------------------- */

/* Work that has no end yet, because what ends it is not queued, goes on. */
static void hold_open(Practice *p, int64_t frames)
{
    RoutineDesk *d = &p->routine;
    bool ends = p->queued != NULL && p->queued->phase == ROUTINE_RESTING;
    if (d->run.phase == ROUTINE_WORK && d->phase == ROUTINE_WORK && d->block == d->run.block &&
        !ends && routine_phase_left(&d->run) <= frames)
        routine_settle(&d->run, d->block, d->run.at + frames + 1);
}

static void say_break(Practice *p)
{
    int minutes = p->routine.loaded.routine.break_after;
    practice_say(p, p->now_ms, false,
        "%d minute%s of playing: take a break. If anything hurts, stop and ask a professional.",
        minutes, minutes == 1 ? "" : "s");
    snprintf(p->model.message_brief, sizeof p->model.message_brief, "Take a break. Hurts? Stop.");
    p->message_until = p->routine.break_until;
}

/* Shown for a while; what is said meanwhile only stands before it. A pause takes it away. */
static void propose_break(Practice *p)
{
    RoutineDesk *d = &p->routine;
    if (!routine_break_due(&d->run)) {
        d->break_told = false;
        return;
    }
    if (!d->break_told)
        d->break_until = p->now_ms + BREAK_SHOWN_MS;
    bool free = p->message_until < p->now_ms && p->now_ms < d->break_until;
    if (!d->break_told || (free && p->running && !p->paused))
        say_break(p);
    d->break_told = true;
}

/* All that was queued is over: the end, or the console stood still beyond it. Then the silence
 * since does not count, and what is due is begun now. */
static void catch_up(Practice *p)
{
    RoutineDesk *d = &p->routine;
    if (p->ended_at > d->counted)
        routine_advance(&d->run, p->ended_at - d->counted);
    d->counted = p->heard;
    if (d->run.phase == ROUTINE_DONE)
        return;
    if (d->ready != d->run.block)
        routine_enter(p, d->run.block);
    takes_play(p, p->step, 0, 0);
}

void routine_tick(Practice *p)
{
    RoutineDesk *d = &p->routine;
    int64_t frames = p->heard - d->counted, frame;
    if (!d->on || p->engine == NULL)
        return;
    if (p->finished && d->run.phase != ROUTINE_DONE)
        catch_up(p);
    else if (frames > 0 &&
             ((p->running && p->awaited == NULL && p->leading != NULL) || p->paused)) {
        if (!d->run.held)
            hold_open(p, frames);
        routine_advance(&d->run, frames);
        d->counted = p->heard;
    }
    Take *heard = p->running && !p->paused ? takes_heard(p, p->heard, &frame) : NULL;
    if (heard != NULL && heard == p->leading && heard->gap && p->queued == NULL)
        routine_follow(p, heard);
    propose_break(p);
}
