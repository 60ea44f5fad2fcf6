#include "evenhand/drill/session.h"

#include "evenhand/drill/stage.h"
#include "evenhand/drill/timeline.h"

#include <stdlib.h>

/* Room for everything the default session can hold: plain, fingers, places, rhythms, plain. */
static bool session_init(Session *s, size_t room, Error *error)
{
    *s = (Session){0};
    if (room > SESSION_STEPS_MAX)
        return error_set(error, ERROR_LIMIT, "a session has at most %d steps", SESSION_STEPS_MAX);
    s->steps = calloc(room, sizeof *s->steps);
    return s->steps != NULL || error_set(error, ERROR_MEMORY, "out of memory for the session");
}

/* Two bars of count-in where one bar would leave less than a second and a half to get ready
 * [own]. */
static int default_count_in(const Passage *p, Tempo tempo)
{
    Ratio bar = metre_free(&p->metre) ? ratio_int(4) : metre_bar(&p->metre);
    Ratio seconds = ratio_mul(bar, tempo_seconds_per_quarter(tempo));
    return ratio_cmp(seconds, ratio(3, 2)) < 0 ? 2 : 1;
}

static SessionStep first_step(const Passage *p, const SessionOptions *o)
{
    bool given = ratio_valid(o->tempo.beat) && o->tempo.beat.num > 0;
    SessionStep step = {.drill = o->base, .tempo = given ? o->tempo : p->tempo};
    step.repetitions = o->repetitions > 0 ? o->repetitions : 2;
    step.count_in_bars = o->count_in_bars > 0 ? o->count_in_bars : default_count_in(p, step.tempo);
    step.rest_bars = o->rest_bars < 0 ? 0 : o->rest_bars > 0 ? o->rest_bars : 1;
    step.drill.accent = ACCENT_STRONG;
    step.drill.rhythm.notes = 0;
    step.drill.placing = (Placing){0};
    if (step.drill.rhythm.p == 0 || step.drill.rhythm.q == 0) {
        step.drill.rhythm.p = 3;
        step.drill.rhythm.q = 1;
    }
    if (!ratio_valid(step.drill.subdivision))
        step.drill.subdivision = ratio_int(0);
    return step;
}

static bool finger_used(const Fingering *f, int finger)
{
    for (size_t i = 0; i < f->note_count; i++)
        if (f->notes[i].finger == finger)
            return true;
    return false;
}

static void add(Session *s, SessionStep step)
{
    s->steps[s->count++] = step;
}

static void add_rhythms(Session *s, SessionStep step, int notes)
{
    step.drill.rhythm.notes = notes;
    for (step.drill.rhythm.long_at = 0; step.drill.rhythm.long_at < notes;
         step.drill.rhythm.long_at++)
        add(s, step);
}

/* Plain, fingers, places, pairs. */
static void add_common(
    Session *out, const Fingering *f, const Rotation *r, const SessionStep *plain)
{
    SessionStep step = *plain;
    add(out, step);
    step.drill.accent = ACCENT_FINGER;
    for (step.drill.finger = 4; step.drill.finger >= 1; step.drill.finger--)
        if (finger_used(f, step.drill.finger))
            add(out, step);
    step = *plain;
    step.drill.accent = ACCENT_PLACE;
    for (step.drill.place = 0; (size_t)step.drill.place < r->place_count; step.drill.place++)
        add(out, step);
    add_rhythms(out, *plain, 2);
}

static void add_placings(Session *s, const Passage *p, const Fingering *f, SessionStep step)
{
    for (int kind = PLACING_NONE + 1; kind < PLACING_KINDS; kind++) {
        step.drill.placing.kind = (PlacingKind)kind;
        if (placing_possible(p, f, step.drill.placing.kind))
            add(s, step);
    }
}

/* Notes of the commonest length that one beat holds; 0 where they do not fit. */
static int64_t notes_in_beat(const Passage *p)
{
    Ratio notes = ratio_div(passage_pulse(p), passage_common_length(p));
    return notes.den == 1 ? notes.num : 0;
}

bool session_default(const Passage *p, const Fingering *f, const Rotation *r,
    const SessionOptions *options, Session *out, Error *error)
{
    if (!session_init(out, r->place_count + 11, error))
        return false;
    SessionStep plain = first_step(p, options);
    add_common(out, f, r, &plain);
    if (notes_in_beat(p) == 3) /* pairs leave a note over; threes fill the beat */
        add_rhythms(out, plain, 3);
    add(out, plain);
    return true;
}

bool session_every(const Passage *p, const Fingering *f, const Rotation *r,
    const SessionOptions *options, Session *out, Error *error)
{
    if (!session_init(out, r->place_count + 14 + PLACING_KINDS, error))
        return false;
    SessionStep plain = first_step(p, options);
    add_common(out, f, r, &plain);
    add_rhythms(out, plain, 3);
    add_rhythms(out, plain, 4);
    add_placings(out, p, f, plain);
    return true;
}

bool session_single(const Passage *p, const DrillSpec *drill, const SessionOptions *options,
    Session *out, Error *error)
{
    if (!session_init(out, 1, error))
        return false;
    SessionStep step = first_step(p, options);
    step.drill = *drill;
    add(out, step);
    return true;
}

void session_free(Session *s)
{
    free(s->steps);
    *s = (Session){0};
}

int64_t session_frames(const Passage *p, const Fingering *f, const Rotation *r, const Session *s,
    int rate, Error *error)
{
    int64_t frames = 0;
    for (size_t i = 0; i < s->count; i++) {
        const DrillSpec *next = i + 1 < s->count ? &s->steps[i + 1].drill : NULL;
        Stage *stage = stage_new(p, f, r, &s->steps[i].drill, error);
        Timeline *t = stage != NULL ? stage_timeline(stage, &s->steps[i], next, rate, error) : NULL;
        frames += t != NULL ? timeline_frames(t) : 0;
        bool done = t != NULL;
        timeline_free(t);
        stage_free(stage);
        if (!done)
            return -1;
    }
    return frames;
}
