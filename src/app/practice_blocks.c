/* The routine that is open: its blocks loaded one after the other, what the keys do to them, and
 * what is shown. */
#include "practice_parts.h"

#include "evenhand/music/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { END_SURE_MS = 5000, OPEN_RATE = 48000 };

static const RoutineBlock *block_of(const Practice *p, int block)
{
    return &p->routine.loaded.routine.blocks[block];
}

/* ---- opening ------------------------------------------------------------------------------- */

static bool measure(Practice *p, int rate, Error *error)
{
    RoutineDesk *d = &p->routine;
    RoutineSpan spans[ROUTINE_BLOCKS_MAX];
    const Routine *r = &d->loaded.routine;
    for (int i = 0; i < r->count; i++)
        if (!routine_measure(&d->loaded, i, &d->base, d->base.file, rate, &spans[i], error))
            return false;
    return routine_begin(&d->run, spans, r->count, rate, r->break_after, error);
}

static bool list_blocks(Practice *p, Error *error)
{
    RoutineDesk *d = &p->routine;
    d->items = calloc((size_t)d->run.count, sizeof *d->items);
    if (d->items == NULL)
        return error_set(error, ERROR_MEMORY, "out of memory for the routine");
    p->model.routine.list = (ModelList){.items = d->items, .count = d->run.count};
    return true;
}

static void put_ladder_up(Practice *p, const RoutineBlock *b)
{
    Error error = {0};
    LadderSpec spec = routine_ladder_spec(b, p->piece->loaded.passage);
    if (b->has_ladder && !ladder_begin(p, &spec, &error))
        practice_say(p, p->now_ms, true, "No ladder: %s.", error.text);
}

/* The first block that has a passage. */
static int first_played(const LoadedRoutine *r)
{
    int i = 0;
    while (i < r->routine.count && r->given[i] == NULL)
        i++;
    return i;
}

Piece *routine_open(Practice *p, Error *error)
{
    RoutineDesk *d = &p->routine;
    d->base = p->options;
    if (!routine_load(d->base.file, d->base.student, &d->loaded, error) ||
        !measure(p, OPEN_RATE, error) || !list_blocks(p, error))
        return NULL;
    d->on = true;
    int first = first_played(&d->loaded);
    bool played = first < d->run.count;
    p->given = played ? d->loaded.given[first] : NULL;
    if (played)
        p->options = routine_options(&d->base, block_of(p, first));
    p->options.file = p->given;
    p->piece = piece_load(p->given, &p->options, p->model.utf8, error);
    if (p->piece != NULL && first == 0)
        put_ladder_up(p, block_of(p, 0));
    return p->piece;
}

void routine_close(Practice *p)
{
    free(p->routine.items);
    routine_unload(&p->routine.loaded);
    p->routine = (RoutineDesk){.on = false};
}

void routine_rate(Practice *p)
{
    RoutineDesk *d = &p->routine;
    Error error = {0};
    int block = d->run.block;
    if (!d->on || d->run.rate == p->rate)
        return;
    if (measure(p, p->rate, &error))
        routine_go(&d->run, block);
    else { /* a file has gone meanwhile */
        d->on = false;
        practice_say(p, p->now_ms, true, "The routine cannot go on: %s.", error.text);
    }
}

/* The student whom all blocks name that name one; "" where none does, or several do. */
static const char *only_student(const Routine *r)
{
    const char *only = "";
    for (int i = 0; i < r->count; i++) {
        const char *student = r->blocks[i].student;
        if (only[0] != '\0' && student[0] != '\0' && strcmp(only, student) != 0)
            return "";
        only = student[0] != '\0' ? student : only;
    }
    return only;
}

/* As the routine spells the name: on the command line its capitals do not matter. */
const char *routine_student(const Practice *p, int block)
{
    const char *named = p->options.student != NULL ? p->options.student : "";
    if (!p->routine.on)
        return named;
    const char *own = block_of(p, block)->student;
    const char *only = own[0] != '\0' ? own : only_student(&p->routine.loaded.routine);
    return only[0] != '\0' ? only : named;
}

const char *practice_student(const Practice *p)
{
    return routine_student(p, p->routine.run.block);
}

/* ---- blocks -------------------------------------------------------------------------------- */

/* On failure (said) the piece before stays, and is played in that block. */
void routine_enter(Practice *p, int block)
{
    RoutineDesk *d = &p->routine;
    const RoutineBlock *b = block_of(p, block);
    const char *given = d->loaded.given[block];
    Error error = {0};
    d->ready = block;
    if (given == NULL)
        return;
    Options options = routine_options(&d->base, b);
    options.file = given;
    Piece *piece = piece_load(given, &options, p->model.utf8, &error);
    if (piece == NULL) {
        char text[MODEL_TEXT_MAX];
        practice_say(p, p->now_ms, true, "%s", error_format(&error, text, sizeof text));
        return;
    }
    practice_fingers_drop(p);
    ladder_drop(p);
    piece_release(p->piece);
    p->piece = piece;
    p->options = options;
    p->given = given;
    p->given_tempo = options.tempo;
    p->lit = NULL;
    p->step = 0;
    p->model.drills.cursor = 0;
    put_ladder_up(p, b);
    if (p->model.screen == SCREEN_LADDER)
        ladder_open(p);
    if (p->mix.on[LAYER_GUIDE])
        practice_want_plucks(p, p->now_ms);
    practice_preview(p);
    practice_note_fingers(p);
    if (p->running) /* in the rest before it */
        practice_say_fingers(p);
}

void routine_jump(Practice *p, int block)
{
    RoutineDesk *d = &p->routine;
    bool runs = p->running && !p->paused;
    if (!runs && p->engine != NULL && p->paused)
        takes_stop(p);
    p->finished = false;
    routine_go(&d->run, block);
    routine_enter(p, block);
    if (runs)
        takes_play(p, 0, 0, 0);
}

