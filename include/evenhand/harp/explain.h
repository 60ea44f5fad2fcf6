/* explain.h - a fingering in words, and what is to be said against one. Pure. */
#ifndef EVENHAND_HARP_EXPLAIN_H
#define EVENHAND_HARP_EXPLAIN_H

#include "evenhand/harp/fingering.h"

enum { EXPLAIN_TEXT_MAX = 400 };

/* What makes a plan what it is and what it costs, e.g. "4+4+4+3, the 3 on top; links into G3,
 * D4, A4; one replace at C5", "3<>; to and fro from C4 on one placement". Long lists end in "and 7
 * more". Returns out. */
char *fingering_explain(
    const Passage *p, const Fingering *f, bool utf8, char out[EXPLAIN_TEXT_MAX]);

typedef enum {
    FINDING_ALONE,    /* a group of one in mid-phrase */
    FINDING_LIFT,     /* all fingers off in mid-phrase */
    FINDING_SAME,     /* one finger on two strings in a row */
    FINDING_ORDER,    /* thumb not on the higher string within a group or chord */
    FINDING_REACH,    /* beyond the hand's soft limits */
    FINDING_CROSSING, /* crossing under another finger than the thumb, or over with another */
    FINDING_TWO,      /* a group of two at speed: under 250 ms a note */
    FINDING_CHANGED,  /* a figure has other fingers than where it came before, and why */
    FINDING_SMALL,    /* the small group of a scale run in an odd place */
    FINDING_BEATEN,   /* the marks cost clearly more than a plan without them */
    FINDING_KINDS
} FindingKind;

typedef struct {
    FindingKind kind;
    int32_t note;    /* passage index; -1: the whole */
    int32_t earlier; /* FINDING_CHANGED: first note of the figure before; else -1 */
    char text[360];  /* a sentence with note, bar and beat, and what would do */
} Finding;

typedef struct {
    Finding *items;
    size_t count;
} Findings;

/* Everything to be said against the passage's marks as they stand (or against the plan, where
 * there are none), in order of notes, the whole last. The caller frees. False without memory. */
bool fingering_check(
    const Passage *p, const FingeringOptions *options, Findings *out, Error *error);
void findings_free(Findings *f);
const char *finding_word(FindingKind kind);

#endif
