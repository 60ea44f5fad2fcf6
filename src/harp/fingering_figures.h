/* fingering_figures.h - figures that come back in a passage. Internal to the room; pure.
 *
 * What a player learns as one thing, and expects under the same fingers next time [cp], begins
 * and ends where the hand has something to do: at an EDGE, which is the start or end of the
 * passage, a rest, a turn, a leap past a crossing, a chord or a string struck again. A figure is
 *
 *      a run       stops going one way, from edge to edge               4 stops or more
 *      a stretch   runs one after the other, from edge to edge          6 stops or more
 *      a phrase    all from rest to rest, whatever is in it             4 stops or more
 *
 * so a turning stop ends one run and begins the next. Rhythm does not matter: what is learnt
 * slowly keeps its fingers. A figure comes back
 *
 *      WHOLE   on the same strings, wherever that is;
 *      MOVED   a run or phrase by the same steps from another string, come to and left by the
 *              same kind of edge: fingers depend on how strings lie to each other, not on which
 *              they are [cp]. Where the teacher's wish goes by letters, only from the same letter;
 *      BEGUN   a run that is the beginning of another run on the same strings;
 *      ENDING  a run that is the end of another run on the same strings, and stands on the same
 *              pulse of the bar.
 *
 * A run that is part of another is the same figure only while it is most of it: at least
 * FIGURE_PART stops, and three quarters of the longer run. An octave of 4+4 after its first five
 * notes as 3+2 is no contradiction.
 *
 *      C D E F G A B c d . . . turn        C D E F G A B c d e f g . . . turn       BEGUN
 *      |---- figure ----|                  |---- figure ----|
 *
 * A scale does not return in itself a string higher or an octave later: none of its parts has
 * an edge at both ends. */
#ifndef EVENHAND_SRC_HARP_FINGERING_FIGURES_H
#define EVENHAND_SRC_HARP_FINGERING_FIGURES_H

#include "fingering_search.h"

enum { FIGURE_STOPS = 4, FIGURE_PART = 5, FIGURE_STRETCH = 6 };

typedef enum { RETURN_WHOLE, RETURN_MOVED, RETURN_BEGUN, RETURN_ENDING } ReturnKind;

typedef struct {
    int32_t first;   /* stop on which the figure comes back */
    int32_t earlier; /* stop on which it began when it was first met; < first */
    int32_t count;   /* stops; a stretch may run on past its own beginning */
    ReturnKind kind;
} Return;

typedef enum { EDGE_NONE, EDGE_REST, EDGE_TURN, EDGE_LEAP, EDGE_OTHER } Edge;

/* What stands between this stop and the one before, for what goes to it or comes from it;
 * EDGE_REST for stop 0 and for one past the last. EDGE_NONE in mid-run; a turn is told on the
 * turning stop, which is the last of its run: `begins` false, and the first of the next. */
Edge figures_edge(const Rules *r, size_t stop, bool begins);

/* Every return, in order of `first`, the earliest place of each figure being its model. NULL
 * without memory or without returns; the caller frees. Time linear in stops: a run is at most
 * as long as the harp has strings. */
Return *figures_find(const Rules *r, const Passage *p, size_t *found);

/* Writes into the stops of a figure and of its returns the fingers that the chain gives to it
 * where it stands first, and what another finger costs. False where none differ. */
bool figures_want(Rules *r, const Passage *p, const Chain *chain);

#endif
