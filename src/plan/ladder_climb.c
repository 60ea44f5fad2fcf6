#include "evenhand/plan/ladder.h"

Climb climb_start(const Ladder *l)
{
    return (Climb){.visit = 0, .rung = l->visits[0]};
}

/* Clean repetitions that finish a rung, or a visit to one. */
static int needed(const Ladder *l)
{
    return l->spec.pattern == LADDER_CLEAN ? l->spec.clean : l->spec.repetitions;
}

static Climb at_visit(const Ladder *l, int visit)
{
    return (Climb){.visit = visit, .rung = l->visits[visit]};
}

Climb climb_next(const Ladder *l, Climb at, bool clean)
{
    if (at.done)
        return at;
    if (!clean) /* visits are the rungs in order where a miss goes down */
        return l->spec.pattern == LADDER_CLEAN ? at_visit(l, at.visit > 0 ? at.visit - 1 : 0) : at;
    at.clean_in_row++;
    if (at.clean_in_row < needed(l))
        return at;
    if (at.visit < l->visit_count - 1)
        return at_visit(l, at.visit + 1);
    at.done = true;
    return at;
}

int climb_left(const Ladder *l, Climb at)
{
    if (at.done)
        return 0;
    return (l->visit_count - at.visit) * needed(l) - at.clean_in_row;
}

Tempo climb_tempo(const Ladder *l, Climb at)
{
    return tempo(l->spec.goal.beat, l->rungs[at.rung]);
}
