/* What would make a plan fit: every answer is a plan that was made and fits. */
#include "evenhand/plan/exam.h"

#include <stdlib.h>
#include <string.h>

enum { WEEK = 7, ROUND_MINUTES = 5 };

static bool fits(const ExamSpec *spec, bool *out, Error *error)
{
    ExamPlan plan;
    if (!exam_plan(spec, &plan, error))
        return false;
    *out = plan.fits;
    exam_plan_free(&plan);
    return true;
}

/* Between `low`, which does not fit, and `high`, which does; `high` always does. Then the next
 * multiple of five, if that fits as well: nobody practises 43 minutes. */
static bool find_minutes(ExamSpec spec, int *out, Error *error)
{
    int low = spec.minutes, high = spec.minutes = EXAM_MINUTES_MAX;
    bool good;
    if (!fits(&spec, &good, error))
        return false;
    if (!good)
        return true;
    while (high - low > 1) {
        spec.minutes = low + (high - low) / 2;
        if (!fits(&spec, &good, error))
            return false;
        *(good ? &high : &low) = spec.minutes;
    }
    spec.minutes = (high + ROUND_MINUTES - 1) / ROUND_MINUTES * ROUND_MINUTES;
    if (!fits(&spec, &good, error))
        return false;
    *out = good ? spec.minutes : high;
    return true;
}

static bool find_weekday(ExamSpec spec, int *out, Error *error)
{
    unsigned before = spec.weekdays;
    for (int day = 1; day <= WEEK && *out == 0; day++) {
        bool good;
        if (before >> (day - 1) & 1u)
            continue;
        spec.weekdays = before | 1u << (day - 1);
        if (!fits(&spec, &good, error))
            return false;
        *out = good ? day : 0;
    }
    return true;
}

/* Goals down to what was reached, until it fits: at the latest when each goal is what stands. */
static bool find_goals(const ExamSpec *asked, ExamAdvice *out, Error *error)
{
    ExamSpec spec = *asked;
    int count = spec.passage_count;
    bool done = false;
    ExamPassage *passages = calloc((size_t)count, sizeof *passages);
    out->goals = calloc((size_t)count, sizeof *out->goals);
    if (!passages || !out->goals) {
        free(passages);
        return error_set(error, ERROR_MEMORY, "no memory for the plan's goals");
    }
    memcpy(passages, spec.passages, (size_t)count * sizeof *passages);
    spec.passages = passages;
    for (bool good = false; !good;) {
        ExamPlan plan;
        if (!exam_plan(&spec, &plan, error))
            goto out;
        good = plan.fits;
        for (int i = 0; i < count && !good; i++)
            if (plan.outcomes[i].stands < 0)
                passages[i].goal = plan.outcomes[i].end;
        exam_plan_free(&plan);
    }
    for (int i = 0; i < count; i++)
        out->goals[i] = passages[i].goal;
    out->goal_count = count;
    done = true;
out:
    free(passages);
    return done;
}

bool exam_advise(const ExamSpec *spec, ExamAdvice *out, Error *error)
{
    bool good;
    memset(out, 0, sizeof *out);
    if (!fits(spec, &good, error))
        return false;
    if (good)
        return true;
    if (find_minutes(*spec, &out->minutes, error) && find_weekday(*spec, &out->weekday, error) &&
        find_goals(spec, out, error))
        return true;
    exam_advice_free(out);
    return false;
}

void exam_advice_free(ExamAdvice *advice)
{
    free(advice->goals);
    memset(advice, 0, sizeof *advice);
}
