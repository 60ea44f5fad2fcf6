/* What was practised, over days: a list, and of the one at the cursor two plots.
 *
 *      > Run in G         83 %     Run in G
 *        Scale of C       71 %     83 % clean, best 1/4 = 92, last today
 *        Broken chords    64 %     % clean
 *                                  100% |      #
 *                                       |  . # #
 *                                    0% |# # # #
 *                                  best clean tempo, beats of 1/4
 *                                   100 |      *
 *                                       |   *
 *                                    80 |*
 *                                       +--------
 *                                        2026-10-01
 *
 * Beside it in a wide window, below it in a high one; in a small one the name alone.
 */
#include "view_parts.h"

#include "runes.h"

#include <stdio.h>
#include <string.h>

enum {
    BESIDE = 72,   /* columns from which the list stands beside the plots */
    BELOW = 18,    /* rows from which it stands below them */
    LABEL = 5,     /* columns of an axis' figures */
    DAY = 10,      /* columns of a date */
    LIST_MAX = 46, /* columns */
    EIGHTHS = 8
};

typedef struct {
    int list_y, list_rows, list_width; /* no rows: there is no list */
    int x, width;                      /* of the plots, axes included */
    int title, words, heads;           /* rows; words 0: none; heads 1: plots have headings */
    int percent, percent_rows;         /* first row, below its heading */
    int tempo, tempo_rows;
    int line, days; /* rows of the days' axis; line 0: none */
} RecordLayout;

/* From the top: title, words, both plots with their headings, axis, days. What a higher window has
 * comes in the order of the lines below. */
static void share_rows(RecordLayout *l, int top, int end)
{
    int room = end - top;
    l->heads = room >= 11;
    l->words = room >= 12;
    l->line = room >= 14;
    int plots = room - 2 - 2 * l->heads - l->words - l->line;
    l->percent_rows = plots * 3 / 7;
    l->tempo_rows = plots - l->percent_rows;
    l->title = top++;
    l->words = l->words ? top++ : 0;
    l->percent = top + l->heads;
    l->tempo = l->percent + l->percent_rows + l->heads;
    l->line = l->line ? l->tempo + l->tempo_rows : 0;
    l->days = end - 1;
}

static RecordLayout lay_out(int width, int height)
{
    RecordLayout l = {.x = 1, .width = width - 2};
    int end = height - 2; /* message, hints */
    if (width >= BESIDE) {
        l.list_width = width / 3 < LIST_MAX ? width / 3 : LIST_MAX;
        l.list_y = 1;
        l.list_rows = end - 1;
        l.x = l.list_width + 2;
        l.width = width - 1 - l.x;
    } else if (height >= BELOW) {
        l.list_width = width - 1;
        l.list_rows = (height - 3) / 4;
        l.list_y = end - l.list_rows;
        end = l.list_y;
    }
    share_rows(&l, 1, end);
    return l;
}

/* ---- the list ------------------------------------------------------------------------------ */

static void percent_words(const ModelRecordItem *item, char *out, size_t size)
{
    snprintf(out, size, item->percent < 0 ? "-" : "%d %%", item->percent);
}

static void draw_item(const ModelRecord *r, Grid *g, int y, int width, int i)
{
    const ModelRecordItem *item = &r->items[i];
    bool here = i == r->cursor;
    Style style = here ? STYLE_NOW : item->stale ? STYLE_DIM : STYLE_NORMAL;
    char percent[16];
    percent_words(item, percent, sizeof percent);
    if (here)
        grid_fill(g, y, 0, 1, width + 1, STYLE_NOW, ' ');
    grid_put(g, y, 1, 1, style, here ? part_sign(g, "▶", ">") : " ");
    part_sides(g, y, 3, width - 3, style, item->title, percent);
}

static void draw_list(const ModelRecord *r, Grid *g, const RecordLayout *l)
{
    int first = r->cursor - l->list_rows / 2;
    first = first > r->count - l->list_rows ? r->count - l->list_rows : first;
    first = first < 0 ? 0 : first;
    for (int row = 0; row < l->list_rows && first + row < r->count; row++)
        draw_item(r, g, l->list_y + row, l->list_width, first + row);
    if (l->list_rows > 0 && first > 0)
        grid_put(g, l->list_y, 0, 1, STYLE_DIM, part_sign(g, "↑", "^"));
    if (l->list_rows > 0 && first + l->list_rows < r->count)
        grid_put(g, l->list_y + l->list_rows - 1, 0, 1, STYLE_DIM, part_sign(g, "↓", "v"));
}

