/* Takes: what is lent to the engine, until it gives it back and nobody hears it any more. */
#include "practice_parts.h"

Take *takes_slot(Practice *p)
{
    for (int i = 0; i < TAKES_MAX; i++)
        if (p->takes[i].timeline == NULL)
            return &p->takes[i];
    return NULL;
}

void takes_drop(Practice *p, Take *take)
{
    if (p->lit == take->timeline)
        p->lit = NULL;
    if (p->leading == take)
        p->leading = NULL;
    if (p->queued == take)
        p->queued = NULL;
    if (p->awaited == take)
        p->awaited = NULL;
    timeline_free(take->timeline);
    piece_release(take->piece);
    *take = (Take){0};
}

/* With a ladder one repetition at its rung's tempo, counted in only where it begins by itself. */
static void on_rung(const Practice *p, const Wanted *w, SessionStep *step)
{
    step->tempo = climb_tempo(&p->ladder.ladder, w->climb);
    step->repetitions = 1;
    step->rest_bars = 0;
    if (w->follows != 0)
        step->count_in_bars = 0;
}

/* NULL (and said) where there is no room or memory; the practice goes on with what it has. */
Take *takes_new(Practice *p, const Wanted *w)
{
    Loaded *l = &p->piece->loaded;
    Take *take = takes_slot(p);
    if (take == NULL) {
        practice_say(p, p->now_ms, true, "Too much at once; press the key again.");
        return NULL;
    }
    SessionStep shortened = l->session.steps[w->step];
    shortened.repetitions = w->repetitions - w->base;
    shortened.from_bar = w->from_bar;
    if (p->ladder.on)
        on_rung(p, w, &shortened);
    if ((w->base > 0 || w->from_bar > 0) && shortened.count_in_bars == 0)
        shortened.count_in_bars = 1; /* hands come back from wherever they were */
    const SessionStep *after = p->ladder.on ? NULL : piece_after(p->piece, w->step);
    Error error = {0};
    take->timeline = stage_timeline(l->stages[loaded_stage_index(l, w->step)], &shortened,
        after != NULL ? &after->drill : NULL, p->rate, &error);
    if (take->timeline == NULL) {
        practice_say(p, p->now_ms, true, "%s.", error.text);
        return NULL;
    }
    take->piece = p->piece;
    take->step = w->step;
    take->base = w->base;
    take->repetitions = take->whole = w->repetitions;
    take->block = w->block;
    take->from_bar = w->from_bar;
    take->follows = w->follows;
    take->ladder = p->ladder.number;
    take->climb = w->climb;
    take->run = ++p->runs;
    take->order = ++p->orders;
    p->piece->users++;
    return take;
}

bool takes_send(Practice *p, CommandKind kind, Take *take)
{
    Command command = {.kind = kind, .mix = p->mix};
    if (take != NULL)
        command.source = (Source){take->timeline, take->piece->plucks};
    if (engine_send(p->engine, &command))
        return true;
    if (take != NULL)
        takes_drop(p, take);
    return false;
}

void takes_play(Practice *p, size_t step, int base, int from_bar)
{
    p->step = step;
    p->running = true;
    p->paused = p->finished = false;
    p->ended_at = -1;
    if (p->engine == NULL || routine_plays_gap(p))
        return; /* practice_attach begins it; or only time is played */
    step = p->step;
    int repetitions = p->ladder.on ? 1 : p->piece->loaded.session.steps[step].repetitions;
    base = base < repetitions ? base : repetitions - 1;      /* fewer are wanted by now */
    if (p->ladder.on && p->ladder.at.done && !p->routine.on) /* once more from below */
        p->ladder.at = climb_start(&p->ladder.ladder);
    const Wanted wanted = {.step = step,
        .base = base,
        .from_bar = from_bar,
        .repetitions = repetitions,
        .climb = p->ladder.at,
        .block = p->routine.run.block};
    Take *take = takes_new(p, &wanted);
    if (take != NULL)
        routine_fit(p, take);
    if (take == NULL || !takes_send(p, COMMAND_PLAY, take)) {
        p->running = false;
        return;
    }
    p->awaited = take;
    p->leading = p->queued = NULL; /* the engine drops them */
}

/* False: nothing follows. */
bool takes_wanted_after(const Practice *p, const Take *take, Wanted *w)
{
    *w = (Wanted){.step = take->step, .repetitions = 1, .follows = take->run, .block = take->block};
    if (p->ladder.on) {
        w->climb = ladder_after(p, take);
        return !w->climb.done;
    }
    const SessionStep *after = piece_after(p->piece, take->step);
    w->step++;
    w->repetitions = after != NULL ? after->repetitions : 0;
    return after != NULL;
}

static void queue_after(Practice *p, Take *take)
{
    Wanted wanted;
    if (p->routine.on) {
        routine_follow(p, take);
        return;
    }
    Take *next = takes_wanted_after(p, take, &wanted) ? takes_new(p, &wanted) : NULL;
    if (next != NULL && takes_send(p, COMMAND_QUEUE, next))
        p->queued = next;
}

