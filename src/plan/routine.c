#include "evenhand/plan/routine.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const int64_t SPAN_MAX = (int64_t)1 << 40;

void routine_free(Routine *r)
{
    free(r->blocks);
    *r = (Routine){0};
}

static char small_letter(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

bool routine_same_name(const char *a, const char *b)
{
    while (*a != '\0' && small_letter(*a) == small_letter(*b)) {
        a++;
        b++;
    }
    return *a == *b;
}

/* "Ann, Ben": each once, as far as there is room. */
static void list_students(const Routine *r, char *out, size_t size)
{
    size_t used = 0;
    out[0] = '\0';
    for (int i = 0; i < r->count; i++) {
        const char *name = r->blocks[i].student;
        int first = 0;
        while (!routine_same_name(r->blocks[first].student, name))
            first++;
        if (name[0] != '\0' && first == i && used + strlen(name) + 3 < size)
            used += (size_t)snprintf(out + used, size - used, "%s%s", used > 0 ? ", " : "", name);
    }
}

bool routine_for(const Routine *r, const char *student, Routine *out, Error *error)
{
    char known[120];
    int own = 0;
    *out = *r;
    out->count = 0;
    out->blocks = calloc((size_t)(r->count > 0 ? r->count : 1), sizeof *out->blocks);
    if (out->blocks == NULL) {
        *out = (Routine){0};
        return error_set(error, ERROR_MEMORY, "out of memory for the routine");
    }
    for (int i = 0; i < r->count; i++) {
        bool named = routine_same_name(r->blocks[i].student, student);
        own += named;
        if (named || r->blocks[i].student[0] == '\0')
            out->blocks[out->count++] = r->blocks[i];
    }
    if (out->count != r->count)
        out->seconds = 0; /* said of all blocks */
    list_students(r, known, sizeof known);
    if (own > 0 || known[0] == '\0')
        return true;
    routine_free(out);
    return error_set(
        error, ERROR_USAGE, "there is no student '%.60s' in it; there is %s", student, known);
}

int routine_seconds(const Routine *r, int *counted)
{
    int seconds = 0, by_count = 0;
    for (int i = 0; i < r->count; i++) {
        seconds += r->blocks[i].seconds;
        by_count += r->blocks[i].seconds == 0;
    }
    if (counted != NULL)
        *counted = by_count;
    return seconds;
}

/* ---- the clock ----------------------------------------------------------------------------- */

bool routine_begin(RoutineRun *run, const RoutineSpan *spans, int count, int rate,
    int break_after_minutes, Error *error)
{
    if (count < 1 || count > ROUTINE_BLOCKS_MAX)
        return error_set(error, ERROR_RANGE, "a routine has 1 to %d blocks", ROUTINE_BLOCKS_MAX);
    if (rate < 1000 || rate > 1000000)
        return error_set(error, ERROR_RANGE, "a rate is 1000 to 1000000 frames a second");
    for (int i = 0; i < count; i++)
        if (spans[i].work < 1 || spans[i].work > SPAN_MAX || spans[i].rest < 0 ||
            spans[i].rest > SPAN_MAX)
            return error_set(error, ERROR_RANGE, "block %d is too long, or has no length", i + 1);
    memset(run, 0, sizeof *run);
    run->rate = rate;
    run->count = count;
    memcpy(run->span, spans, (size_t)count * sizeof *spans);
    run->limit = (int64_t)break_after_minutes * 60 * rate;
    return true;
}

static int64_t phase_length(const RoutineRun *run)
{
    const RoutineSpan *span = &run->span[run->block];
    return run->phase == ROUTINE_WORK ? span->work : span->rest;
}

int64_t routine_phase_left(const RoutineRun *run)
{
    return run->phase == ROUTINE_DONE ? 0 : phase_length(run) - run->at;
}

static void rest_for(RoutineRun *run, int64_t frames)
{
    run->away += frames;
    if (run->away >= (int64_t)ROUTINE_BREAK_SECONDS * run->rate)
        run->stretch = 0;
}

static void count_playing(RoutineRun *run, int64_t frames)
{
    bool plays = run->phase == ROUTINE_WORK && !run->span[run->block].breaks;
    if (!plays) {
        rest_for(run, frames);
        return;
    }
    run->away = 0;
    run->stretch += frames;
}

/* Past the end of a phase. */
static void next_phase(RoutineRun *run)
{
    run->at = 0;
    if (run->phase == ROUTINE_WORK && run->span[run->block].rest > 0)
        run->phase = ROUTINE_RESTING;
    else if (run->block + 1 < run->count) {
        run->block++;
        run->phase = ROUTINE_WORK;
    } else
        routine_end(run);
}

int routine_advance(RoutineRun *run, int64_t frames)
{
    int passed = 0;
    if (run->held) {
        rest_for(run, frames);
        return 0;
    }
    while (frames > 0 && run->phase != ROUTINE_DONE) {
        int64_t left = routine_phase_left(run), taken = frames < left ? frames : left;
        count_playing(run, taken);
        run->spent[run->block] += taken;
        run->at += taken;
        frames -= taken;
        if (taken < left)
            break;
        next_phase(run);
        passed++;
    }
    return passed;
}

void routine_hold(RoutineRun *run, bool held)
{
    run->held = held;
}

void routine_go(RoutineRun *run, int block)
{
    if (block < 0 || block >= run->count)
        return;
    run->block = block;
    run->phase = ROUTINE_WORK;
    run->at = 0;
}

void routine_skip(RoutineRun *run)
{
    if (run->block + 1 < run->count)
        routine_go(run, run->block + 1);
    else
        routine_end(run);
}

void routine_back(RoutineRun *run)
{
    bool done = run->phase == ROUTINE_DONE;
    routine_go(run, done || run->block == 0 ? run->block : run->block - 1);
}

void routine_end(RoutineRun *run)
{
    run->block = run->count - 1;
    run->phase = ROUTINE_DONE;
    run->at = 0;
}

bool routine_add(RoutineRun *run, int64_t frames)
{
    RoutineSpan *span = &run->span[run->block];
    int64_t *length = run->phase == ROUTINE_WORK ? &span->work : &span->rest;
    if (run->phase == ROUTINE_DONE || (run->phase == ROUTINE_WORK && span->by_count) ||
        frames < 0 || *length > SPAN_MAX - frames)
        return false;
    *length += frames;
    return true;
}

void routine_settle(RoutineRun *run, int block, int64_t frames)
{
    RoutineSpan *span = &run->span[block];
    bool now = block == run->block && run->phase == ROUTINE_WORK;
    bool later = block > run->block && run->phase != ROUTINE_DONE;
    if ((!now && !later) || frames <= (now ? run->at : 0) || frames > SPAN_MAX)
        return;
    int64_t over = frames - span->work, bell = (int64_t)ROUTINE_BELL * run->rate;
    span->work = frames;
    int64_t room = span->rest > bell ? span->rest - bell : 0; /* that the rest can give */
    int64_t given = over < room ? over : room;
    if (span->rest == 0)
        given = 0;
    span->rest -= given;
    over -= given;
    for (int i = block + 1; i < run->count && over != 0; i++)
        if (!run->span[i].by_count && run->span[i].work - over >= run->rate) {
            run->span[i].work -= over;
            over = 0;
        }
}

int64_t routine_total(const RoutineRun *run)
{
    int64_t total = 0;
    for (int i = 0; i < run->count; i++)
        total += run->span[i].work + run->span[i].rest;
    return total;
}

int64_t routine_position(const RoutineRun *run)
{
    int64_t position = run->at;
    if (run->phase == ROUTINE_DONE)
        return routine_total(run);
    for (int i = 0; i < run->block; i++)
        position += run->span[i].work + run->span[i].rest;
    return position + (run->phase == ROUTINE_RESTING ? run->span[run->block].work : 0);
}

bool routine_break_due(const RoutineRun *run)
{
    return run->limit > 0 && run->stretch >= run->limit;
}
