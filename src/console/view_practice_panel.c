/* The figures to be read from two metres: finger, accent, beat; or the word of the state. */
#include "view_practice_panel.h"

#include "evenhand/drill/drill.h" /* link_word */

#include <stdio.h>

int panel_foot(const Panel *p)
{
    const int *rows = p->l->rows;
    return rows[BAND_COMING] == 0 && rows[BAND_GAP_MIDDLE] > 0 ? p->l->top[BAND_GAP_MIDDLE] : -1;
}

void panel_label(const Panel *p, int x, int width, Style style, const char *text)
{
    if (p->l->rows[BAND_LABELS] > 0)
        part_clip(p->g, p->l->top[BAND_LABELS], x, width, style, text);
}

/* The beats of the bar, filled as far as it has gone; behind them the units of a dotted beat.
 *
 *      o o # o  .*.
 */
static void draw_dots(const Panel *p)
{
    const Model *m = p->m;
    int y = panel_foot(p), x = p->l->beat_x, room = p->l->beat_width;
    int subs = m->subs > 0 ? m->subs + 1 : 0;
    if (y < 0 || m->beats < 2 || m->beats + subs > room)
        return;
    int step = 2 * m->beats - 1 + subs <= room ? 2 : 1;
    for (int i = 1; i <= m->beats; i++, x += step)
        grid_put(p->g, y, x, 1, i == m->beat ? STYLE_STRONG : STYLE_DIM,
            i == m->beat ? part_sign(p->g, "●", "#") : part_sign(p->g, "○", "o"));
    x += 2 - step;
    for (int i = 1; i <= m->subs; i++, x++)
        grid_put(p->g, y, x, 1, i == m->sub ? STYLE_STRONG : STYLE_DIM,
            i == m->sub ? part_sign(p->g, "•", "*") : part_sign(p->g, "·", "."));
}

static void draw_beat(const Panel *p)
{
    const Model *m = p->m;
    const PracticeLayout *l = p->l;
    char digits[16], words[32];

    if (m->beat_fresh && l->rows[BAND_LABELS] > 0) /* a stroke of light over the figure */
        grid_fill(p->g, l->top[BAND_LABELS], l->beat_x, 1, l->beat_width, STYLE_NOW, ' ');
    snprintf(words, sizeof words, "beat of %d", m->beats);
    panel_label(p, l->beat_x, l->beat_width, m->beat_fresh ? STYLE_NOW : STYLE_NORMAL,
        m->beats > 0 ? words : "beat");
    snprintf(digits, sizeof digits, "%d", m->beat);
    int columns = big_width(l->size, digits);
    /* Shaded, so that it is not taken for the finger; solid for the moment of the stroke. */
    big_draw(p->g, p->y, l->beat_x + l->beat_width - columns, l->size,
        m->beat_fresh ? STYLE_STRONG : STYLE_NORMAL, m->beat_fresh ? INK_SOLID : INK_SHADED,
        digits);
    draw_dots(p);
}

/* Only a finger has a frame. Its top runs through the row of labels, its foot under the figures,
 * where there are such rows; its sides are always there.
 *
 *      ┏ finger ━━━━━┓
 *      ┃   ██████    ┃
 *      ┗━━━━━━━━━━━━━┛
 */
static void draw_frame(const Panel *p, Style style)
{
    static const char *const signs[2][6] = {
        {"┃", "━", "┏", "┓", "┗", "┛"}, {"|", "-", "+", "+", "+", "+"}};
    const char *const *s = signs[p->g->ascii ? 1 : 0];
    int left = p->l->finger_x - 2, right = p->l->finger_x + p->l->finger_width + 1;
    int ends[2] = {p->l->rows[BAND_LABELS] > 0 ? p->l->top[BAND_LABELS] : -1, panel_foot(p)};

    for (int y = p->y; y < p->y + p->rows; y++) {
        grid_put(p->g, y, left, 1, style, s[0]);
        grid_put(p->g, y, right, 1, style, s[0]);
    }
    for (int i = 0; i < 2; i++) {
        for (int x = left + 1; ends[i] >= 0 && x < right; x++)
            grid_put(p->g, ends[i], x, 1, style, s[1]);
        grid_put(p->g, ends[i], left, 1, style, s[2 + 2 * i]);
        grid_put(p->g, ends[i], right, 1, style, s[3 + 2 * i]);
    }
}

