#include "view_list.h"

#include "runes.h"

#include <stdio.h>

enum { NARROW = 60, GAP = 2, DETAIL_MIN = 12 };

/* Lines of the list: its items and, where it is split, a heading over each part.
 *
 *      heading    0
 *      item 0     1
 *      heading    1 + split
 *      item split 2 + split
 */
static bool is_split(const ModelList *list, const ListLook *look)
{
    return look->headings[0] != NULL && list->split > 0 && list->split < list->count;
}

static int line_of(const ModelList *list, bool split, int item)
{
    return !split ? item : item < list->split ? item + 1 : item + 2;
}

static int first_line(int cursor, int lines, int rows)
{
    int first = cursor - rows / 2;
    if (first > lines - rows)
        first = lines - rows;
    return first < 0 ? 0 : first;
}

/* How a row of `width` columns is shared. */
typedef struct {
    const char *title;
    int columns; /* of the detail, 0: left out */
} Share;

/* All of both; else with the title in few words; else the title goes before the detail, which
 * is told in part if that is worth reading. */
static Share share(const ModelItem *item, const char *detail, int width)
{
    int columns = runes_columns(detail), gap = columns > 0 ? GAP : 0;
    int least = columns < DETAIL_MIN ? columns : DETAIL_MIN;
    int title = runes_columns(item->title), brief = runes_columns(item->brief);

    if (title + gap + columns <= width)
        return (Share){item->title, columns};
    if (brief > 0 && brief + gap + columns <= width)
        return (Share){item->brief, columns};
    Share s = {item->title, 0};
    if (brief > 0 && title + gap + least > width) {
        s.title = item->brief;
        title = brief;
    }
    int left = width - title - gap;
    if (left > width / 2) /* cut ones begin in one column */
        left = width / 2;
    s.columns = left >= least ? left : columns == least ? least : 0;
    return s;
}

/* ">* Title ...                detail": the cursor's sign, the sign of what is in use. */
static void draw_item(const ModelList *list, Grid *g, int y, int i)
{
    const ModelItem *item = &list->items[i];
    bool here = i == list->cursor;
    Style style = here ? STYLE_NOW : item->current ? STYLE_STRONG : STYLE_NORMAL;
    const char *detail = g->width < NARROW ? "" : item->detail;

    if (here)
        grid_fill(g, y, 0, 1, g->width, STYLE_NOW, ' ');
    grid_put(g, y, 1, 1, style, here ? part_sign(g, "▶", ">") : " ");
    grid_put(g, y, 2, 1, style, item->current ? part_sign(g, "●", "*") : " ");
    int width = g->width - 5;
    Share s = share(item, detail, width);
    part_clip_right(g, y, g->width - 1, s.columns, style, detail);
    part_clip(g, y, 4, width - (s.columns > 0 ? s.columns + GAP : 0), style, s.title);
}

static void draw_lines(const ModelList *list, Grid *g, int top, int rows, const ListLook *look)
{
    bool split = is_split(list, look);
    int lines = list->count + (split ? 2 : 0);
    int first = first_line(line_of(list, split, list->cursor), lines, rows);
    for (int row = 0; row < rows && first + row < lines; row++) {
        int line = first + row, item = !split ? line : line <= list->split ? line - 1 : line - 2;
        if (split && (line == 0 || line == list->split + 1))
            part_clip(
                g, top + row, 2, g->width - 3, STYLE_STRONG, look->headings[line == 0 ? 0 : 1]);
        else
            draw_item(list, g, top + row, item);
    }
    if (first > 0)
        grid_put(g, top, 0, 1, STYLE_DIM, part_sign(g, "↑", "^"));
    if (first + rows < lines)
        grid_put(g, top + rows - 1, 0, 1, STYLE_DIM, part_sign(g, "↓", "v"));
}

/* "3 of 10", of the part where the cursor is. */
static void place_words(const ModelList *list, const ListLook *look, char *out, size_t size)
{
    bool split = is_split(list, look), beyond = split && list->cursor >= list->split;
    int before = beyond ? list->split : 0;
    int count = beyond ? list->count - list->split : split ? list->split : list->count;
    snprintf(out, size, "%s%d of %d", split ? look->briefs[beyond ? 1 : 0] : "",
        list->cursor - before + 1, count);
}

/* What the row of the cursor had no room for; a lasting trouble of the sound leaves a word. */
static void draw_foot(const Model *m, Grid *g, int y, const ModelItem *item)
{
    int width = g->width - 5;
    bool told = g->width >= NARROW &&
                share(item, item->detail, width).columns >= runes_columns(item->detail);
    if (told || item->detail[0] == '\0') {
        if (part_has_message(m))
            part_message(m, g, y);
        return;
    }
    char sound[PART_SOUND_MAX] = "";
    if (m->audio_warns)
        part_sound(m, sound, sizeof sound);
    int start = part_clip_right(g, y, g->width - 1, width, STYLE_WARNING, sound);
    part_clip(g, y, 4, start - 4 - (sound[0] != '\0' ? GAP : 0), STYLE_NORMAL, item->detail);
}

void list_draw(const Model *m, const ModelList *list, Grid *g, const ListLook *look)
{
    bool chosen = list->cursor >= 0 && list->cursor < list->count;
    int top = g->height < 16 ? 1 : 2, low = g->height - 2;
    char place[64] = "";

    if (chosen)
        place_words(list, look, place, sizeof place);
    part_bar(g, 0, look->title, place);
    if (list->count == 0)
        part_clip(g, top, 4, g->width - 5, STYLE_NORMAL, look->none);
    else
        draw_lines(list, g, top, low - top, look);
    if (chosen && m->message[0] == '\0')
        draw_foot(m, g, low, &list->items[list->cursor]);
    else if (part_has_message(m))
        part_message(m, g, low);
    part_hints(m, g, "", look->hints, look->hint_count);
}
