/* The passage as systems of text, wrapped on groups:
 *
 *   bar     │ 1                               │ 2
 *   beat    │ 1   +   2   +   3   +   4   +   │ 1
 *   strong  │ >               >               │ >
 *   link    │                 ↗               │
 *   note    │ C4  D4  E4  F4  G4  A4  B4  C5  │ ...
 *   finger  │ 4   3   2   1   4   3   2   1   │
 *   group     └1──────────┘   └2──────────┘
 */
#include "sheet_pen.h"

#include "evenhand/harp/hands.h"

#include <stdio.h>
#include <string.h>

enum { LABEL = 8, BAR_LINE = 2, CELL_MIN = 4 };

typedef enum {
    ROW_BAR,
    ROW_BEAT,
    ROW_STRONG,
    ROW_LINK,
    ROW_NOTE,
    ROW_FINGER,
    ROW_HAND,
    ROW_GROUP
} Row;

static bool starts_bar(const Passage *p, size_t note)
{
    return note == 0 || p->notes[note].bar != p->notes[note - 1].bar;
}

static int cell_width(const Pen *pen)
{
    int width = CELL_MIN;
    char name[PITCH_NAME_MAX];
    for (size_t i = 0; i < pen->p->note_count; i++) {
        int notes = (int)(passage_block_end(pen->p, i) - (size_t)pen->p->notes[i].block);
        int wide = text_columns(pen_name(pen, i, name)) + 1;
        width = wide > width ? wide : width;
        width = notes + 1 > width ? notes + 1 : width;
    }
    return width < pen->width / 2 ? width : pen->width / 2;
}

/* Columns that blocks from `first` to before `end` take. */
static int stretch_width(const Pen *pen, size_t first, size_t end, int cell)
{
    int width = 0;
    for (size_t i = first; i < end; i = passage_block_end(pen->p, i))
        width += cell + (starts_bar(pen->p, i) ? BAR_LINE : 0);
    return width;
}

/* One past what a system has whole: the group of the block at `at`; of one that no line holds, a
 * figure to and fro for bars, the rest of the bar; else the block. */
static size_t whole_end(const Pen *pen, size_t at, int cell, int room)
{
    const FingerGroup *g = &pen->f->groups[pen->f->notes[at].group];
    size_t end = (size_t)g->last + 1, first = (size_t)g->first;
    end = passage_block_end(pen->p, end > at ? end - 1 : at);
    size_t far = first + (size_t)(room / cell) + 1; /* wider than the room */
    if (!g->across || stretch_width(pen, first, end < far ? end : far, cell) <= room)
        return end;
    size_t next = passage_block_end(pen->p, at), block = next;
    while (next < end && !starts_bar(pen->p, next))
        next = passage_block_end(pen->p, next);
    return stretch_width(pen, at, next, cell) > room ? block : next;
}

/* Where the system that begins at `first` ends: after as many whole groups as fit. */
static size_t system_end(const Pen *pen, size_t first, int cell)
{
    int room = pen->width - LABEL, used = 0;
    size_t end = first;
    while (end < pen->p->note_count) {
        size_t next = whole_end(pen, end, cell, room);
        int more = stretch_width(pen, end, next, cell);
        if (end > first && used + more > room)
            break;
        used += more;
        end = next;
    }
    return end;
}

static void beat_text(const Passage *p, size_t note, char out[RATIO_TEXT_MAX])
{
    Ratio beat = passage_beat(p, note);
    if (beat.den == 1)
        ratio_text(beat, out);
    else
        strcpy(out, beat.den == 2 ? "+" : ".");
}

/* Fingers of a block from low to high, as on the page of a chord read upwards. */
static void finger_text(const Pen *pen, size_t block, char out[PASSAGE_BLOCK_MAX + 1])
{
    size_t size = 0, end = passage_block_end(pen->p, block);
    for (size_t i = block; i < end && size < PASSAGE_BLOCK_MAX; i++) {
        int finger = pen->f->notes[i].finger;
        out[size++] = finger > 0 ? (char)('0' + finger) : '-';
    }
    out[size] = '\0';
}

/* What stands in one cell; `level` counts the notes of a chord from the top. */
static void cell_text(const Pen *pen, Row row, size_t block, size_t level, size_t levels, char *out)
{
    const Passage *p = pen->p;
    size_t notes = passage_block_end(p, block) - block;
    out[0] = '\0';
    if (row == ROW_BAR && starts_bar(p, block))
        snprintf(out, RATIO_TEXT_MAX, "%d", p->bars[p->notes[block].bar].number);
    else if (row == ROW_BEAT)
        beat_text(p, block, out);
    else if (row == ROW_STRONG)
        strcpy(
            out, pen->r->places[0].shift.num == 0 && rotation_accents(pen->r, block, 0) ? ">" : "");
    else if (row == ROW_LINK)
        strcpy(out, link_sign((Link)pen->f->notes[block].link, pen->utf8));
    else if (row == ROW_NOTE && levels - level <= notes)
        pen_name(pen, block + (levels - level) - 1, out);
    else if (row == ROW_FINGER)
        finger_text(pen, block, out);
    else if (row == ROW_HAND)
        strcpy(
            out, hands_left_group(pen->left_first, (size_t)pen->f->notes[block].group) ? "L" : "R");
}

