/* instrument.h - harps: strings, pedals, levers, and what a passage asks of them. Pure.
 *
 * Strings are numbered as in pitch_string (7 * octave + letter).
 *
 * A pedal or a lever moves in a *slot*, the time between two blocks played one after the other:
 *
 *      block 0   block 1   block 2   block 3
 *      F4 -----> G4 -----> A4 -----> F#4           F changes once, for block 3:
 *           slot 1    slot 2    slot 3             window slots 1..3, latest: slot 3
 */
#ifndef EVENHAND_HARP_INSTRUMENT_H
#define EVENHAND_HARP_INSTRUMENT_H

#include "evenhand/music/passage.h"

typedef enum { HARP_PEDAL, HARP_LEVER } HarpKind;

enum { INSTRUMENT_NAME_MAX = 48, STRINGS_MAX = 60, INSTRUMENT_TEXT_MAX = 120 };

/* How octaves are told: always labelled in what people see. */
typedef enum { NAMES_SCIENTIFIC, NAMES_HARP, NAMES_SYLLABLES, NAMES_KINDS } Names;

typedef struct {
    char name[INSTRUMENT_NAME_MAX]; /* "pedal-47", "lever-34-Eb", or what the user wrote */
    HarpKind kind;
    int low;          /* lowest string */
    int count;        /* strings, 1..STRINGS_MAX */
    int no_discs;     /* pedal harps: lowest strings that the pedals do not change */
    int8_t tuning[7]; /* lever harps: alteration of each letter, levers down; C first */
} Instrument;

/* The usual ones: pedal harps of 46, 47, 48 strings [src: encyclopaedia entry Concert harp; calc];
 * lever harps of 22, 26, 34, 36, 38 strings, tuned in E flat or C [from memory; makers differ]. */
const Instrument *instrument_table(int *count);
/* By name ("pedal-47", "lever-36-Eb", "lever-36" is in E flat), or a user's own as
 * KIND:LOWEST:COUNT[:TUNING], e.g. "lever:C2:34:Eb", tuning one of C F Bb Eb Ab or G, E flat where
 * none is given. The strings C1 and D1 of a pedal harp have no discs [common practice].
 * ERROR_USAGE lists the names; ERROR_RANGE for strings beyond C0-B8 or STRINGS_MAX. */
bool instrument_parse(const char *text, Instrument *out, Error *error);
/* "lever harp, 34 strings C2-A6, tuned in Eb (scientific octaves)". Returns out. */
char *instrument_text(
    const Instrument *harp, Names names, bool utf8, char out[INSTRUMENT_TEXT_MAX]);

/* Pedals as the trade draws them: D C B | E F G A, from left to right; -1 flat (up), 0 natural,
 * +1 sharp (down). [src: E. Volpe Bligh, Writing for the Pedal Harp; MusicXML 4.0]
 *
 * The window opens when the last note in the old state has been played (and has ended, as it is
 * written, where that leaves a slot) and closes at the first note in the new state. `at` is the
 * latest comfortable slot of it: 200 ms or more [own], else the one with most time; slots are
 * given out so that as few as possible are shared by two pedals of one side. */
typedef struct {
    int32_t note;     /* the first note that needs it */
    int32_t at;       /* move it just before this note, the first of its block */
    int32_t earliest; /* the window: any slot before notes earliest .. note; first of a block */
    int letter;
    int8_t from, to;
    bool left_foot;       /* D C B; the right foot has E F G A */
    bool crowded;         /* another pedal of the same side moves in the same slot */
    int32_t milliseconds; /* from the block before `at` to `at`, at the passage's tempo */
} PedalChange;

/* A lever moved in mid-run, by the left hand. Window and place as above, comfortable from 500 ms
 * [own]; `crowded` where another lever shares the slot. */
typedef struct {
    int32_t note, at, earliest;
    int string;
    bool raise;
    bool crowded;
    int32_t milliseconds;
} LeverFlip;

