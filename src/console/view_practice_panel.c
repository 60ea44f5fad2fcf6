/* The figures to be read from two metres: finger, accent, beat; or the word of the state. */
#include "view_practice.h"

#include "evenhand/drill/drill.h" /* link_word */

#include <stdio.h>

typedef struct {
    const Model *m;
    Grid *g;
    const PracticeLayout *l;
    int y, rows;
} Panel;

static void label(const Panel *p, int x, int width, Style style, const char *text)
{
    if (p->l->rows[BAND_LABELS] > 0)
        part_clip(p->g, p->l->top[BAND_LABELS], x, width, style, text);
}

static void draw_beat(const Panel *p)
{
    const Model *m = p->m;
    const PracticeLayout *l = p->l;
    char digits[16], words[32];

    if (m->beat_fresh && l->rows[BAND_LABELS] > 0) /* a stroke of light over the figure */
        grid_fill(p->g, l->top[BAND_LABELS], l->beat_x, 1, l->beat_width, STYLE_NOW, ' ');
    snprintf(words, sizeof words, "beat of %d", m->beats);
    label(p, l->beat_x, l->beat_width, m->beat_fresh ? STYLE_NOW : STYLE_NORMAL,
        m->beats > 0 ? words : "beat");
    snprintf(digits, sizeof digits, "%d", m->beat);
    int columns = big_width(l->size, digits);
    /* Shaded, so that it is not taken for the finger; solid for the moment of the stroke. */
    big_draw(p->g, p->y, l->beat_x + l->beat_width - columns, l->size,
        m->beat_fresh ? STYLE_STRONG : STYLE_NORMAL, m->beat_fresh ? INK_SOLID : INK_SHADED,
        digits);
}

static void draw_finger(const Panel *p)
{
    const Model *m = p->m;
    const PracticeLayout *l = p->l;
    if (m->now < 0 || m->now >= m->note_count)
        return;
    const char finger[2] = {(char)('0' + m->notes[m->now].finger), '\0'};
    Style style = m->now_accent ? STYLE_ACCENT : STYLE_STRONG;
    label(p, l->finger_x, l->figure, STYLE_NORMAL, "finger");
    big_draw(p->g, p->y, l->finger_x, l->size, style, INK_SOLID, finger[0] == '0' ? "-" : finger);
    if (!m->now_accent)
        return;
    label(p, l->accent_x, l->figure, STYLE_ACCENT, "accent");
    big_draw(p->g, p->y, l->accent_x, l->size, STYLE_ACCENT, INK_SOLID, ">");
}

/* The next accent: its finger half as large, and in words. Returns the rows used. */
static int draw_next_accent(const Panel *p, Ahead ahead, int y)
{
    const ModelNote *n = &p->m->notes[ahead.note];
    const char finger[2] = {n->finger > 0 ? (char)('0' + n->finger) : '-', '\0'};
    BigSize size = {BIG_SMALL, p->l->size.rows, 2 * p->l->size.rows};
    int figure = big_width(size, "4") + 2, words = 11;
    char distance[32], where[64];
    int x = p->l->info_x, width = p->l->info_width;

    practice_distance(ahead.notes, distance, sizeof distance);
    bool drawn = width >= figure + words && y + big_height(size) <= p->y + p->rows;
    if (drawn) {
        big_draw(p->g, y, x, size, STYLE_NORMAL, INK_SHADED, finger);
        x += figure;
        width -= figure;
    }
    snprintf(where, sizeof where, "finger %s", finger);
    part_clip(p->g, y, x, width, STYLE_STRONG, where);
    snprintf(where, sizeof where, "on %s", n->name);
    part_clip(p->g, y + 1, x, width, STYLE_NORMAL, where);
    part_clip(p->g, y + 2, x, width, STYLE_NORMAL, distance);
    if (drawn && n->beat[0] != '\0') {
        snprintf(where, sizeof where, "beat %s", n->beat);
        part_clip(p->g, y + 3, x, width, STYLE_NORMAL, where);
    }
    return drawn ? big_height(size) : 3;
}

static void draw_next_link(const Panel *p, int y)
{
    Ahead ahead = practice_next_link(p->m);
    char line[64], distance[32];
    if (ahead.note < 0 || y + 2 > p->y + p->rows)
        return;
    const ModelNote *n = &p->m->notes[ahead.note];
    const char *word = link_word((Link)n->link);
    practice_distance(ahead.notes, distance, sizeof distance);
    if (p->l->info_width >= 23)
        snprintf(line, sizeof line, "%s to finger %d", word, n->finger);
    else if (p->l->info_width >= 16)
        snprintf(line, sizeof line, "%s to %d", word, n->finger);
    else
        snprintf(line, sizeof line, "%s", word);
    part_clip(p->g, y, p->l->info_x, p->l->info_width, STYLE_LINK, line);
    part_clip(p->g, y + 1, p->l->info_x, p->l->info_width, STYLE_NORMAL, distance);
}

