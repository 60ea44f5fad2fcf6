#include "view_parts.h"

#include <stdio.h>
#include <string.h>

enum { QUIETEST = -60, ACCENT_MOST = 12, ACCENT_LAYER = 3, NAME_X = 7, NAME_COLUMNS = 12 };

/* "[######....]" between the ends of its scale. */
static void draw_level(Grid *g, int y, int x, int width, int level, int low, int high, Style style)
{
    int dots = width - 2;
    int filled = ((level - low) * dots + (high - low) / 2) / (high - low);
    if (dots < 4)
        return;
    filled = filled < 0 ? 0 : filled > dots ? dots : filled;
    grid_put(g, y, x, 1, style, "[");
    for (int i = 0; i < dots; i++)
        grid_put(g, y, x + 1 + i, 1, style,
            i < filled ? part_sign(g, "■", "#") : part_sign(g, "·", "."));
    grid_put(g, y, x + width - 1, 1, style, "]");
}

/* A line for a layer: cursor, key, name, on or off, level. */
static void draw_layer(const Model *m, Grid *g, int y, int i)
{
    const ModelLayer *layer = &m->layers[i];
    bool accent = i == ACCENT_LAYER, here = i == m->layer_cursor;
    Style style = here ? STYLE_NOW : layer->on ? STYLE_NORMAL : STYLE_DIM;
    int level_x = NAME_X + NAME_COLUMNS + 5, level_end = g->width - 9;

    if (here)
        grid_fill(g, y, 0, 1, g->width, STYLE_NOW, ' ');
    grid_printf(g, y, 2, 3, style, "%s%d", here ? part_sign(g, "▶ ", "> ") : "  ", i + 1);
    part_clip(g, y, NAME_X, NAME_COLUMNS, style, layer->name);
    grid_put(g, y, NAME_X + NAME_COLUMNS + 1, 3, style, layer->on ? "on" : "off");
    draw_level(g, y, level_x, level_end - level_x, layer->level, accent ? 0 : QUIETEST,
        accent ? ACCENT_MOST : 0, style);
    grid_printf(g, y, level_end + 1, 7, style, accent ? "+%d dB" : "%d dB", layer->level);
}

static void draw_master(const Model *m, Grid *g, int y)
{
    int level_x = NAME_X + NAME_COLUMNS + 5, level_end = g->width - 9;
    part_clip(g, y, NAME_X, NAME_COLUMNS, STYLE_STRONG, "all together");
    draw_level(g, y, level_x, level_end - level_x, m->master, QUIETEST, 0, STYLE_STRONG);
    grid_printf(g, y, level_end + 1, 7, STYLE_STRONG, "%d dB", m->master);
}

static void draw_audio(const Model *m, Grid *g, int y)
{
    char line[MODEL_TEXT_MAX + 16];
    snprintf(line, sizeof line, "%s%s", m->audio_warns ? "! " : "", m->audio);
    part_clip(g, y, 1, g->width - 2, m->audio_warns ? STYLE_WARNING : STYLE_NORMAL, line);
    snprintf(line, sizeof line, "underruns: %llu", (unsigned long long)m->underruns);
    part_clip(g, y + 1, 1, g->width - 2, m->underruns > 0 ? STYLE_STRONG : STYLE_NORMAL, line);
}

/* What the hints at the foot have no room for. */
static void draw_keys(const Model *m, Grid *g, int y)
{
    static const struct {
        Action more, less;
        const char *join, *text;
    } lines[] = {{ACTION_LEVEL_UP, ACTION_LEVEL_DOWN, ", ", "the level at the cursor, by one dB"},
        {ACTION_LOUDER, ACTION_SOFTER, ", ", "all together louder, softer"},
        {ACTION_LAYER_PULSE, ACTION_LAYER_ANNOUNCE, " to ", "a layer on or off"},
        {ACTION_AUDIO, ACTION_NONE, "", "look for the audio device now"}};
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++, y++) {
        grid_printf(g, y, 1, 18, STYLE_STRONG, "%s%s%s", keys_name(lines[i].more, m->screen),
            lines[i].join, keys_name(lines[i].less, m->screen));
        part_clip(g, y, 20, g->width - 21, STYLE_NORMAL, lines[i].text);
    }
}

void view_sound(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {{ACTION_SWITCH, "on/off"}, {ACTION_BACK, "back"},
        {ACTION_HELP, "help"}, {ACTION_LEVEL_UP, "louder"}, {ACTION_LEVEL_DOWN, "softer"}};
    bool roomy = g->height >= 16;
    int y = roomy ? 2 : 1;
    char news[PART_NEWS_MAX];

    part_news(m, g->width - 2, news, sizeof news);
    part_bar(g, 0, !roomy && m->message[0] != '\0' ? news : "Sound", "");
    for (int i = 0; i < MODEL_LAYERS; i++)
        draw_layer(m, g, y++, i);
    y += roomy;
    draw_master(m, g, y++);
    y += roomy;
    draw_audio(m, g, y);
    y += 2 + roomy;
    part_clip(g, y, 1, g->width - 2, STYLE_NORMAL, "Start quiet: loud clicks harm hearing.");
    y += 2;
    if (y + 4 < g->height - 2)
        draw_keys(m, g, y);
    if (roomy && m->message[0] != '\0')
        part_message(m, g, g->height - 2);
    part_hints(m, g, "", hints, sizeof hints / sizeof hints[0]);
}
