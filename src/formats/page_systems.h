/* page_systems.h - one system of the passage: page_systems.c finds its notes and sizes,
 * page_blocks.c draws what stands above and below each other, page_hand.c what joins notes. */
#ifndef PAGE_SYSTEMS_H
#define PAGE_SYSTEMS_H

#include "page_pen.h"

typedef struct {
    PagePen *pen;
    Lettering name, finger, beat, bar, word, hand;
    double cell, gap, stretch, limit; /* widths of a block and of a bar line's room */
    double name_row, finger_row;      /* heights where several stand above each other */
    double *x;                        /* middle of each note's block */
    size_t first, end;                /* notes */
    size_t names, fingers;            /* most of them at one block */
    int moves;                        /* pedals and levers, likewise */
    int low, high;                    /* strings */
    double string_step;
    double top, stair_top, stair_bottom, name_base, finger_top, finger_bottom, bracket, word_base;
    double right;              /* where the last cell ends */
    bool by_turns, left_first; /* hand over hand, and which begins */
} System;

bool system_bar_starts(const PagePen *pen, size_t block);
double system_note_y(const System *s, size_t note);
double system_x(const System *s, size_t note);

void system_strings(System *s);             /* C and F strings from left to right */
void system_stairs(System *s);              /* a line through each group's notes */
void system_block(System *s, size_t block); /* a note or chord from bar number to finger */
void system_hand(System *s);                /* links, turns, brackets, pedals and levers */

#endif
