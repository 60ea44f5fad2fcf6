#include "runes.h"
#include "view_practice.h"

#include "evenhand/console/view.h"

#include <string.h>

enum { INFO_MIN = 11, NAMES_ROWS_MAX = 22 };

static const struct {
    int rows, height_wished; /* of the whole screen */
    BigSize size;
} figures[] = {
    {5, 0, {BIG_SMALL, 1, 2}},
    {7, 0, {BIG_MEDIUM, 1, 2}},
    {9, 0, {BIG_LARGE, 1, 2}},
    {14, 36, {BIG_MEDIUM, 2, 4}},
    {18, 46, {BIG_LARGE, 2, 4}},
    {27, 64, {BIG_LARGE, 3, 6}},
};
enum { FIGURES = sizeof figures / sizeof figures[0] };

static int longest_chord(const Model *m)
{
    int longest = 0;
    for (int i = 0; i < m->note_count; i++) {
        int fingers = (int)strlen(m->notes[i].fingers);
        longest = fingers > longest ? fingers : longest;
    }
    return longest;
}

/* Makes room in the frame for all fingers of a chord: in `most` columns, or small in `limit`. */
static void place_chord(const Model *m, PracticeLayout *l, int most, int limit)
{
    static const BigSize smallest = {BIG_SMALL, 1, 1};
    int longest = longest_chord(m);
    l->chord = smallest;
    if (longest < 2)
        return;
    static const char fours[] = "44444"; /* as many as ModelNote.fingers holds */
    const char *text = &fours[5 - (longest < 5 ? longest : 5)];
    for (int i = 0; i < FIGURES; i++)
        if (big_height(figures[i].size) <= big_height(l->size) &&
            big_width(figures[i].size, text) <= most)
            l->chord = figures[i].size;
    int columns = big_width(l->chord, text);
    if (columns > l->finger_width && columns <= limit)
        l->finger_width = columns;
}

/* Stands the panel's figures side by side; false where they are wider than the screen.
 *
 *      || finger || accent   next accent ...      beat |
 */
static bool place_figures(const Model *m, int width, BigSize size, PracticeLayout *l)
{
    int margin = width < 60 ? 1 : 2, gap = width < 60 ? 2 : 4;
    l->size = size;
    l->figure = l->finger_width = big_width(size, "4");
    l->beat_width = big_width(size, m->beats > 9 || m->beat > 9 ? "44" : "4");
    l->beat_x = width - margin - l->beat_width;
    l->finger_x = margin + 1;
    int frame = width < 60 ? 3 : 4; /* its blank, its side, the gap */
    int limit = l->beat_x - gap - l->finger_x - frame - l->figure;
    place_chord(m, l, limit - gap - INFO_MIN, limit);
    l->accent_x = l->finger_x + l->finger_width + frame;
    l->info_x = l->accent_x + l->figure + gap;
    l->info_width = l->beat_x - gap - l->info_x;
    bool fits = l->info_width >= -gap;
    if (l->info_width < INFO_MIN)
        l->info_width = 0;
    return fits;
}

static bool has_rhythm(const Model *m)
{
    for (int i = 0; i < m->note_count; i++)
        if (m->notes[i].length != 0)
            return true;
    return false;
}

/* Asked of the notes, not of the words: the screen must not jump when the last one is over. */
static bool has_crossing(const Model *m)
{
    for (int i = 0; i < m->note_count; i++)
        if (m->notes[i].link == MODEL_LINK_UNDER || m->notes[i].link == MODEL_LINK_OVER ||
            m->notes[i].link == MODEL_LINK_REPLACE)
            return true;
    return false;
}

/* Makes a band higher if there are rows to spare. */
static bool grow(PracticeLayout *l, int *spare, Band band, int rows)
{
    if (rows > *spare)
        return false;
    *spare -= rows;
    l->rows[band] += rows;
    return true;
}

static void grow_panel(
    const Model *m, PracticeLayout *l, int *spare, int width, int height, int rows_wished)
{
    for (int i = 0; i < FIGURES; i++) {
        PracticeLayout wider = *l;
        int more = figures[i].rows - l->rows[BAND_PANEL];
        if (more <= 0 || figures[i].rows > rows_wished || figures[i].height_wished > height)
            continue;
        if (place_figures(m, width, figures[i].size, &wider) &&
            grow(&wider, spare, BAND_PANEL, more))
            *l = wider;
    }
}

/* From the lowest screen upwards: each line is what the next rows are given to. */
static void share_rows(const Model *m, PracticeLayout *l, int width, int height)
{
    static const Band least[] = {
        BAND_TITLE, BAND_DRILL, BAND_ACCENTS, BAND_FINGERS, BAND_NAMES, BAND_BRACKETS, BAND_KEYS};
    int spare = height - 5 - (int)(sizeof least / sizeof least[0]);

    for (size_t i = 0; i < sizeof least / sizeof least[0]; i++)
        l->rows[least[i]] = 1;
    l->rows[BAND_PANEL] = 5;
    place_figures(m, width, figures[0].size, l);

    if (m->routine.on)
        grow(l, &spare, BAND_ROUTINE, 1);
    grow(l, &spare, BAND_BEATS, 1);
    grow(l, &spare, BAND_PROGRESS, 1);
    grow(l, &spare, BAND_NEXT, 1);
    grow(l, &spare, BAND_MARKER, 1);
    grow(l, &spare, BAND_LABELS, 1);
    if (m->routine.on)
        grow(l, &spare, BAND_ROUTINE, 1);
    grow_panel(m, l, &spare, width, height, 7);
    if (l->info_width == 0)
        grow(l, &spare, BAND_COMING, 1);
    if (has_rhythm(m))
        grow(l, &spare, BAND_LENGTHS, 1);
    grow(l, &spare, BAND_GAP_MIDDLE, 1);
    grow_panel(m, l, &spare, width, height, 9);
    if (l->info_width == 0 && l->rows[BAND_COMING] == 0)
        grow(l, &spare, BAND_COMING, 1);
    grow(l, &spare, BAND_MESSAGE, 1);
    if (has_crossing(m))
        grow(l, &spare, BAND_CROSSING, 1);
    grow(l, &spare, BAND_GAP_LOW, 1);
    if (m->routine.on && l->rows[BAND_ROUTINE] == 2)
        grow(l, &spare, BAND_ROUTINE, ROUTINE_BAND_BIG - 2);
    grow_panel(m, l, &spare, width, height, 99);
    grow(l, &spare, BAND_FINGERS, 4); /* figures of five rows */
    grow(l, &spare, BAND_GAP_TOP, 1);
    if (spare >= 4)
        grow(l, &spare, BAND_NAMES, spare < NAMES_ROWS_MAX ? spare : NAMES_ROWS_MAX);
    l->rows[BAND_GAP_END] = spare;
}

PracticeLayout practice_layout(const Model *m, int width, int height)
{
    PracticeLayout l = {0};
    share_rows(m, &l, width, height);
    int top = 0;
    for (int band = 0; band < BANDS; band++) {
        l.top[band] = top;
        top += l.rows[band];
    }
    return l;
}
