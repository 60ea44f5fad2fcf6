#include "view_list.h"

#include <stdio.h>

void view_drills(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {{ACTION_CHOOSE, "begin here"}, {ACTION_BACK, "back"},
        {ACTION_MORE, "once more"}, {ACTION_RATIO, "ratio"}, {ACTION_BEATS, "beats"},
        {ACTION_HELP, "help"}};
    char title[MODEL_TEXT_MAX + 16];
    snprintf(title, sizeof title, "Drills: %s", m->title);
    const ListLook look = {.title = title,
        .none = "There are no drills: choose a passage first.",
        .headings = {"This session, one after the other", "More drills, each by itself"},
        .briefs = {"session: ", "more: "},
        .hints = hints,
        .hint_count = sizeof hints / sizeof hints[0]};
    list_draw(m, &m->drills, g, &look);
}
