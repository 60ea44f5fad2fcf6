/* One chart, two plots side by side over the same days:
 *
 *     Run in G
 *     83 % clean of 30 repetitions, best clean 1/4 = 72, last 2026-11-25
 *     % clean of each day                  best clean tempo, beats of 1/4
 *     100 |-------------------             80 |-------------------
 *         |    #     #                        |           *
 *      50 |-#--#--#--#--------             70 |------*------------
 *         | #  #  #  #  #                     |  *
 *       0 |-------------------             60 |-------------------
 *         2026-10-26  2026-11-25              2026-10-26  2026-11-25
 */
#include "evenhand/formats/page_record.h"

#include "page_pen.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>

enum { COLUMNS_MAX = 80, STEPS = 5, WORDS_MAX = 300 };

static const double chart_height = 80, chart_text = 70, plot_height = 46, figures = 11, between = 8,
                    quarter = 0.25;
static const double bar_most = 3, dot = 0.9, turn = 6.283185307179586;

typedef struct {
    const RecordChart *charts;
    size_t count;
} Charts;

/* Where one plot stands: its ground line from x on, and the days as columns. */
typedef struct {
    double x, top, ground, width;
    int columns;
    ChartPoint points[COLUMNS_MAX];
} Plot;

static const Lettering title_letters = {5, true, INK_BLACK, "title"};
static const Lettering name_letters = {3.6, true, INK_BLACK, "name"};
static const Lettering word_letters = {2.4, false, INK_BLACK, "words"};
static const Lettering head_letters = {2.2, false, INK_GREY, "heading"};
static const Lettering figure_letters = {2.1, false, INK_BLACK, "figure"};
static const Lettering day_letters = {2.1, false, INK_BLACK, "day"};

static double column_x(const Plot *p, int column)
{
    return p->x + p->width * (column + 0.5) / p->columns;
}

static double height_of(const Plot *p, double value, const ChartAxis *axis)
{
    return p->ground - (p->ground - p->top) * (value - axis->low) / (axis->high - axis->low);
}

static void draw_axis(PagePen *pen, const Plot *p, const ChartAxis *axis, const char *sign)
{
    for (int tick = axis->low; tick <= axis->high; tick += axis->step) {
        char figure[24];
        double y = height_of(p, tick, axis);
        snprintf(figure, sizeof figure, "%d%s", tick, sign);
        page_line(pen, p->x, y, p->x + p->width, y, 0.15, tick == axis->low ? INK_BLACK : INK_PALE);
        page_text(pen, p->x - 1.5, y + figure_letters.cap / 2, 1, &figure_letters, figure);
    }
    page_line(pen, p->x, p->top, p->x, p->ground, 0.15, INK_BLACK);
}

static void draw_days(PagePen *pen, const Plot *p, Day first, Day last)
{
    char day[DATE_TEXT_MAX];
    double y = p->ground + 2 + day_letters.cap;
    if (first == last) {
        page_text(pen, column_x(p, 0), y, 0.5, &day_letters, date_text(first, day));
        return;
    }
    page_text(pen, p->x, y, 0, &day_letters, date_text(first, day));
    page_text(pen, p->x + p->width, y, 1, &day_letters, date_text(last, day));
    if (last - first < 4)
        return;
    Day middle = first + (last - first) / 2;
    page_text(pen, column_x(p, chart_column(middle, first, last, p->columns)), y, 0.5, &day_letters,
        date_text(middle, day));
}

/* A day without a clean repetition has a mark on the ground. */
static void draw_bar(PagePen *pen, const Plot *p, int column, double y)
{
    double pitch = p->width / p->columns * 0.7, width = pitch < bar_most ? pitch : bar_most;
    double x = column_x(p, column);
    if (y > p->ground - quarter)
        y = p->ground - quarter;
    page_line(pen, x, p->ground, x, y, width, INK_GREY);
}

static void draw_dot(PagePen *pen, double x, double y)
{
    if (!page_inked(pen))
        return;
    page_set_ink(pen, INK_BLACK);
    cairo_new_path(pen->cr);
    cairo_arc(pen->cr, x, y, dot, 0, turn);
    cairo_fill(pen->cr);
}

static void draw_percents(PagePen *pen, const Plot *p)
{
    static const ChartAxis axis = {0, 100, 25};
    draw_axis(pen, p, &axis, " %");
    for (int i = 0; i < p->columns; i++) {
        const ChartPoint *at = &p->points[i];
        if (at->count > 0)
            draw_bar(pen, p, i, height_of(p, 100.0 * (double)at->clean / (double)at->count, &axis));
    }
}

