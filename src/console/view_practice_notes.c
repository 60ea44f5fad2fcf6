/* The passage around the current note.
 *
 *      >               >                accents
 *      4   3   2   1 / 4   3   2   1    fingers, link signs
 *     |C4  D4  E4  F4  G4  A4  B4 |C5   names, bar lines
 *      [===========]   |___________|    groups, the current one marked
 *      1   .   2   .   3   .   4   1    beats
 *          ^                            now
 */
#include "view_practice_notes.h"

#include "evenhand/drill/drill.h" /* link_sign */

static Style name_style(const ModelNote *n)
{
    return n->letter == 'C' ? STYLE_STRING_C : n->letter == 'F' ? STYLE_STRING_F : STYLE_NORMAL;
}

static void draw_link(Grid *g, const ModelNote *n, int y, int x)
{
    if (x >= 0 && practice_bears_link(n))
        grid_put(g, y, x, 1, STYLE_LINK, link_sign((Link)n->link, !g->ascii));
}

/* Row of a name: the staircase of the strings, or the one row there is. */
static int name_row(const NoteWindow *w, const PracticeLayout *l, const ModelNote *n)
{
    int bottom = l->top[BAND_NAMES] + l->rows[BAND_NAMES] - 1, steps = l->rows[BAND_NAMES] - 1;
    int range = w->highest - w->lowest, above = n->string - w->lowest;
    if (steps == 0 || range == 0)
        return bottom - steps / 2;
    if (range <= steps)
        return bottom - (steps - range) / 2 - above;
    return bottom - (above * steps + range / 2) / range;
}

/* One digit, or the same drawn five rows high. */
static void draw_finger(
    Grid *g, const PracticeLayout *l, const ModelNote *n, int x, int cell, bool now)
{
    static const BigSize dots = {BIG_SMALL, 1, 1};
    const char digit[2] = {n->finger > 0 ? (char)('0' + n->finger) : '-', '\0'};
    Style style = now ? STYLE_NOW : n->accent ? STYLE_ACCENT : STYLE_NORMAL;
    int y = l->top[BAND_FINGERS], rows = l->rows[BAND_FINGERS];

    if (now)
        grid_fill(g, y, x, rows, cell, STYLE_NOW, ' ');
    if (rows >= big_height(dots))
        big_draw(g, y, x, dots, style, INK_SOLID, digit);
    else
        grid_put(g, y, x, cell, style, digit);
}

/* From the finger down to the name on its step, so that the eye finds the one from the other. */
static void draw_stem(Grid *g, const PracticeLayout *l, int x, int row)
{
    for (int y = l->top[BAND_NAMES]; y < row; y++)
        grid_put(g, y, x, 1, STYLE_STRONG, part_sign(g, "┊", ":"));
}

static void draw_note(const Model *m, Grid *g, const PracticeLayout *l, const NoteWindow *w, int k)
{
    const ModelNote *n = &m->notes[w->first + k];
    int x = w->x[k];
    bool now = w->first + k == m->now;
    char label[MODEL_NAME_MAX];
    int row = name_row(w, l, n);

    practice_note_name(n, w->octaves, label);
    if (now)
        grid_fill(g, row, x, 1, w->cell, STYLE_NOW, ' ');
    if (w->first + k == w->focus)
        draw_stem(g, l, x, row);
    if (n->accent)
        grid_put(g, l->top[BAND_ACCENTS], x, 1, STYLE_ACCENT, ">");
    draw_finger(g, l, n, x, w->cell, now);
    part_clip(g, row, x, w->cell, now ? STYLE_NOW : name_style(n), label);
    if (w->first + k > 0)
        draw_link(g, n, l->top[BAND_FINGERS] + l->rows[BAND_FINGERS] / 2,
            x - 2 - (n->bar_start ? w->bar_gap : 0));
    if (now && l->rows[BAND_MARKER] == 0) { /* no row for the marker below */
        grid_put(g, l->top[BAND_FINGERS], x - 1, 1, STYLE_NOW, "[");
        grid_put(g, l->top[BAND_FINGERS], x + 1, 1, STYLE_NOW, "]");
    }
}