/* "83 % clean, best 1/4 = 92, last 12 days ago, stale" */
static void draw_words(const ModelRecordItem *item, Grid *g, int y, int x, int width)
{
    char percent[16], words[2 * MODEL_TEXT_MAX];
    percent_words(item, percent, sizeof percent);
    snprintf(words, sizeof words, "%s clean%s%s, last %s%s", percent,
        item->best[0] != '\0' ? ", best " : "", item->best, item->last,
        item->stale ? ", stale" : "");
    part_clip(g, y, x, width, STYLE_NORMAL, words);
}

/* What nothing above the foot has had room for. */
static void draw_foot(const ModelRecordItem *item, Grid *g, bool words)
{
    char line[MODEL_BRIEF_MAX + 64] = "";
    if (!words)
        snprintf(line, sizeof line, "last %s%s%s", item->last, item->stale ? ", stale" : "",
            item->changed ? ", new fingers" : "");
    else if (item->changed)
        snprintf(line, sizeof line, "Its fingers have changed since it was first recorded.");
    part_clip(g, g->height - 2, 1, g->width - 2, STYLE_STRONG, line);
}

/* ---- the plots ----------------------------------------------------------------------------- */

/* One plot: `rows` cells from row `y` down; its points stand from column x + LABEL + 1 on. */
typedef struct {
    int y, rows, x, columns;
} Plot;

static void draw_tick(Grid *g, const Plot *p, int row, const char *label)
{
    int y = p->y + p->rows - 1 - row;
    part_clip_right(g, y, p->x + LABEL, LABEL, STYLE_DIM, label);
    grid_put(g, y, p->x + LABEL, 1, STYLE_DIM, part_sign(g, "┤", "|"));
}

static void draw_axis(Grid *g, const Plot *p)
{
    for (int i = 0; i < p->rows; i++)
        grid_put(g, p->y + i, p->x + LABEL, 1, STYLE_DIM, part_sign(g, "│", "|"));
}

