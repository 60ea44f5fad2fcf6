/* Count-in and rest: the finger to begin with, and what the coming drill wants, to be read from
 * two metres.
 *
 *      +- start finger -+  next: all the 3s              beat of 4
 *      |    4           |  >  3                             2
 *      +----------------+                                o # o o
 *
 *      place 2 of 4      . > . .
 *      long-short 3:1    ############  ####
 */
#include "view_practice_panel.h"

#include <stdio.h>
#include <string.h>

enum { GAP = 2, SHORT_MAX = 8 };

/* The largest signs that fit; the smallest ones where none does. */
static BigSize cue_size(const char *text, int rows, int width)
{
    static const BigSize sizes[] = {{BIG_LARGE, 3, 6}, {BIG_LARGE, 2, 4}, {BIG_MEDIUM, 2, 4},
        {BIG_LARGE, 1, 2}, {BIG_MEDIUM, 1, 2}, {BIG_SMALL, 1, 2}, {BIG_SMALL, 1, 1}};
    size_t last = sizeof sizes / sizeof sizes[0] - 1;
    for (size_t i = 0; i < last; i++)
        if (big_height(sizes[i]) <= rows && big_width(sizes[i], text) <= width)
            return sizes[i];
    return sizes[last];
}

/* Returns the columns used; 0 where it does not fit. */
static int draw_accents(const Panel *p, int x, int width)
{
    const ModelCue *cue = &p->m->cue;
    char text[sizeof cue->accent + 2];
    if (cue->kind == CUE_NONE)
        return 0;
    snprintf(text, sizeof text, "%s%s", cue->kind == CUE_FINGER ? ">" : "", cue->accent);
    BigSize size = cue_size(text, p->rows, width);
    int columns = big_width(size, text);
    if (columns > width)
        return 0;
    big_draw(p->g, p->y + (p->rows - big_height(size)) / 2, x, size, STYLE_ACCENT, INK_SOLID, text);
    return columns;
}

/* Bars as long as the notes are to each other, as far as there is room. */
static void draw_lengths(const Panel *p, int x, int width)
{
    const ModelCue *cue = &p->m->cue;
    int notes = (int)strlen(cue->rhythm), gaps = notes - 1;
    if (notes < 2 || cue->p < 1 || cue->q < 1 || width < 2 * notes + gaps)
        return;
    int units = cue->p + cue->q * (notes - 1), room = width - gaps * GAP;
    int gap = room < 2 * notes ? 1 : GAP;
    room = width - gaps * gap;
    int brief = room * cue->q / units;
    brief = brief < 1 ? 1 : brief > SHORT_MAX ? SHORT_MAX : brief;
    int most = room - brief * (notes - 1), extended = brief * cue->p / cue->q;
    extended = extended > most ? most : extended < 1 ? 1 : extended;
    int rows = (p->rows + 1) / 2, y = p->y + (p->rows - rows) / 2;
    for (int i = 0; i < notes; i++) {
        int columns = cue->rhythm[i] == 'L' ? extended : brief;
        grid_fill(p->g, y, x, rows, columns, STYLE_STRONG, big_ink(p->g, INK_SOLID));
        x += columns + gap;
    }
}

static void label_cue(const Panel *p, int x, int width)
{
    const Model *m = p->m;
    bool rest = m->run == RUN_REST;
    const char *brief = rest ? m->next_brief : m->drill_brief;
    char text[MODEL_BRIEF_MAX + 16];
    if (brief[0] == '\0')
        return;
    snprintf(text, sizeof text, "%s: %s", rest ? "next" : "now", brief);
    panel_label(p, x, width, STYLE_STRONG, text);
}

bool panel_cue(const Panel *p)
{
    const Model *m = p->m;
    const ModelCue *cue = &m->cue;
    if (m->run != RUN_COUNT_IN && m->run != RUN_REST)
        return false;
    if (cue->kind == CUE_NONE && cue->rhythm[0] == '\0')
        return false;
    int x = p->l->accent_x, end = panel_end(p);
    int first = m->run == RUN_REST ? (m->note_count > 0 ? 0 : -1) : practice_focus(m);
    if (first >= 0)
        panel_finger(
            p, &m->notes[first], STYLE_STRONG, p->l->finger_width < 12 ? "start" : "start finger");
    label_cue(p, x, end - x);
    int rhythm = cue->rhythm[0] == '\0' ? 0 : 2 * (end - x) / 5; /* both share the room */
    int used = draw_accents(p, x, end - x - (rhythm > 0 ? rhythm + GAP : 0));
    if (rhythm > 0)
        draw_lengths(
            p, used > 0 ? x + used + 2 * GAP : x, end - x - (used > 0 ? used + 2 * GAP : 0));
    return true;
}
