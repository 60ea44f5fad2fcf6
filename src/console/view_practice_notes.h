/* view_practice_notes.h - the part of the passage that is shown. Pure. */
#ifndef EVENHAND_SRC_CONSOLE_VIEW_PRACTICE_NOTES_H
#define EVENHAND_SRC_CONSOLE_VIEW_PRACTICE_NOTES_H

#include "view_practice.h"

typedef struct {
    int first, count;      /* notes shown */
    int focus;             /* note that it is all about */
    int cell;              /* columns of a name */
    bool octaves;          /* names carry their octave's number */
    int lowest, highest;   /* strings of the notes shown */
    int x[GRID_WIDTH_MAX]; /* column of each */
} NoteWindow;

void practice_brackets(const Model *m, Grid *g, const PracticeLayout *layout, const NoteWindow *w);

#endif
