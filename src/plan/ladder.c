#include "evenhand/plan/ladder.h"

#include "evenhand/plan/metronome.h"

#include <stdlib.h>
#include <string.h>

enum { DEFAULT_CLEAN = 3, DEFAULT_REPETITIONS = 2, DEFAULT_PERCENT = 4 };
enum { VISITS_MAX = 2 * LADDER_RUNGS_MAX };

const char *ladder_by_word(LadderBy by)
{
    static const char *const words[] = {"numbers", "percent", "amount"};
    return words[by];
}

const char *ladder_pattern_word(LadderPattern pattern)
{
    static const char *const words[] = {"straight", "two-up", "clean"};
    return words[pattern];
}

static bool within(Ratio value, Ratio low, Ratio high)
{
    return ratio_valid(value) && ratio_cmp(value, low) >= 0 && ratio_cmp(value, high) <= 0;
}

static bool on_metronome(Ratio per_minute)
{
    return within(per_minute, ratio_int(metronome_number(0)),
        ratio_int(metronome_number(METRONOME_COUNT - 1)));
}

/* The rung after one at `from`; may lie beyond anything. The caller has checked that the
 * metronome has one. */
static Ratio rung_after(const LadderSpec *s, Ratio from)
{
    if (s->by == LADDER_BY_NUMBERS)
        return metronome_step(from, 1);
    if (s->by == LADDER_BY_AMOUNT)
        return ratio_add(from, s->amount);
    Ratio factor = ratio_div(ratio_add(ratio_int(100), s->amount), ratio_int(100));
    Ratio near = ratio_add(ratio_mul(from, factor), ratio(1, 2));
    if (!ratio_valid(near))
        return near;
    /* A small percentage of a slow tempo rounds to nothing: a whole beat at the least. */
    return ratio_max(ratio_int(ratio_floor(near)), ratio_int(ratio_floor(from) + 1));
}

LadderSpec ladder_default(Tempo start, Tempo goal)
{
    LadderSpec s = {.start = start,
        .goal = goal,
        .by = LADDER_BY_NUMBERS,
        .amount = ratio_int(DEFAULT_PERCENT),
        .pattern = LADDER_CLEAN,
        .clean = DEFAULT_CLEAN,
        .repetitions = DEFAULT_REPETITIONS,
        .above = 1};
    if (!tempo_valid(start) || !tempo_valid(goal))
        return s;
    if (!on_metronome(start.per_minute) || !on_metronome(goal.per_minute))
        s.by = LADDER_BY_PERCENT;
    s.above = ladder_above(&s);
    return s;
}

int ladder_above(const LadderSpec *s)
{
    Ratio goal = s->goal.per_minute, above = rung_after(s, goal);
    return !ratio_equal(above, goal) && tempo_valid(tempo(s->goal.beat, above)) ? 1 : 0;
}

static bool check_tempos(const LadderSpec *s, Error *error)
{
    char start[TEMPO_TEXT_MAX], goal[TEMPO_TEXT_MAX];
    if (!tempo_valid(s->start) || !tempo_valid(s->goal))
        return error_set(error, ERROR_RANGE, "the %s of a ladder must be %d to %d beats a minute",
            tempo_valid(s->start) ? "goal" : "start", TEMPO_MIN, TEMPO_MAX);
    if (!ratio_equal(s->start.beat, s->goal.beat)) {
        Ratio quarters = ratio_mul(s->start.beat, s->start.per_minute);
        Tempo same = tempo(s->goal.beat, ratio_div(quarters, s->goal.beat));
        char instead[TEMPO_TEXT_MAX];
        return error_set(error, ERROR_RANGE,
            "the start %s and the goal %s count different beats: write the start as %s, which is "
            "as fast",
            tempo_text(s->start, start), tempo_text(s->goal, goal), tempo_text(same, instead));
    }
    if (ratio_cmp(s->start.per_minute, s->goal.per_minute) > 0)
        return error_set(error, ERROR_RANGE,
            "the start %s is faster than the goal %s: a ladder climbs, give the slower one first",
            tempo_text(s->start, start), tempo_text(s->goal, goal));
    return true;
}

static bool check_steps(const LadderSpec *s, Error *error)
{
    switch (s->by) {
    case LADDER_BY_NUMBERS: return true;
    case LADDER_BY_PERCENT:
        return within(s->amount, ratio_int(1), ratio_int(50)) ||
               error_set(error, ERROR_RANGE, "a ladder climbs by 1 to 50 per cent a rung");
    case LADDER_BY_AMOUNT:
        return within(s->amount, ratio(1, 2), ratio_int(50)) ||
               error_set(error, ERROR_RANGE, "a ladder climbs by 0.5 to 50 beats a minute a rung");
    }
    return error_set(error, ERROR_RANGE, "a ladder climbs by numbers, by per cent or by an amount");
}

