/* bigfont.h - digits, letters and signs drawn in cells, to be read from two metres. Pure.
 *
 * A dot of a glyph takes `rows` rows and `columns` columns; a cell is about twice as high as it
 * is wide, so 1 row by 2 columns is square.
 *
 *      BIG_SMALL 3x5      BIG_MEDIUM 5x7     BIG_LARGE 6x9, strokes two dots thick
 *
 * Letters are in BIG_SMALL only; digits, ':', '>' and '.' (a dot) in all three.
 */
#ifndef EVENHAND_SRC_CONSOLE_BIGFONT_H
#define EVENHAND_SRC_CONSOLE_BIGFONT_H

#include "evenhand/console/grid.h"

typedef enum { BIG_SMALL, BIG_MEDIUM, BIG_LARGE } BigFont;

typedef struct {
    BigFont font;
    int rows, columns; /* of one dot */
} BigSize;

int big_height(BigSize size);
/* Columns of a text: its glyphs with one dot between them. Signs without a glyph count nothing. */
int big_width(BigSize size, const char *text);
/* The ink: a full block or a shaded one, in ASCII '#' or ':'. */
typedef enum { INK_SOLID, INK_SHADED } Ink;
uint32_t big_ink(const Grid *g, Ink ink);
void big_draw(Grid *g, int y, int x, BigSize size, Style style, Ink ink, const char *text);

#endif
