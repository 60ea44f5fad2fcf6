/* placing.h - placing and crossing drills: each makes a new passage, with its fingers, out of
 * the one that is practised; accents, rhythms, timeline, sound and screen then treat it as any
 * other. Pure.
 */
#ifndef EVENHAND_DRILL_PLACING_H
#define EVENHAND_DRILL_PLACING_H

#include "evenhand/harp/fingering.h"
#include "evenhand/music/passage.h"

typedef enum {
    PLACING_NONE,
    PLACING_CROSSING,   /* one group and the landing of the crossing finger */
    PLACING_BLOCKS,     /* each group placed and played together, then broken */
    PLACING_LINKS,      /* two or three notes either side of each link, looped */
    PLACING_BUILD_UP,   /* from the beginning, one note more each time */
    PLACING_BUILD_BACK, /* from the end backwards, one note more each time */
    PLACING_BURSTS,     /* n - 1 notes at speed, the n-th held */
    PLACING_PAIR,       /* the scale, then its arpeggio, back to back */
    PLACING_KINDS
} PlacingKind;

enum {
    PLACING_WHICH_MAX = PASSAGE_NOTES_MAX,
    PLACING_LOOPS = 4, /* times that a link is played by default */
    PLACING_LOOPS_MAX = 16,
    PLACING_BURST_MAX = 16,
    PLACING_TEXT_MAX = 80
};

typedef struct {
    PlacingKind kind;
    int which; /* CROSSING: which cross under or over, 1-based, 0 the first; LINKS: which way from
                * one group to the next (crossed, replaced, lifted or by the other hand), 0 all
                * in turn */
    int size;  /* LINKS: notes on either side, 2 or 3; BURSTS: n, 2..16; 0: default 2, 5 */
    int loops; /* LINKS: times that each is played, 1..16; 0: default 4 */
} Placing;

/* What a drill is played from. Owns all three. Every figure (a group's block, a loop of a link, a
 * step of the build-up) begins on a bar line or a pulse of the passage's first metre (four
 * quarters where that is free), a bar line closes each link, block and step, and the whole fills
 * its bars. Links, loops and steps end in a rest long enough for the hand to come back. Fingers,
 * groups and links are those of `f` wherever notes follow each other as they do there. */
typedef struct {
    Passage *passage;
    Fingering fingering;
    int32_t *origin; /* for each note, the index of the note it was made from; -1: new */
} Placed;

/* ERROR_RANGE: no such link, a size outside; ERROR_LIMIT: it would pass PASSAGE_NOTES_MAX or
 * PASSAGE_BARS_MAX; ERROR_UNSUPPORTED where the passage has nothing to make it from (one group
 * only; for blocks and the arpeggio chords). The caller frees with placed_free; on failure *out
 * is zeroed. */
bool placing_make(
    const Passage *p, const Fingering *f, const Placing *placing, Placed *out, Error *error);
void placed_free(Placed *s); /* leaves it zeroed */

/* "crossing", "crossing-2", "blocks", "links", "links-3", "links-3x8" (8 times each), "link-2"
 * (that one alone), "link-2-3", "link-2-3x8", "build-up", "build-back", "bursts", "bursts-4",
 * "scale-arpeggio": false, and *out untouched, where text[0..size) is none of these. */
bool placing_parse(const char *text, size_t size, Placing *out);
/* The shortest such word; "" for PLACING_NONE. Returns out. */
char *placing_word(const Placing *p, char *out, size_t size);
/* For people: "links: 2 notes either side, 4 times each"; "" for PLACING_NONE. Returns out. */
char *placing_title(const Placing *p, char *out, size_t size);
/* Whether both make the same drill: a default counts as what it stands for. */
bool placing_equal(const Placing *a, const Placing *b);
/* Whether placing_make with the defaults would make this kind of it. */
bool placing_possible(const Passage *p, const Fingering *f, PlacingKind kind);

/* What the hand does at a link, from the group model: which finger crosses, under or over
 * which, onto which note, and by which note it must be down (trade-facts 1.6, 1.7; a turn 1.9). */
typedef struct {
    Link link;       /* LINK_CROSS_UNDER, LINK_CROSS_OVER or LINK_REPLACE */
    int finger;      /* that crosses; at a turn the one that stays */
    int around;      /* the finger it crosses under (over); 0 at a turn */
    int32_t from;    /* note after which it may leave its string; -1 any time */
    int32_t lands;   /* note that it plays; at a turn the turning note */
    int32_t down_by; /* it must be on its string before this note sounds; at a turn the others */
} Crossing;

/* The first crossing whose new group begins at or after note i; false where none is left. */
bool crossing_after(const Passage *p, const Fingering *f, int32_t note, Crossing *out);

#endif
