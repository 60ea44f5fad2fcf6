/* The cheapest fingerings one under the other, over the same notes.
 *
 *       C4  D4  E4  F4 |G4  A4          names, bar lines
 *           ^                           the note at the cursor
 *     >* 1  4+4+4+3            cost 310 cursor, plan in use
 *       the 3 on top; links into        its explanation
 *       4   3   2*  1  /4   3           fingers, held ones, link signs
 *       |___________|   |____           groups
 *        2  3+4+4+4    cost 322, 12 more
 */
#include "view_practice_notes.h"

#include "evenhand/drill/drill.h" /* link_sign */
#include "runes.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { EDGE = 3, INDENT = 6, CELL_MIN = 3, CELL_MAX = 7, NARROW = 60, WORD_ROWS_MAX = 2 };

/* Rows: what every screen has first, then what a higher one adds, in this order. */
typedef struct {
    int names, marker; /* rows of the screen */
    int plans;         /* first row of the first plan */
    int words;         /* rows of each plan's explanation; 0: only the cursor's plan, at `foot` */
    bool brackets;
    int gap;     /* empty rows after a plan */
    int each;    /* rows of a plan, its gap included */
    int foot;    /* explanation of the cursor's plan; 0: none */
    int finding; /* row of what is to be said against the plan */
    int message; /* the same row on a low screen: news covers it */
} FingersLayout;

static bool long_words(const ModelFingers *f, int width)
{
    for (int plan = 0; plan < f->plan_count; plan++)
        if (runes_columns(f->plans[plan].words) > width - INDENT - 1)
            return true;
    return false;
}

static FingersLayout lay_out(const Model *m, int width, int height)
{
    int count = m->fingers.plan_count < 1 ? 1 : m->fingers.plan_count;
    int room = height - 5;                             /* title, names, marker, message, hints */
    int high = long_words(&m->fingers, width) ? 5 : 6; /* words go before a gap */
    FingersLayout l = {.names = 1, .marker = 2, .plans = 3, .each = 2};
    l.message = l.finding = height - 2;
    l.words = room >= high * count ? WORD_ROWS_MAX : room >= 3 * count ? 1 : 0;
    l.brackets = room >= 4 * count;
    l.gap = room >= (l.words + 4) * count ? 1 : 0; /* head, words, fingers, brackets, gap */
    l.each += l.words + (l.brackets ? 1 : 0) + l.gap;
    int left = room - l.each * count - (l.words == 0 ? 1 : 0);
    if (left > 0)
        l.finding--;
    if (l.words == 0)
        l.foot = l.finding == l.message ? l.message - 1 : l.finding - 1;
    return l;
}

static int widest_name(const ModelFingers *f)
{
    int widest = CELL_MIN;
    for (int i = 0; i < f->note_count; i++) {
        int columns = runes_columns(f->plans[0].notes[i].name);
        widest = columns > widest ? columns : widest;
    }
    return widest < CELL_MAX ? widest : CELL_MAX;
}

/* The same columns for all plans, whatever their groups; the cursor in the middle, save at the
 * ends. */
static NoteWindow window_of(const ModelFingers *f, int width)
{
    NoteWindow w = {.octaves = true, .focus = f->note, .cell = widest_name(f)};
    int fit = (width - 2 * EDGE + 1) / (w.cell + 1);
    fit = fit < GRID_WIDTH_MAX ? fit : GRID_WIDTH_MAX;
    w.count = fit < f->note_count ? fit : f->note_count;
    w.first = f->note - w.count / 2;
    if (w.first > f->note_count - w.count)
        w.first = f->note_count - w.count;
    if (w.first < 0)
        w.first = 0;
    for (int k = 0; k < w.count; k++)
        w.x[k] = EDGE + k * (w.cell + 1);
    return w;
}

static void draw_bar_line(Grid *g, int y, int x, const ModelNote *n)
{
    if (n->bar_start)
        grid_put(g, y, x - 1, 1, STYLE_DIM, part_sign(g, "│", "|"));
}

