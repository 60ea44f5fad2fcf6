/* glance.h - glances at the practice screen while it plays, each with its time; and what its large
 * figures mean. Include after cmocka.h.
 */
#ifndef EVENHAND_TESTS_APP_E2E_GLANCE_H
#define EVENHAND_TESTS_APP_E2E_GLANCE_H

#include "picture.h"
#include "tmux.h"

enum { GLANCES_MAX = 4096, KNOWN_MAX = 32, FINGERS = 4 };

/* The screen at some moment between two times. */
typedef struct {
    int64_t before, after;
    int step, repetition, bar;
    Marked marked;
    Figure finger, beat, wedge;
} Glance;

/* A large figure, and how often it was seen beside a marked note of each finger. */
typedef struct {
    Figure figure;
    int beside[FINGERS + 1];
} Known;

typedef struct {
    size_t count, known_count;
    Glance glance[GLANCES_MAX];
    Known known[KNOWN_MAX];
} Glances;

static inline void glance_cast(Glances *all, const Tmux *t)
{
    static char text[PANE_ROOM];
    static Picture p;
    assert_true(all->count < GLANCES_MAX);
    Glance *g = &all->glance[all->count++];
    g->before = monotonic_now();
    tmux_capture(t, false, text);
    g->after = monotonic_now();
    picture_read(text, &p);
    g->step = picture_number(&p, "step ");
    g->repetition = picture_number(&p, "repetition ");
    g->bar = picture_number(&p, " bar ");
    g->marked = picture_marked(&p);
    g->finger = picture_figure(&p, "finger");
    g->beat = picture_figure(&p, "beat of ");
    g->wedge = picture_figure(&p, "accent");
}

/* The number whose figure this is; 0 for one that is not known, -1 for none at all. */
static inline int figure_number(const Glances *all, const Figure *f)
{
    if (f->ink[0] == '\0')
        return -1;
    for (size_t i = 0; i < all->known_count; i++)
        if (strcmp(all->known[i].figure.ink, f->ink) == 0) {
            int best = 1;
            for (int n = 2; n <= FINGERS; n++)
                if (all->known[i].beside[n] > all->known[i].beside[best])
                    best = n;
            return best;
        }
    return 0;
}

/* What the figures mean is told by the small number above the mark, on the same screen. Now and
 * then a screen is caught while it is being written; so the most decide. */
static inline void learn_figures(Glances *all)
{
    all->known_count = 0;
    for (size_t i = 0; i < all->count; i++) {
        const Glance *g = &all->glance[i];
        if (!g->marked.marked || g->finger.ink[0] == '\0')
            continue;
        size_t k = 0;
        while (k < all->known_count && strcmp(all->known[k].figure.ink, g->finger.ink) != 0)
            k++;
        assert_true(k < KNOWN_MAX);
        if (k == all->known_count)
            all->known[all->known_count++] = (Known){.figure = g->finger};
        all->known[k].beside[g->marked.finger]++;
    }
    for (int n = 1; n <= FINGERS; n++) {
        int count = 0;
        for (size_t k = 0; k < all->known_count; k++)
            count += figure_number(all, &all->known[k].figure) == n && all->known[k].beside[n] > 5;
        if (count != 1)
            fail_msg("%d has %d large figures", n, count);
    }
}

#endif
