/* placing_parts.h - what the placing drills are made with. Internal to the room.
 *
 *      base     C D E F G A B c          a stretch: notes as they follow each other there
 *      made     |C D E F G . . . |       each stretch is laid where the maker stands
 *      origin    0 1 2 3 4
 */
#ifndef EVENHAND_SRC_DRILL_PLACING_PARTS_H
#define EVENHAND_SRC_DRILL_PLACING_PARTS_H

#include "evenhand/drill/placing.h"

typedef struct {
    int32_t origin; /* note of the base; -1 new */
    bool afresh;    /* the hand is placed anew here, whatever the base does */
} MadeFrom;

typedef struct {
    const Passage *base;
    const Fingering *fingers;
    size_t *heads; /* first notes of the base's blocks, and one past its last note */
    size_t head_count;
    Metre metre;
    Ratio bar;
    Passage *made;
    MadeFrom *from; /* for each note of `made` */
    size_t room;
    Ratio at; /* where the next figure begins */
    Error *error;
} Maker;

bool maker_open(Maker *m, const Passage *base, const Fingering *f, Error *error);
void maker_close(Maker *m);

/* Lays one note with the pitch, mark and place in the file of base note `like`. */
bool maker_note(Maker *m, size_t like, Ratio onset, Ratio length, MadeFrom from);
/* Lays blocks [first, end) of the base where the maker stands, at the distances they have there,
 * and moves it to where the last of them ends. `afresh`: the hand is placed anew. */
bool maker_stretch(Maker *m, size_t first, size_t end, bool afresh);

void maker_to_bar(Maker *m);   /* on to the next bar line, unless it stands on one */
void maker_to_pulse(Maker *m); /* on to the next pulse, likewise */
/* The first pulse after `at`. */
Ratio maker_next_pulse(const Maker *m, Ratio at);
/* Passes over a rest as long as the last block of a figure, so that the hand can come back. */
void maker_breathe(Maker *m, size_t last_block);

/* Lays the bars and closes the passage. */
bool maker_finish(Maker *m);
/* The finished passage's fingers: those of the base, where every note has an origin. */
bool maker_fingers(const Maker *m, Fingering *out);

/* Whether a block holds more than one note, anywhere. */
bool placing_has_chords(const Passage *p);
/* Block whose link is the n-th (1-based) of the kinds in `mask` (1 << Link); 0: there is none. */
size_t placing_link(const Maker *m, unsigned mask, int n);
size_t placing_link_count(const Maker *m, unsigned mask);

enum {
    CROSSED = 1u << LINK_CROSS_UNDER | 1u << LINK_CROSS_OVER,
    LINKED = CROSSED | 1u << LINK_REPLACE | 1u << LINK_LIFT | 1u << LINK_HAND
};

/* One for each kind: lays its figures. The fingers come from maker_fingers, save for the
 * pair, whose arpeggio is planned. */
bool placing_crossing(Maker *m, const Placing *placing);
bool placing_blocks(Maker *m, const Placing *placing);
bool placing_links(Maker *m, const Placing *placing);
bool placing_build_up(Maker *m, const Placing *placing);
bool placing_build_back(Maker *m, const Placing *placing);
bool placing_bursts(Maker *m, const Placing *placing);
bool placing_pair(Maker *m, const Placing *placing);
/* Plans the arpeggio at the end of a finished pair. */
bool placing_pair_fingers(const Maker *m, Fingering *out);

#endif
