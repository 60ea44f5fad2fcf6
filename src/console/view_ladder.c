#include "view_list.h"

void view_ladder(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {{ACTION_LADDER_SWITCH, "up/off"}, {ACTION_SET_UP, "more"},
        {ACTION_SET_DOWN, "less"}, {ACTION_BACK, "back"}, {ACTION_HELP, "help"}};
    const ListLook look = {.title = "Tempo ladder",
        .none = "No memory for the ladder.",
        .hints = hints,
        .hint_count = sizeof hints / sizeof hints[0]};
    list_draw(m, &m->rungs, g, &look);
}
