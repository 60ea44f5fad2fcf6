/* view.h - draws a model into a grid. Pure: same model, same grid. */
#ifndef EVENHAND_CONSOLE_VIEW_H
#define EVENHAND_CONSOLE_VIEW_H

#include "evenhand/console/grid.h"
#include "evenhand/console/model.h"

enum { VIEW_WIDTH_MIN = 40, VIEW_HEIGHT_MIN = 12 };

/* Draws the model's screen over the whole grid, in ASCII (which it sets in the grid) unless
 * m->utf8. Below VIEW_WIDTH_MIN x VIEW_HEIGHT_MIN it says
 * in words what size is needed. */
void view_draw(const Model *m, Grid *g);

/* The largest Model.help_top that still shows something new in a grid of this size. */
int view_help_last(const Grid *g);

#endif
