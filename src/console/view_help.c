/* Drawn from the key table: a key that is not in the table is not in the help. */
#include "evenhand/console/view.h"
#include "view_parts.h"

#include "runes.h"

#include <stdio.h>
#include <string.h>

enum { HELP_LINES_MAX = 120, KEYS_COLUMNS = 24 };

typedef struct {
    const char *title; /* a heading, or NULL */
    char keys[64];
    const char *text;
} HelpLine;

typedef struct {
    HelpLine lines[HELP_LINES_MAX];
    int count;
} HelpText;

static void add(HelpText *h, const char *title, const char *keys, const char *text)
{
    if (h->count == HELP_LINES_MAX)
        return;
    HelpLine *line = &h->lines[h->count++];
    *line = (HelpLine){.title = title, .text = text};
    snprintf(line->keys, sizeof line->keys, "%s", keys);
}

/* All keys of one action on one screen in one line. */
static void add_action(HelpText *h, Action action, Screen screen)
{
    int rows;
    const KeyBinding *table = keys_table(&rows);
    char keys[64] = "";
    for (int i = 0; i < rows; i++) {
        size_t used = strlen(keys);
        if (table[i].action == action && (table[i].screens & 1u << screen) != 0)
            snprintf(keys + used, sizeof keys - used, "%s%s", used > 0 ? ", " : "", table[i].name);
    }
    add(h, NULL, keys, action_text(action));
}

static void add_screen(HelpText *h, Screen screen, const char *title)
{
    int rows;
    const KeyBinding *table = keys_table(&rows);
    bool seen[ACTION_KINDS] = {false};

    add(h, title, "", "");
    for (int i = 0; i < rows; i++) {
        if ((table[i].screens & 1u << screen) == 0 || seen[table[i].action])
            continue;
        seen[table[i].action] = true;
        add_action(h, table[i].action, screen);
    }
    add(h, "", "", "");
}

static void add_signs(HelpText *h, const Grid *g)
{
    add(h, "Signs under and over the notes", "", "");
    add(h, NULL, ">", "This note carries the accent.");
    add(h, NULL, "1 2 3 4", "Fingers: thumb, index, middle, ring.");
    add(h, NULL, part_sign(g, "↗", "/"),
        "Cross under: the next group's first finger passes below.");
    add(h, NULL, part_sign(g, "↘", "\\"), "Cross over: the thumb passes above.");
    add(h, NULL, part_sign(g, "↻", "o"), "Replace: after the turn the others go back on.");
    add(h, NULL, part_sign(g, "↑", "'"), "Lift: the hand leaves the strings.");
    add(h, NULL, part_sign(g, "└──┘", "|__|"), "A group: one placement of the hand.");
    add(h, NULL, part_sign(g, "┗━━┛", "[==]"), "The group that is played now.");
    add(h, NULL, part_sign(g, "━━ ╸", "== -"), "Rhythm drills: a long note, a short note.");
    add(h, NULL, part_sign(g, "▲", "^"), "The note that sounds now, or comes first.");
}

static void make_text(HelpText *h, const Grid *g)
{
    h->count = 0;
    add_screen(h, SCREEN_PRACTICE, "Practice");
    add_screen(h, SCREEN_DRILLS, "Lists of drills and passages");
    add_screen(h, SCREEN_SOUND, "Sound");
    add_signs(h, g);
}

int view_help_last(const Grid *g)
{
    HelpText h;
    make_text(&h, g);
    int last = h.count - (g->height - 3);
    return last < 0 ? 0 : last;
}

static void draw_line(Grid *g, int y, const HelpLine *line)
{
    if (line->title != NULL) {
        part_clip(g, y, 1, g->width - 2, STYLE_STRONG, line->title);
        return;
    }
    int keys = g->width < 60 ? 15 : KEYS_COLUMNS;
    part_clip(g, y, 2, keys, STYLE_STRONG, line->keys);
    part_clip(g, y, keys + 4, g->width - keys - 5, STYLE_NORMAL, line->text);
}

void view_help(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {
        {ACTION_DOWN, "further down"}, {ACTION_UP, "up"}, {ACTION_BACK, "back"}};
    HelpText h;
    int last = view_help_last(g), top = m->help_top;
    char place[64];

    make_text(&h, g);
    top = top < 0 ? 0 : top > last ? last : top;
    snprintf(place, sizeof place, "lines %d to %d of %d", top + 1,
        top + g->height - 3 < h.count ? top + g->height - 3 : h.count, h.count);
    part_bar(g, 0, "Help", place);
    for (int row = 0; row < g->height - 3 && top + row < h.count; row++)
        draw_line(g, 1 + row, &h.lines[top + row]);
    part_hints(m, g, "", hints, sizeof hints / sizeof hints[0]);
}
