/* view_practice_panel.h - the band of large figures, as its parts share it. Pure. */
#ifndef EVENHAND_SRC_CONSOLE_VIEW_PRACTICE_PANEL_H
#define EVENHAND_SRC_CONSOLE_VIEW_PRACTICE_PANEL_H

#include "view_practice.h"

typedef struct {
    const Model *m;
    Grid *g;
    const PracticeLayout *l;
    int y, rows;
} Panel;

/* The row under the figures, if nothing else stands there; -1: there is none. */
int panel_foot(const Panel *p);
/* Columns where what stands left of the beat must end. */
int panel_end(const Panel *p);
void panel_label(const Panel *p, int x, int width, Style style, const char *text);
/* The finger, or all those of a chord, in the frame that says: this is a finger. */
void panel_finger(const Panel *p, const ModelNote *n, Style style, const char *label);
/* What the coming drill wants, before it begins. False where there is nothing to show. */
bool panel_cue(const Panel *p);

#endif
