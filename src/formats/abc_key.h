/* abc_key.h - K: (and the clef words of V:): key signatures, clefs, transposition. */
#ifndef ABC_KEY_H
#define ABC_KEY_H

#include "abc_lines.h"

#include "evenhand/music/passage.h"

/* What the words of a K: or V: value say beside the key itself. */
typedef struct {
    bool bass;         /* a bass clef is named */
    bool octave_given; /* octave= or a clef with +8 or -8 */
    int octave;        /* octaves that notes sound above what is written */
    bool transpose_given;
    int transpose; /* semitones, likewise */
} AbcClef;

typedef struct {
    bool given;      /* a tonic, "none" or a bagpipe key; without it only the clef is told */
    bool unknown;    /* the mode is no word that ABC 2.1 knows: taken as major */
    bool unread;     /* words that name neither key, accidentals nor clef, and nothing else */
    bool changes;    /* accidentals are written out */
    int8_t alter[7]; /* of each Letter, in semitones */
    char name[PASSAGE_KEY_MAX];
    AbcClef clef;
} AbcKey;

/* Reads a value on top of the signature that is in force (for "K:^g" alone). */
void abc_key(const AbcLine *value, const int8_t in_force[7], AbcKey *key);
void abc_clef(const AbcLine *value, AbcClef *clef);

/* The pitch `semitones` higher, spelled as a transposed part would be. */
Pitch abc_transpose(Pitch p, int semitones);

#endif
