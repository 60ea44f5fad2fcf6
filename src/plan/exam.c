#include "exam_parts.h"

#include <stdlib.h>
#include <string.h>

static bool check_passage(const ExamPassage *p, Error *error)
{
    const char *title = p->title ? p->title : "";
    if (!tempo_valid(p->present) || !tempo_valid(p->goal))
        return error_set(error, ERROR_RANGE, "'%.80s': tempos go from %d to %d beats a minute",
            title, TEMPO_MIN, TEMPO_MAX);
    if (!ratio_equal(p->present.beat, p->goal.beat))
        return error_set(error, ERROR_RANGE,
            "'%.80s': present and goal tempo count different beats; write both in one", title);
    if (!ratio_valid(p->length) || ratio_cmp(p->length, ratio_int(0)) <= 0 ||
        ratio_cmp(p->length, ratio_int(EXAM_LENGTH_MAX)) > 0)
        return error_set(error, ERROR_RANGE,
            "'%.80s': a repetition lasts more than 0 and at most %d quarters", title,
            EXAM_LENGTH_MAX);
    if (p->drill_count < 0 || p->drill_count > EXAM_DRILLS_MAX)
        return error_set(error, ERROR_RANGE, "'%.80s': at most %d drills", title, EXAM_DRILLS_MAX);
    return true;
}

static bool check(const ExamSpec *s, Error *error)
{
    char day[DATE_TEXT_MAX];
    if (s->exam <= s->today)
        return error_set(error, ERROR_RANGE,
            "the exam is on %s, which is not after today; set its date anew",
            date_text(s->exam, day));
    if (s->today < 0 || s->exam - s->today > EXAM_DAYS_MAX)
        return error_set(error, ERROR_RANGE,
            "the exam is more than %d days away; plan for an earlier one first", EXAM_DAYS_MAX);
    if (s->minutes < EXAM_MINUTES_MIN || s->minutes > EXAM_MINUTES_MAX)
        return error_set(error, ERROR_RANGE, "minutes a day go from %d to %d, not %d",
            EXAM_MINUTES_MIN, EXAM_MINUTES_MAX, s->minutes);
    if (s->block < 0 || s->block > EXAM_BLOCK_MAX)
        return error_set(
            error, ERROR_RANGE, "a block lasts 1 to %d minutes, 0: no blocks", EXAM_BLOCK_MAX);
    if (s->repetitions < 0 || s->repetitions > EXAM_REPETITIONS_MAX)
        return error_set(
            error, ERROR_RANGE, "a rung takes 1 to %d repetitions", EXAM_REPETITIONS_MAX);
    if (s->passage_count < 1 || s->passage_count > EXAM_PASSAGES_MAX)
        return error_set(error, ERROR_RANGE, "a plan is for 1 to %d passages", EXAM_PASSAGES_MAX);
    if (s->missed_count < 0 || s->missed_count > EXAM_MISSED_MAX)
        return error_set(error, ERROR_RANGE, "at most %d missed days", EXAM_MISSED_MAX);
    if ((s->weekdays & 0x7Fu) == 0 || (s->weekdays & ~0x7Fu) != 0)
        return error_set(error, ERROR_RANGE, "no day of the week is chosen");
    for (int i = 0; i < s->passage_count; i++)
        if (!check_passage(&s->passages[i], error))
            return false;
    return true;
}

bool exam_misses(const ExamSpec *spec, Day day)
{
    for (int i = 0; i < spec->missed_count; i++)
        if (spec->missed[i] == day)
            return true;
    return false;
}

bool exam_practises(const ExamSpec *spec, Day day)
{
    if (day < spec->today || day >= spec->exam || !(spec->weekdays >> (date_weekday(day) - 1) & 1u))
        return false;
    return !exam_misses(spec, day);
}

static bool make_days(Course *c, Error *error)
{
    const ExamSpec *s = c->spec;
    c->days = calloc((size_t)(s->exam - s->today), sizeof *c->days);
    if (!c->days)
        return error_set(error, ERROR_MEMORY, "no memory for the plan's days");
    for (Day day = s->today; day < s->exam; day++)
        if (exam_practises(s, day))
            c->days[c->day_count++] = day;
    c->learning = c->day_count > EXAM_EASY_DAYS ? c->day_count - EXAM_EASY_DAYS : 0;
    return true;
}

static bool make_climbers(Course *c, Error *error)
{
    size_t count = (size_t)c->spec->passage_count;
    c->climbers = calloc(count, sizeof *c->climbers);
    c->order = calloc(count, sizeof *c->order);
    c->plan.outcomes = calloc(count, sizeof *c->plan.outcomes);
    if (!c->climbers || !c->order || !c->plan.outcomes)
        return error_set(error, ERROR_MEMORY, "no memory for the plan's passages");
    for (; c->count < c->spec->passage_count; c->count++) {
        const ExamPassage *asked = &c->spec->passages[c->count];
        Climber *climber = &c->climbers[c->count];
        if (!climber_make(c->spec, asked, climber, error))
            return false;
        c->plan.outcomes[c->count] = (ExamOutcome){.start = climber_tempo(climber, 0),
            .end = climber_tempo(climber, 0),
            .goal = asked->goal,
            .first = -1,
            .stands = climber->ladder.goal == 0 ? c->spec->today : -1};
    }
    c->plan.outcome_count = c->count;
    return true;
}

static void free_course(Course *c)
{
    for (int i = 0; i < c->count; i++)
        climber_free(&c->climbers[i]);
    free(c->climbers);
    free(c->order);
    free(c->days);
    exam_plan_free(&c->plan);
}

/* The whole plan, one way; *out is the caller's. */
static bool make(const ExamSpec *spec, bool paced, ExamPlan *out, Error *error)
{
    Course c = {.spec = spec, .paced = paced};
    bool done = make_climbers(&c, error) && make_days(&c, error);
    for (int i = 0; done && i < c.day_count; i++)
        if (!(i < c.learning ? course_learn(&c, i) : course_ease(&c, i)))
            done = error_set(error, ERROR_MEMORY, "no memory for the plan");
    if (done) {
        c.plan.fits = true;
        for (int i = 0; i < c.count; i++)
            c.plan.fits = c.plan.fits && c.climbers[i].rung >= c.climbers[i].ladder.goal;
        c.plan.learning_days = c.learning;
        c.plan.easy_days = c.day_count - c.learning;
        *out = c.plan;
        memset(&c.plan, 0, sizeof c.plan);
    }
    free_course(&c);
    return done;
}

/* Calm where there is time; as fast as may be where there is not. */
bool exam_plan(const ExamSpec *spec, ExamPlan *out, Error *error)
{
    memset(out, 0, sizeof *out);
    if (!check(spec, error) || !make(spec, true, out, error))
        return false;
    if (out->fits)
        return true;
    exam_plan_free(out);
    return make(spec, false, out, error);
}

void exam_plan_free(ExamPlan *plan)
{
    free(plan->entries);
    free(plan->outcomes);
    memset(plan, 0, sizeof *plan);
}
