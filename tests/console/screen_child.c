#include "screen_child.h"

#include <stdlib.h>
#include <string.h>

#define SHOW_CURSOR "\x1B[?25h"
#define HIDE_CURSOR "\x1B[?25l"

ScreenDriver *child_screen(void)
{
    Error error = {0};
    ScreenDriver *s = screen_open(&(ScreenOptions){0}, &error);
    if (s == NULL) {
        pty_report(-(int)error.kind);
        exit(98);
    }
    return s;
}

Grid child_grid(const ScreenDriver *s)
{
    Grid g;
    int width, height;
    screen_size(s, &width, &height);
    if (!grid_init(&g, width, height))
        exit(97);
    return g;
}

static const char *last(const char *text, const char *wanted)
{
    const char *found = NULL;
    for (const char *s = text; (s = strstr(s, wanted)) != NULL; s++)
        found = s;
    return found;
}

bool given_back(const Pty *p)
{
    const char *leave = last(p->output, LEAVE_SCREEN), *cursor = last(p->output, SHOW_CURSOR);
    return strstr(p->output, ENTER_SCREEN) != NULL && leave != NULL && cursor != NULL &&
           strstr(leave, ENTER_SCREEN) == NULL && strstr(cursor, HIDE_CURSOR) == NULL &&
           pty_settings_restored(p);
}
