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

typedef struct {
    PlacingKind kind;
    int which; /* CROSSING, LINKS: the link, 1-based; 0: the first crossing, all links in turn */
    int size;  /* LINKS: notes on either side, 2 or 3; BURSTS: n, 2..16; 0: default 2, 5 */
} Placing;

/* What a drill is played from. Owns both. */
typedef struct {
    Passage *passage;
    Fingering fingering;
    int32_t *origin; /* for each note, the index of the note it was made from; -1: new */
} Scene;

/* ERROR_RANGE: no such link, a size outside; ERROR_LIMIT: it would pass PASSAGE_NOTES_MAX;
 * ERROR_UNSUPPORTED where the passage has nothing to make it from (one group only, chords). */
bool placing_make(
    const Passage *p, const Fingering *f, const Placing *placing, Scene *out, Error *error);
void scene_free(Scene *s); /* leaves it zeroed */

/* "crossing", "crossing-2", "blocks", "links", "links-3", "build-up", "build-back", "bursts",
 * "bursts-4", "scale-arpeggio": false where the word is none of these. */
bool placing_parse(const char *word, size_t size, Placing *out);
char *placing_word(const Placing *p, char *out, size_t size);
char *placing_title(const Placing *p, char *out, size_t size);
/* Default note count when built, see DRILL words. Whether a passage has what the kind needs. */
bool placing_possible(const Passage *p, const Fingering *f, PlacingKind kind);

/* What the hand does at a link, from the group model: which finger crosses, over or under
 * which, onto which note, and by which note it must be down (trade-facts 1.6, 1.7). */
typedef struct {
    Link link;
    int finger;      /* that crosses (or stays, at a turn) */
    int around;      /* the finger it crosses under (over); 0 none */
    int32_t from;    /* note after which it may leave its string; -1 any time */
    int32_t lands;   /* note that it plays */
    int32_t down_by; /* it must be on its string before this note sounds */
} Crossing;

/* The crossing that comes next at or after note i; false where none is left. */
bool crossing_after(const Passage *p, const Fingering *f, int32_t note, Crossing *out);

#endif
