#include "evenhand/console/grid.h"

#include "runes.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int clamp(int value, int low, int high)
{
    return value < low ? low : value > high ? high : value;
}

bool grid_init(Grid *g, int width, int height)
{
    *g = (Grid){0};
    return grid_resize(g, width, height);
}

bool grid_resize(Grid *g, int width, int height)
{
    width = clamp(width, 1, GRID_WIDTH_MAX);
    height = clamp(height, 1, GRID_HEIGHT_MAX);
    Cell *cells = realloc(g->cells, (size_t)width * (size_t)height * sizeof *cells);
    if (cells == NULL)
        return false;
    g->cells = cells;
    g->width = width;
    g->height = height;
    grid_clear(g);
    return true;
}

void grid_free(Grid *g)
{
    free(g->cells);
    *g = (Grid){0};
}

void grid_clear(Grid *g)
{
    for (int i = 0; i < g->width * g->height; i++)
        g->cells[i] = (Cell){.rune = ' ', .style = STYLE_NORMAL};
}

static Cell *cell(const Grid *g, int y, int x)
{
    if (y < 0 || y >= g->height || x < 0 || x >= g->width)
        return NULL;
    return &g->cells[y * g->width + x];
}

const Cell *grid_at(const Grid *g, int y, int x)
{
    return cell(g, y, x);
}

/* Before cells y, x .. x+columns-1 are written: a wide character that only loses one half
 * becomes blank in the other.
 *
 *      [W][0]  <- writing here        the left half must not go on claiming two columns
 *          ^
 */
static void part_wide(Grid *g, int y, int x, int columns)
{
    Cell *left = cell(g, y, x);
    if (left != NULL && left->rune == 0 && x > 0)
        left[-1].rune = ' ';
    Cell *after = cell(g, y, x + columns);
    if (after != NULL && after->rune == 0)
        after->rune = ' ';
}

/* The caller has seen to it that the columns are inside the grid. */
static void set(Grid *g, int y, int x, int columns, Style style, uint32_t rune)
{
    part_wide(g, y, x, columns);
    Cell *c = cell(g, y, x);
    c[0] = (Cell){.rune = rune, .style = (uint8_t)style};
    if (columns == 2)
        c[1] = (Cell){.rune = 0, .style = (uint8_t)style};
}

/* A combining mark joins the character before it. One is kept: more are rare in titles. */
static void join(Grid *g, int y, int x, uint32_t mark)
{
    Cell *c = cell(g, y, x);
    if (c != NULL && c->rune == 0)
        c = cell(g, y, x - 1);
    if (c != NULL && c->mark == 0 && !g->ascii)
        c->mark = mark;
}

static void put_rune(Grid *g, int y, int x, int columns, Style style, uint32_t rune)
{
    if (!g->ascii) {
        set(g, y, x, columns, style, rune);
        return;
    }
    set(g, y, x, 1, style, (unsigned char)rune_ascii(rune));
    if (columns == 2) /* what stands in for a wide character keeps its columns */
        set(g, y, x + 1, 1, style, ' ');
}

int grid_put(Grid *g, int y, int x, int limit, Style style, const char *utf8)
{
    int used = 0;
    if (y < 0 || y >= g->height)
        return 0;
    if (limit < 0 || limit > g->width - x)
        limit = g->width - x;
    while (*utf8 != '\0') {
        uint32_t rune;
        utf8 += runes_next(utf8, &rune);
        rune = rune_clean(rune);
        int columns = rune_columns(rune);
        if (columns == 0) {
            if (used > 0)
                join(g, y, x + used - 1, rune);
            continue;
        }
        if (used + columns > limit)
            break;
        if (x + used >= 0)
            put_rune(g, y, x + used, columns, style, rune);
        used += columns;
    }
    return used;
}

int grid_printf(Grid *g, int y, int x, int limit, Style style, const char *format, ...)
{
    char text[GRID_WIDTH_MAX * RUNE_BYTES_MAX + 1];
    va_list arguments;
    va_start(arguments, format);
    int need = vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    return need < 0 ? 0 : grid_put(g, y, x, limit, style, text);
}

void grid_fill(Grid *g, int y, int x, int height, int width, Style style, uint32_t rune)
{
    rune = rune_clean(rune);
    if (g->ascii)
        rune = (unsigned char)rune_ascii(rune);
    if (rune_columns(rune) != 1)
        rune = '?';
    for (int row = clamp(y, 0, g->height); row < y + height && row < g->height; row++)
        for (int column = clamp(x, 0, g->width); column < x + width && column < g->width; column++)
            set(g, row, column, 1, style, rune);
}

/* Where a row's trailing blanks begin. */
static int row_end(const Grid *g, int y, bool styles)
{
    int end = g->width;
    for (; end > 0; end--) {
        const Cell *c = cell(g, y, end - 1);
        if (styles ? c->style != STYLE_NORMAL : c->rune != ' ')
            break;
    }
    return end;
}

static size_t row_runes(const Grid *g, int y, char *out)
{
    size_t used = 0;
    int end = row_end(g, y, false);
    for (int x = 0; x < end; x++) {
        const Cell *c = cell(g, y, x);
        if (c->rune == 0)
            continue;
        used += (size_t)rune_encode(c->rune, out + used);
        if (c->mark != 0)
            used += (size_t)rune_encode(c->mark, out + used);
    }
    out[used++] = '\n';
    return used;
}

static size_t row_styles(const Grid *g, int y, char *out)
{
    static const char letters[STYLE_KINDS + 1] = ".dsnacflwb";
    int end = row_end(g, y, true);
    for (int x = 0; x < end; x++)
        out[x] = letters[cell(g, y, x)->style];
    out[end] = '\n';
    return (size_t)end + 1;
}

char *grid_text(const Grid *g, bool styles)
{
    size_t row_room = (size_t)g->width * 2 * RUNE_BYTES_MAX + 1;
    size_t used = 0;
    char *text = malloc(2 * row_room * (size_t)g->height + 1);
    if (text == NULL)
        return NULL;
    for (int y = 0; y < g->height; y++)
        used += row_runes(g, y, text + used);
    for (int y = 0; styles && y < g->height; y++)
        used += row_styles(g, y, text + used);
    text[used] = '\0';
    return text;
}
