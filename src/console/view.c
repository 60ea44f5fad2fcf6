#include "evenhand/console/view.h"

#include "view_parts.h"

/* In as few columns as there may be, the sizes in lines of their own. */
static void too_small_narrow(Grid *g)
{
    static const char *const words[] = {"The window is", "too small:", "it needs", "", "You have"};
    for (int y = 0; y < 5; y++)
        grid_put(g, y, 0, -1, STYLE_NORMAL, words[y]);
    grid_printf(g, 3, 0, -1, STYLE_STRONG, "%d x %d.", VIEW_WIDTH_MIN, VIEW_HEIGHT_MIN);
    grid_printf(g, 5, 0, -1, STYLE_NORMAL, "%d x %d.", g->width, g->height);
}

/* In few rows: the last ones of
 *
 *      The window is
 *      too small:
 *      needs 40 x 12,
 *      has 20 x 5.
 */
static void too_small_low(Grid *g)
{
    int y = g->height < 4 ? g->height - 4 : 0;
    if (g->height == 1) {
        grid_printf(g, 0, 0, -1, STYLE_STRONG, "needs %d x %d, has %d x %d.", VIEW_WIDTH_MIN,
            VIEW_HEIGHT_MIN, g->width, g->height);
        return;
    }
    grid_put(g, y, 0, -1, STYLE_NORMAL, "The window is");
    grid_put(g, y + 1, 0, -1, STYLE_NORMAL, "too small:");
    grid_printf(g, y + 2, 0, -1, STYLE_STRONG, "needs %d x %d,", VIEW_WIDTH_MIN, VIEW_HEIGHT_MIN);
    grid_printf(g, y + 3, 0, -1, STYLE_NORMAL, "has %d x %d.", g->width, g->height);
}

static void too_small(Grid *g)
{
    if (g->height >= 6)
        too_small_narrow(g);
    else
        too_small_low(g);
}

void view_draw(const Model *m, Grid *g)
{
    static void (*const views[SCREEN_KINDS])(const Model *, Grid *) = {
        [SCREEN_PRACTICE] = view_practice,
        [SCREEN_DRILLS] = view_drills,
        [SCREEN_PASSAGES] = view_passages,
        [SCREEN_FINGERS] = view_fingers,
        [SCREEN_LADDER] = view_ladder,
        [SCREEN_ROUTINE] = view_routine,
        [SCREEN_SOUND] = view_sound,
        [SCREEN_CALENDAR] = view_calendar,
        [SCREEN_RECORD] = view_record,
        [SCREEN_HELP] = view_help,
    };
    g->ascii = !m->utf8;
    grid_clear(g);
    if (g->width < VIEW_WIDTH_MIN || g->height < VIEW_HEIGHT_MIN)
        too_small(g);
    else
        views[m->screen](m, g);
}
