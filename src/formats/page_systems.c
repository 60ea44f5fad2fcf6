/* The passage in systems, wrapped on groups and, where that wastes little, on bar lines:
 *
 *   3                     bar number
 *   | 1   +   2   +       as the beats are counted
 *   | >       >           strong beats
 *   |             o
 *   |         o           how high the strings lie; C and F strings drawn through
 *   |     o
 *   | o
 *   | [C4] D4  E4 _F4_    names
 *   |            .--v     cross over, place afresh
 *   | 4   3   2   1       fingers
 *   |            `--^     cross under, lift, other hand
 *     '---- 1 ----'       groups
 *     L        turn         which hand, where they take turns
 *              F#         pedals and levers that move
 */
#include "page_systems.h"

#include "evenhand/harp/hands.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double gutter = 9, cell_min = 9.4, bar_gap = 2.6;

static size_t block_of(const PagePen *pen, size_t note)
{
    return (size_t)pen->p->notes[note].block;
}

bool system_bar_starts(const PagePen *pen, size_t block)
{
    return block == 0 || pen->p->notes[block].bar != pen->p->notes[block - 1].bar;
}

static double width_of(const System *s, size_t first, size_t end)
{
    double width = 0;
    for (size_t i = first; i < end; i = passage_block_end(s->pen->p, i))
        width += s->cell + (system_bar_starts(s->pen, i) ? s->gap : 0);
    return width;
}

/* One past the group that the block at `at` belongs to. */
static size_t group_end(const PagePen *pen, size_t at)
{
    const FingerGroup *g = &pen->f->groups[pen->f->notes[at].group];
    size_t last = (size_t)g->last >= at ? (size_t)g->last : at;
    return passage_block_end(pen->p, last);
}

static bool wider(const System *s, size_t first, size_t end, double limit)
{
    double width = 0;
    for (size_t i = first; i < end && width <= limit; i = passage_block_end(s->pen->p, i))
        width += s->cell + (system_bar_starts(s->pen, i) ? s->gap : 0);
    return width > limit;
}

/* One past what a system has whole: the group that the block at `at` belongs to; of one that no
 * line holds, a figure to and fro for bars, the rest of the bar; else the block. */
static size_t whole_end(const System *s, size_t at, double limit)
{
    const PagePen *pen = s->pen;
    size_t end = group_end(pen, at), first = (size_t)pen->f->groups[pen->f->notes[at].group].first;
    if (!wider(s, first, end, limit))
        return end;
    size_t next = passage_block_end(pen->p, at), block = next;
    while (next < end && !system_bar_starts(pen, next))
        next = passage_block_end(pen->p, next);
    return wider(s, at, next, limit) ? block : next;
}

/* Where a system that begins at `first` ends: with the last whole group that fits, or with a bar
 * line before it that leaves two thirds of the width filled. */
static size_t end_within(const System *s, size_t first, double limit)
{
    const Passage *p = s->pen->p;
    size_t end = first, at_bar = first;
    double used = 0, used_at_bar = 0;
    while (end < p->note_count) {
        size_t next = whole_end(s, end, limit);
        double more = width_of(s, end, next);
        if (end > first && used + more > limit)
            break;
        used += more;
        end = next;
        if (end < p->note_count && system_bar_starts(s->pen, end)) {
            at_bar = end;
            used_at_bar = used;
        }
    }
    return end < p->note_count && used_at_bar > 0.66 * limit ? at_bar : end;
}

static int systems_within(const System *s, double limit)
{
    int count = 0;
    for (size_t at = 0; at < s->pen->p->note_count; count++)
        at = end_within(s, at, limit);
    return count;
}

/* The narrowest limit that needs no more systems than the whole width does. */
static double balance(const System *s, double room)
{
    int wanted = systems_within(s, room);
    double low = room / 2, high = room;
    for (int i = 0; wanted > 1 && i < 10; i++) {
        double middle = (low + high) / 2;
        if (systems_within(s, middle) <= wanted)
            high = middle;
        else
            low = middle;
    }
    return high;
}

/* Cells as wide as the widest name needs, then as wide as the page allows. */
static void size_cells(System *s)
{
    PagePen *pen = s->pen;
    char name[PITCH_NAME_MAX];
    double room = pen->right - pen->left - gutter - 1, widest = 0;
    s->cell = cell_min * pen->scale;
    s->gap = bar_gap * pen->scale;
    for (size_t i = 0; i < pen->p->note_count; i++) {
        page_name(pen, pen->p->notes[i].pitch, name);
        s->cell = page_larger(s->cell, page_width_of(pen, &s->name, name) + 2.6 * pen->scale);
    }
    s->limit = balance(s, room);
    for (size_t at = 0, end; at < pen->p->note_count; at = end) {
        end = end_within(s, at, s->limit);
        widest = page_larger(widest, width_of(s, at, end));
    }
    double stretch = widest > 0 ? room / widest : 1;
    s->stretch = stretch > 1.6 ? 1.6 : stretch < 1 ? 1 : stretch;
}

