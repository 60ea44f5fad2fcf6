#include "evenhand/drill/stage.h"

#include <stdlib.h>

Stage *stage_new(
    const Passage *p, const Fingering *f, const Rotation *r, const DrillSpec *drill, Error *error)
{
    Stage *s = calloc(1, sizeof *s);
    if (s == NULL) {
        error_set(error, ERROR_MEMORY, "out of memory for the drill");
        return NULL;
    }
    *s = (Stage){.passage = p, .fingering = f, .rotation = r, .placing = drill->placing};
    if (drill->placing.kind == PLACING_NONE)
        return s;
    if (placing_make(p, f, &drill->placing, &s->placed, error) &&
        rotation_plan(s->placed.passage, &s->placed.fingering, &drill->beats, drill->subdivision,
            &s->own, error)) {
        s->passage = s->placed.passage;
        s->fingering = &s->placed.fingering;
        s->rotation = &s->own;
        return s;
    }
    stage_free(s);
    return NULL;
}

void stage_free(Stage *s)
{
    if (s == NULL)
        return;
    rotation_free(&s->own);
    placed_free(&s->placed);
    free(s);
}

Timeline *stage_timeline(
    const Stage *s, const SessionStep *step, const DrillSpec *next, int rate, Error *error)
{
    return timeline_new(s->passage, s->fingering, s->rotation, step, next, rate, error);
}