static void draw_length(Grid *g, int y, int x, int cell, int length)
{
    if (length == 0)
        return;
    for (int i = 0; i < (length > 0 ? cell : 1); i++)
        grid_put(g, y, x + i, 1, STYLE_STRONG,
            part_sign(g, length > 0 ? "━" : "╸", length > 0 ? "=" : "-"));
}

static void draw_beat(Grid *g, int y, int x, int cell, const ModelNote *n)
{
    if (n->on_beat)
        part_clip(g, y, x, cell, n->on_strong ? STYLE_STRONG : STYLE_NORMAL, n->beat);
    else
        grid_put(g, y, x, 1, STYLE_DIM, part_sign(g, "·", "."));
}

static void draw_below(const Model *m, Grid *g, const PracticeLayout *l, const NoteWindow *w, int k)
{
    const ModelNote *n = &m->notes[w->first + k];
    if (l->rows[BAND_LENGTHS] > 0)
        draw_length(g, l->top[BAND_LENGTHS], w->x[k], w->cell, n->length);
    if (l->rows[BAND_BEATS] > 0)
        draw_beat(g, l->top[BAND_BEATS], w->x[k], w->cell, n);
    if (l->rows[BAND_MARKER] > 0 && w->first + k == w->focus)
        grid_put(g, l->top[BAND_MARKER], w->x[k], 1, STYLE_STRONG, part_sign(g, "▲", "^"));
}

/* Through all rows of the notes but the brackets. */
static void draw_bar_line(Grid *g, const PracticeLayout *l, int x)
{
    for (int band = BAND_FINGERS; band <= BAND_BEATS; band++)
        if (band != BAND_BRACKETS && l->rows[band] > 0)
            grid_fill(g, l->top[band], x, l->rows[band], 1, STYLE_DIM, g->ascii ? '|' : 0x2502);
}

/* Where every row is one string, the C and F strings are drawn: what the player steers by. */
static void draw_strings(Grid *g, const PracticeLayout *l, const NoteWindow *w)
{
    if (l->rows[BAND_NAMES] < 2 || w->highest - w->lowest > l->rows[BAND_NAMES] - 1)
        return;
    for (int string = w->lowest; string <= w->highest; string++) {
        int letter = (string % 7 + 7) % 7; /* 7 * octave + letter, C first */
        if (letter != 0 && letter != 3)
            continue;
        ModelNote here = {.string = string};
        int y = name_row(w, l, &here);
        for (int x = w->x[0]; x < w->x[w->count - 1] + w->cell; x += 2)
            grid_put(
                g, y, x, 1, letter == 0 ? STYLE_STRING_C : STYLE_STRING_F, part_sign(g, "·", "."));
    }
}

void practice_notes(const Model *m, Grid *g, const PracticeLayout *l)
{
    if (m->note_count <= 0)
        return;
    NoteWindow w = practice_window(m, g->width);
    if (w.count == 0)
        return;
    draw_strings(g, l, &w);
    for (int k = 0; k < w.count; k++)
        if (m->notes[w.first + k].bar_start && w.first + k > 0)
            draw_bar_line(g, l, w.x[k] - 1 - w.bar_gap / 2);
    for (int k = 0; k < w.count; k++) {
        draw_note(m, g, l, &w, k);
        draw_below(m, g, l, &w, k);
    }
    practice_brackets(m, g, l, &w);
    if (w.first > 0)
        grid_put(g, l->top[BAND_FINGERS], 0, 1, STYLE_DIM, part_sign(g, "…", "~"));
    if (w.first + w.count < m->note_count)
        grid_put(g, l->top[BAND_FINGERS], g->width - 1, 1, STYLE_DIM, part_sign(g, "…", "~"));
}
