/* fingering_figures.h - runs that come back. Internal to the room; pure.
 *
 * A run is a stretch of stops going one way, from turn (or start, or rest) to turn, of at least
 * FIGURE_STOPS stops. Two runs are the same figure when they stand on the same strings. */
#ifndef EVENHAND_SRC_HARP_FINGERING_FIGURES_H
#define EVENHAND_SRC_HARP_FINGERING_FIGURES_H

#include "fingering_search.h"

enum { FIGURE_STOPS = 4 };

/* Writes into the stops of each later run the fingers that the chain gives to the same run
 * where it stands first. False where no run comes back differently. */
bool figures_want(Rules *r, const Chain *chain);

#endif
