#include "view_practice.h"

#include <stdio.h>
#include <string.h>

int practice_focus(const Model *m)
{
    if (m->now >= 0 && m->now < m->note_count)
        return m->now;
    if (m->coming >= 0 && m->coming < m->note_count)
        return m->coming;
    return m->note_count > 0 ? 0 : -1;
}

static bool bears_accent(const ModelNote *n)
{
    return n->accent;
}

bool practice_bears_link(const ModelNote *n)
{
    return n->link != MODEL_LINK_START && n->link != MODEL_LINK_WITHIN;
}

/* Searches from the note after the one heard to the end and, if the passage comes round again,
 * from its head. */
static Ahead look_ahead(const Model *m, bool (*wanted)(const ModelNote *))
{
    bool heard = m->now >= 0 && m->now < m->note_count;
    int from = heard ? m->now + 1 : practice_focus(m);
    bool again = heard && m->repetition < m->repetitions;

    for (int i = from; i >= 0 && i < m->note_count; i++)
        if (wanted(&m->notes[i]))
            return (Ahead){.note = i, .notes = heard ? i - m->now : i - from + 1};
    for (int i = 0; again && i < from; i++)
        if (wanted(&m->notes[i]))
            return (Ahead){.note = i, .notes = m->note_count - m->now + i};
    return (Ahead){.note = -1};
}

Ahead practice_next_accent(const Model *m)
{
    return look_ahead(m, bears_accent);
}

Ahead practice_next_link(const Model *m)
{
    return look_ahead(m, practice_bears_link);
}

void practice_distance(int notes, char *out, size_t size)
{
    if (notes == 1)
        snprintf(out, size, "next note");
    else
        snprintf(out, size, "in %d notes", notes);
}

static void draw_title(const Model *m, Grid *g, const PracticeLayout *l)
{
    char right[3 * MODEL_NAME_MAX + 32] = "";
    size_t used = 0;
    if (g->width >= 60 && m->key[0] != '\0' && strcmp(m->key, "none") != 0)
        used = (size_t)snprintf(right, sizeof right, "key %s   ", m->key);
    snprintf(right + used, sizeof right - used, "%s%s%s", m->metre,
        m->metre[0] != '\0' ? "   " : "", m->tempo);
    if (l->rows[BAND_NEXT] > 0 || !part_has_message(m)) {
        part_bar(g, l->top[BAND_TITLE], m->title, right);
        return;
    }
    /* So low a screen has no other place for news. What stands for long leaves the tempo. */
    char news[PART_NEWS_MAX];
    part_news(m, news, sizeof news);
    part_bar(g, l->top[BAND_TITLE], news, m->message[0] != '\0' ? "" : right);
}

static void draw_drill(const Model *m, Grid *g, const PracticeLayout *l)
{
    char right[64] = "";
    int y = l->top[BAND_DRILL];

    if (m->bars_to_go > 0 && l->rows[BAND_PANEL] < 7) /* no room for it in the panel */
        snprintf(
            right, sizeof right, "%d bar%s to go", m->bars_to_go, m->bars_to_go == 1 ? "" : "s");
    else if (l->rows[BAND_PROGRESS] == 0 && m->run == RUN_PLAYING)
        snprintf(right, sizeof right, "%d of %d", m->repetition, m->repetitions);
    else if (m->now >= 0 && m->now < m->note_count)
        snprintf(right, sizeof right, "bar %d", m->notes[m->now].bar);
    int start = part_clip_right(g, y, g->width - 1, g->width - 2, STYLE_NORMAL, right);
    part_clip(g, y, 1, start - 3, STYLE_STRONG, m->drill);
}

static void draw_progress(const Model *m, Grid *g, const PracticeLayout *l)
{
    char left[96] = "", right[96] = "", clock[32];
    size_t used = 0;

    if (m->repetitions > 0 && m->repetition > 0)
        used = (size_t)snprintf(left, sizeof left, "%s%d of %d   ",
            g->width < 60 ? "" : "repetition ", m->repetition, m->repetitions);
    else if (m->repetitions > 0)
        used = (size_t)snprintf(left, sizeof left, "%d %s   ", m->repetitions,
            g->width < 60         ? "times"
            : m->repetitions == 1 ? "repetition"
                                  : "repetitions");
    if (m->steps > 0)
        snprintf(left + used, sizeof left - used, "step %d of %d", m->step, m->steps);
    used = 0;
    if (g->width >= 60 && m->hands[0] != '\0')
        used = (size_t)snprintf(right, sizeof right, "%s hand%s   ", m->hands,
            strcmp(m->hands, "both") == 0 ? "s" : "");
    if (m->seconds_left >= 0 && m->run != RUN_FINISHED) {
        part_time(m->seconds_left, clock, sizeof clock);
        snprintf(right + used, sizeof right - used, "%s left", clock);
    }
    part_sides(g, l->top[BAND_PROGRESS], 1, g->width - 2, STYLE_NORMAL, left, right);
}