/* A day without a clean repetition is seen: a dot on the ground. */
static void draw_bar(Grid *g, const Plot *p, int x, int percent)
{
    static const char *const blocks[] = {"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
    int ground = p->y + p->rows - 1, fine = g->ascii ? 1 : EIGHTHS;
    int filled = (2 * percent * p->rows * fine + 100) / 200;
    if (filled == 0)
        grid_put(g, ground, x, 1, STYLE_NORMAL, part_sign(g, "·", "."));
    for (int row = 0; filled > 0; row++, filled -= fine) {
        int part = filled < fine ? filled : fine;
        grid_put(g, ground - row, x, 1, STYLE_NORMAL, g->ascii ? "#" : blocks[part - 1]);
    }
}

static void draw_percents(Grid *g, const Plot *p, const ChartPoint *columns)
{
    draw_axis(g, p);
    draw_tick(g, p, p->rows - 1, "100%");
    draw_tick(g, p, 0, "0%");
    if (p->rows >= 6 && p->rows % 2 == 0) /* half way up is a cell's edge */
        draw_tick(g, p, p->rows / 2 - 1, "50%");
    for (int i = 0; i < p->columns; i++) {
        int percent = record_percent(columns[i].clean, columns[i].count);
        if (percent >= 0)
            draw_bar(g, p, p->x + LABEL + 1 + i, percent > 100 ? 100 : percent);
    }
}

static void draw_tempos(Grid *g, const Plot *p, const ChartPoint *columns)
{
    int steps = p->rows - 1 < 5 ? p->rows - 1 : 5;
    ChartAxis axis = chart_tempos(columns, (size_t)p->columns, steps);
    bool any = false;
    draw_axis(g, p);
    for (int i = 0; i < p->columns; i++)
        any = any || columns[i].tempo > 0;
    for (int tick = axis.low; any && tick <= axis.high; tick += axis.step) {
        char label[16];
        snprintf(label, sizeof label, "%d", tick);
        draw_tick(g, p, chart_row(tick, &axis, p->rows), label);
    }
    for (int i = 0; i < p->columns; i++)
        if (columns[i].tempo > 0)
            grid_put(g, p->y + p->rows - 1 - chart_row(columns[i].tempo, &axis, p->rows),
                p->x + LABEL + 1 + i, 1, STYLE_STRONG, part_sign(g, "●", "*"));
}

/* First and last day at the ends, one between them where there is room. */
static void draw_days(const ModelRecord *r, Grid *g, const RecordLayout *l, int columns)
{
    Day first = r->points[0].day, last = r->points[r->point_count - 1].day;
    int x = l->x + LABEL + 1;
    char day[DATE_TEXT_MAX];
    if (l->line > 0) {
        grid_put(g, l->line, x - 1, 1, STYLE_DIM, part_sign(g, "└", "+"));
        for (int i = 0; i < columns; i++)
            grid_put(g, l->line, x + i, 1, STYLE_DIM, part_sign(g, "─", "-"));
    }
    part_clip(g, l->days, x, columns, STYLE_DIM, date_text(first, day));
    if (last > first && columns >= 2 * DAY + 1)
        part_clip_right(g, l->days, x + columns, DAY, STYLE_DIM, date_text(last, day));
    Day middle = first + (last - first) / 2;
    int at = chart_column(middle, first, last, columns) - DAY / 2;
    if (middle > first && at > DAY + 1 && at + DAY + 2 < columns - DAY)
        part_clip(g, l->days, x + at, DAY, STYLE_DIM, date_text(middle, day));
}

static void draw_plots(const ModelRecord *r, Grid *g, const RecordLayout *l)
{
    ChartPoint columns[GRID_WIDTH_MAX];
    int count = l->width - LABEL - 1;
    const Plot percent = {l->percent, l->percent_rows, l->x, count};
    const Plot tempo = {l->tempo, l->tempo_rows, l->x, count};
    if (r->point_count <= 0)
        return;
    chart_columns(r->points, (size_t)r->point_count, count, columns);
    draw_percents(g, &percent, columns);
    draw_tempos(g, &tempo, columns);
    draw_days(r, g, l, count);
    if (l->heads == 0)
        return;
    part_clip(g, l->percent - 1, l->x, l->width, STYLE_NORMAL, "% clean of each day");
    char words[MODEL_NAME_MAX + 64];
    snprintf(words, sizeof words, "best clean tempo of each day, beats of %s", r->unit);
    part_clip(g, l->tempo - 1, l->x, l->width, STYLE_NORMAL, words);
}

static void draw_none(const ModelRecord *r, Grid *g)
{
    static const char *const lines[] = {"There is no record yet.", "",
        "Each repetition that is judged", "while you practise goes into it."};
    if (r->trouble[0] != '\0') {
        part_clip(g, 2, 1, g->width - 2, STYLE_WARNING, r->trouble);
        return;
    }
    for (int i = 0; i < (int)(sizeof lines / sizeof lines[0]); i++)
        part_clip(g, 2 + i, 1, g->width - 2, i == 0 ? STYLE_STRONG : STYLE_NORMAL, lines[i]);
}

static bool usable(const ModelRecord *r)
{
    return r->count > 0 && r->cursor >= 0 && r->cursor < r->count && r->trouble[0] == '\0';
}

static void draw_chosen(const ModelRecord *r, Grid *g)
{
    const RecordLayout l = lay_out(g->width, g->height);
    const ModelRecordItem *item = &r->items[r->cursor];
    char percent[16];
    percent_words(item, percent, sizeof percent);
    draw_list(r, g, &l);
    if (l.words > 0) {
        part_clip(g, l.title, l.x, l.width, STYLE_STRONG, item->title);
        draw_words(item, g, l.words, l.x, l.width);
    } else {
        part_sides(g, l.title, l.x, l.width, STYLE_STRONG, item->title, percent);
    }
    draw_plots(r, g, &l);
    draw_foot(item, g, l.words > 0);
}

void view_record(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {{ACTION_BACK, "back"}, {ACTION_DOWN, "next"},
        {ACTION_RECORD_BY, "passages/drills"}, {ACTION_HELP, "help"}};
    const ModelRecord *r = &m->record;
    char title[MODEL_TEXT_MAX + 40], place[40] = "";
    snprintf(title, sizeof title, "Record by %s%s%s", r->drills ? "drill" : "passage",
        r->student[0] != '\0' ? ": " : "", r->student);
    if (usable(r))
        snprintf(place, sizeof place, "%d of %d", r->cursor + 1, r->count);
    part_bar(g, 0, title, place);
    if (usable(r))
        draw_chosen(r, g);
    else
        draw_none(r, g);
    if (part_has_message(m)) {
        grid_fill(g, g->height - 2, 0, 1, g->width, STYLE_NORMAL, ' ');
        part_message(m, g, g->height - 2);
    }
    part_hints(m, g, "", hints, sizeof hints / sizeof hints[0]);
}
