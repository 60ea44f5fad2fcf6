#include "placing_parts.h"

#include <stdlib.h>

enum { LINK_SIDE = 2, LINK_SIDE_MAX = 3, BURST = 5 };

static const struct {
    const char *name;
    bool (*lay)(Maker *m, const Placing *placing);
} kinds[PLACING_KINDS] = {
    {"", NULL},
    {"the first crossing", placing_crossing},
    {"blocks", placing_blocks},
    {"links", placing_links},
    {"the build-up", placing_build_up},
    {"the build-up from the end", placing_build_back},
    {"bursts", placing_bursts},
    {"scale and arpeggio", placing_pair},
};

static bool check(const Placing *placing, Error *error)
{
    if ((unsigned)placing->kind >= PLACING_KINDS || placing->kind == PLACING_NONE)
        return error_set(error, ERROR_RANGE, "there is no such placing drill");
    if (placing->which < 0 || placing->which > PLACING_WHICH_MAX)
        return error_set(error, ERROR_RANGE, "links are counted from 1");
    int low = placing->kind == PLACING_LINKS || placing->kind == PLACING_BURSTS ? 2 : 0;
    int high = placing->kind == PLACING_LINKS    ? LINK_SIDE_MAX
               : placing->kind == PLACING_BURSTS ? PLACING_BURST_MAX
                                                 : 0;
    if (placing->size != 0 && (placing->size < low || placing->size > high))
        return error_set(error, ERROR_RANGE, "%s takes %d to %d notes, not %d",
            kinds[placing->kind].name, low, high, placing->size);
    if (placing->loops < 0 || placing->loops > PLACING_LOOPS_MAX)
        return error_set(error, ERROR_RANGE, "a link is played 1 to %d times", PLACING_LOOPS_MAX);
    return true;
}

static int32_t *origins_of(const Maker *m)
{
    int32_t *origins = malloc(m->made->note_count * sizeof *origins);
    if (origins == NULL) {
        error_set(m->error, ERROR_MEMORY, "out of memory for the drill");
        return NULL;
    }
    for (size_t i = 0; i < m->made->note_count; i++)
        origins[i] = m->from[i].origin;
    return origins;
}

bool placing_make(
    const Passage *p, const Fingering *f, const Placing *placing, Placed *out, Error *error)
{
    *out = (Placed){0};
    if (!check(placing, error))
        return false;
    Placing wanted = *placing;
    if (wanted.size == 0)
        wanted.size = wanted.kind == PLACING_BURSTS ? BURST : LINK_SIDE;
    if (wanted.loops == 0)
        wanted.loops = PLACING_LOOPS;
    Maker m;
    bool done = maker_open(&m, p, f, error) && kinds[wanted.kind].lay(&m, &wanted) &&
                maker_finish(&m) && maker_fingers(&m, &out->fingering) &&
                (wanted.kind != PLACING_PAIR || placing_pair_fingers(&m, &out->fingering));
    done = done && (out->origin = origins_of(&m)) != NULL;
    if (done) {
        out->passage = m.made;
        m.made = NULL;
    }
    maker_close(&m);
    if (!done)
        placed_free(out);
    return done;
}

void placed_free(Placed *s)
{
    passage_free(s->passage);
    fingering_free(&s->fingering);
    free(s->origin);
    *s = (Placed){0};
}

bool placing_possible(const Passage *p, const Fingering *f, PlacingKind kind)
{
    Placed placed;
    Placing placing = {.kind = kind};
    Error error = {0};
    bool possible = placing_make(p, f, &placing, &placed, &error);
    placed_free(&placed);
    return possible;
}
