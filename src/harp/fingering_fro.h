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

/* A way into a group: the chains before it, by their K, and the shape's part that says how. */
typedef struct {
    const Way *ways; /* K of them; NULL: the group begins the passage */
    bool pivot;
} FroEntry;

/* Ways into a group whose first stop is `start`, of so many fingers, the first of them `finger`:
 * afresh, and where `pivot` on the turn that ended the group before. */
typedef FroEntry FroEntries(const void *search, size_t start, int size, int finger, bool pivot);
/* Takes a way that ends on the stop, of a group of so many fingers, the last of them `finger`. */
typedef void FroExit(const void *search, size_t end, int size, int finger, const Way *way);

/* Carries all on to stop `end`; called for each in turn. */
void fro_step(Fro *f, size_t end, const void *search, FroEntries *entries, FroExit *leave);

#endif
