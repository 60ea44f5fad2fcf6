/* A routine on paper: its blocks with their times, and how fast they are in the fingers. */
#include "evenhand/app/routine_load.h"

#include <stdio.h>
#include <string.h>

typedef struct {
    Text *out;
    Text notes; /* below the table */
    const LoadedRoutine *r;
    const Options *base;
    const char *source;
    Error *error;
} Table;

/* "1:05:30", "5:30" */
static char *clock_text(int64_t seconds, char out[24])
{
    if (seconds >= 3600)
        snprintf(out, 24, "%d:%02d:%02d", (int)(seconds / 3600), (int)(seconds / 60 % 60),
            (int)(seconds % 60));
    else
        snprintf(out, 24, "%d:%02d", (int)(seconds / 60), (int)(seconds % 60));
    return out;
}

/* ", 2.0 to 4.0 notes a second"; a note where the number counts another beat than the metre. */
static bool add_speed(Table *t, const RoutineBlock *b, const Passage *p)
{
    char slow[LADDER_RATE_MAX], fast[LADDER_RATE_MAX], trap[LADDER_WORDS_MAX];
    Ratio length = passage_common_length(p);
    LadderSpec spec = routine_ladder_spec(b, p);
    Tempo from = spec.start, to = spec.goal;
    if (!b->has_ladder)
        from = to = b->tempo.beat.num > 0 ? b->tempo : tempo(p->tempo.beat, b->tempo.per_minute);
    if (from.per_minute.num == 0)
        return true;
    ladder_rate_text(ladder_note_rate(from, length), slow);
    ladder_rate_text(ladder_note_rate(to, length), fast);
    bool done = text_add(t->out, ", %s%s%s notes a second", slow, b->has_ladder ? " to " : "",
        b->has_ladder ? fast : "");
    if (ladder_trap(to, passage_pulse(p), length, trap))
        done = done && text_add(&t->notes, "Note: %s:%d: %s\n", t->source,
                           b->has_ladder ? b->ladder_line : b->tempo_line, trap);
    return done;
}

/* "    01-first-crossing.abc: crossing, plain; 1/4 = 50" and what add_speed has to say. */
static bool add_what(Table *t, const RoutineBlock *b, const Passage *p)
{
    Text *out = t->out;
    char word[DRILL_TEXT_MAX], from[TEMPO_TEXT_MAX], to[TEMPO_TEXT_MAX];
    bool done = text_add(out, "%10s%s", "", b->passage);
    for (int i = 0; i < b->drill_count; i++)
        done = done && text_add(out, "%s%s", i == 0 ? ": " : ", ", drill_word(&b->drills[i], word));
    if (b->tempo.per_minute.num > 0)
        done = done && text_add(out, "; %s",
                           b->tempo.beat.num > 0 ? tempo_text(b->tempo, from)
                                                 : ratio_text(b->tempo.per_minute, from));
    if (b->has_ladder)
        done =
            done && text_add(out, "; ladder %s to %s",
                        b->ladder.start.beat.num > 0 ? tempo_text(b->ladder.start, from)
                                                     : ratio_text(b->ladder.start.per_minute, from),
                        b->ladder.goal.beat.num > 0 ? tempo_text(b->ladder.goal, to)
                                                    : ratio_text(b->ladder.goal.per_minute, to));
    done = done && add_speed(t, b, p);
    if (b->repetitions > 0)
        done = done &&
               text_add(out, "; %d time%s each", b->repetitions, b->repetitions == 1 ? "" : "s");
    return done && text_add(out, "\n");
}

enum { TABLE_RATE = 48000 };

static int64_t to_seconds(int64_t frames)
{
    return (frames + TABLE_RATE / 2) / TABLE_RATE;
}

static bool add_passage(Table *t, int i)
{
    const RoutineBlock *b = &t->r->routine.blocks[i];
    Options o = routine_options(t->base, b);
    Loaded l;
    if (t->r->given[i] == NULL)
        return true;
    if (!load_passage(t->r->given[i], &o, &l, t->error))
        return false;
    bool done = add_what(t, b, l.passage);
    loaded_free(&l);
    return done;
}

static bool add_block(Table *t, int i, int64_t begins, const RoutineSpan *s)
{
    const RoutineBlock *b = &t->r->routine.blocks[i];
    char start[24], length[24], rest[24];
    const char *before = i > 0 ? t->r->routine.blocks[i - 1].student : "";
    bool done = strcmp(b->student, before) == 0 || b->student[0] == '\0' ||
                text_add(t->out, "\n%s\n", b->student);
    return done &&
           text_add(t->out, "%3d%9s%9s%8s  %s\n", i + 1, clock_text(to_seconds(begins), start),
               clock_text(to_seconds(s->work + s->rest), length),
               s->breaks ? "" : clock_text(to_seconds(s->rest), rest), b->title) &&
           add_passage(t, i);
}

static bool add_sum(Text *out, const Routine *r, int64_t all, int64_t played)
{
    char whole[24], strings[24];
    bool done = text_add(out, "\n%12s%9s  of which %s at the harp\n", "",
        clock_text(to_seconds(all), whole), clock_text(to_seconds(played), strings));
    if (r->break_after > 0)
        done = done && text_add(out, "%23sa break is proposed after %d minute%s of playing\n", "",
                           r->break_after, r->break_after == 1 ? "" : "s");
    return done;
}

static bool add_all(Table *t)
{
    const Routine *routine = &t->r->routine;
    int64_t begins = 0, played = 0;
    bool done = text_add(t->out, "%s\n\n%3s%9s%9s%8s  %s\n",
        routine->title[0] != '\0' ? routine->title : "Routine", "", "begins", "lasts", "rest",
        "block");
    for (int i = 0; done && i < routine->count; i++) {
        RoutineSpan span;
        if (!routine_measure(t->r, i, t->base, t->source, TABLE_RATE, &span, t->error))
            return false;
        done = add_block(t, i, begins, &span);
        begins += span.work + span.rest;
        played += span.breaks ? 0 : span.work;
    }
    return done && add_sum(t->out, routine, begins, played) &&
           (t->notes.size == 0 || text_add(t->out, "\n%s", t->notes.bytes));
}

bool routine_table(
    Text *out, const LoadedRoutine *r, const Options *base, const char *source, Error *error)
{
    Table t = {.out = out, .r = r, .base = base, .source = source, .error = error};
    bool done = add_all(&t);
    text_free(&t.notes);
    if (!done && error != NULL && error->kind == ERROR_NONE)
        error_set(error, ERROR_MEMORY, "there is no memory for the table");
    return done;
}