typedef enum {
    TROUBLE_LOW,        /* below the lowest string */
    TROUBLE_HIGH,       /* above the highest */
    TROUBLE_NO_DISC,    /* a string that the pedals do not change, wanted altered */
    TROUBLE_DOUBLE,     /* a double sharp or flat: no pedal or lever does it; respell */
    TROUBLE_TWO_STATES, /* one letter (pedals) or string (levers) in two states at once */
    TROUBLE_NO_LEVER,   /* flatter, or sharper by more than a lever, than the string is tuned */
    TROUBLE_FLIP,       /* a lever must be flipped in mid-run: the left hand leaves the strings */
    TROUBLE_CROWDED,    /* two pedals of one side between the same two notes */
    TROUBLE_REMARK,     /* worth knowing: reach of a hand, a pedal in under 60 ms or on a note
                         * that still sounds; never stands against playing */
    TROUBLE_KINDS
} TroubleKind;

enum { TROUBLE_TEXT_MAX = 240 };

typedef struct {
    TroubleKind kind;
    int32_t note;
    char text[TROUBLE_TEXT_MAX]; /* a sentence: note, bar, beat, the way out (enharmonic ...) */
} Trouble;

/* What the passage (both hands, where both play) asks of an instrument. Owns its lists. */
typedef struct {
    Instrument harp;
    int8_t pedals[7];           /* pedal harps: before the first note, C first: what each letter
                                 * needs first; letters never needed: the key's */
    int8_t levers[STRINGS_MAX]; /* lever harps: 1 raised, per string from `low`, before the first:
                                 * as above, string by string */
    PedalChange *changes;       /* in order of `at` */
    size_t change_count;
    LeverFlip *flips; /* likewise */
    size_t flip_count;
    Trouble *troubles; /* in order of notes */
    size_t trouble_count;
    bool playable; /* nothing stands against it but flips, crowded pedals and remarks */
} Setting;

/* Two states of a letter are "at once" in one block; what follows within 60 ms is a remark. Notes
 * in trouble make no pedal or lever move, save that those out of range do on pedal harps (an
 * octave off they need the same). Time and memory linear in notes; ERROR_MEMORY. Texts name notes
 * by scientific octaves; setting_make_named says them otherwise (label them). */
bool setting_make(const Passage *p, const Instrument *harp, Setting *out, Error *error);
bool setting_make_named(
    const Passage *p, const Instrument *harp, Names names, Setting *out, Error *error);
void setting_free(Setting *s); /* leaves it zeroed */
/* "D♮ C♮ B♭ | E♭ F♮ G♮ A♭" or in ASCII "D C Bb | Eb F G Ab"; levers, scientific octaves: "raise
 * every F, C5", "all levers down". Returns out. */
char *setting_text(const Setting *s, bool utf8, char *out, size_t size);
/* The same, naming single levers as wished. */
char *setting_text_named(const Setting *s, Names names, bool utf8, char *out, size_t size);
/* "bar 2, before beat 3: F sharp (right foot), at any time from bar 1, beat 4"; crowded ones say
 * so. Returns out. */
char *pedal_change_text(const Passage *p, const PedalChange *c, char *out, size_t size);
/* Whether such a trouble makes a passage unplayable as it is written. */
bool trouble_stops(TroubleKind kind);
/* One line: which of the usual instruments can play the passage: "pedal 46 47 48 with 2 changes;
 * lever in Eb 34 36 38 with 1 flip, in C none". Returns out. */
char *instruments_for(const Passage *p, char *out, size_t size);

/* "C4" scientific; "C4" harp octaves count from the top, an octave runs E down to F: 8 - o for
 * C D E, 7 - o for F G A B [src: Morley Harps, Compass explained; calculated]; "do4" fixed do
 * with the scientific octave. Returns out. */
char *names_pitch(Pitch p, Names names, bool utf8, char out[PITCH_NAME_MAX]);
const char *names_label(Names names); /* "scientific octaves", "harp octaves", "fixed do" */
/* The same, from "scientific", "harp" or "do". ERROR_USAGE lists them. */
bool names_parse(const char *text, Names *out, Error *error);

#endif
