#include "evenhand/app/routine_load.h"

#include "evenhand/formats/routine_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* NULL, and the error told, where no such file is. */
static char *find_passage(const char *path, const RoutineBlock *b, Error *error)
{
    char found[PATHS_MAX];
    if (!load_find(path, b->passage, b->passage_line, found, error))
        return NULL;
    char *copy = malloc(strlen(found) + 1);
    if (copy == NULL)
        error_set(error, ERROR_MEMORY, "there is no memory for the routine");
    else
        strcpy(copy, found);
    return copy;
}

static bool find_passages(LoadedRoutine *r, const char *path, Error *error)
{
    r->given = calloc((size_t)r->routine.count, sizeof *r->given);
    if (r->given == NULL)
        return error_set(error, ERROR_MEMORY, "there is no memory for the routine");
    for (int i = 0; i < r->routine.count; i++) {
        const RoutineBlock *b = &r->routine.blocks[i];
        r->given[i] = b->passage[0] != '\0' ? find_passage(path, b, error) : NULL;
        if (b->passage[0] != '\0' && r->given[i] == NULL)
            return false;
    }
    return true;
}

static bool pick(LoadedRoutine *r, const char *student, Error *error)
{
    Routine one;
    if (student == NULL)
        return true;
    if (!routine_for(&r->routine, student, &one, error))
        return false;
    routine_free(&r->routine);
    r->routine = one;
    return true;
}

bool routine_load(const char *path, const char *student, LoadedRoutine *out, Error *error)
{
    Text text;
    *out = (LoadedRoutine){0};
    if (!load_bytes(path, &text, error))
        return false;
    bool done = routine_read(text.bytes ? text.bytes : "", text.size, &out->routine, error) &&
                pick(out, student, error) && find_passages(out, path, error);
    text_free(&text);
    if (done)
        return true;
    error_source(error, path);
    routine_unload(out);
    return false;
}

void routine_unload(LoadedRoutine *r)
{
    for (int i = 0; r->given != NULL && i < r->routine.count; i++)
        free(r->given[i]);
    free(r->given);
    routine_free(&r->routine);
    *r = (LoadedRoutine){0};
}

Options routine_options(const Options *base, const RoutineBlock *b)
{
    Options o = *base;
    o.drill = NULL;
    o.drills = b->drills;
    o.drill_count = b->drill_count;
    if (b->tempo.per_minute.num > 0)
        o.tempo = b->tempo;
    if (b->has_ladder) /* loaded at the ladder's first rung */
        o.tempo = b->ladder.start;
    if (b->repetitions > 0)
        o.repetitions = b->repetitions;
    return o;
}

LadderSpec routine_ladder_spec(const RoutineBlock *b, const Passage *p)
{
    LadderSpec spec = b->ladder;
    if (spec.start.beat.num == 0)
        spec.start.beat = spec.goal.beat = p->tempo.beat;
    const LadderSpec usual = ladder_default(spec.start, spec.goal);
    if (!b->has_steps) {
        spec.by = usual.by;
        spec.amount = usual.amount;
    }
    if (!b->has_above)
        spec.above = ladder_above(&spec);
    return spec;
}

/* A ladder that cannot be put up is told before anything sounds. */
static bool check_ladder(const RoutineBlock *b, const Passage *p, Error *error)
{
    Ladder ladder;
    if (!b->has_ladder)
        return true;
    LadderSpec spec = routine_ladder_spec(b, p);
    if (!ladder_make(&spec, &ladder, error))
        return false;
    ladder_free(&ladder);
    return true;
}

/* Errors of the passage's own file keep their place. */
static bool blame_line(int line, const char *source, Error *error)
{
    if (error == NULL || error->line > 0)
        return false;
    error->line = line;
    error->source[0] = '\0';
    error_source(error, source);
    return false;
}

bool routine_measure(const LoadedRoutine *r, int block, const Options *base, const char *source,
    int rate, RoutineSpan *out, Error *error)
{
    const RoutineBlock *b = &r->routine.blocks[block];
    const Options o = routine_options(base, b);
    Loaded l;
    int64_t frames = 0;
    *out = (RoutineSpan){.rest = (int64_t)b->rest * rate, .breaks = b->breaks};
    if (r->given[block] != NULL) {
        if (!load_passage(r->given[block], &o, &l, error))
            return blame_line(b->drill_count > 0 ? b->drills_line : b->passage_line, source, error);
        frames = session_frames(l.passage, &l.fingering, &l.rotation, &l.session, rate, error);
        bool climbs = check_ladder(b, l.passage, error);
        loaded_free(&l);
        if (!climbs)
            return blame_line(b->ladder_line, source, error);
        if (frames < 0)
            return blame_line(b->line, source, error);
    }
    out->by_count = b->seconds == 0;
    out->work = out->by_count ? frames : (int64_t)b->seconds * rate - out->rest;
    return true;
}
