/* view_parts.h - what several views share: clipped text, title and key lines, words. Pure. */
#ifndef EVENHAND_SRC_CONSOLE_VIEW_PARTS_H
#define EVENHAND_SRC_CONSOLE_VIEW_PARTS_H

#include "evenhand/console/grid.h"
#include "evenhand/console/keys.h"
#include "evenhand/console/model.h"

/* The sign for the grid: its own or the ASCII one. */
const char *part_sign(const Grid *g, const char *utf8, const char *ascii);

/* Text in at most `width` columns; what is cut ends in an ellipsis. Returns columns used. */
int part_clip(Grid *g, int y, int x, int width, Style style, const char *text);
/* The same ending at column `end` (exclusive). Returns the column where it starts. */
int part_clip_right(Grid *g, int y, int end, int width, Style style, const char *text);
/* `left` and `right` on one row of `width` columns from x: right is kept whole, left is clipped. */
void part_sides(Grid *g, int y, int x, int width, Style style, const char *left, const char *right);

/* A row filled in STYLE_BAR with text at both ends. */
void part_bar(Grid *g, int y, const char *left, const char *right);
/* The last row: "Key: what it does" for each pair as far as they fit. */
typedef struct {
    Action action;
    const char *word;
} KeyHint;
void part_hints(const Model *m, Grid *g, const char *first, const KeyHint *hints, int count);

/* News of the application (in few words where it would not fit `width` columns), else the audio
 * line; with "! " before a warning. */
enum { PART_NEWS_MAX = MODEL_TEXT_MAX + 64 };
void part_news(const Model *m, int width, char *out, size_t size);
void part_message(const Model *m, Grid *g, int y);
/* There is news, or the audio line warns. */
bool part_has_message(const Model *m);
/* What the record holds of this sitting: "saved ✓ 12", or "saved … 12" while more is on its way
 * there; the sign and number alone where `room` columns are too few for the word, "" where they are
 * for those, nothing was judged or nothing is recorded. */
enum { PART_KEPT_MAX = 40 };
void part_kept(const Model *m, const Grid *g, int room, char *out, size_t size);
/* "! silent" of "silent: no sound device". */
enum { PART_SOUND_MAX = 80 };
void part_sound(const Model *m, char *out, size_t size);

/* "12:05", "1:02:05". */
void part_time(int seconds, char *out, size_t size);

void view_practice(const Model *m, Grid *g);
void view_drills(const Model *m, Grid *g);
void view_passages(const Model *m, Grid *g);
void view_fingers(const Model *m, Grid *g);
void view_ladder(const Model *m, Grid *g);
void view_routine(const Model *m, Grid *g);
void view_sound(const Model *m, Grid *g);
void view_calendar(const Model *m, Grid *g);
void view_record(const Model *m, Grid *g);
void view_help(const Model *m, Grid *g);

#endif
