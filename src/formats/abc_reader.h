/* abc_reader.h - the state of reading one tune, shared by the files abc_*.c of this folder.
 *
 *   lines ─► fields ─► key, metre, unit ─┐
 *        └─► music ─► notes ─► rhythm ───┴─► score ─► repeats ─► build ─► passage
 */
#ifndef ABC_READER_H
#define ABC_READER_H

#include "abc_key.h"
#include "abc_lines.h"
#include "abc_score.h"

enum {
    ABC_VOICE_MAX = 24,
    ABC_PARTS_MAX = 256,
    ABC_MACROS_MAX = 32,
    ABC_CHORD_MARKS = 8,
    ABC_UNITS_MAX = 17,
    ABC_SYMBOL_MAX = 24
};

/* What accidentals in a bar hold for (ABC 2.1, 11.3). */
typedef enum { ABC_EVERY_OCTAVE, ABC_SAME_OCTAVE, ABC_NOTE_ONLY } AbcSpread;

/* Music text being read. With a macro expanded, columns[i] is the column of byte i. */
typedef struct {
    const char *start, *at, *end;
    const int *columns;
    int line;
} AbcScan;

/* A note as it is written: its letter, octave marks and the accidental before it. */
typedef struct {
    int letter, octave, alter;
    bool has_sign; /* an accidental is written */
    int line, column;
} AbcWritten;

/* What waits for the next note or chord. */
typedef struct {
    uint8_t marks[ABC_CHORD_MARKS]; /* fingers, in the order written */
    int mark_count;
    bool accent, breath;
} AbcPending;

typedef struct {
    char target[32]; /* NUL-terminated; "n" in it stands for any note */
    char *text;      /* a copy: the line that defines it may itself come from a macro */
    size_t size;
    int line;
} AbcMacro;

typedef struct {
    Passage *passage;
    AbcScore score;
    Error *error;

    bool in_body;
    bool unit_given, key_given;
    Ratio unit;                           /* L:, in quarters; set by abc_set_unit */
    uint32_t unit_lengths[ABC_UNITS_MAX]; /* of so many units: 1 + index into lengths; 0 unknown */
    Metre metre;
    int8_t signature[7]; /* semitones by Letter */
    int octave, transpose;
    bool hands_given;

    AbcSpread spread;
    bool bar_sign[7][16]; /* an accidental is in force in this bar; slot 0 for every octave */
    int8_t bar_alter[7][16];

    AbcPending pending;
    uint32_t times;   /* how often the section that the last bar line opened is played */
    bool breath_next; /* a breath mark was on the note before */
    Ratio tuplet;     /* times the length; while tuplet_left > 0 */
    int tuplet_left;
    int broken;            /* +n: the next is cut to 1/2^n, -n: lengthened; 0: no broken rhythm */
    size_t last, last_end; /* events of the last note, chord or rest; equal: none */

    char voice[ABC_VOICE_MAX], music_voice[ABC_VOICE_MAX], header_voice[ABC_VOICE_MAX];
    int voice_line, voice_column;

    char parts[ABC_PARTS_MAX]; /* the header's P:, checked; "" none */
    int parts_line;

    struct {
        char name[ABC_SYMBOL_MAX]; /* cut where no decoration that is kept has so long a name */
        bool given;
    } symbols[128]; /* what U: made of a letter */
    AbcMacro macros[ABC_MACROS_MAX];
    int macro_count;
    size_t expanded; /* bytes that macros have made so far */
} AbcReader;

/* All of these return false with *r->error filled. */

static inline int abc_scan_column(const AbcScan *s)
{
    size_t i = (size_t)(s->at - s->start);
    if (s->columns == NULL)
        return (int)i + 1;
    return s->at < s->end ? s->columns[i] : s->at > s->start ? s->columns[i - 1] : 1;
}

/* 0 to 6 for C to B, 7 to 13 for c to b; -1: no note. */
static inline int abc_note_letter(char c)
{
    static const int8_t letters[256] = {['C'] = 1,
        ['D'] = 2,
        ['E'] = 3,
        ['F'] = 4,
        ['G'] = 5,
        ['A'] = 6,
        ['B'] = 7,
        ['c'] = 8,
        ['d'] = 9,
        ['e'] = 10,
        ['f'] = 11,
        ['g'] = 12,
        ['a'] = 13,
        ['b'] = 14};
    return letters[(unsigned char)c] - 1;
}

