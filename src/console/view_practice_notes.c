/* The passage around the current note: which notes are shown, and each note's column.
 *
 *      >               >                accents
 *      4   3   2   1 / 4   3   2   1    fingers, link signs
 *     |C4  D4  E4  F4  G4  A4  B4 |C5   names, bar lines
 *      [===========]   |___________|    groups, the current one marked
 *      1   .   2   .   3   .   4   1    beats
 *          ^                            now
 */
#include "view_practice_notes.h"

#include "runes.h"

#include <string.h>

enum { EDGE = 2, GAP = 2, NAME_MAX_COLUMNS = 7, SEGMENT_MAX = 8 };

static bool starts_group(const Model *m, int i)
{
    return i > 0 && m->notes[i].group != m->notes[i - 1].group;
}

/* Extra columns before a note: room for a link sign. */
static int gap_before(const Model *m, int i)
{
    return starts_group(m, i) ? GAP : 0;
}

/* One past the notes that should be seen together with note i, the first of them: a group; of
 * what has no groups, a handful. */
static int segment_end(const Model *m, int i)
{
    int end = i + 1;
    while (end < m->note_count && !starts_group(m, end) && end - i < SEGMENT_MAX)
        end++;
    return end;
}

void note_label(const ModelNote *n, bool octaves, char out[MODEL_NAME_MAX])
{
    size_t used = 0;
    for (const char *s = n->name; *s != '\0' && used + 1 < MODEL_NAME_MAX; s++)
        if (octaves || *s < '0' || *s > '9')
            out[used++] = *s;
    out[used] = '\0';
}

static int widest_name(const Model *m, bool octaves)
{
    int widest = 2;
    for (int i = 0; i < m->note_count; i++) {
        char label[MODEL_NAME_MAX];
        note_label(&m->notes[i], octaves, label);
        int columns = runes_columns(label);
        if (columns > widest)
            widest = columns;
    }
    return widest < NAME_MAX_COLUMNS ? widest : NAME_MAX_COLUMNS;
}

/* The first note shown, so that the group of `focus` and the next one fit into `room` columns.
 * The start moves only when they would not, and then leaves the group before in sight: the page
 * stands still for as long as it can. */
static int first_shown(const Model *m, int pitch, int room, int focus)
{
    int start = 0, start_x = 0, before = 0, before_x = 0;
    int at = 0, at_x = 0;
    for (;;) {
        int end = segment_end(m, at), end_x = at_x + (end - at) * pitch - 1;
        int next_x = end_x;
        if (end < m->note_count)
            next_x += gap_before(m, end) + (segment_end(m, end) - end) * pitch;
        if (next_x - start_x > room) {
            bool roomy = next_x - before_x <= room;
            start = roomy ? before : at;
            start_x = roomy ? before_x : at_x;
        }
        if (focus < end)
            break;
        before = at;
        before_x = at_x;
        at = end;
        at_x = end_x + 1 + gap_before(m, end);
    }
    int focus_x = at_x + (focus - at) * pitch;
    return focus_x + pitch - 1 - start_x > room ? focus : start;
}

static NoteWindow make_window(const Model *m, int width)
{
    NoteWindow w = {.octaves = true};
    int room = width - 2 * EDGE, focus = practice_focus(m);
    int two_groups = 2 * 4 * (widest_name(m, true) + 1) - 1 + GAP;

    if (two_groups > room)
        w.octaves = false;
    w.cell = widest_name(m, w.octaves);
    w.first = first_shown(m, w.cell + 1, room, focus);
    int x = EDGE;
    for (int i = w.first; i < m->note_count; i++) {
        if (i > w.first)
            x += w.cell + 1 + gap_before(m, i);
        if (x + w.cell > width - EDGE || w.count == GRID_WIDTH_MAX)
            break;
        w.x[w.count++] = x;
    }
    w.focus = focus;
    return w;
}

static Style name_style(const ModelNote *n)
{
    return n->letter == 'C' ? STYLE_STRING_C : n->letter == 'F' ? STYLE_STRING_F : STYLE_NORMAL;
}

static void draw_link(Grid *g, const ModelNote *n, int y, int x)
{
    static const char *const signs[][2] = {
        [MODEL_LINK_START] = {"", ""},
        [MODEL_LINK_WITHIN] = {"", ""},
        [MODEL_LINK_UNDER] = {"↗", "/"},
        [MODEL_LINK_OVER] = {"↘", "\\"},
        [MODEL_LINK_REPLACE] = {"↻", "o"},
        [MODEL_LINK_LIFT] = {"↑", "'"},
    };
    if (x >= 0)
        grid_put(g, y, x, 1, STYLE_LINK, signs[n->link][g->ascii ? 1 : 0]);
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

static void draw_note(const Model *m, Grid *g, const PracticeLayout *l, const NoteWindow *w, int k)
{
    const ModelNote *n = &m->notes[w->first + k];
    int x = w->x[k];
    bool now = w->first + k == m->now;
    Style finger_style = now ? STYLE_NOW : n->accent ? STYLE_ACCENT : STYLE_NORMAL;
    char label[MODEL_NAME_MAX];
    int row = name_row(w, l, n);

    note_label(n, w->octaves, label);
    if (now) {
        grid_fill(g, l->top[BAND_FINGERS], x, 1, w->cell, STYLE_NOW, ' ');
        grid_fill(g, row, x, 1, w->cell, STYLE_NOW, ' ');
    }
    if (n->accent)
        grid_put(g, l->top[BAND_ACCENTS], x, 1, STYLE_ACCENT, ">");
    grid_printf(
        g, l->top[BAND_FINGERS], x, w->cell, finger_style, n->finger > 0 ? "%d" : "-", n->finger);
    part_clip(g, row, x, w->cell, now ? STYLE_NOW : name_style(n), label);
    if (w->first + k > 0)
        draw_link(g, n, l->top[BAND_FINGERS], x - 2);
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
static void draw_strings(const Model *m, Grid *g, const PracticeLayout *l, const NoteWindow *w)
{
    if (l->rows[BAND_NAMES] < 2 || w->highest - w->lowest > l->rows[BAND_NAMES] - 1)
        return;
    (void)m;
    for (int string = w->lowest; string <= w->highest; string++) {
        int letter = (string % 7 + 7) % 7; /* 7 * octave + letter, C first */
        if (letter != 0 && letter != 3)
            continue;
        ModelNote here = {.string = string};
        int y = name_row(w, l, &here);
        for (int x = EDGE; x < w->x[w->count - 1] + w->cell; x += 2)
            grid_put(
                g, y, x, 1, letter == 0 ? STYLE_STRING_C : STYLE_STRING_F, part_sign(g, "·", "."));
    }
}

void practice_notes(const Model *m, Grid *g, const PracticeLayout *l)
{
    if (m->note_count <= 0)
        return;
    NoteWindow w = make_window(m, g->width);
    if (w.count == 0)
        return;
    w.lowest = w.highest = m->notes[w.first].string;
    for (int k = 1; k < w.count; k++) {
        int string = m->notes[w.first + k].string;
        w.lowest = string < w.lowest ? string : w.lowest;
        w.highest = string > w.highest ? string : w.highest;
    }
    draw_strings(m, g, l, &w);
    for (int k = 0; k < w.count; k++)
        if (m->notes[w.first + k].bar_start && w.first + k > 0)
            draw_bar_line(g, l, w.x[k] - 1);
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
