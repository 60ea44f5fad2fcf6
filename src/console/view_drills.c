#include "view_list.h"

#include <stdio.h>

void view_drills(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {
        {ACTION_CHOOSE, "begin this step"}, {ACTION_BACK, "back"}, {ACTION_HELP, "help"}};
    char place[64] = "";
    if (m->drills.count > 0)
        snprintf(place, sizeof place, "%d of %d", m->drills.cursor + 1, m->drills.count);
    part_bar(g, 0, "The drills of this session", place);
    part_clip(g, 1, 4, g->width - 5, STYLE_DIM, m->title);
    list_draw(&m->drills, g, 3, g->height - 2, "There are no drills: choose a passage first.");
    part_message(m, g, g->height - 2);
    part_hints(m, g, "", hints, sizeof hints / sizeof hints[0]);
}