static void cells(
    Pen *pen, Row row, size_t first, size_t end, int cell, size_t level, size_t levels)
{
    static const char *const labels[] = {"bar", "beat", "strong", "link", "note", "finger", "hand"};
    char text[RATIO_TEXT_MAX];
    pen_field(pen, row == ROW_NOTE && level > 0 ? "" : labels[row], LABEL);
    for (size_t i = first; i < end; i = passage_block_end(pen->p, i)) {
        if (starts_bar(pen->p, i))
            pen_put(pen, "%s ", pen->utf8 ? "│" : "|");
        cell_text(pen, row, i, level, levels, text);
        pen_field(pen, text, cell);
    }
    pen_put(pen, "\n");
}

/* What the bracket shows at one block. */
typedef struct {
    bool opens, closes;
    bool spans; /* its group goes on after this block */
    int32_t number;
} Bracket;

static Bracket bracket_at(const Pen *pen, size_t block)
{
    const FingeredNote *n = &pen->f->notes[block];
    const FingerGroup *g = &pen->f->groups[n->group];
    size_t last = (size_t)g->last;
    bool ends = passage_block_end(pen->p, block) > last;
    bool shared = (size_t)n->group + 1 < pen->f->group_count &&
                  pen->f->groups[n->group + 1].pivot >= 0 && ends;
    bool first = (size_t)g->first == block && g->pivot < 0;
    return (Bracket){.opens = first || shared,
        .closes = ends,
        .spans = !ends || shared,
        .number = n->group + (shared ? 2 : 1)};
}

static void brackets(Pen *pen, size_t first, size_t end, int cell)
{
    static const char *const drawn[2][5] = {{"\\", "/", "^", "_", "-"}, {"└", "┘", "┴", "─", "╶"}};
    const char *const *sign = drawn[pen->utf8 ? 1 : 0];
    bool inside = false;
    pen_field(pen, "group", LABEL);
    for (size_t i = first; i < end; i = passage_block_end(pen->p, i)) {
        Bracket b = bracket_at(pen, i);
        if (i == first)
            inside = !b.opens || pen->f->groups[pen->f->notes[i].group].pivot >= 0;
        for (int k = 0; starts_bar(pen->p, i) && k < BAR_LINE; k++)
            pen_put(pen, "%s", inside ? sign[3] : " ");
        char number[16] = "";
        bool alone = b.opens && b.closes && !b.spans;
        if (b.opens)
            snprintf(number, sizeof number, "%d", (int)b.number);
        if (alone)
            pen_put(pen, "%s", sign[4]);
        else
            pen_put(pen, "%s",
                b.opens && b.closes ? sign[2]
                : b.closes          ? sign[1]
                : b.opens           ? sign[0]
                                    : sign[3]);
        pen_put(pen, "%s", number);
        for (int k = 1 + (int)strlen(number); k < cell; k++)
            pen_put(pen, "%s", b.spans ? sign[3] : " ");
        inside = b.spans;
    }
    pen_put(pen, "\n");
}

static void legend(Pen *pen)
{
    bool used[LINK_KINDS] = {false};
    char words[256] = "";
    for (size_t i = 0; i < pen->f->note_count; i++)
        used[pen->f->notes[i].link] = true;
    for (int link = LINK_CROSS_UNDER; link < LINK_KINDS; link++) {
        size_t size = strlen(words);
        if (used[link])
            snprintf(words + size, sizeof words - size, "%s%s %s", size ? ", " : "",
                link_sign((Link)link, pen->utf8), link_word((Link)link));
    }
    if (words[0])
        pen_put(pen, "\nlinks:  %s\n", words);
}

/* Cuts the blanks that cells leave at the ends of lines, from byte `from` on. */
static void trim(Text *out, size_t from)
{
    size_t to = from, line = from;
    for (size_t i = from; i < out->size; i++) {
        if (out->bytes[i] == '\n')
            while (to > line && out->bytes[to - 1] == ' ')
                to--;
        out->bytes[to++] = out->bytes[i];
        if (out->bytes[i] == '\n')
            line = to;
    }
    if (out->bytes) {
        out->size = to;
        out->bytes[to] = '\0';
    }
}

void sheet_systems(Pen *pen)
{
    int cell = cell_width(pen);
    size_t from = pen->out->size;
    for (size_t first = 0, end; first < pen->p->note_count; first = end) {
        end = system_end(pen, first, cell);
        size_t levels = 1;
        for (size_t i = first; i < end; i = passage_block_end(pen->p, i)) {
            size_t notes = passage_block_end(pen->p, i) - i;
            levels = notes > levels ? notes : levels;
        }
        pen_put(pen, "\n");
        for (int row = ROW_BAR; row <= (pen->by_turns ? ROW_HAND : ROW_FINGER); row++)
            for (size_t k = 0; k < (row == ROW_NOTE ? levels : 1); k++)
                cells(pen, (Row)row, first, end, cell, k, levels);
        brackets(pen, first, end, cell);
    }
    if (!pen->failed)
        trim(pen->out, from);
    legend(pen);
}
