/* view_practice_notes.h - the part of the passage that is shown. Pure. */
#ifndef EVENHAND_SRC_CONSOLE_VIEW_PRACTICE_NOTES_H
#define EVENHAND_SRC_CONSOLE_VIEW_PRACTICE_NOTES_H

#include "view_practice.h"

typedef struct {
    int first, count;      /* notes shown; count 0: none */
    int focus;             /* note that it is all about; -1: there is none */
    int cell;              /* columns of a name */
    int bar_gap;           /* extra columns around a bar line */
    bool octaves;          /* names carry their octave's number */
    int lowest, highest;   /* strings of the notes shown */
    int x[GRID_WIDTH_MAX]; /* column of each */
} NoteWindow;

NoteWindow practice_window(const Model *m, int width);
/* "F#4", or without its octave "F#". */
void practice_note_name(const ModelNote *n, bool octaves, char out[MODEL_NAME_MAX]);
/* Row y under the notes of the window: a bracket for each group, heavy for that of the focus. */
void note_brackets(const ModelNote *notes, int count, Grid *g, int y, const NoteWindow *w);
void practice_brackets(const Model *m, Grid *g, const PracticeLayout *layout, const NoteWindow *w);

#endif
