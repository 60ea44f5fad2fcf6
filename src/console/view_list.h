/* view_list.h - a list with a cursor, for the screens that choose. Pure. */
#ifndef EVENHAND_SRC_CONSOLE_VIEW_LIST_H
#define EVENHAND_SRC_CONSOLE_VIEW_LIST_H

#include "view_parts.h"

/* A whole screen: title, items, hints. Scrolled so that the cursor stands in the middle where
 * there are more items than rows. A narrow screen shows the detail of the cursor's item only. */
typedef struct {
    const char *title;
    const char *none; /* said of an empty list */
    /* Over the items before and after ModelList.split; NULL: no headings. The same in few words,
     * for the title's right end. */
    const char *headings[2], *briefs[2];
    const KeyHint *hints;
    int hint_count;
} ListLook;
void list_draw(const Model *m, const ModelList *list, Grid *g, const ListLook *look);

#endif