/* ---- one system ---------------------------------------------------------------------------- */

/* How many names, fingers and moves stand above each other at most; lowest, highest string. */
static void survey(System *s)
{
    const PagePen *pen = s->pen;
    s->names = s->fingers = 1;
    s->moves = 0;
    s->low = s->high = pitch_string(pen->p->notes[s->first].pitch);
    for (size_t i = s->first, end; i < s->end; i = end) {
        size_t fingers = 0;
        end = passage_block_end(pen->p, i);
        for (size_t k = i; k < end; k++) {
            int string = pitch_string(pen->p->notes[k].pitch);
            s->low = string < s->low ? string : s->low;
            s->high = string > s->high ? string : s->high;
            fingers += pen->f->notes[k].finger > 0;
        }
        int moves = page_moves(pen, i);
        s->names = end - i > s->names ? end - i : s->names;
        s->fingers = fingers > s->fingers ? fingers : s->fingers;
        s->moves = moves > s->moves ? moves : s->moves;
    }
}

/* Heights from the top down. */
static double arrange(System *s)
{
    const double k = s->pen->scale, most = 25 * k, best = 1.8 * k;
    int strings = s->high - s->low;
    s->string_step = strings * best > most ? most / strings : best;
    s->stair_top = 12 * k;
    s->stair_bottom = s->stair_top + strings * s->string_step;
    s->name_base = s->stair_bottom + 6.4 * k + (double)(s->names - 1) * s->name_row;
    s->finger_top = s->name_base + 5.2 * k;
    s->finger_bottom =
        s->finger_top + (double)s->fingers * s->finger_row - (s->finger_row - s->finger.cap);
    s->bracket = s->finger_bottom + 5.9 * k;
    s->word_base = s->bracket + 3.4 * k;
    return s->word_base + s->moves * 3.8 * k + 3.8 * k;
}

static void place(System *s)
{
    double x = s->pen->left + gutter;
    for (size_t i = s->first, end; i < s->end; i = end) {
        end = passage_block_end(s->pen->p, i);
        x += (system_bar_starts(s->pen, i) ? s->gap : 0) * s->stretch;
        for (size_t k = i; k < end; k++)
            s->x[k] = x + s->cell * s->stretch / 2;
        x += s->cell * s->stretch;
    }
    s->right = x;
}

static void move_down(System *s, double by)
{
    double *const all[] = {&s->stair_top, &s->stair_bottom, &s->name_base, &s->finger_top,
        &s->finger_bottom, &s->bracket, &s->word_base};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
        *all[i] += by;
    s->top = by;
}

static void one_system(System *s)
{
    survey(s);
    double height = arrange(s);
    page_room(s->pen, height);
    place(s);
    move_down(s, s->pen->y);
    system_strings(s);
    system_stairs(s);
    for (size_t i = s->first; i < s->end; i = passage_block_end(s->pen->p, i))
        system_block(s, i);
    system_hand(s);
    s->pen->y += height;
}

static void letterings(System *s)
{
    const double k = s->pen->scale;
    s->name = (Lettering){3 * k, true, INK_BLACK, "name"};
    s->finger = (Lettering){5.3 * k, true, INK_BLACK, "finger"};
    s->beat = (Lettering){1.9 * k, false, INK_GREY, "beat"};
    s->bar = (Lettering){2.3 * k, true, INK_BLACK, "bar"};
    s->word = (Lettering){1.9 * k, false, INK_BLACK, "word"};
    s->hand = (Lettering){2.5 * k, true, INK_BLACK, "hand"};
    s->name_row = 5.6 * k;
    s->finger_row = 6.6 * k;
}

void page_systems(PagePen *pen)
{
    System s = {.pen = pen, .x = malloc(pen->p->note_count * sizeof *s.x)};
    if (s.x == NULL) {
        pen->failed = true;
        return;
    }
    s.by_turns = pen->p->hands == HANDS_ALTERNATE;
    s.left_first = s.by_turns && hands_left_first(pen->p);
    letterings(&s);
    size_cells(&s);
    for (s.first = 0; s.first < pen->p->note_count; s.first = s.end) {
        s.end = end_within(&s, s.first, s.limit);
        one_system(&s);
    }
    free(s.x);
}

double system_note_y(const System *s, size_t note)
{
    return s->stair_bottom - (pitch_string(s->pen->p->notes[note].pitch) - s->low) * s->string_step;
}

double system_x(const System *s, size_t note)
{
    return s->x[block_of(s->pen, note)];
}
