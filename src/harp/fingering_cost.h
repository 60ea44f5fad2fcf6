/* fingering_cost.h - the one table of what a fingering costs, and why. Internal to the room.
 *
 * Unit: a hundredth of one more group. Only the order of sums matters; the weights are our own
 * [own], what they weigh is marked row by row as in the facts of the trade: [src] published,
 * [cp] common practice, [own] derived here.
 */
#ifndef EVENHAND_SRC_HARP_FINGERING_COST_H
#define EVENHAND_SRC_HARP_FINGERING_COST_H

#include <stdint.h>

enum {
    /* groups */
    COST_GROUP = 100,       /* each placement; fewest groups first [src for 8 and 15 notes] */
    COST_GROUP_OF_3 = 8,    /* a full hand of four is the norm [cp] */
    COST_GROUP_OF_2 = 70,   /* hardest to link from: one note of time [own], avoided [cp] */
    COST_GROUP_OF_1 = 2000, /* never [cp]; unless marks or the music leave nothing else */

    /* links */
    COST_LINK = 20,           /* any cross under or over */
    COST_LINK_TIME = 3000000, /* divided by the link's time budget in microseconds [own] */
    COST_LINK_TIME_MAX = 200,
    COST_LINK_STRING = 12,       /* each string that the crossing skips [own] */
    COST_LINK_BAD_FINGER = 240,  /* crossing under another finger than the thumb, or over with
                                  * another finger than the thumb [src] */
    COST_SMALL_BELOW = 25,       /* a smaller group under a larger one: teachers put the odd small
                                  * group on top [src: placing of the 3-group] */
    COST_SMALL_MISPLACED = 40,   /* a small group away from the letter that was asked for */
    COST_OFF_OCTAVE = 130,       /* a group that breaks the octave's 4+3 [own] */
    COST_OFF_START = 150,        /* a group that begins off (on) the beat, where asked */
    COST_CHANGED = 160,          /* another finger than the same figure had before [cp] */
    COST_CHANGED_MOVED = 60,     /* ... on other strings [own] */
    COST_CHANGED_PART = 2,       /* ... as a part of a longer run, whose own length counts for more:
                                  * between plans that cost about the same [own] */
    COST_REPLACE = 10,           /* a turn, its note played once [cp] */
    COST_ACROSS = 90,            /* each turn inside one placement, which a figure to and fro on a
                                  * few strings has instead of a replace: a group goes one way,
                                  * but across a change of direction at a price [cp] */
    COST_ACROSS_STRING = 20,     /* each string of such a placement beyond two, whose number the
                                  * figure gives: few that stay, rather than a full hand [own] */
    COST_LIFT = 700,             /* all fingers off in mid-phrase: worse than any link [src] */
    COST_SAME_FINGER = 300,      /* one finger on two different strings in a row [cp] */
    COST_BLOCK_AFTER_BLOCK = 30, /* chord after chord: placed anew, expected so [cp] */

    /* the hand's shape */
    COST_STRETCH = 6,         /* each string beyond one per finger [own] */
    COST_IDLE_FINGER = 30,    /* each finger skipped inside a group: a triad is 3 2 1 [cp] */
    COST_CRAMPED = 15,        /* each finger left idle between neighbours [own] */
    COST_BEYOND_REACH = 1500, /* past the soft limits of the hand [own, after src spans] ... */
    COST_BEYOND_STRING = 400, /* ... and for each string past them */
    COST_IDLE_THUMB = 40,     /* the hand hangs from the thumb: a group that leaves it out [cp] */
    COST_IMPOSSIBLE = 1 << 28
};

/* Soft limits in strings between two fingers, a neighbour being 1 [own, after published spans:
 * thumb to index a fifth or more, thumb to ring a tenth, 2-3-4 close]. */
static const int8_t fingering_reach[5][5] = {
    {0, 0, 0, 0, 0},
    {0, 0, 5, 7, 9},
    {0, 5, 0, 3, 6},
    {0, 7, 3, 0, 3},
    {0, 9, 6, 3, 0},
};

/* Strings that a crossing can bridge before the hand has to leave: as thumb to index. [own] */
enum { CROSSING_REACH = 5 };

#endif
