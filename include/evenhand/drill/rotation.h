/* rotation.h - where a moving beat accent can land: the places of the rotation.
 *
 * The base pattern (strong beats of each bar) has a least period inside the bar: 2 quarters
 * for beats 1 and 3 of four. Moving it by one subdivision at a time visits every place of that
 * period. A note's place is how far it lies after a strong beat, modulo the period; the places
 * are the distinct values that occur, so over one whole rotation every note of the passage
 * carries the accent exactly once for each beat of the pattern's least period (once, for every
 * plain metre; once for each part of an additive one): nothing is missed, whatever the lengths.
 * Places on the subdivision's grid come first, in order; notes that lie between give the places
 * after them. Pure.
 */
#ifndef EVENHAND_DRILL_ROTATION_H
#define EVENHAND_DRILL_ROTATION_H

#include "evenhand/harp/fingering.h"
#include "evenhand/music/passage.h"

enum { BEAT_PATTERN_MAX = 16, ROTATION_PLACES_MAX = 1024 };

/* User-set strong beats, counted as musicians do: 1-based in the metre's unit (5/2 = the
 * second half of beat 2). count 0: the metre's own strong beats. */
typedef struct {
    int count;
    Ratio at[BEAT_PATTERN_MAX];
} BeatPattern;

typedef struct {
    Ratio shift;      /* quarters after the strong beat */
    bool on_grid;     /* a whole number of subdivisions */
    int notes;        /* blocks that carry the accent at this place */
    int by_finger[5]; /* of those, by finger of the block's lowest note; [0] unfingered */
    int32_t first;    /* passage index of the first such note */
} RotationPlace;

typedef struct {
    Ratio subdivision; /* quarters */
    RotationPlace *places;
    size_t place_count; /* >= 1 */
    int32_t *place_of;  /* [note * reach + k]: the k-th place of a note, -1: no more */
    size_t reach;       /* beats in the pattern's least period, at most (1 by default) */
    size_t note_count;
    Ratio period; /* least period of the first metre's pattern (four quarters where it is free) */
    Ratio beats[METRE_NUM_MAX]; /* its strong beats in that period, from the bar line */
    int beat_count;
} Rotation;

/* `f` may be NULL (by_finger stays 0). subdivision 0/1: the commonest note length. Beats of a
 * user pattern that lie outside a bar's metre are left out in that bar. ERROR_RANGE for a
 * pattern with a beat below 1; ERROR_LIMIT beyond ROTATION_PLACES_MAX. */
bool rotation_plan(const Passage *p, const Fingering *f, const BeatPattern *beats,
    Ratio subdivision, Rotation *out, Error *error);
void rotation_free(Rotation *r);
/* Whether note i carries the accent when the pattern stands at `place`. */
bool rotation_accents(const Rotation *r, size_t note, int place);
/* Reads "1,3" or "1,5/2". ERROR_USAGE. */
bool beat_pattern_parse(const char *text, BeatPattern *out, Error *error);

#endif
