#include "view_list.h"

#include "runes.h"

#include <stdio.h>

enum { NARROW = 60 };

static int first_item(const ModelList *list, int rows)
{
    int first = list->cursor - rows / 2;
    if (first > list->count - rows)
        first = list->count - rows;
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
    part_clip(g, y, 4, width - columns - (columns > 0 ? 2 : 0), style, item->title);
}

static void draw_items(const ModelList *list, Grid *g, int top, int rows)
{
    int first = first_item(list, rows);
    for (int row = 0; row < rows && first + row < list->count; row++)
        draw_item(list, g, top + row, first + row);
    if (first > 0)
        grid_put(g, top, 0, 1, STYLE_DIM, part_sign(g, "↑", "^"));
    if (first + rows < list->count)
        grid_put(g, top + rows - 1, 0, 1, STYLE_DIM, part_sign(g, "↓", "v"));
}

void list_draw(const Model *m, const ModelList *list, Grid *g, const ListLook *look)
{
    bool chosen = list->cursor >= 0 && list->cursor < list->count;
    int top = g->height < 16 ? 1 : 2, low = g->height - 2;
    char place[64] = "";

    if (chosen)
        snprintf(place, sizeof place, "%d of %d", list->cursor + 1, list->count);
    part_bar(g, 0, look->title, place);
    if (list->count == 0)
        part_clip(g, top, 4, g->width - 5, STYLE_NORMAL, look->none);
    else
        draw_items(list, g, top, low - top);
    if (part_has_message(m))
        part_message(m, g, low);
    else if (chosen && g->width < NARROW)
        part_clip(g, low, 4, g->width - 5, STYLE_NORMAL, list->items[list->cursor].detail);
    part_hints(m, g, "", look->hints, look->hint_count);
}
