#include "view_list.h"

#include "runes.h"

#include <stdio.h>

enum { NARROW = 60 };

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
    int width = g->width - 5, columns = runes_columns(detail);
    if (columns > width / 2)
        columns = width / 2;
    part_clip_right(g, y, g->width - 1, columns, style, detail);
    width -= columns + (columns > 0 ? 2 : 0);
    bool brief = item->brief[0] != '\0' && runes_columns(item->title) > width;
    part_clip(g, y, 4, width, style, brief ? item->brief : item->title);
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
    if (part_has_message(m))
        part_message(m, g, low);
    else if (chosen && g->width < NARROW)
        part_clip(g, low, 4, g->width - 5, STYLE_NORMAL, list->items[list->cursor].detail);
    part_hints(m, g, "", look->hints, look->hint_count);
}
