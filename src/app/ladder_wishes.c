#include "evenhand/app/ladder_wishes.h"

static bool given(Tempo t)
{
    return ratio_valid(t.per_minute) && t.per_minute.num > 0;
}

bool ladder_wished(const LadderWishes *w)
{
    return given(w->from) || given(w->to);
}

/* The same speed, counted in another beat. */
static Tempo counted_in(Tempo t, Ratio beat)
{
    return tempo(beat, ratio_div(ratio_mul(t.per_minute, t.beat), beat));
}

static bool named(Tempo t)
{
    return t.beat.num > 0;
}

static bool bare_tempos(const LadderWishes *w, Tempo *start, Tempo *goal, Error *error)
{
    if (!given(w->from) || !given(w->to))
        return error_set(error, ERROR_USAGE,
            "a ladder without a file needs --from and --to, such as --from 60 --to 120");
    *start = w->from, *goal = w->to;
    if (!named(w->from))
        start->beat = named(w->to) ? w->to.beat : ratio_int(1);
    if (!named(w->to))
        goal->beat = start->beat;
    return true;
}

bool ladder_wishes_tempos(
    const Options *o, const Passage *p, Tempo *start, Tempo *goal, Error *error)
{
    const LadderWishes *w = &o->ladder;
    if (p == NULL)
        return bare_tempos(w, start, goal, error);
    if (!ladder_wished(w))
        return error_set(error, ERROR_USAGE,
            "a ladder needs its goal or its start: --to 120, --from 60 or both");
    Tempo own = p->tempo;
    if (given(o->tempo))
        own = tempo(named(o->tempo) ? o->tempo.beat : own.beat, o->tempo.per_minute);
    *start = w->from, *goal = w->to;
    if (!named(*start))
        start->beat = p->tempo.beat;
    if (!named(*goal))
        goal->beat = p->tempo.beat;
    if (!given(*start))
        *start = counted_in(own, goal->beat);
    if (!given(*goal))
        *goal = counted_in(own, start->beat);
    return true;
}

bool ladder_wishes_spec(const Options *o, Tempo start, Tempo goal, LadderSpec *out, Error *error)
{
    const LadderWishes *w = &o->ladder;
    LadderSpec s = ladder_default(start, goal);
    if (w->has_pattern)
        s.pattern = w->pattern;
    if (w->clean > 0 && s.pattern != LADDER_CLEAN)
        return error_set(error, ERROR_USAGE,
            "--clean goes with --pattern clean; %s takes --repetitions",
            ladder_pattern_word(s.pattern));
    if (o->command == COMMAND_ID_LADDER && o->repetitions > 0 && s.pattern == LADDER_CLEAN)
        return error_set(error, ERROR_USAGE,
            "--repetitions goes with --pattern straight or two-up; the pattern clean takes --clean");
    if (w->has_by) {
        s.by = w->by;
        s.amount = w->by == LADDER_BY_NUMBERS ? s.amount : w->amount;
    }
    s.clean = w->clean > 0 ? w->clean : s.clean;
    s.repetitions = o->repetitions > 0 ? o->repetitions : s.repetitions;
    s.above = w->above >= 0 ? w->above : ladder_above(&s);
    *out = s;
    return true;
}
