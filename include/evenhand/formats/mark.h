/* mark.h - writes fingers into an ABC tune as the standard's decorations !1! to !4!. Pure. */
#ifndef EVENHAND_FORMATS_MARK_H
#define EVENHAND_FORMATS_MARK_H

#include "evenhand/harp/fingering.h"
#include "evenhand/music/text.h"

/* Copies `abc` into out with the plan's finger before each note of that tune (the one that p
 * was read from), in place of finger decorations that stand there; every other byte stays.
 * Reading it back gives the same plan. Where repeats finger one written note in two ways the
 * first counts; *differing counts such notes. ERROR_UNSUPPORTED where a note has no place in
 * the text. */
bool mark_fingers(const char *abc, size_t size, const Passage *p, const Fingering *f, Text *out,
    int *differing, Error *error);

#endif