static void end_now(Practice *p, int64_t now_ms)
{
    routine_end(&p->routine.run);
    takes_stop(p);
    p->finished = true;
    practice_say(p, now_ms, false, "The routine is over.");
}

static void to_next(Practice *p, int64_t now_ms)
{
    const RoutineRun *run = &p->routine.run;
    if (run->phase != ROUTINE_DONE && run->block + 1 < run->count)
        routine_jump(p, run->block + 1);
    else
        end_now(p, now_ms);
}

static void to_before(Practice *p)
{
    routine_back(&p->routine.run);
    routine_jump(p, p->routine.run.block);
}

/* What leads goes on longer, and what was to follow it follows later. */
static void add_minute(Practice *p, int64_t now_ms)
{
    RoutineDesk *d = &p->routine;
    bool plays = p->running && !p->paused && p->leading != NULL && p->awaited == NULL;
    if (plays && (d->block != d->run.block || d->phase != d->run.phase)) {
        practice_say(p, now_ms, false, "The next one begins; press it again then.");
        return;
    }
    if (!routine_add(&d->run, 60 * (int64_t)d->run.rate)) {
        practice_say(p, now_ms, false, "This block goes by repetitions, not by minutes.");
        return;
    }
    practice_say(p, now_ms, false, "A minute more.");
    if (plays && p->leading->cut)
        takes_rebuild(p);
    else if (plays)
        routine_follow(p, p->leading);
}

static void ask_end(Practice *p, int64_t now_ms)
{
    RoutineDesk *d = &p->routine;
    bool sure = d->end_asked && now_ms - d->end_asked_ms <= END_SURE_MS;
    d->end_asked = !sure;
    d->end_asked_ms = now_ms;
    if (sure)
        end_now(p, now_ms);
    else
        practice_say(p, now_ms, false, "Press %s again to end the routine now.",
            keys_name(ACTION_ROUTINE_END, SCREEN_PRACTICE));
}

void routine_act(Practice *p, Action action, int64_t now_ms)
{
    if (!p->routine.on) {
        practice_say(p, now_ms, false, "No routine is open: evenhand routine FILE opens one.");
        return;
    }
    if (action == ACTION_BLOCK_NEXT)
        to_next(p, now_ms);
    else if (action == ACTION_BLOCK_BEFORE)
        to_before(p);
    else if (action == ACTION_MINUTE)
        add_minute(p, now_ms);
    else
        ask_end(p, now_ms);
}

void routine_choose(Practice *p, int64_t now_ms)
{
    (void)now_ms;
    if (p->routine.on)
        routine_jump(p, p->model.routine.list.cursor);
    p->model.screen = SCREEN_PRACTICE;
}

void routine_list(Practice *p)
{
    if (p->routine.on)
        p->model.routine.list.cursor = p->routine.run.block;
}

/* ---- what is shown ------------------------------------------------------------------------- */

/* Rounded up: a second that has begun is left. */
static int seconds_of(int64_t frames, int rate)
{
    return (int)((frames + rate - 1) / rate);
}

static void clock_words(int64_t frames, int rate, char out[24])
{
    int seconds = (int)((frames + rate / 2) / rate);
    snprintf(out, 24, "%d:%02d", seconds / 60, seconds % 60);
}

static void fill_blocks(Practice *p)
{
    RoutineDesk *d = &p->routine;
    int64_t begins = 0;
    for (int i = 0; i < d->run.count; i++) {
        const RoutineBlock *b = block_of(p, i);
        const RoutineSpan *span = &d->run.span[i];
        ModelItem *item = &d->items[i];
        char from[24], length[24];
        clock_words(begins, d->run.rate, from);
        clock_words(span->work + span->rest, d->run.rate, length);
        snprintf(item->title, sizeof item->title, "%d  %s", i + 1, b->title);
        snprintf(item->detail, sizeof item->detail, "%s%sfrom %s, %s long", b->student,
            b->student[0] != '\0' ? ", " : "", from, length);
        item->current = i == d->run.block;
        begins += span->work + span->rest;
    }
}

void routine_fill(Practice *p)
{
    const RoutineDesk *d = &p->routine;
    const RoutineRun *run = &d->run;
    ModelRoutine *m = &p->model.routine;
    m->on = d->on;
    if (!d->on)
        return;
    const Routine *r = &d->loaded.routine;
    const RoutineBlock *b = block_of(p, run->block);
    bool last = run->block + 1 == run->count;
    snprintf(m->title, sizeof m->title, "%s", r->title[0] != '\0' ? r->title : "Routine");
    snprintf(m->name, sizeof m->name, "%.60s%s%.119s", b->student,
        b->student[0] != '\0' ? ": " : "", b->title);
    snprintf(m->next, sizeof m->next, "%s", last ? "" : block_of(p, run->block + 1)->title);
    m->block = run->block + 1;
    m->blocks = run->count;
    m->done = run->phase == ROUTINE_DONE;
    m->rests = run->phase == ROUTINE_RESTING;
    m->held = p->paused;
    m->idle = run->phase != ROUTINE_WORK || d->loaded.given[run->block] == NULL;
    m->seconds_left = seconds_of(routine_phase_left(run), run->rate);
    m->position = (int)(routine_position(run) / run->rate);
    m->total = (int)((routine_total(run) + run->rate / 2) / run->rate);
    p->model.seconds_left = -1; /* the routine tells the time */
    if (m->idle && p->running)
        p->model.run = p->paused ? RUN_PAUSED : RUN_REST;
    fill_blocks(p);
}
