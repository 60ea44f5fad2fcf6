/* screen_style.h - what a Style looks like on this terminal. Console thread. */
#ifndef EVENHAND_SRC_CONSOLE_SCREEN_STYLE_H
#define EVENHAND_SRC_CONSOLE_SCREEN_STYLE_H

#include "evenhand/console/grid.h"

/* After curses has started. Without colour, styles are bold, reverse and underline only. */
void style_begin(bool color);
/* The cell as curses' attributes and colour pair. */
void style_of(uint8_t style, unsigned *attributes, short *pair);

#endif
