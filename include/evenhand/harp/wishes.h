/* wishes.h - what a teacher sets, as words in a file: in the tune (%%evenhand fingers ...) or in
 * the player's defaults. Pure. */
#ifndef EVENHAND_HARP_WISHES_H
#define EVENHAND_HARP_WISHES_H

#include "evenhand/harp/fingering.h"

/* Reads words parted by blanks into *options, whose other fields stay: small=top, small=bottom,
 * small=LETTER, each-octave, avoid-twos, lifted, start=on, start=off, largest-group=3,
 * largest-group=4. ERROR_SYNTAX names the word that is none of these and lists them; *options is
 * then as it was. */
bool fingering_wishes(const char *words, FingeringOptions *options, Error *error);

#endif