static void draw_names(const ModelFingers *f, Grid *g, const FingersLayout *l, const NoteWindow *w)
{
    for (int k = 0; k < w->count; k++) {
        const ModelNote *n = &f->plans[0].notes[w->first + k];
        bool here = w->first + k == f->note;
        Style style = here               ? STYLE_NOW
                      : n->letter == 'C' ? STYLE_STRING_C
                      : n->letter == 'F' ? STYLE_STRING_F
                                         : STYLE_NORMAL;
        part_clip(g, l->names, w->x[k], w->cell, style, n->name);
        if (w->first + k > 0)
            draw_bar_line(g, l->names, w->x[k], n);
        if (here)
            grid_put(g, l->marker, w->x[k], 1, STYLE_STRONG, part_sign(g, "▼", "v"));
    }
    if (w->first > 0)
        grid_put(g, l->names, 0, 1, STYLE_DIM, part_sign(g, "…", "~"));
    if (w->first + w->count < f->note_count)
        grid_put(g, l->names, g->width - 1, 1, STYLE_DIM, part_sign(g, "…", "~"));
}

static void draw_fingers(
    const ModelFingers *f, const ModelPlan *plan, Grid *g, int y, const NoteWindow *w)
{
    for (int k = 0; k < w->count; k++) {
        int i = w->first + k;
        const ModelNote *n = &plan->notes[i];
        const char digit[2] = {
            n->finger > 0 && n->finger <= 4 ? (char)('0' + n->finger) : '-', '\0'};
        bool other = n->finger != f->plans[f->used].notes[i].finger; /* what sets it apart */
        Style style = i == f->note ? STYLE_NOW : other ? STYLE_ACCENT : STYLE_NORMAL;
        grid_put(g, y, w->x[k], 1, style, digit);
        if (f->fixed != NULL && f->fixed[i] != 0)
            grid_put(g, y, w->x[k] + 1, 1, STYLE_STRONG, part_sign(g, "•", "*"));
        if (i > 0 && n->link > MODEL_LINK_WITHIN)
            grid_put(g, y, w->x[k] - 1, 1, STYLE_LINK, link_sign((Link)n->link, !g->ascii));
    }
}

/* "cost 322, 12 more" than the cheapest; on a narrow screen "322 +12". */
static void cost_words(const ModelFingers *f, int plan, bool narrow, char *out, size_t size)
{
    int64_t cost = f->plans[plan].cost, more = cost - f->plans[0].cost;
    int used = snprintf(out, size, "%s%" PRId64, narrow ? "" : "cost ", cost);
    if (plan > 0 && used > 0 && (size_t)used < size)
        snprintf(
            out + used, size - (size_t)used, narrow ? " +%" PRId64 : ", %" PRId64 " more", more);
}

static void draw_head(const ModelFingers *f, int plan, Grid *g, int y)
{
    char left[MODEL_TEXT_MAX + 16], right[64];
    bool here = plan == f->cursor, used = plan == f->used;
    Style style = here ? STYLE_NOW : used ? STYLE_STRONG : STYLE_NORMAL;
    if (here)
        grid_fill(g, y, 0, 1, g->width, STYLE_NOW, ' ');
    grid_put(g, y, 1, 1, style, here ? part_sign(g, "▶", ">") : " ");
    grid_put(g, y, 2, 1, style, used ? part_sign(g, "●", "*") : " ");
    snprintf(left, sizeof left, "%d  %s", plan + 1, f->plans[plan].grouping);
    cost_words(f, plan, g->width < NARROW, right, sizeof right);
    part_sides(g, y, EDGE, g->width - EDGE - 1, style, left, right);
}

