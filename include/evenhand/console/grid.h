/* grid.h - a screen as a value: cells with one character and one style each.
 *
 * Views draw into it, curses copies it, tests print it. Text is clipped, never wraps. Widths
 * are columns: a wide character takes two cells, the second of which holds 0.
 */
#ifndef EVENHAND_CONSOLE_GRID_H
#define EVENHAND_CONSOLE_GRID_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum {
    STYLE_NORMAL,
    STYLE_DIM,
    STYLE_STRONG,   /* bold */
    STYLE_NOW,      /* what sounds now: reverse */
    STYLE_ACCENT,   /* an accent: bold, coloured where there is colour */
    STYLE_STRING_C, /* red strings */
    STYLE_STRING_F, /* dark strings */
    STYLE_LINK,
    STYLE_WARNING,
    STYLE_BAR, /* title and status lines */
    STYLE_KINDS
} Style;

typedef struct {
    uint32_t rune; /* Unicode; 0: right half of a wide character */
    uint32_t mark; /* a combining mark on it; 0: none */
    uint8_t style; /* a Style */
} Cell;

enum { GRID_WIDTH_MAX = 500, GRID_HEIGHT_MAX = 200 };

typedef struct {
    int width, height;
    bool ascii;  /* draw with ASCII only: grid_put maps what it can, '?' otherwise */
    Cell *cells; /* row by row */
} Grid;

bool grid_init(Grid *g, int width, int height);   /* clamps to 1..MAX; false without memory */
bool grid_resize(Grid *g, int width, int height); /* contents cleared */
void grid_free(Grid *g);
void grid_clear(Grid *g);
/* UTF-8 at row y, column x, cut at `limit` columns (limit < 0: the grid's edge); control
 * characters and bytes that are no UTF-8 come out as '?'. A wide character of which one half is
 * overwritten loses the other. x < 0: what lies left of the grid is left out. Returns the columns
 * used. */
int grid_put(Grid *g, int y, int x, int limit, Style style, const char *utf8);
int grid_printf(Grid *g, int y, int x, int limit, Style style, const char *format, ...)
    __attribute__((format(printf, 6, 7)));
void grid_fill(Grid *g, int y, int x, int height, int width, Style style, uint32_t rune);
const Cell *grid_at(const Grid *g, int y, int x); /* NULL outside */
/* The grid as UTF-8 lines, trailing blanks cut; with `styles`, a second block of lines with
 * one letter per cell. Allocated, caller frees; NULL without memory. */
char *grid_text(const Grid *g, bool styles);

#endif
