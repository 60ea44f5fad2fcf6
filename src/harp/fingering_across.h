/* fingering_across.h - groups across a change of direction. Internal to the room; pure.
 *
 * Where a figure goes to and fro on a few strings around one that comes back on every second
 * stroke, the hand stays where it is, each finger on its string [cp]:
 *
 *      C G E G C G E G      one placement, 3 1 2 1: the thumb on what comes back
 *      c E G E c E G E      1 3 2 3
 *      c d c d c d          2 1 2 1 2 1
 *
 * Such a group has ACROSS_STOPS stops or more, on two to four strings, without a breath or a
 * chord; every stop inside is a turn, and every second one is on the same string. It begins and
 * ends on a turn or where the hand is free, so that a run which turns, a scale or an arpeggio,
 * has none of it: there the turning finger stays and the others go back on. For the same reason
 * nothing crosses into it or out of it.
 */
#ifndef EVENHAND_SRC_HARP_FINGERING_ACROSS_H
#define EVENHAND_SRC_HARP_FINGERING_ACROSS_H

#include "fingering_rules.h"

enum { ACROSS_STOPS = 4 };

/* Whether a run does not go on through this stop: what begins (ends) on it is no part of it. */
bool across_may_begin(const Rules *r, size_t stop);
bool across_may_end(const Rules *r, size_t stop);
/* Whether groups can begin on this stop, by the ACROSS_STOPS stops from it on. */
bool across_from(const Rules *r, size_t stop);
/* What the strings of a hand cost beside each other: the shape, the stretches, the wish. */
int32_t across_hand(const Rules *r, const Hand *hand);

/* As rules_group and rules_ends have it. */
int32_t across_group(const Rules *r, const ChainLink *group);
GroupEnds across_ends(const Rules *r, const ChainLink *group);

#endif
