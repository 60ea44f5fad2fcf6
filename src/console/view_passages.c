#include "view_list.h"

void view_passages(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {
        {ACTION_CHOOSE, "open"}, {ACTION_BACK, "back"}, {ACTION_HELP, "help"}};
    static const ListLook look = {.title = "Passages",
        .none = "No passages were found.",
        .hints = hints,
        .hint_count = sizeof hints / sizeof hints[0]};
    list_draw(m, &m->passages, g, &look);
}
