/* One passage: its rungs, and the work that each takes. */
#include "exam_parts.h"

#include <stdlib.h>
#include <string.h>

enum { PAUSE_SECONDS = 5, PERCENT = 4 }; /* between repetitions; a rung beyond the numbers */

Tempo exam_standing(const ExamPassage *p)
{
    Tempo t = p->present;
    if (p->reached.per_minute.num > 0 && ratio_valid(p->reached.per_minute)) {
        Ratio here = ratio_div(ratio_mul(p->reached.per_minute, p->reached.beat), t.beat);
        if (ratio_valid(here) && ratio_cmp(here, t.per_minute) > 0)
            t.per_minute = here;
    }
    if (ratio_cmp(t.per_minute, p->goal.per_minute) > 0)
        t.per_minute = p->goal.per_minute;
    return t;
}

/* By the metronome's numbers, a rung above the goal; where those end, by percent; where even that
 * would be too fast, to the goal and no further. */
static bool make_ladder(const ExamPassage *p, Ladder *out, Error *error)
{
    LadderSpec spec = ladder_default(exam_standing(p), p->goal);
    if (ladder_make(&spec, out, NULL))
        return true;
    spec.by = LADDER_BY_PERCENT;
    spec.amount = ratio_int(PERCENT);
    if (ladder_make(&spec, out, NULL))
        return true;
    spec.above = 0;
    return ladder_make(&spec, out, error);
}

Tempo climber_tempo(const Climber *c, int rung)
{
    return tempo(c->asked->goal.beat, c->ladder.rungs[rung]);
}

static int64_t rung_seconds(const Climber *c, int rung, int repetitions)
{
    Ratio once = ratio_mul(tempo_seconds_per_quarter(climber_tempo(c, rung)), c->asked->length);
    Ratio all = ratio_mul(ratio_add(once, ratio_int(PAUSE_SECONDS)), ratio_int(repetitions));
    return ratio_valid(all) ? ratio_floor(all) + 1 : -1;
}

bool climber_make(const ExamSpec *spec, const ExamPassage *asked, Climber *out, Error *error)
{
    *out = (Climber){.asked = asked, .last = -1};
    if (!make_ladder(asked, &out->ladder, error))
        return false;
    out->aim = out->ladder.count - 1;
    out->seconds = calloc((size_t)out->ladder.count, sizeof *out->seconds);
    if (!out->seconds) {
        climber_free(out);
        return error_set(error, ERROR_MEMORY, "no memory for a ladder");
    }
    int repetitions = spec->repetitions > 0 ? spec->repetitions : EXAM_REPETITIONS;
    for (int i = 1; i <= out->aim; i++) {
        out->seconds[i] = rung_seconds(out, i, repetitions);
        if (out->seconds[i] < 0) {
            climber_free(out);
            return error_set(error, ERROR_LIMIT,
                "'%.80s': its tempo and length are too fine to reckon with; round them",
                asked->title ? asked->title : "");
        }
    }
    return true;
}

void climber_free(Climber *c)
{
    ladder_free(&c->ladder);
    free(c->seconds);
    memset(c, 0, sizeof *c);
}
