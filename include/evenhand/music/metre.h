/* metre.h - time signatures: bar length, pulses, strong beats. Positions in quarter notes
 * from the bar line. */
#ifndef EVENHAND_MUSIC_METRE_H
#define EVENHAND_MUSIC_METRE_H

#include "evenhand/music/ratio.h"

enum { METRE_PARTS_MAX = 8, METRE_NUM_MAX = 64, METRE_TEXT_MAX = 40 };

typedef struct {
    int num;                    /* 1 .. METRE_NUM_MAX; 0: free metre (M:none) */
    int den;                    /* 1, 2, 4 ... 64; the unit that musicians count */
    int part_count;             /* additive metre, e.g. 3+2 of 5/8; 0: plain */
    int parts[METRE_PARTS_MAX]; /* their sum is num */
} Metre;

Metre metre(int num, int den);
bool metre_free(const Metre *m);
bool metre_equal(const Metre *a, const Metre *b);
/* Length of a full bar; 0 for free metre. */
Ratio metre_bar(const Metre *m);
/* The unit that is counted, 4 / den quarters; a quarter for free metre. */
Ratio metre_unit(const Metre *m);
/* True where beats are dotted: num is 6, 9, 12 ... and the metre is not additive. */
bool metre_compound(const Metre *m);
/* Where the foot taps: each unit of a simple metre, each third unit of a compound one, each
 * part of an additive one. Fills at, returns how many (>= 1; free metre: 1, at 0). */
int metre_pulses(const Metre *m, Ratio at[METRE_NUM_MAX]);
/* Base pattern of strong beats: 1 and the middle of an even simple metre of 4 or more; 1 of
 * other simple metres; every dotted beat of a compound metre (1 and 4 of six quavers); every
 * part of an additive one. [common practice; issue text] */
int metre_strong(const Metre *m, Ratio at[METRE_NUM_MAX]);
/* "4/4", "(3+2)/8", "free". Returns out. */
char *metre_text(const Metre *m, char out[METRE_TEXT_MAX]);

#endif