/* abc_fields.c: a field of the header, of the body or inline; `column` is where its value is. */
bool abc_field(AbcReader *r, char letter, const AbcLine *value, int column);
/* "%%name value", or the value of an I: field. */
bool abc_directive(AbcReader *r, const AbcLine *value, int column);

/* abc_music.c */
bool abc_music(AbcReader *r, AbcScan *s);
/* abc_macros.c: a line of music with its macros put in. */
bool abc_music_line(AbcReader *r, const AbcLine *line);
bool abc_macro_define(AbcReader *r, const AbcLine *value, int column);
void abc_macros_free(AbcReader *r);

/* abc_notes.c: at a note, a rest, a multi-bar rest; abc_chord.c: at a chord. */
bool abc_note(AbcReader *r, AbcScan *s);
bool abc_rest(AbcReader *r, AbcScan *s);
bool abc_bars_rest(AbcReader *r, AbcScan *s);
bool abc_chord(AbcReader *r, AbcScan *s);
void abc_forget_accidentals(AbcReader *r);
/* Reads accidentals, letter and octave marks; *is_note is false for an accidental alone. */
bool abc_pitch(AbcReader *r, AbcScan *s, AbcWritten *w, bool *is_note);
/* Adds a note or rest of this length (an index into the score's) to the bar that is open. NULL
 * on error. */
AbcEvent *abc_add(AbcReader *r, AbcKind kind, uint32_t length, int line, int column);
AbcEvent *abc_add_note(AbcReader *r, const AbcWritten *w, uint32_t length);
/* The length of `times` units, as an index into the score's. */
bool abc_units(AbcReader *r, Ratio times, uint32_t *length);
void abc_set_unit(AbcReader *r, Ratio unit);
/* What was pending comes down on the events from `first` on; fingers one a note, in order. */
void abc_settle(AbcReader *r, size_t first);

/* abc_rhythm.c */
bool abc_length_written(AbcReader *r, AbcScan *s, Ratio *times);
bool abc_tuplet(AbcReader *r, AbcScan *s);    /* at "(3" */
bool abc_broken(AbcReader *r, AbcScan *s);    /* at '<' or '>' */
void abc_tie(AbcReader *r, const AbcScan *s); /* at '-' */
bool abc_rhythm_changed(AbcReader *r, size_t first);

/* abc_symbols.c: at '!', '+' or a letter that stands for a decoration. */
void abc_decoration(AbcReader *r, AbcScan *s);
bool abc_symbol_letter(char c);
void abc_symbol(AbcReader *r, AbcScan *s);
void abc_symbol_define(AbcReader *r, const AbcLine *value);

/* abc_bars.c: at '|', ':', "[|" or an ending's '['. */
bool abc_bar_line(AbcReader *r, AbcScan *s);
bool abc_ending_follows(const AbcScan *s);
bool abc_ending(AbcReader *r, AbcScan *s);

/* The order in which events are played: stretches of the score. */
typedef struct {
    struct {
        int32_t from, to;
    } * runs; /* caller frees, after an error too */
    size_t count, room;
    size_t notes; /* in all of them */
} AbcOrder;

/* abc_repeats.c */
bool abc_unfold(AbcReader *r, AbcOrder *order);
/* abc_build.c: fills the passage from the score. */
bool abc_build(AbcReader *r);

static inline bool abc_length_follows(const AbcScan *s)
{
    return s->at < s->end && *s->at >= '/' && *s->at <= '9'; /* '/' stands before '0' */
}

/* "3/2", "/", "//": a length in units; 1 if there is none, which is so for most notes. */
static inline bool abc_length(AbcReader *r, AbcScan *s, Ratio *times)
{
    *times = ratio_int(1);
    return !abc_length_follows(s) || abc_length_written(r, s, times);
}

/* Puts tuplet and broken rhythm on the events from `first` on, which are one thing played. */
static inline bool abc_rhythm(AbcReader *r, size_t first)
{
    if ((r->tuplet_left > 0 || r->broken != 0) && !abc_rhythm_changed(r, first))
        return false;
    r->last = first;
    r->last_end = r->score.count;
    return true;
}

#endif
