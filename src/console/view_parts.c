#include "view_parts.h"

#include "runes.h"

#include <stdio.h>
#include <string.h>

const char *part_sign(const Grid *g, const char *utf8, const char *ascii)
{
    return g->ascii ? ascii : utf8;
}

int part_clip(Grid *g, int y, int x, int width, Style style, const char *text)
{
    if (width <= 0)
        return 0;
    if (runes_columns(text) <= width)
        return grid_put(g, y, x, width, style, text);
    const char *ellipsis = part_sign(g, "…", "~");
    int used = grid_put(g, y, x, width - 1, style, text);
    return used + grid_put(g, y, x + used, width - used, style, ellipsis);
}

int part_clip_right(Grid *g, int y, int end, int width, Style style, const char *text)
{
    int columns = runes_columns(text);
    if (columns > width)
        columns = width;
    if (columns > 0)
        part_clip(g, y, end - columns, columns, style, text);
    return end - columns;
}

void part_sides(Grid *g, int y, int x, int width, Style style, const char *left, const char *right)
{
    int start = part_clip_right(g, y, x + width, width, style, right);
    int gap = right[0] == '\0' ? 0 : 2;
    part_clip(g, y, x, start - gap - x, style, left);
}

void part_bar(Grid *g, int y, const char *left, const char *right)
{
    grid_fill(g, y, 0, 1, g->width, STYLE_BAR, ' ');
    part_sides(g, y, 1, g->width - 2, STYLE_BAR, left, right);
}

void part_hints(const Model *m, Grid *g, const char *first, const KeyHint *hints, int count)
{
    int y = g->height - 1, edge = g->width - 1;
    grid_fill(g, y, 0, 1, g->width, STYLE_BAR, ' ');
    int x = 1 + part_clip(g, y, 1, edge - 1, STYLE_BAR, first);
    for (int i = 0; i < count; i++) {
        char hint[64];
        snprintf(hint, sizeof hint, "%s: %s", keys_name(hints[i].action, m->screen), hints[i].word);
        int gap = x == 1 ? 0 : g->width < 60 ? 2 : 3;
        if (x + gap + runes_columns(hint) > edge)
            return;
        x += gap;
        x += grid_put(g, y, x, -1, STYLE_BAR, hint);
    }
}

void part_kept(const Model *m, const Grid *g, int room, char *out, size_t size)
{
    const ModelJudge *j = &m->judge;
    const char *sign = j->recorded ? part_sign(g, "✓", "ok") : part_sign(g, "…", "..");
    out[0] = '\0';
    if (!j->kept || j->count == 0)
        return;
    snprintf(out, size, "saved %s %d", sign, j->written);
    if (runes_columns(out) > room)
        snprintf(out, size, "%s %d", sign, j->written);
    if (runes_columns(out) > room)
        out[0] = '\0';
}

bool part_has_message(const Model *m)
{
    return m->message[0] != '\0' || m->audio_warns;
}

static bool warns(const Model *m)
{
    return m->message[0] != '\0' ? m->message_warns : m->audio_warns;
}

void part_news(const Model *m, int width, char *out, size_t size)
{
    bool news = m->message[0] != '\0';
    bool brief = news && m->message_brief[0] != '\0' && runes_columns(m->message) > width;
    const char *text = brief ? m->message_brief : news ? m->message : m->audio;
    out[0] = '\0';
    if (text[0] == '\0')
        return;
    snprintf(out, size, "%s%s", warns(m) ? "! " : news ? "" : "sound: ", text);
    size_t used = strlen(out);
    if (!news && m->underruns > 0)
        snprintf(out + used, size - used, ", %llu underrun%s", (unsigned long long)m->underruns,
            m->underruns == 1 ? "" : "s");
}

void part_message(const Model *m, Grid *g, int y)
{
    char line[PART_NEWS_MAX];
    bool news = m->message[0] != '\0';
    Style style = warns(m) ? STYLE_WARNING : news ? STYLE_STRONG : STYLE_DIM;
    part_news(m, g->width - 2, line, sizeof line);
    part_clip(g, y, 1, g->width - 2, style, line);
}

void part_sound(const Model *m, char *out, size_t size)
{
    int length = (int)strcspn(m->audio, ":;,");
    snprintf(out, size, "! %.*s", length < 16 ? length : 16, m->audio);
}

void part_time(int seconds, char *out, size_t size)
{
    if (seconds >= 3600)
        snprintf(out, size, "%d:%02d:%02d", seconds / 3600, seconds / 60 % 60, seconds % 60);
    else
        snprintf(out, size, "%d:%02d", seconds / 60, seconds % 60);
}
