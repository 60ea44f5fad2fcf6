/* What joins notes: the line through a group, its bracket, and how the hand comes to the next. */
#include "page_systems.h"

#include "evenhand/harp/hands.h"

#include <stdio.h>

static const FingerGroup *group_at(const System *s, size_t group)
{
    return &s->pen->f->groups[group];
}

/* The first note of a group, its turning note included. */
static size_t begins(const FingerGroup *g)
{
    return (size_t)(g->pivot >= 0 ? g->pivot : g->first);
}

static void stair(System *s, const FingerGroup *g)
{
    const PagePen *pen = s->pen;
    size_t from = (size_t)pen->p->notes[begins(g)].block, last = (size_t)g->last;
    for (size_t i = from, next; i <= last; i = next) {
        next = passage_block_end(pen->p, i);
        if (i >= s->first && next < s->end && next <= last)
            page_line(s->pen, s->x[i], system_note_y(s, i), s->x[next], system_note_y(s, next),
                0.5 * pen->scale, INK_GREY);
    }
}

/* The bracket, broken in its middle for the group's number. */
static void bracket(System *s, size_t group)
{
    PagePen *pen = s->pen;
    const double k = pen->scale, half = s->cell * s->stretch / 2;
    const FingerGroup *g = group_at(s, group);
    size_t from = begins(g), last = (size_t)g->last;
    bool opens = from >= s->first, closes = last < s->end;
    bool shared = group + 1 < pen->f->group_count && group_at(s, group + 1)->pivot >= 0;
    double x1 = opens ? system_x(s, from) - (g->pivot >= 0 ? -0.5 * k : 0.62 * half)
                      : s->x[s->first] - half;
    double x2 = closes ? system_x(s, last) + (shared ? -0.5 * k : 0.62 * half) : s->right;
    char number[24];
    snprintf(number, sizeof number, "%zu", group + 1);
    double middle = (x1 + x2) / 2, room = page_width_of(pen, &s->beat, number) / 2 + 0.7 * k;
    if (x2 - x1 < 2 * room + 6 * k) {
        page_sign_bracket(pen, x1, x2, s->bracket, opens, closes, k);
        return;
    }
    page_text(pen, middle, s->bracket + s->beat.cap / 2, 0.5, &s->beat, number);
    page_sign_bracket(pen, x1, middle - room, s->bracket, opens, false, k);
    page_sign_bracket(pen, middle + room, x2, s->bracket, false, closes, k);
}

/* The gap before a block, clear of a bar line that stands there. */
static double left_of(const System *s, size_t block)
{
    double half = s->cell * s->stretch / 2, gap = s->gap * s->stretch;
    return s->x[block] - half - (system_bar_starts(s->pen, block) ? 1.1 * gap : 0);
}

static void link(System *s, size_t block)
{
    const double k = s->pen->scale, under = s->finger_bottom + 0.9 * k,
                 over = s->finger_top - 0.9 * k;
    double x2 = s->x[block],
           x1 = block > s->first ? system_x(s, block - 1) : x2 - 0.8 * s->cell * s->stretch;
    double middle = (x1 + x2) / 2;
    switch ((Link)s->pen->f->notes[block].link) {
    case LINK_CROSS_UNDER: page_sign_under(s->pen, x1, x2, under, k); break;
    case LINK_CROSS_OVER: page_sign_over(s->pen, x1, x2, over, k); break;
    case LINK_LIFT: page_sign_lift(s->pen, middle, under, k); break;
    case LINK_HAND: page_sign_hand(s->pen, middle, under, k); break;
    case LINK_START:
        if (block > 0)
            page_sign_afresh(s->pen, left_of(s, block), over - 3 * k, k);
        break;
    default: break;
    }
}

static void turn(System *s, const FingerGroup *g)
{
    const double k = s->pen->scale;
    double x = system_x(s, (size_t)g->pivot);
    size_t block = (size_t)s->pen->p->notes[g->pivot].block, fingers = 0;
    for (size_t i = block; i < passage_block_end(s->pen->p, block); i++)
        fingers += s->pen->f->notes[i].finger > 0;
    double top = s->finger_bottom - s->finger.cap -
                 (fingers > 1 ? (double)(fingers - 1) * s->finger_row : 0);
    page_sign_replace(s->pen, x, top, s->finger_bottom, k);
    page_text(s->pen, x, s->word_base, 0.5, &s->word, "turn");
}

/* Below a group's first note which hand has it, and anew where a system begins. */
static void whose(System *s, size_t group)
{
    bool left = hands_left_group(s->left_first, group);
    size_t first = begins(group_at(s, group));
    Lettering l = s->hand;
    l.what = left ? "left hand" : "right hand";
    page_text(s->pen, system_x(s, first > s->first ? first : s->first),
        s->word_base + 0.2 * s->pen->scale, 0.5, &l, left ? "L" : "R");
}

static void moves(System *s, size_t block)
{
    char text[24];
    Lettering l = s->word;
    l.what = "move";
    l.bold = true;
    for (int i = 0; i < page_moves(s->pen, block); i++) {
        page_move(s->pen, block, i, text, sizeof text);
        page_text(s->pen, s->x[block], s->word_base + (i + 1) * 3.8 * s->pen->scale, 0.5, &l, text);
    }
}

void system_stairs(System *s)
{
    size_t group = (size_t)s->pen->f->notes[s->first].group;
    for (; group < s->pen->f->group_count && begins(group_at(s, group)) < s->end; group++)
        stair(s, group_at(s, group));
}

void system_hand(System *s)
{
    const PagePen *pen = s->pen;
    size_t group = (size_t)pen->f->notes[s->first].group;
    for (; group < pen->f->group_count && begins(group_at(s, group)) < s->end; group++) {
        const FingerGroup *g = group_at(s, group);
        bracket(s, group);
        if (s->by_turns)
            whose(s, group);
        if (g->pivot >= 0 && (size_t)g->pivot >= s->first)
            turn(s, g);
    }
    for (size_t i = s->first; i < s->end; i = passage_block_end(pen->p, i)) {
        link(s, i);
        moves(s, i);
    }
}