static void draw_info(const Panel *p)
{
    Ahead ahead = practice_next_accent(p->m);
    int y = p->y;
    if (p->l->info_width == 0)
        return;
    if (ahead.note >= 0) {
        label(p, p->l->info_x, p->l->info_width, STYLE_NORMAL, "next accent");
        if (p->l->rows[BAND_LABELS] == 0)
            part_clip(p->g, y++, p->l->info_x, p->l->info_width, STYLE_NORMAL, "next accent");
        y += draw_next_accent(p, ahead, y) + 1;
    }
    draw_next_link(p, y);
}

/* The largest letters that fit. */
static BigSize word_size(const char *word, int rows, int width)
{
    static const BigSize sizes[] = {{BIG_SMALL, 3, 6}, {BIG_SMALL, 2, 4}, {BIG_SMALL, 2, 3},
        {BIG_SMALL, 1, 2}, {BIG_SMALL, 1, 1}};
    size_t last = sizeof sizes / sizeof sizes[0] - 1;
    for (size_t i = 0; i < last; i++)
        if (big_height(sizes[i]) <= rows && big_width(sizes[i], word) <= width)
            return sizes[i];
    return sizes[last];
}

static bool shows_beat(const Model *m)
{
    return m->beat > 0 && (m->run == RUN_PLAYING || m->run == RUN_COUNT_IN || m->run == RUN_REST);
}

/* Where the state's word, and words and blocks under it, must end. */
static int state_end(const Panel *p)
{
    return shows_beat(p->m) ? p->l->beat_x - 2 : p->g->width - 1;
}

/* What is done next, or where one stands. */
static void state_words(const Model *m, char *out, size_t size)
{
    int focus = practice_focus(m);
    const ModelNote *n = focus < 0 ? NULL : &m->notes[focus];

    out[0] = '\0';
    if (m->run == RUN_FINISHED)
        snprintf(out, size, "the session is done");
    else if (m->run == RUN_REST && m->next[0] != '\0')
        snprintf(out, size, "then %s", m->next);
    else if (m->run == RUN_PAUSED && n != NULL)
        snprintf(out, size, "at finger %d on %s, bar %d", n->finger, n->name, n->bar);
    else if (m->run != RUN_REST && n != NULL)
        snprintf(out, size, "begin with finger %d on %s", n->finger, n->name);
}

/* Bars to go as blocks that go out one by one, and in words; then what is done next.
 *
 *      ######  ######  2 bars to go
 *      ######  ######  begin with finger 4 on G3
 */
static void draw_state_words(const Panel *p, int y, int rows)
{
    char words[MODEL_TEXT_MAX + 8], bars[40];
    int block = 6, x = p->l->finger_x, end = state_end(p), count = p->m->bars_to_go;

    state_words(p->m, words, sizeof words);
    if (count > 0) {
        for (int i = 0; i < count && x + block + 28 < end; i++) {
            grid_fill(p->g, y, x, rows, block, STYLE_STRONG, big_ink(p->g, INK_SOLID));
            x += block + 2;
        }
        snprintf(bars, sizeof bars, "%d bar%s to go", count, count == 1 ? "" : "s");
        part_clip(p->g, y, x, end - x, STYLE_STRONG, bars);
        y++;
        rows--;
    }
    if (rows > 0)
        part_clip(p->g, y, x, end - x, STYLE_STRONG, words);
}

static void draw_state(const Panel *p)
{
    static const char *const words[] = {
        [RUN_READY] = "READY",
        [RUN_COUNT_IN] = "COUNT-IN",
        [RUN_PLAYING] = "",
        [RUN_REST] = "REST",
        [RUN_PAUSED] = "PAUSED",
        [RUN_FINISHED] = "FINISHED",
    };
    const char *word = words[p->m->run];
    int x = p->l->finger_x;
    int word_rows = p->rows >= 7 ? p->rows - 2 : p->rows;
    BigSize size = word_size(word, word_rows, state_end(p) - x);

    big_draw(p->g, p->y, x, size, STYLE_STRONG, INK_SOLID, word);
    int left = p->rows - big_height(size) - 1;
    if (left > 0)
        draw_state_words(p, p->y + big_height(size) + 1, left > 3 ? 3 : left);
}

void practice_panel(const Model *m, Grid *g, const PracticeLayout *layout)
{
    Panel p = {m, g, layout, layout->top[BAND_PANEL], layout->rows[BAND_PANEL]};
    bool playing = m->run == RUN_PLAYING;
    if (playing) {
        draw_finger(&p);
        draw_info(&p);
    } else {
        draw_state(&p);
    }
    if (shows_beat(m))
        draw_beat(&p);
}