void panel_finger(const Panel *p, const ModelNote *n, Style style, const char *label)
{
    const PracticeLayout *l = p->l;
    const char one[2] = {n->finger > 0 ? (char)('0' + n->finger) : '-', '\0'};
    char words[24];
    bool chord = n->fingers[0] != '\0' && n->fingers[1] != '\0' &&
                 big_width(l->chord, n->fingers) <= l->finger_width;

    draw_frame(p, style);
    snprintf(words, sizeof words, " %s ", label);
    panel_label(p, l->finger_x - 1, l->finger_width + 2, STYLE_NORMAL, words);
    if (chord)
        big_draw(p->g, p->y + (p->rows - big_height(l->chord)) / 2, l->finger_x, l->chord, style,
            INK_SOLID, n->fingers);
    else
        big_draw(p->g, p->y, l->finger_x, l->size, style, INK_SOLID, one);
}

static void draw_finger(const Panel *p)
{
    const Model *m = p->m;
    const PracticeLayout *l = p->l;
    if (m->now < 0 || m->now >= m->note_count)
        return;
    panel_finger(p, &m->notes[m->now], m->now_accent ? STYLE_ACCENT : STYLE_STRONG,
        m->notes[m->now].fingers[0] != '\0' ? "fingers" : "finger");
    if (!m->now_accent)
        return;
    panel_label(p, l->accent_x, l->figure, STYLE_ACCENT, "accent");
    big_draw(p->g, p->y, l->accent_x, l->size, STYLE_ACCENT, INK_SOLID, ">");
}

/* The next accent: its finger half as large, and in words. Returns the rows used. */
static int draw_next_accent(const Panel *p, Ahead ahead, int y)
{
    const ModelNote *n = &p->m->notes[ahead.note];
    const char finger[2] = {n->finger > 0 ? (char)('0' + n->finger) : '-', '\0'};
    BigSize size = {BIG_SMALL, p->l->size.rows, 2 * p->l->size.rows};
    int figure = big_width(size, "4") + 2, words = 11;
    char distance[32], where[64], name[MODEL_BRIEF_MAX];
    int x = p->l->info_x, width = p->l->info_width;

    practice_distance(ahead.notes, distance, sizeof distance);
    bool drawn = width >= figure + words && y + big_height(size) <= p->y + p->rows;
    if (drawn) {
        big_draw(p->g, y, x, size, STYLE_NORMAL, INK_SHADED, finger);
        x += figure;
        width -= figure;
    }
    bool chord = n->fingers[0] != '\0';
    snprintf(
        where, sizeof where, "%s %s", chord ? "fingers" : "finger", chord ? n->fingers : finger);
    part_clip(p->g, y, x, width, STYLE_STRONG, where);
    practice_strings(n, width - 3, name, sizeof name);
    snprintf(where, sizeof where, "on %s", name);
    part_clip(p->g, y + 1, x, width, STYLE_NORMAL, where);
    part_clip(p->g, y + 2, x, width, STYLE_NORMAL, distance);
    if (drawn && n->beat[0] != '\0' && p->m->subs == 0) {
        snprintf(where, sizeof where, "beat %s", n->beat);
        part_clip(p->g, y + 3, x, width, STYLE_NORMAL, where);
    }
    return drawn ? big_height(size) : 3;
}

/* "cross under to finger 4", in as many words as there is room for. */
static void link_words(const ModelNote *n, bool again, int width, char *out, size_t size)
{
    const char *word = again ? "place" : link_word((Link)n->link);
    char fingers[24];
    if (n->fingers[0] != '\0')
        snprintf(fingers, sizeof fingers, "%s", n->fingers);
    else
        snprintf(fingers, sizeof fingers, "%d", n->finger);
    if (again && width >= 14)
        snprintf(out, size, "place %s on %s", fingers, n->name);
    else if (again)
        snprintf(out, size, "place %s", fingers);
    else if (width >= 23 && n->fingers[0] == '\0')
        snprintf(out, size, "%s to finger %s", word, fingers);
    else if (width >= 16)
        snprintf(out, size, "%s to %s", word, fingers);
    else
        snprintf(out, size, "%s", word);
}

/* After the last link of a drill there is only its end to come. */
static void draw_last(const Panel *p, int y)
{
    const Model *m = p->m;
    char line[64];
    int notes = m->note_count - m->now;
    if (m->now < 0 || notes < 1 || m->repetition < m->repetitions)
        return;
    if (notes == 1)
        snprintf(line, sizeof line, "after this");
    else
        snprintf(line, sizeof line, "in %d notes", notes);
    part_clip(p->g, y, p->l->info_x, p->l->info_width, STYLE_LINK,
        m->next[0] != '\0' ? "then rest" : "then the end");
    part_clip(p->g, y + 1, p->l->info_x, p->l->info_width, STYLE_NORMAL, line);
}