/* Bytes of the text that fit into so many columns, whole words where there are any. */
static size_t fitting(const char *text, int columns)
{
    char head[MODEL_WORDS_MAX];
    size_t end = 0;
    for (size_t i = 1; i < sizeof head; i++) {
        if (text[i - 1] == '\0')
            break;
        if (text[i] != ' ' && text[i] != '\0')
            continue;
        snprintf(head, i + 1, "%s", text);
        if (runes_columns(head) > columns)
            break;
        end = i;
    }
    return end;
}

static void draw_words(const char *text, Grid *g, int y, int rows)
{
    int width = g->width - INDENT - 1;
    for (; rows > 1 && runes_columns(text) > width; rows--, y++) {
        size_t size = fitting(text, width);
        if (size == 0)
            break;
        grid_printf(g, y, INDENT, width, STYLE_NORMAL, "%.*s", (int)size, text);
        text += size + strspn(text + size, " ");
    }
    part_clip(g, y, INDENT, width, STYLE_NORMAL, text);
}

static void draw_plan(
    const ModelFingers *f, int plan, Grid *g, const FingersLayout *l, const NoteWindow *w)
{
    int y = l->plans + plan * l->each;
    const ModelPlan *p = &f->plans[plan];
    draw_head(f, plan, g, y++);
    if (l->words > 0)
        draw_words(p->words, g, y, l->words);
    y += l->words;
    draw_fingers(f, p, g, y, w);
    if (l->brackets)
        note_brackets(p->notes, f->note_count, g, y + 1, w);
}

static void draw_foot(const Model *m, Grid *g, const FingersLayout *l)
{
    const ModelFingers *f = &m->fingers;
    char line[MODEL_TEXT_MAX + 4];
    if (l->foot > 0)
        part_clip(g, l->foot, EDGE, g->width - EDGE - 1, STYLE_NORMAL, f->plans[f->cursor].words);
    snprintf(line, sizeof line, "! %s", f->finding);
    if (f->finding[0] != '\0' && !(l->finding == l->message && part_has_message(m)))
        part_clip(g, l->finding, 1, g->width - 2, STYLE_WARNING, line);
    if (part_has_message(m))
        part_message(m, g, l->message);
}

static bool usable(const ModelFingers *f)
{
    return f->note_count > 0 && f->plan_count > 0 && f->plan_count <= MODEL_PLANS_MAX &&
           f->note >= 0 && f->note < f->note_count && f->cursor >= 0 && f->cursor < f->plan_count &&
           f->used >= 0 && f->used < f->plan_count;
}

void view_fingers(const Model *m, Grid *g)
{
    static const KeyHint hints[] = {{ACTION_BACK, "back"}, {ACTION_CHOOSE, "choose"},
        {ACTION_UNDO, "undo"}, {ACTION_SAVE, "save"}, {ACTION_FINGER_FREE, "any finger"},
        {ACTION_HELP, "help"}};
    const ModelFingers *f = &m->fingers;
    char title[MODEL_TEXT_MAX + 16], place[64] = "", first[32];
    snprintf(title, sizeof title, "Fingers: %s", m->title);
    if (usable(f))
        snprintf(place, sizeof place, "%snote %d of %d", f->unsaved ? "not saved  " : "",
            f->note + 1, f->note_count);
    part_bar(g, 0, title, place);
    if (usable(f)) {
        FingersLayout l = lay_out(m, g->width, g->height);
        NoteWindow w = window_of(f, g->width);
        draw_names(f, g, &l, &w);
        for (int plan = 0; plan < f->plan_count; plan++)
            draw_plan(f, plan, g, &l, &w);
        draw_foot(m, g, &l);
    } else {
        part_clip(g, 2, 4, g->width - 5, STYLE_NORMAL, "There is no fingering for this passage.");
        if (part_has_message(m))
            part_message(m, g, g->height - 2);
    }
    snprintf(first, sizeof first, "%s-%s: finger", keys_name(ACTION_FINGER_1, m->screen),
        keys_name(ACTION_FINGER_4, m->screen));
    part_hints(m, g, first, hints, sizeof hints / sizeof hints[0]);
}
