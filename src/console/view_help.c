/* Drawn from the key table: a key that is not in the table is not in the help. */
#include "evenhand/console/view.h"
#include "evenhand/drill/drill.h" /* link_sign, link_word */
#include "view_parts.h"

#include "runes.h"

#include <stdio.h>
#include <string.h>

/* A narrow screen, and a long list, has the keys on a line of their own and what they do below. */
enum { HELP_LINES_MAX = 256, KEYS_COLUMNS = 24, NARROW = 60, INDENT = 4 };

typedef struct {
    Style style; /* of the left text */
    char left[64];
    char text[192];
} HelpLine;

typedef struct {
    HelpLine lines[HELP_LINES_MAX];
    int count;
    int width;
} HelpText;

static int text_column(const HelpText *h)
{
    return h->width < NARROW ? INDENT : KEYS_COLUMNS + INDENT;
}

static HelpLine *add_line(HelpText *h, Style style, const char *left)
{
    if (h->count == HELP_LINES_MAX)
        return &h->lines[HELP_LINES_MAX - 1];
    HelpLine *line = &h->lines[h->count++];
    *line = (HelpLine){.style = style};
    snprintf(line->left, sizeof line->left, "%s", left);
    return line;
}

/* Length of the next line's worth of text: whole words, at most `columns`. All help is ASCII. */
static size_t wrapped(const char *text, size_t columns)
{
    size_t size = strlen(text);
    if (size <= columns)
        return size;
    for (size_t end = columns; end > 0; end--)
        if (text[end] == ' ')
            return end;
    return columns;
}

static void add(HelpText *h, const char *keys, const char *text)
{
    size_t columns = (size_t)(h->width - text_column(h) - 1);
    HelpLine *line = add_line(h, STYLE_STRONG, keys);
    if (h->width < NARROW || runes_columns(keys) > KEYS_COLUMNS)
        line = add_line(h, STYLE_NORMAL, "");
    for (;;) {
        size_t size = wrapped(text, columns);
        snprintf(line->text, sizeof line->text, "%.*s", (int)size, text);
        text += size;
        while (*text == ' ')
            text++;
        if (*text == '\0')
            return;
        line = add_line(h, STYLE_NORMAL, "");
    }
}

static void add_screen(HelpText *h, Screen screen)
{
    KeyRow rows[ACTION_KINDS];
    int count = keys_rows(screen, rows);
    if (count == 0)
        return;
    add_line(h, STYLE_ACCENT, keys_heading(screen));
    for (int i = 0; i < count; i++)
        add(h, rows[i].names, action_text(rows[i].action));
    add_line(h, STYLE_NORMAL, "");
}

static void add_link(HelpText *h, const Grid *g, Link link, const char *text)
{
    char line[128];
    snprintf(line, sizeof line, "%s: %s", link_word(link), text);
    add(h, link_sign(link, !g->ascii), line);
}

static void add_signs(HelpText *h, const Grid *g)
{
    add_line(h, STYLE_ACCENT, "Signs around the notes");
    add(h, ">", "This note carries the accent.");
    add(h, "1 2 3 4", "Fingers: thumb, index, middle, ring.");
    add(h, "C4", "Middle C (scientific octaves; higher is C5).");
    add(h, "C4+", "A chord, played as one; its lowest string is named.");
    add_link(h, g, LINK_CROSS_UNDER, "the next group's first finger passes below.");
    add_link(h, g, LINK_CROSS_OVER, "the thumb passes above.");
    add_link(h, g, LINK_REPLACE, "after the turn the other fingers go back on.");
    add_link(h, g, LINK_LIFT, "the hand leaves the strings.");
    add(h, part_sign(g, "└──┘", "|__|"), "A group: one placement of the hand.");
    add(h, part_sign(g, "┗━━┛", "[==]"), "The group that is played now.");
    add(h, part_sign(g, "━━━ ╸", "=== -"), "Rhythm drills: a long note, a short note.");
    add(h, part_sign(g, "▲", "^"), "The note that sounds now, or comes first.");
    add(h, part_sign(g, "4•", "4*"), "Fingerings: the file or you hold this finger.");
    add_line(h, STYLE_NORMAL, "");
}

static void make_text(HelpText *h, const Grid *g)
{
    h->count = 0;
    h->width = g->width;
    add_screen(h, SCREEN_PRACTICE);
    add_signs(h, g);
    for (Screen screen = SCREEN_PRACTICE + 1; screen < SCREEN_KINDS; screen++)
        add_screen(h, screen);
    h->count--; /* the last empty line */
}

static int rows_shown(const Grid *g)
{
    return g->height - 2;
}

int view_help_last(const Grid *g)
{
    HelpText h;
    make_text(&h, g);
    return h.count > rows_shown(g) ? h.count - rows_shown(g) : 0;
}

void view_help(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {
        {ACTION_DOWN, "further"}, {ACTION_UP, "nearer the top"}, {ACTION_BACK, "back"}};
    HelpText h;
    make_text(&h, g);
    int last = h.count > rows_shown(g) ? h.count - rows_shown(g) : 0;
    int top = m->help_top < 0 ? 0 : m->help_top > last ? last : m->help_top;
    int end = top + rows_shown(g) < h.count ? top + rows_shown(g) : h.count;
    char place[64];

    snprintf(place, sizeof place, "lines %d-%d of %d", top + 1, end, h.count);
    part_bar(g, 0, "Help", place);
    for (int i = top; i < end; i++) {
        const HelpLine *line = &h.lines[i];
        int x = line->style == STYLE_ACCENT ? 1 : 2, text_x = text_column(&h);
        part_clip(g, 1 + i - top, x, line->text[0] != '\0' ? text_x - x - 1 : g->width - x - 1,
            line->style, line->left);
        part_clip(g, 1 + i - top, text_x, g->width - text_x - 1, STYLE_NORMAL, line->text);
    }
    part_hints(m, g, "", hints, sizeof hints / sizeof hints[0]);
}