static void draw_tempos(PagePen *pen, const Plot *p)
{
    ChartAxis axis = chart_tempos(p->points, (size_t)p->columns, STEPS);
    bool any = false;
    for (int i = 0; i < p->columns; i++)
        any = any || p->points[i].tempo > 0;
    if (!any) {
        page_line(pen, p->x, p->ground, p->x + p->width, p->ground, 0.15, INK_BLACK);
        page_line(pen, p->x, p->top, p->x, p->ground, 0.15, INK_BLACK);
        page_text(pen, p->x + p->width / 2, (p->top + p->ground) / 2, 0.5, &head_letters,
            "no clean repetition yet");
        return;
    }
    draw_axis(pen, p, &axis, "");
    for (int i = 0; i < p->columns; i++)
        if (p->points[i].tempo > 0)
            draw_dot(pen, column_x(p, i), height_of(p, p->points[i].tempo, &axis));
}

static void draw_plots(PagePen *pen, const RecordChart *c, double top)
{
    const Day first = c->points[0].day, last = c->points[c->count - 1].day;
    const double half = (pen->right - pen->left - between) / 2;
    const int64_t span = (int64_t)last - first + 1;
    char words[80], unit[RATIO_TEXT_MAX];
    Plot p = {.x = pen->left + figures,
        .top = top + 5,
        .ground = top + 5 + plot_height,
        .width = half - figures,
        .columns = span < 1             ? 1
                   : span > COLUMNS_MAX ? COLUMNS_MAX
                                        : (int)span};
    chart_columns(c->points, c->count, p.columns, p.points);
    page_text(pen, pen->left, top + head_letters.cap, 0, &head_letters, "% clean of each day");
    draw_percents(pen, &p);
    draw_days(pen, &p, first, last);
    p.x += half + between;
    snprintf(words, sizeof words, "best clean tempo of each day, beats of %s",
        ratio_text(ratio_div(c->unit, ratio_int(4)), unit));
    page_text(pen, pen->left + half + between, top + head_letters.cap, 0, &head_letters, words);
    draw_tempos(pen, &p);
    draw_days(pen, &p, first, last);
}

static void draw_chart(PagePen *pen, const RecordChart *c)
{
    const RecordLine *line = c->line;
    char name[RECORD_NAME_MAX], words[WORDS_MAX], best[TEMPO_TEXT_MAX] = "", day[DATE_TEXT_MAX];
    double width = pen->right - pen->left, y = pen->y + name_letters.cap;
    text_clean(line->name[0] != '\0' ? line->name : "(no name)", name, sizeof name);
    page_text_cut(pen, pen->left, y, width, &name_letters, name);
    if (line->has_best)
        tempo_text(line->best, best);
    snprintf(words, sizeof words, "%d %% clean of %" PRId64 " repetition%s%s%s, last %s%s",
        record_percent(line->clean, line->count), line->count, line->count == 1 ? "" : "s",
        best[0] != '\0' ? ", best clean " : "", best, date_text(line->day, day),
        line->changed ? "; new fingers since it was first recorded" : "");
    y += 2.6 + word_letters.cap;
    page_text_cut(pen, pen->left, y, width, &word_letters, words);
    draw_plots(pen, c, y + 4);
    pen->y += chart_height;
}

static void draw_all(PagePen *pen)
{
    const Charts *all = pen->of;
    char title[PASSAGE_TITLE_MAX];
    text_clean(pen->title, title, sizeof title);
    pen->y += 1.5; /* accents of capitals rise above them */
    page_text_cut(
        pen, pen->left, pen->y + title_letters.cap, pen->right - pen->left, &title_letters, title);
    pen->y += title_letters.cap + 7;
    for (size_t i = 0; i < all->count; i++) {
        page_room(pen, chart_text);
        draw_chart(pen, &all->charts[i]);
    }
}

static PagePen pen_for(const char *title, const Charts *charts)
{
    static const double one[] = {1};
    return (PagePen){
        .title = title, .draw = draw_all, .scales = one, .scale_count = 1, .of = charts};
}

static bool any(size_t count, Error *error)
{
    return count > 0 || error_set(error, ERROR_RECORD, "nothing is recorded that could be drawn");
}

bool page_record(const char *title, const RecordChart *charts, size_t count,
    const PageOptions *options, Text *out, int *pages, Error *error)
{
    const Charts all = {charts, count};
    PagePen pen = pen_for(title, &all);
    *pages = 0;
    return any(count, error) && page_print(&pen, options, out, pages, error);
}

bool page_record_boxes(const char *title, const RecordChart *charts, size_t count,
    const PageOptions *options, PageBox **boxes, size_t *box_count, Error *error)
{
    const Charts all = {charts, count};
    PagePen pen = pen_for(title, &all);
    *boxes = NULL;
    *box_count = 0;
    pen.options = options;
    return any(count, error) && page_print_boxes(&pen, boxes, box_count, error);
}
