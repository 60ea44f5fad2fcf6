#include "view_list.h"

#include <stdio.h>

void view_passages(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {
        {ACTION_CHOOSE, "open"}, {ACTION_BACK, "back"}, {ACTION_HELP, "help"}};
    char place[64] = "";
    if (m->passages.count > 0)
        snprintf(place, sizeof place, "%d of %d", m->passages.cursor + 1, m->passages.count);
    part_bar(g, 0, "Passages", place);
    list_draw(&m->passages, g, 2, g->height - 2, "No passages were found.");
    part_message(m, g, g->height - 2);
    part_hints(m, g, "", hints, sizeof hints / sizeof hints[0]);
}
