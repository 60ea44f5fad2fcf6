/* fingering_fro.h - the search's part for groups to and fro (fingering_across.h). Internal to the
 * room; pure.
 *
 * Such a group may last for bars, so that its shape does not tell where it began. But what it can
 * still become depends only on its fingers and on which of them have their strings already: as
 * many of the last distinct strings as there are such fingers. For each of these states the K best
 * ways are carried on from stop to stop, each with the stop where it began.
 */
#ifndef EVENHAND_SRC_HARP_FINGERING_FRO_H
#define EVENHAND_SRC_HARP_FINGERING_FRO_H

#include "fingering_ways.h"

typedef struct Fro Fro;

/* Whether any group of the passage can go to and fro. */
bool fro_possible(const Rules *r);
/* NULL without memory; `wanted` is K. */
Fro *fro_make(const Rules *r, size_t wanted);
void fro_free(Fro *f);

/* The ways into groups and out of them. */
typedef struct {
    const Way *entry;  /* K, from groups before the one that begins on the stop before: what it
                        * costs to come to it is the same for all. NULL: it begins the passage */
    const Way *pivots; /* K for each finger that stays on the stop before, from 1 on */
    Way *exits;        /* K for each last finger of the groups that end here */
} FroDoors;

/* Carries all on to stop `end`; called for each in turn, from the second on. */
void fro_step(Fro *f, size_t end, const FroDoors *doors);

#endif
