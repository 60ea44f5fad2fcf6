/* The timed routine: its blocks as a list, its rows on the practice screen, and the whole screen
 * while nothing is played. */
#include "view_list.h"
#include "view_practice.h"

#include "runes.h"

#include <stdio.h>
#include <string.h>

enum { NARROW = 60 };

void view_routine(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {{ACTION_CHOOSE, "to this block"}, {ACTION_BACK, "back"},
        {ACTION_BLOCK_NEXT, "next"}, {ACTION_BLOCK_BEFORE, "before"},
        {ACTION_MINUTE, "a minute more"}, {ACTION_ROUTINE_END, "end"}, {ACTION_HELP, "help"}};
    char title[MODEL_TEXT_MAX + 16];
    snprintf(title, sizeof title, "Routine: %s", m->routine.title);
    const ListLook look = {.title = m->routine.on ? title : "Routine",
        .none = "No routine is open: evenhand routine FILE opens one.",
        .hints = hints,
        .hint_count = sizeof hints / sizeof hints[0]};
    list_draw(m, &m->routine.list, g, &look);
}

/* "rest", "done" or nothing, then what the block is called. */
static void block_words(const ModelRoutine *r, int width, char *out, size_t size)
{
    const char *state = r->done ? "done: " : r->rests ? "rest after " : "";
    if (width < NARROW)
        snprintf(out, size, "%s%d/%d %s", state, r->block, r->blocks, r->name);
    else
        snprintf(out, size, "%sblock %d of %d: %s", state, r->block, r->blocks, r->name);
}

static void left_words(const ModelRoutine *r, char *out, size_t size)
{
    char clock[32];
    part_time(r->seconds_left, clock, sizeof clock);
    snprintf(out, size, "%s%s left", r->held ? "paused  " : "", clock);
}

void routine_title(const Model *m, Grid *g, int y)
{
    char left[MODEL_TEXT_MAX + 48], right[64];
    block_words(&m->routine, g->width, left, sizeof left);
    left_words(&m->routine, right, sizeof right);
    part_bar(g, y, left, right);
}

/* The whole routine, what is over of it inked. */
static void draw_bar(const ModelRoutine *r, Grid *g, int y, int x, int width)
{
    int done = r->total > 0 ? (int)((int64_t)r->position * width / r->total) : 0;
    for (int i = 0; i < width; i++)
        grid_put(g, y, x + i, 1, i < done ? STYLE_STRONG : STYLE_DIM,
            i < done ? part_sign(g, "█", "#") : part_sign(g, "░", "."));
}

static void then_words(const ModelRoutine *r, char *out, size_t size)
{
    snprintf(out, size, "%s%s", r->next[0] != '\0' ? "then: " : "", r->next);
}

/* "[####......]  then: the next block" */
static void draw_whole(const ModelRoutine *r, Grid *g, int y)
{
    char then[MODEL_TEXT_MAX + 8], whole[80], over[32], all[32];
    part_time(r->position, over, sizeof over);
    part_time(r->total, all, sizeof all);
    snprintf(whole, sizeof whole, " %s of %s", over, all);
    then_words(r, then, sizeof then);
    int width = g->width - 2, half = width / 2;
    int start = part_clip_right(g, y, g->width - 1, half - 2, STYLE_NORMAL, then);
    int room = start - 1 - (then[0] != '\0' ? 2 : 0);
    int words = g->width >= NARROW ? runes_columns(whole) : 0;
    draw_bar(r, g, y, 1, room - words);
    if (words > 0)
        part_clip(g, y, 1 + room - words, words, STYLE_DIM, whole);
}

void routine_band(const Model *m, Grid *g, int y, int rows)
{
    static const BigSize size = {BIG_SMALL, 1, 2};
    char left[MODEL_TEXT_MAX + 48], right[64], clock[32];
    block_words(&m->routine, g->width, left, sizeof left);
    left_words(&m->routine, right, sizeof right);
    part_sides(g, y, 1, g->width - 2, STYLE_STRONG, left, right);
    if (rows >= 2)
        draw_whole(&m->routine, g, y + 1);
    if (rows < ROUTINE_BAND_BIG)
        return;
    part_time(m->routine.seconds_left, clock, sizeof clock);
    big_draw(g, y + 3, 2, size, STYLE_STRONG, INK_SOLID, clock);
}

/* The largest figures that the time has room in. */
static BigSize time_size(const char *clock, int width, int height)
{
    static const BigSize sizes[] = {{BIG_LARGE, 3, 6}, {BIG_LARGE, 2, 4}, {BIG_MEDIUM, 2, 4},
        {BIG_LARGE, 1, 2}, {BIG_MEDIUM, 1, 2}, {BIG_SMALL, 1, 2}, {BIG_SMALL, 1, 1}};
    size_t i = 0;
    while (i + 1 < sizeof sizes / sizeof sizes[0] &&
           (big_width(sizes[i], clock) > width || big_height(sizes[i]) > height))
        i++;
    return sizes[i];
}

static void draw_hints(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {{ACTION_HELP, "help"}, {ACTION_QUIT, "quit"},
        {ACTION_ROUTINE, "blocks"}, {ACTION_BLOCK_NEXT, "next"}, {ACTION_BLOCK_BEFORE, "before"},
        {ACTION_MINUTE, "a minute more"}, {ACTION_ROUTINE_END, "end"}};
    static const char *const go[] = {[RUN_READY] = "start",
        [RUN_COUNT_IN] = "pause",
        [RUN_PLAYING] = "pause",
        [RUN_REST] = "pause",
        [RUN_PAUSED] = "go on",
        [RUN_FINISHED] = "play it all again"};
    char first[64];
    snprintf(first, sizeof first, "%s: %s", keys_name(ACTION_GO, m->screen), go[m->run]);
    part_hints(m, g, first, hints, sizeof hints / sizeof hints[0]);
}

/*      Routine                         18:40 of 30:00
 *      what is to be done, large enough
 *
 *                  3:20
 *
 *      [########............]  then: the next block
 *      news
 *      keys
 */
void view_routine_idle(const Model *m, Grid *g)
{
    const ModelRoutine *r = &m->routine;
    char words[MODEL_TEXT_MAX + 48], left[64], clock[32], kept[PART_KEPT_MAX], state[64];
    part_kept(m, g, g->width / 3, kept, sizeof kept);
    snprintf(state, sizeof state, "%s%s%s", m->run == RUN_PAUSED ? "paused" : "",
        m->run == RUN_PAUSED && kept[0] != '\0' ? "   " : "", kept);
    part_bar(g, 0, r->title, state);
    block_words(r, g->width, words, sizeof words);
    left_words(r, left, sizeof left);
    part_sides(g, 1, 1, g->width - 2, STYLE_STRONG, words, left);
    part_time(r->seconds_left, clock, sizeof clock);
    int low = g->height - 3, room = low - 2;
    BigSize size = time_size(clock, g->width - 4, room - 1);
    int width = big_width(size, clock), height = big_height(size);
    if (height <= room)
        big_draw(g, 2 + (room - height) / 2, (g->width - width) / 2, size, STYLE_STRONG, INK_SOLID,
            clock);
    draw_whole(r, g, low);
    if (part_has_message(m))
        part_message(m, g, low + 1);
    draw_hints(m, g);
}
