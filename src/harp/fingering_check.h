/* fingering_check.h - what the parts of the check share. Internal to the room; pure. */
#ifndef EVENHAND_SRC_HARP_FINGERING_CHECK_H
#define EVENHAND_SRC_HARP_FINGERING_CHECK_H

#include "evenhand/harp/explain.h"

enum { PLACE_TEXT_MAX = 80 };

typedef struct {
    const Passage *p;
    const Fingering *f;
    const FingeringOptions *options;
    Findings *out;
    bool failed; /* without memory */
} Checker;

/* "F4 (bar 2, beat 3)". Returns out. */
char *checker_place(const Passage *p, size_t note, char out[PLACE_TEXT_MAX]);
/* Adds a finding, the place of `note` (-1: the whole) before its text. */
__attribute__((format(printf, 5, 6))) void checker_find(
    Checker *c, FindingKind kind, int32_t note, int32_t earlier, const char *format, ...);

/* Figures that come back under other fingers: where, and why. */
void checker_changed(Checker *c);

#endif