static void draw_coming(const Model *m, Grid *g, const PracticeLayout *l)
{
    Ahead ahead = practice_next_accent(m);
    char distance[32];
    if (ahead.note < 0 || m->run == RUN_FINISHED)
        return;
    const ModelNote *n = &m->notes[ahead.note];
    practice_distance(ahead.notes, distance, sizeof distance);
    char line[128];
    snprintf(line, sizeof line, "accent to come: %d on %s, %s", n->finger, n->name, distance);
    part_clip(g, l->top[BAND_COMING], 1, g->width - 2, STYLE_NORMAL, line);
}

static void draw_crossing(const Model *m, Grid *g, const PracticeLayout *l)
{
    if (m->run != RUN_FINISHED)
        part_clip(g, l->top[BAND_CROSSING], 1, g->width - 2, STYLE_LINK, m->crossing);
}

static void draw_next(const Model *m, Grid *g, const PracticeLayout *l)
{
    int y = l->top[BAND_NEXT];
    char next[MODEL_TEXT_MAX + 8] = "", news[PART_NEWS_MAX] = "";
    Style style = m->run == RUN_REST ? STYLE_STRONG : STYLE_NORMAL;

    if (l->rows[BAND_MESSAGE] == 0 && m->message[0] != '\0') {
        part_message(m, g, y);
        return;
    }
    if (m->next[0] != '\0')
        snprintf(next, sizeof next, "next: %s", m->next);
    if (l->rows[BAND_MESSAGE] == 0 && m->audio_warns)
        part_news(m, news, sizeof news);
    int half = next[0] != '\0' ? (g->width - 2) / 2 : g->width - 2;
    int start = part_clip_right(g, y, g->width - 1, half, STYLE_WARNING, news);
    part_clip(g, y, 1, start - 1 - (news[0] != '\0' ? 2 : 0), style, next);
}

static void draw_keys(const Model *m, Grid *g)
{
    static const char *const go[] = {
        [RUN_READY] = "start",
        [RUN_COUNT_IN] = "pause",
        [RUN_PLAYING] = "pause",
        [RUN_REST] = "pause",
        [RUN_PAUSED] = "go on",
        [RUN_FINISHED] = "play it all again",
    };
    static const KeyHint hints[] = {{ACTION_HELP, "help"}, {ACTION_QUIT, "quit"},
        {ACTION_DRILLS, "drills"}, {ACTION_PASSAGES, "passages"}, {ACTION_SOUND, "sound"},
        {ACTION_NEXT, "next"}, {ACTION_PREVIOUS, "previous"}, {ACTION_AGAIN, "again"}};
    char first[64];
    snprintf(first, sizeof first, "%s: %s", keys_name(ACTION_GO, m->screen), go[m->run]);
    part_hints(m, g, first, hints, sizeof hints / sizeof hints[0]);
}

void view_practice(const Model *m, Grid *g)
{
    PracticeLayout l = practice_layout(m, g->width, g->height);
    draw_title(m, g, &l);
    draw_drill(m, g, &l);
    if (l.rows[BAND_PROGRESS] > 0)
        draw_progress(m, g, &l);
    practice_panel(m, g, &l);
    if (l.rows[BAND_COMING] > 0)
        draw_coming(m, g, &l);
    if (l.rows[BAND_CROSSING] > 0)
        draw_crossing(m, g, &l);
    practice_notes(m, g, &l);
    if (l.rows[BAND_NEXT] > 0)
        draw_next(m, g, &l);
    if (l.rows[BAND_MESSAGE] > 0)
        part_message(m, g, l.top[BAND_MESSAGE]);
    draw_keys(m, g);
}
