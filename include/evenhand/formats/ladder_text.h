/* ladder_text.h - a tempo ladder as text: rungs, repetitions, notes a second, time. Pure. */
#ifndef EVENHAND_FORMATS_LADDER_TEXT_H
#define EVENHAND_FORMATS_LADDER_TEXT_H

#include "evenhand/music/text.h"
#include "evenhand/plan/ladder.h"

/* Lent. Where something is not known its column, or its sentence, is left out. */
typedef struct {
    const Ladder *ladder;
    const char *title;   /* any text: cleaned here; NULL: numbers without a passage */
    const char *drill;   /* as --drill takes it */
    Ratio note_length;   /* quarters that most notes last; 0/1: not known */
    Ratio quarters;      /* one repetition, from bar line to bar line; 0/1: not known */
    Ratio count_in;      /* quarters counted in before the first one */
    const char *warning; /* a sentence; "" none */
} LadderSheet;

/* Appends at most 80 columns a line. Times are those of a climb in which every repetition is
 * clean, one straight after the other: rounded to a tenth of a second for one, to a second for a
 * rung and the whole. ERROR_MEMORY. */
bool ladder_text(Text *out, const LadderSheet *sheet, Error *error);

#endif
