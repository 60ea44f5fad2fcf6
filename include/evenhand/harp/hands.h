/* hands.h - the words for which hand plays, and hand over hand note by note. Pure. */
#ifndef EVENHAND_HARP_HANDS_H
#define EVENHAND_HARP_HANDS_H

#include "evenhand/harp/fingering.h"

#define HANDS_CHOICES "right, left, both (octaves), thirds, sixths, tenths or alternate"

/* What HANDS_CHOICES lists, each a whole word of `size` bytes (both and octaves are the same);
 * false for any other. */
bool hands_parse(const char *word, size_t size, Hands *out);

/* Hand over hand: whether the left hand has the first group, which it has when the first note
 * lies in the lower half of all that is played. Time linear in notes. */
bool hands_left_first(const Passage *p);
/* Whether the left hand alone has group g, by turns from the first. */
bool hands_left_group(bool left_first, size_t group);

#endif
