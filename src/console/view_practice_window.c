/* Which notes are shown, and each note's column. */
#include "runes.h"
#include "view_practice_notes.h"

enum { EDGE = 2, LINK_GAP = 2, NAME_COLUMNS_MAX = 7, SEGMENT_MAX = 8, NARROW = 60 };

static bool starts_group(const Model *m, int i)
{
    return i > 0 && m->notes[i].group != m->notes[i - 1].group;
}

/* Columns from the note before to note i: its cell, a blank, and what stands between them.
 *
 *      C4  D4     within a group
 *      C4    D4   a link sign has room
 *      C4 | D4    a bar line, where the screen is wide enough to set it off
 */
static int advance(const Model *m, const NoteWindow *w, int i)
{
    int gap = starts_group(m, i) ? LINK_GAP : 0;
    if (i > 0 && m->notes[i].bar_start)
        gap += w->bar_gap;
    return w->cell + 1 + gap;
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

/* Columns from the first note's to just before `end`. */
static int span(const Model *m, const NoteWindow *w, int first, int end)
{
    int columns = w->cell;
    for (int i = first + 1; i < end; i++)
        columns += advance(m, w, i);
    return columns;
}

void practice_note_name(const ModelNote *n, bool octaves, char out[MODEL_NAME_MAX])
{
    size_t used = 0;
    for (const char *s = n->name; *s != '\0' && used + 1 < MODEL_NAME_MAX; s++)
        if (octaves || *s < '0' || *s > '9')
            out[used++] = *s;
    out[used] = '\0';
}

static int widest_name(const Model *m, bool octaves)
{
    int widest = 3; /* a finger drawn in dots takes three */
    for (int i = 0; i < m->note_count; i++) {
        char name[MODEL_NAME_MAX];
        practice_note_name(&m->notes[i], octaves, name);
        int columns = runes_columns(name);
        if (columns > widest)
            widest = columns;
    }
    return widest < NAME_COLUMNS_MAX ? widest : NAME_COLUMNS_MAX;
}

/* The first note shown, so that the group of the focus and the next one fit into `room` columns.
 * The start moves only when they would not, and then leaves the group before in sight: the page
 * stands still for as long as it can. Columns here are counted from note 0. */
static int first_shown(const Model *m, const NoteWindow *w, int room)
{
    int start = 0, start_x = 0, before = 0, before_x = 0;
    int at = 0, at_x = 0, next_end;
    for (;;) {
        int end = segment_end(m, at);
        next_end = end < m->note_count ? segment_end(m, end) : end;
        int right = at_x + span(m, w, at, next_end);
        if (right - start_x > room) {
            bool roomy = right - before_x <= room;
            start = roomy ? before : at;
            start_x = roomy ? before_x : at_x;
        }
        if (w->focus < end)
            break;
        before = at;
        before_x = at_x;
        at_x += span(m, w, at, end + 1) - w->cell;
        at = end;
    }
    bool turned = start > 0 && m->notes[start].place == 2 && m->notes[start - 1].turn;
    if (turned && span(m, w, start - 1, next_end) <= room)
        start--; /* the turning note, which the group shares, is shown with it */
    return span(m, w, start, w->focus + 1) > room ? w->focus : start;
}

static void find_strings(const Model *m, NoteWindow *w)
{
    for (int k = 0; k < w->count; k++) {
        int string = m->notes[w->first + k].string;
        if (k == 0 || string < w->lowest)
            w->lowest = string;
        if (k == 0 || string > w->highest)
            w->highest = string;
    }
}

NoteWindow practice_window(const Model *m, int width)
{
    NoteWindow w = {.octaves = true, .focus = practice_focus(m)};
    int room = width - 2 * EDGE;
    if (w.focus < 0)
        return w;
    w.bar_gap = width < NARROW ? 0 : 2;
    w.cell = widest_name(m, true);
    if (2 * 4 * (w.cell + 1) - 1 + LINK_GAP > room) { /* two groups of four */
        w.octaves = false;
        w.cell = widest_name(m, false);
    }
    w.first = first_shown(m, &w, room);
    int x = EDGE;
    for (int i = w.first; i < m->note_count && w.count < GRID_WIDTH_MAX; i++) {
        if (i > w.first)
            x += advance(m, &w, i);
        if (x + w.cell > width - EDGE)
            break;
        w.x[w.count++] = x;
    }
    find_strings(m, &w);
    return w;
}
