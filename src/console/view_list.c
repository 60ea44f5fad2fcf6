#include "view_list.h"

#include "runes.h"

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

    if (here)
        grid_fill(g, y, 0, 1, g->width, STYLE_NOW, ' ');
    grid_put(g, y, 1, 1, style, here ? part_sign(g, "▶", ">") : " ");
    grid_put(g, y, 2, 1, style, item->current ? part_sign(g, "●", "*") : " ");
    int width = g->width - 5, detail = runes_columns(item->detail);
    if (detail > width / 2)
        detail = width / 2;
    part_clip_right(g, y, g->width - 1, detail, style, item->detail);
    part_clip(g, y, 4, width - detail - (detail > 0 ? 2 : 0), style, item->title);
}

void list_draw(const ModelList *list, Grid *g, int top, int end, const char *none)
{
    int rows = end - top;
    if (list->count == 0) {
        part_clip(g, top, 4, g->width - 5, STYLE_NORMAL, none);
        return;
    }
    int first = first_item(list, rows);
    for (int row = 0; row < rows && first + row < list->count; row++)
        draw_item(list, g, top + row, first + row);
    if (first > 0)
        grid_put(g, top, 0, 1, STYLE_DIM, part_sign(g, "↑", "^"));
    if (first + rows < list->count)
        grid_put(g, end - 1, 0, 1, STYLE_DIM, part_sign(g, "↓", "v"));
}
