/* view_list.h - a list with a cursor, for the screens that choose. Pure. */
#ifndef EVENHAND_SRC_CONSOLE_VIEW_LIST_H
#define EVENHAND_SRC_CONSOLE_VIEW_LIST_H

#include "view_parts.h"

/* Draws the items between the rows top and end (exclusive), scrolled so that the cursor stands
 * in the middle where there are more than fit. `none` is said of an empty list. */
void list_draw(const ModelList *list, Grid *g, int top, int end, const char *none);

#endif
