/* fingering.h - fingers and groups for a passage: exact dynamic programming over groups.
 *
 * A group is what one placement of the hand covers: notes going one way, at most four strings
 * (trade-facts 1.4), or a figure to and fro on them: C G E G, a trill. In either hand the thumb (1)
 * lies on the higher string and 4 on the lower, so a group going up is played 4 3 2 1 and one going
 * down 1 2 3 4 (1.2).
 *
 *      up, cross under        down, cross over        turn, replace (turning note once)
 *      4 3 2 1|4 3 2 1        1 2 3 4|1 2 3 4         4 3 2 (1) 2 3 4
 *
 *      to and fro, one group: four stops or more, every second on one string, each a turn
 *      3 1 2 1 3 1 2 1        2 1 2 1 2 1
 *
 * Pure: no clock, file, thread, global.
 */
#ifndef EVENHAND_HARP_FINGERING_H
#define EVENHAND_HARP_FINGERING_H

#include "evenhand/music/passage.h"

/* How the hand comes to a note. The sign is what views print; the word is in link_word. */
typedef enum {
    LINK_START,       /* first note, or after a rest: the hand is placed afresh */
    LINK_WITHIN,      /* the next finger of the same group */
    LINK_CROSS_UNDER, /* going up: first finger of the next group passes under */
    LINK_CROSS_OVER,  /* going down: the thumb passes over */
    LINK_REPLACE,     /* after a turn: the pivot finger stays, the others go back on */
    LINK_LIFT,        /* the hand leaves the strings in mid-phrase */
    LINK_HAND,        /* hand over hand: the other hand, placed beforehand */
    LINK_KINDS
} Link;

typedef struct {
    uint8_t finger; /* 1 thumb .. 4 ring */
    uint8_t place;  /* 1-based place in its group, whose strings are counted as they are first
                     * played; a turning note is the last of its first group, and the group
                     * after it starts at place 2 */
    uint8_t size;   /* strings that the group covers, that of its turning note included; of a
                     * chord its notes */
    uint8_t link;   /* a Link: how the hand comes to this note */
    int32_t group;  /* index into groups */
    bool marked;    /* the finger was given by the file */
} FingeredNote;

typedef struct {
    int32_t first;    /* index of the first note that only this group has */
    int32_t pivot;    /* note shared with the group before (a turn), or -1 */
    int32_t last;     /* index of the last note */
    uint8_t size;     /* as in FingeredNote */
    int8_t direction; /* +1 up, -1 down, 0 one note, one block or to and fro */
    bool across;      /* to and fro: one placement over changes of direction */
} FingerGroup;

typedef struct {
    FingeredNote *notes; /* one for each note of the passage, same index */
    size_t note_count;
    FingerGroup *groups;
    size_t group_count;
    int64_t cost; /* total by the table in fingering_cost.h; comparable only within a passage */
    size_t broken_marks; /* marks of the file that break a rule; honoured all the same */
} Fingering;

/* Where the odd small group of a run goes. */
typedef enum {
    SMALL_ON_TOP,    /* highest, as teachers have it [src: placing of the 3-group] */
    SMALL_AT_BOTTOM, /* lowest */
    SMALL_AT_LETTER  /* its lowest note on one letter, the same in every scale */
} SmallPlace;

typedef enum { GROUPS_ANYWHERE, GROUPS_ON_BEATS, GROUPS_OFF_BEATS } GroupStart;

/* What a teacher sets. Zeroed: the defaults. */
typedef struct {
    int largest_group; /* 3 or 4; 0: 4 */
    Tempo tempo;       /* the goal tempo: links get dearer as it grows; zeroed: the passage's */
    bool ignore_marks; /* plan as if the file held no fingers */
    SmallPlace small;
    Letter small_letter;  /* for SMALL_AT_LETTER */
    bool octaves;         /* 4+3 in every octave from the passage's first letter: the same finger
                           * on the same letter, at the price of more links [own] */
    bool avoid_twos;      /* groups of two only where nothing else is left */
    bool lifted;          /* set by set, the hand lifted between: a style, not an error [src] */
    GroupStart start;     /* groups begin on pulses, or between them, where that can be had */
    const uint8_t *fixed; /* a finger for each note of the passage, 0 free; goes before marks;
                           * NULL: none. Lent during the call */
} FingeringOptions;

enum { FINGERING_PLANS_MAX = 8 };

/* Fills *out (which the caller frees with fingering_free). Marks of the file are honoured,
 * the rest is planned around them at least cost; a run, or all between two rests, that comes
 * back gets the fingers it had unless its surroundings forbid it (fingering_check says where).
 * Always finds a plan for a passage that passage_finish accepted, save ERROR_MEMORY; a chord of
 * more than four notes gets fingers for its four highest and 0 for the rest. Time linear in notes.
 * `options` may be NULL. */
bool fingering_plan(
    const Passage *p, const FingeringOptions *options, Fingering *out, Error *error);
/* The `wanted` (1..FINGERING_PLANS_MAX) cheapest distinct plans, cheapest first; *found of them
 * exist. out[0] is fingering_plan's. Each is freed by the caller. */
bool fingering_plans(const Passage *p, const FingeringOptions *options, int wanted, Fingering *out,
    int *found, Error *error);
void fingering_free(Fingering *f); /* leaves it zeroed */

const char *link_word(Link link);            /* "start", "within", "cross under" ... */
const char *link_sign(Link link, bool utf8); /* one column wide */
const char *finger_word(int finger);         /* "thumb", "index", "middle", "ring" */

/* "4+4+3", of a group to and fro on three strings "3<>", into out (cut at size, always terminated).
 * Returns out. */
char *fingering_grouping(const Fingering *f, char *out, size_t size);

#endif
