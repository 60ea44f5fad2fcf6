/* passage.h - what is played: notes unfolded in playing order, bars, key, metre, tempo.
 *
 *   bars    |offset|---- length ----|---- length ----|
 *   notes          ^onset 0          (a block: notes of one onset, side by side)
 *
 * Positions are quarters from the first thing written (note or rest). bars[0].offset is what
 * is missing before a pickup, so that drill time (which starts on a bar line) is
 * position + bars[0].offset. Plain data: readers fill it through the functions below and
 * anybody reads it. The passage owns all it points to; passage_free frees it.
 */
#ifndef EVENHAND_MUSIC_PASSAGE_H
#define EVENHAND_MUSIC_PASSAGE_H

#include "evenhand/music/error.h"
#include "evenhand/music/metre.h"
#include "evenhand/music/pitch.h"
#include "evenhand/music/ratio.h"
#include "evenhand/music/rune.h" /* what its words are made of */
#include "evenhand/music/tempo.h"

enum {
    PASSAGE_NOTES_MAX = 10000,
    PASSAGE_BARS_MAX = 10000,
    PASSAGE_NOTICES_MAX = 32,
    PASSAGE_BLOCK_MAX = 16,      /* notes of one chord */
    PASSAGE_DEN_MAX = 100000000, /* least common denominator of all positions and lengths */
    PASSAGE_TITLE_MAX = 200,     /* bytes, UTF-8 */
    PASSAGE_REMARK_MAX = 400,    /* likewise */
    PASSAGE_WISHES_MAX = 200,
    PASSAGE_KEY_MAX = 24
};

/* Both hands with one fingering: the left plays so many strings below the right. Hand over hand
 * (HANDS_ALTERNATE): whole groups by turns, the left first when the passage begins low. */
typedef enum {
    HANDS_RIGHT,
    HANDS_LEFT,
    HANDS_OCTAVES,
    HANDS_THIRDS,
    HANDS_SIXTHS,
    HANDS_TENTHS,
    HANDS_ALTERNATE,
    HANDS_KINDS
} Hands;

typedef struct {
    Ratio onset;  /* quarters from the first thing written; notes are sorted by it */
    Ratio length; /* sounding length, ties joined; > 0 */
    Pitch pitch;
    uint8_t mark;     /* finger written in the file, 1..4; 0: none */
    bool accent;      /* an accent is written on it */
    bool breath;      /* a phrase, breath or rest excuses lifting the hand before it */
    int32_t bar;      /* index into bars */
    int32_t block;    /* index of the first note of its chord; its own for a single note */
    int line, column; /* where it stands in its file; 0: nowhere */
} Note;

typedef struct {
    Ratio start;  /* position */
    Ratio length; /* what is there; equals metre_bar for a full bar */
    Ratio offset; /* where in its metre the bar begins: > 0 for a pickup and for the second
                   * half of a bar that a repeat sign splits */
    Metre metre;
    int number;   /* as a reader counts on the page: pickup 0, first full bar 1; repeated bars
                   * keep their number */
    bool section; /* a repeat, an ending or a double bar stands before it: it may be a pickup, and
                   * the bar before it a part of one. Set by the reader */
} Bar;

typedef struct {
    int line, column;
    char text[160];
} Notice;

typedef struct {
    int reference;                    /* ABC's X: */
    char title[PASSAGE_TITLE_MAX];    /* UTF-8, may hold anything: clean before showing */
    char composer[PASSAGE_TITLE_MAX]; /* likewise; "" unknown */
    char wishes[PASSAGE_WISHES_MAX];  /* the file's own setting of fingers, in words; "" none */
    char remark[PASSAGE_REMARK_MAX];  /* likewise: what the passage is for, in words */
    char key[PASSAGE_KEY_MAX];        /* "G", "F#m", "D dorian", "none" */
    int8_t key_alter[7];              /* what the first key does to each letter, C first */
    Metre metre;                      /* the first bar's */
    Tempo tempo;                      /* as written; when !has_tempo, the metre's pulse at 60 */
    bool has_tempo;
    Hands hands;
    Note *notes;
    size_t note_count;
    Bar *bars;
    size_t bar_count;
    Ratio length;                        /* position where the last bar ends */
    Notice notices[PASSAGE_NOTICES_MAX]; /* what was passed over, each said once */
    size_t notice_count;
    size_t note_room, bar_room; /* what is allocated: of interest to passage.c only */
} Passage;

/* A passage with nothing in it; NULL without memory. */
Passage *passage_new(void);
void passage_free(Passage *p); /* NULL is fine */
/* A finished passage over again; NULL without memory. */
Passage *passage_copy(const Passage *p);

/* Room for so many notes and bars beforehand; it may prove too little or too much. */
bool passage_reserve(Passage *p, size_t notes, size_t bars, Error *error);
/* Appends a note, all zero but for these; the pointer holds until the next is added. NULL on
 * error. What is said of passage_add_note holds here. */
Note *passage_new_note(Passage *p, Ratio onset, Ratio length, int line, int column, Error *error);
/* Appends a copy. Onsets must not decrease; `bar`, `block` and `breath` are set by
 * passage_finish (breath is kept if already true). ERROR_LIMIT beyond PASSAGE_NOTES_MAX. */
bool passage_add_note(Passage *p, const Note *note, Error *error);
/* Appends a bar starting at `start` with this metre and page number; length and offset are set
 * by passage_finish. A bar in which nothing happened before the next is dropped. */
bool passage_add_bar(Passage *p, Ratio start, const Metre *m, int number, Error *error);
/* Sets p->length, closes bars, finds pickups and split bars, blocks and breaths, sorts each
 * block from low to high, and checks every limit. A bar that does not fit its metre becomes a
 * notice, unless it may be a pickup or a part of a bar. ERROR_EMPTY without notes. */
bool passage_finish(Passage *p, Ratio end, Error *error);
/* Says something once: the same text is not kept twice. */
void passage_notice(Passage *p, int line, int column, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* Position of note i in its bar, from the bar line, in quarters. */
Ratio passage_in_bar(const Passage *p, size_t note);
/* The same as musicians count it: 1 + position / metre_unit, e.g. 1, 5/2. */
Ratio passage_beat(const Passage *p, size_t note);
/* The commonest note length (ties: the shorter). */
Ratio passage_common_length(const Passage *p);
/* Where the pulse falls by default: the metre's pulse unit (dotted in compound metres). */
Ratio passage_pulse(const Passage *p);
/* One past the last note of the block that note i belongs to. */
size_t passage_block_end(const Passage *p, size_t note);
/* The key for people: "Bb", with utf8 "B♭". Returns out. */
char *passage_key(const Passage *p, bool utf8, char out[PASSAGE_KEY_MAX + 4]);
const char *hands_word(Hands h); /* "right", "left", "both" or, hand over hand, "by turns" */
/* Strings that the left hand lies below the right; 0 where only one line is played. */
int hands_below(Hands h);
/* What the left hand plays with note i where both play: the string hands_below lower, altered
 * as that letter last was in the passage (any octave), else as the key has it. */
Pitch passage_left(const Passage *p, size_t note);

#endif
