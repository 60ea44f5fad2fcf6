/* abc_values.h - what the values of M:, L: and Q: mean. Pure. */
#ifndef ABC_VALUES_H
#define ABC_VALUES_H

#include "abc_lines.h"

#include "evenhand/music/metre.h"
#include "evenhand/music/tempo.h"

/* "C", "C|", "none", "6/8", "(2+3)/8", "2+3/8"; false, with *m as it was, if it is
 * none of these. */
bool abc_value_metre(const AbcLine *value, Metre *m);
/* "1/8": a length as a fraction of a whole note, in quarters; false if it is none. */
bool abc_value_length(const AbcLine *value, Ratio *quarters);
/* "1/4=72", "1/4 3/8 1/4=40" (the beat is their sum), "\"Allegro\" 1/4=120", and the older "120",
 * "C=120", "C3=120", which count quarters and units. False if no number of beats is given; the
 * number may lie outside a Tempo's range. */
bool abc_value_tempo(const AbcLine *value, Ratio unit, Tempo *t);

#endif