static bool check_pattern(const LadderSpec *s, Error *error)
{
    if ((int)s->pattern < LADDER_STRAIGHT || s->pattern > LADDER_CLEAN)
        return error_set(error, ERROR_RANGE, "a ladder's pattern is straight, two-up or clean");
    if (s->pattern == LADDER_CLEAN && (s->clean < 1 || s->clean > LADDER_CLEAN_MAX))
        return error_set(error, ERROR_RANGE,
            "a ladder goes up after 1 to %d clean repetitions in a row, not %d", LADDER_CLEAN_MAX,
            s->clean);
    if (s->pattern != LADDER_CLEAN &&
        (s->repetitions < 1 || s->repetitions > LADDER_REPETITIONS_MAX))
        return error_set(error, ERROR_RANGE,
            "each rung of a ladder is played 1 to %d times, not %d", LADDER_REPETITIONS_MAX,
            s->repetitions);
    if (s->above < 0 || s->above > LADDER_ABOVE_MAX)
        return error_set(error, ERROR_RANGE, "a ladder ends 0 to %d rungs above its goal, not %d",
            LADDER_ABOVE_MAX, s->above);
    return true;
}

/* The numbers end at 208: a goal beyond needs another step. */
static bool check_top(const LadderSpec *s, Error *error)
{
    int top = metronome_number(METRONOME_COUNT - 1);
    if (s->by != LADDER_BY_NUMBERS)
        return true;
    if (ratio_cmp(s->goal.per_minute, ratio_int(top)) > 0)
        return error_set(error, ERROR_RANGE,
            "the metronome's numbers end at %d; climb to a faster goal by per cent or by so many "
            "beats a minute",
            top);
    if (s->above > 0 && ratio_equal(metronome_step(s->goal.per_minute, s->above),
                            metronome_step(s->goal.per_minute, s->above - 1)))
        return error_set(error, ERROR_RANGE,
            "the metronome's numbers end at %d: there are not %d above the goal; take fewer, such "
            "as above = 0, or climb by per cent",
            top, s->above);
    return true;
}

static bool push(Ladder *l, Ratio rung, Error *error)
{
    if (l->count == LADDER_RUNGS_MAX)
        return error_set(error, ERROR_RANGE,
            "the ladder would have more than %d rungs; take larger steps", LADDER_RUNGS_MAX);
    l->rungs[l->count++] = rung;
    return true;
}

static bool make_rungs(Ladder *l, Error *error)
{
    const LadderSpec *s = &l->spec;
    Ratio rung = s->start.per_minute, goal = s->goal.per_minute;
    for (; ratio_valid(rung) && ratio_cmp(rung, goal) < 0; rung = rung_after(s, rung))
        if (!push(l, rung, error))
            return false;
    if (!ratio_valid(rung))
        return error_set(error, ERROR_RANGE, "the ladder's tempos have too many digits");
    l->goal = l->count;
    if (!push(l, goal, error))
        return false;
    rung = goal;
    for (int i = 0; i < s->above; i++) {
        rung = rung_after(s, rung);
        if (!tempo_valid(tempo(s->goal.beat, rung)))
            return error_set(error, ERROR_RANGE,
                "%d above the goal is faster than %d beats a minute; take fewer", s->above,
                TEMPO_MAX);
        if (!push(l, rung, error))
            return false;
    }
    return true;
}

static void make_visits(Ladder *l)
{
    int top = l->count - 1, *to = l->visits;
    if (l->spec.pattern != LADDER_TWO_UP || top < 2) {
        for (int rung = 0; rung <= top; rung++)
            *to++ = rung;
    } else {
        *to++ = 0;
        for (int rung = 2; rung < top; rung++) {
            *to++ = rung;
            *to++ = rung - 1;
        }
        *to++ = top;
        if (top == 2) { /* 0 2 would leave out the middle one */
            *to++ = 1;
            *to++ = top;
        }
    }
    l->visit_count = (int)(to - l->visits);
}

bool ladder_make(const LadderSpec *spec, Ladder *out, Error *error)
{
    *out = (Ladder){.spec = *spec};
    if (!check_tempos(spec, error) || !check_steps(spec, error) || !check_pattern(spec, error) ||
        !check_top(spec, error))
        goto failed;
    out->rungs = malloc(LADDER_RUNGS_MAX * sizeof *out->rungs);
    out->visits = malloc(VISITS_MAX * sizeof *out->visits);
    if (out->rungs == NULL || out->visits == NULL) {
        error_set(error, ERROR_MEMORY, "no memory for the ladder");
        goto failed;
    }
    if (!make_rungs(out, error))
        goto failed;
    make_visits(out);
    return true;
failed:
    ladder_free(out);
    return false;
}

void ladder_free(Ladder *l)
{
    free(l->rungs);
    free(l->visits);
    memset(l, 0, sizeof *l);
}
