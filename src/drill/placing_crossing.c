#include "evenhand/drill/placing.h"

/* The note at which this finger last played in the group that ends on `last`; -1: it did not. */
static int32_t played_by(const Fingering *f, int finger, int32_t last)
{
    const FingerGroup *g = &f->groups[f->notes[last].group];
    int32_t start = g->pivot >= 0 ? g->pivot : g->first;
    for (int32_t i = last; i >= start; i--)
        if (f->notes[i].finger == finger)
            return i;
    return -1;
}

static Crossing turn_at(const Fingering *f, int32_t note)
{
    int32_t pivot = f->groups[f->notes[note].group].pivot;
    return (Crossing){.link = LINK_REPLACE,
        .finger = f->notes[pivot].finger,
        .from = -1,
        .lands = pivot,
        .down_by = note};
}

/* It leaves right after its own last note and is down before the group's last note sounds; where
 * that is its own note, it has only until it plays. */
static Crossing crossing_at(const Fingering *f, int32_t note)
{
    int32_t last = note - 1;
    Crossing c = {.link = (Link)f->notes[note].link,
        .finger = f->notes[note].finger,
        .around = f->notes[last].finger,
        .lands = note};
    c.from = played_by(f, c.finger, last);
    c.down_by = c.from == last ? note : last;
    return c;
}

bool crossing_after(const Passage *p, const Fingering *f, int32_t note, Crossing *out)
{
    for (int32_t i = note > 1 ? note : 1; (size_t)i < p->note_count; i++) {
        Link link = (Link)f->notes[i].link;
        if (link == LINK_REPLACE && f->groups[f->notes[i].group].pivot >= 0) {
            *out = turn_at(f, i);
            return true;
        }
        if (link == LINK_CROSS_UNDER || link == LINK_CROSS_OVER) {
            *out = crossing_at(f, i);
            return true;
        }
    }
    return false;
}
