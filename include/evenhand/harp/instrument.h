/* instrument.h - harps: strings, pedals, levers, and what a passage asks of them. Pure.
 *
 * Strings are numbered as in pitch_string (7 * octave + letter).
 */
#ifndef EVENHAND_HARP_INSTRUMENT_H
#define EVENHAND_HARP_INSTRUMENT_H

#include "evenhand/music/passage.h"

typedef enum { HARP_PEDAL, HARP_LEVER } HarpKind;

enum { INSTRUMENT_NAME_MAX = 48, STRINGS_MAX = 60 };

typedef struct {
    char name[INSTRUMENT_NAME_MAX]; /* "pedal-47", "lever-34", or what the user wrote */
    HarpKind kind;
    int low;          /* lowest string */
    int count;        /* strings */
    int no_discs;     /* pedal harps: lowest strings that the pedals do not change */
    int8_t tuning[7]; /* lever harps: alteration of each letter, levers down; C first */
} Instrument;

const Instrument *instrument_table(int *count); /* the usual ones */
/* By name ("pedal-47", "lever-36-Eb"), or a user's own as KIND:LOWEST:COUNT[:TUNING], e.g.
 * "lever:C2:34:Eb", tuning one of C F Bb Eb Ab or G. ERROR_USAGE lists the names. */
bool instrument_parse(const char *text, Instrument *out, Error *error);

/* Pedals as the trade draws them: D C B | E F G A, from left to right; -1 flat (up), 0 natural,
 * +1 sharp (down). [src: E. Volpe Bligh, Writing for the Pedal Harp; MusicXML 4.0] */
typedef struct {
    int32_t note; /* the first note that needs it */
    int letter;
    int8_t from, to;
    bool left_foot; /* D C B; the right foot has E F G A */
    bool crowded;   /* another pedal of the same side moves between the same two notes */
} PedalChange;

typedef enum {
    TROUBLE_LOW,        /* below the lowest string */
    TROUBLE_HIGH,       /* above the highest */
    TROUBLE_NO_DISC,    /* a string that the pedals do not change, wanted altered */
    TROUBLE_DOUBLE,     /* a double sharp or flat: no pedal or lever does it; respell */
    TROUBLE_TWO_STATES, /* one letter (pedals) or string (levers) in two states at once */
    TROUBLE_NO_LEVER,   /* flatter, or sharper by more than a lever, than the string is tuned */
    TROUBLE_FLIP,       /* a lever must be flipped in mid-run: the left hand leaves the strings */
    TROUBLE_KINDS
} TroubleKind;

typedef struct {
    TroubleKind kind;
    int32_t note;
    char text[200]; /* a sentence: note, bar, beat, and the way out (enharmonic, octave ...) */
} Trouble;

/* What the passage (both hands, where both play) asks of an instrument. Owns its lists. */
typedef struct {
    Instrument harp;
    int8_t pedals[7];           /* pedal harps: before the first note, C first */
    int8_t levers[STRINGS_MAX]; /* lever harps: 1 raised, per string from `low`, before the first */
    PedalChange *changes;
    size_t change_count;
    Trouble *troubles;
    size_t trouble_count;
    bool playable; /* nothing stands against it but flips and crowded pedals */
} Setting;

bool setting_make(const Passage *p, const Instrument *harp, Setting *out, Error *error);
void setting_free(Setting *s);
/* "D♮ C♮ B♭ | E♭ F♮ G♮ A♭" or in ASCII "D C Bb | Eb F G Ab"; levers: "raise F4 C5". */
char *setting_text(const Setting *s, bool utf8, char *out, size_t size);
/* One line: which of the usual instruments can play the passage. */
char *instruments_for(const Passage *p, char *out, size_t size);

/* How octaves are told: always labelled in what people see. */
typedef enum { NAMES_SCIENTIFIC, NAMES_HARP, NAMES_SYLLABLES } Names;
/* "C4" scientific; "C4" harp octaves count from the top, an octave runs E down to F: 8 - o for
 * C D E, 7 - o for F G A B [src: Morley Harps, Compass explained; calculated]; "do4" fixed do
 * with the scientific octave. Returns out. */
char *names_pitch(Pitch p, Names names, bool utf8, char out[PITCH_NAME_MAX]);
const char *names_label(Names names); /* "scientific octaves", "harp octaves", "fixed do" */

#endif