void takes_requeue(Practice *p)
{
    if (p->engine != NULL && p->running && !p->paused && p->awaited == NULL && p->leading != NULL)
        queue_after(p, p->leading);
}

static bool same_tempo(const Practice *p, const Take *take)
{
    const SessionStep *wanted = &p->piece->loaded.session.steps[take->step];
    return ratio_equal(timeline_step(take->timeline)->tempo.per_minute, wanted->tempo.per_minute);
}

void takes_rebuild(Practice *p)
{
    if (p->engine == NULL || p->leading == NULL || p->leading->piece != p->piece ||
        p->leading->gap || p->leading->ladder != p->ladder.number)
        return;
    /* As many events as what plays, or the engine could not go on at the same one: another
     * number of repetitions holds from the next start. */
    const Take *now = p->leading;
    const Wanted same = {.step = now->step,
        .base = now->base,
        .from_bar = now->from_bar,
        .repetitions = now->repetitions,
        .follows = now->follows,
        .climb = now->climb,
        .block = now->block};
    uint64_t run = now->run;
    Take *take = takes_new(p, &same);
    if (take == NULL)
        return;
    take->run = run; /* the same one, as far as judging goes */
    if (takes_send(p, COMMAND_CHANGE, take) && p->queued != NULL && !p->routine.on) {
        p->queued = NULL;
        queue_after(p, take);
    }
}

void takes_pause(Practice *p)
{
    p->paused = true;
    p->paused_at = p->heard;
    routine_hold(&p->routine.run, true);
    if (p->engine != NULL)
        takes_send(p, COMMAND_PAUSE, NULL);
}

void takes_stop(Practice *p)
{
    p->running = p->paused = p->finished = false;
    routine_hold(&p->routine.run, false);
    p->awaited = p->leading = p->queued = NULL;
    if (p->engine != NULL)
        takes_send(p, COMMAND_STOP, NULL);
}

static Take *take_of(Practice *p, const Timeline *t)
{
    for (int i = 0; i < TAKES_MAX; i++)
        if (p->takes[i].timeline == t && t != NULL)
            return &p->takes[i];
    return NULL;
}

/* Whether what is queued is what should come after this take. */
static bool queued_well(const Practice *p, const Take *take)
{
    return p->queued != NULL &&
           (p->ladder.on ? p->queued->follows == take->run : p->queued->step == take->step + 1);
}

static void started(Practice *p, Take *take, const EngineEvent *event)
{
    bool fresh = p->awaited == take;
    if (take->piece != p->piece || !p->running || (p->awaited != NULL && p->awaited != take))
        return;
    p->awaited = NULL;
    p->leading = take;
    if (p->queued == take)
        p->queued = NULL;
    if (p->routine.on)
        routine_started(p, take, event, fresh);
    /* Nothing is queued after a fresh start; the wrong step where a key was pressed while the
     * engine was already passing on. */
    else if (!queued_well(p, take))
        queue_after(p, take);
    if (!p->ladder.on && !take->gap && !same_tempo(p, take))
        takes_rebuild(p);
}

/* An end that came out of the queue together with later news is no end: the step that was
 * queued meanwhile plays on. */
bool takes_done(const Practice *p, const EngineEvent *ended)
{
    return p->running && !p->paused && p->awaited == NULL && p->queued == NULL &&
           p->leading != NULL && ended->source.timeline == p->leading->timeline;
}

void takes_event(Practice *p, const EngineEvent *event)
{
    playhead_take(&p->head, event);
    Take *take = take_of(p, event->source.timeline);
    if (take == NULL)
        return;
    if (event->kind == ENGINE_STARTED) {
        take->begun = true;
        started(p, take, event);
    } else if (event->kind == ENGINE_RETIRED)
        take->retired = true;
}

Take *takes_of_run(Practice *p, uint64_t run)
{
    Take *found = NULL;
    for (int i = 0; i < TAKES_MAX && run != 0; i++) {
        Take *take = &p->takes[i];
        if (take->timeline != NULL && take->run == run && take->begun &&
            (found == NULL || take->order > found->order))
            found = take;
    }
    return found;
}

/* Where the console stood still, it was played and went by unheard: it is judged once what follows
 * it is heard. */
static bool to_be_judged(Practice *p, const Take *take)
{
    return p->running && take->run >= p->judge.run && takes_of_run(p, take->run) == take;
}

void takes_collect(Practice *p)
{
    /* A pause is gone on from where it was asked for, however long ago. */
    playhead_drop_before(&p->head, p->paused ? p->paused_at : p->heard);
    for (int i = 0; i < TAKES_MAX; i++) {
        Take *take = &p->takes[i];
        if (take->timeline != NULL && take->retired && !to_be_judged(p, take) &&
            !playhead_uses(&p->head, take->timeline))
            takes_drop(p, take);
    }
}

Take *takes_heard(Practice *p, int64_t frame, int64_t *timeline_frame)
{
    const Timeline *t;
    bool held;
    if (!playhead_at(&p->head, frame, &t, timeline_frame, &held) || (held && !p->paused))
        return NULL; /* after a pause the old place is over, though nothing new is heard yet */
    return take_of(p, t);
}