static void draw_next_link(const Panel *p, int y)
{
    Ahead ahead = practice_next_link(p->m);
    char line[64], distance[32];
    if (y + 2 > p->y + p->rows)
        return;
    if (ahead.note < 0) {
        draw_last(p, y);
        return;
    }
    link_words(&p->m->notes[ahead.note], ahead.again, p->l->info_width, line, sizeof line);
    practice_distance(ahead.notes, distance, sizeof distance);
    part_clip(p->g, y, p->l->info_x, p->l->info_width, STYLE_LINK, line);
    part_clip(p->g, y + 1, p->l->info_x, p->l->info_width, STYLE_NORMAL, distance);
}

/* In a routine the time left of the block, large, where its own band has no room for that; what
 * comes is then told in words alone. False: there is no room here either.
 *
 *      next accent
 *      finger 4 on B4
 *      in 4 notes
 *      cross under to finger 4
 *
 *       ████ ...
 */
static bool draw_time(const Panel *p, Ahead ahead)
{
    enum { WORDS = 4 };
    static const BigSize sizes[] = {{BIG_SMALL, 1, 2}, {BIG_SMALL, 1, 1}};
    const PracticeLayout *l = p->l;
    char clock[32], line[MODEL_BRIEF_MAX + 32], name[MODEL_BRIEF_MAX];
    part_time(p->m->routine.seconds_left, clock, sizeof clock);
    const BigSize *size = big_width(sizes[0], clock) <= l->info_width ? &sizes[0] : &sizes[1];
    if (!p->m->routine.on || l->rows[BAND_ROUTINE] != 2 || p->rows < WORDS + big_height(*size) ||
        big_width(*size, clock) > l->info_width)
        return false;
    if (ahead.note >= 0) {
        const ModelNote *n = &p->m->notes[ahead.note];
        panel_label(p, l->info_x, l->info_width, STYLE_NORMAL, "next accent");
        practice_strings(n, l->info_width / 2, name, sizeof name);
        snprintf(line, sizeof line, "finger %d on %s", n->finger, name);
        part_clip(p->g, p->y, l->info_x, l->info_width, STYLE_STRONG, line);
        practice_distance(ahead.notes, line, sizeof line);
        part_clip(p->g, p->y + 1, l->info_x, l->info_width, STYLE_NORMAL, line);
    }
    ahead = practice_next_link(p->m);
    if (ahead.note >= 0) {
        link_words(&p->m->notes[ahead.note], ahead.again, l->info_width, line, sizeof line);
        part_clip(p->g, p->y + 2, l->info_x, l->info_width, STYLE_LINK, line);
    }
    big_draw(p->g, p->y + p->rows - big_height(*size), l->info_x, *size, STYLE_NORMAL, INK_SHADED,
        clock);
    return true;
}

static void draw_info(const Panel *p)
{
    Ahead ahead = practice_next_accent(p->m);
    int y = p->y;
    if (p->l->info_width == 0 || draw_time(p, ahead))
        return;
    if (ahead.note >= 0) {
        panel_label(p, p->l->info_x, p->l->info_width, STYLE_NORMAL, "next accent");
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

int panel_end(const Panel *p)
{
    return shows_beat(p->m) ? p->l->beat_x - 2 : p->g->width - 1;
}

/* What is done next, or where one stands. */
static void state_words(const Model *m, char *out, size_t size)
{
    int focus = practice_focus(m);
    const ModelNote *n = focus < 0 ? NULL : &m->notes[focus];
    char hand[80] = "";

    if (n != NULL && n->fingers[0] != '\0')
        snprintf(hand, sizeof hand, "fingers %s on %s", n->fingers, n->chord);
    else if (n != NULL)
        snprintf(hand, sizeof hand, "finger %d on %s", n->finger, n->name);
    out[0] = '\0';
    if (m->run == RUN_FINISHED)
        snprintf(out, size, "the session is done");
    else if (m->run == RUN_REST && m->next[0] != '\0')
        snprintf(out, size, "then %s", m->next);
    else if (m->run == RUN_PAUSED && n != NULL)
        snprintf(out, size, "at %s, bar %d", hand, n->bar);
    else if (m->run != RUN_REST && n != NULL)
        snprintf(out, size, "begin with %s", hand);
}

/* Bars to go as blocks that go out one by one, and in words; then what is done next.
 *
 *      ######  ######  2 bars to go
 *      ######  ######  begin with finger 4 on G3
 */
static void draw_state_words(const Panel *p, int y, int rows)
{
    char words[MODEL_TEXT_MAX + 8], bars[40];
    int block = 6, x = p->l->finger_x, end = panel_end(p), count = p->m->bars_to_go;

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
    if (panel_cue(p))
        return;
    int word_rows = p->rows >= 7 ? p->rows - 2 : p->rows;
    BigSize size = word_size(word, word_rows, panel_end(p) - x);

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
