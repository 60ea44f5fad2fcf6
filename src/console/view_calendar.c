#include "view_parts.h"

#include "runes.h"

#include <stdio.h>

enum { WEEK = 7, WEEKS = MODEL_DAYS / WEEK, ROOMY_CELL = 8, TALL_ROWS = 19, LEGEND_ROWS = 24 };

/* A cell, five columns at least:
 *
 *      >12. 20'     cursor (else today), number, kind, minutes where there is room
 *      76 Two oc    the first block, in a second row of tall windows
 */
static const char *kind_sign(const Grid *g, const ModelDay *d)
{
    switch (d->kind) {
    case MODEL_DAY_PRACTICE: return d->minutes > 0 ? part_sign(g, "·", ".") : "";
    case MODEL_DAY_DONE: return part_sign(g, "✓", "+");
    case MODEL_DAY_MISSED: return "-";
    case MODEL_DAY_EXAM: return part_sign(g, "★", "*");
    case MODEL_DAY_FREE: break;
    }
    return "";
}

static void draw_cell(Grid *g, int y, int x, int width, int height, const ModelDay *d, bool here)
{
    bool plays = d->minutes > 0 || d->kind == MODEL_DAY_EXAM;
    Style style = here ? STYLE_NOW : d->today ? STYLE_STRONG : plays ? STYLE_NORMAL : STYLE_DIM;
    if (d->number < 1 || d->number > 31)
        return;
    if (here)
        grid_fill(g, y, x, height, width - 1, STYLE_NOW, ' ');
    grid_put(g, y, x, 1, style,
        here       ? part_sign(g, "▶", ">")
        : d->today ? part_sign(g, "»", "=")
                   : " ");
    grid_printf(g, y, x + 1, 2, style, "%2d", d->number);
    grid_put(g, y, x + 3, 1, style, kind_sign(g, d));
    if (width >= ROOMY_CELL && d->minutes > 0)
        grid_printf(g, y, x + 4, width - 5, style, "%3d'", d->minutes);
    if (height > 1)
        part_clip(g, y + 1, x + 1, width - 2, style, d->brief);
}

static void draw_grid(const ModelCalendar *c, Grid *g, int y, int rows)
{
    static const char *const names[WEEK] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
    int width = (g->width - 2) / WEEK;
    for (int i = 0; i < WEEK; i++)
        part_clip(g, y, 1 + i * width, width - 1, STYLE_DIM, names[i]);
    for (int i = 0; i < MODEL_DAYS; i++)
        draw_cell(g, y + 1 + i / WEEK * rows, 1 + i % WEEK * width, width, rows, &c->days[i],
            i == c->cursor);
}

/* The chosen day: as many of its blocks as there is room for, and how many are left out. */
static void draw_day(const ModelCalendar *c, Grid *g, int y, int end)
{
    int width = g->width - 2;
    part_clip(g, y++, 1, width, STYLE_STRONG, c->day);
    for (int i = 0; i < c->block_count && y < end; i++, y++) {
        if (y == end - 1 && c->block_count - i > 1) {
            grid_printf(g, y, 1, width, STYLE_DIM, "and %d more", c->block_count - i);
            return;
        }
        const ModelItem *b = &c->blocks[i];
        bool fits = runes_columns(b->title) + 2 + runes_columns(b->detail) <= width;
        part_sides(g, y, 1, width, STYLE_NORMAL, b->title,
            fits || b->brief[0] == '\0' ? b->detail : b->brief);
    }
}

static void draw_legend(Grid *g, int y)
{
    part_clip(g, y, 1, g->width - 2, STYLE_DIM,
        part_sign(g, "» today   · practice   ✓ done   - missed   ★ exam",
            "= today   . practice   + done   - missed   * exam"));
}

static void draw_none(Grid *g)
{
    static const char *const lines[] = {"There is no plan to show.", "",
        "An exam plan is a file written by hand:", "the manual tells how. Start with it:", "",
        "  evenhand FILE --plan PLAN.ini"};
    for (int i = 0; i < (int)(sizeof lines / sizeof lines[0]); i++)
        part_clip(g, 2 + i, 1, g->width - 2, i == 0 ? STYLE_STRONG : STYLE_NORMAL, lines[i]);
}

void view_calendar(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {{ACTION_BACK, "back"}, {ACTION_DAY_AFTER, "day"},
        {ACTION_WEEK_AFTER, "week"}, {ACTION_HELP, "help"}};
    const ModelCalendar *c = &m->calendar;
    bool tall = g->height >= TALL_ROWS, legend = g->height >= LEGEND_ROWS;
    bool news = tall && m->message[0] != '\0';
    int rows = tall ? 2 : 1, foot = g->height - 1 - news - legend;
    int day_y = 2 + WEEKS * rows;

    part_bar(g, 0, c->month[0] != '\0' ? c->title : "Calendar", c->month);
    if (c->month[0] == '\0')
        draw_none(g);
    else {
        draw_grid(c, g, 1, rows);
        draw_day(c, g, day_y, foot);
        if (legend)
            draw_legend(g, foot);
    }
    if (news)
        part_message(m, g, g->height - 2);
    part_hints(m, g, "", hints, sizeof hints / sizeof hints[0]);
}
