/* drill.h - a drill: the passage with accents placed and note lengths shaped.
 *
 * A DrillSpec is a small value that says which drill; drill_build makes it real: for each note
 * (block) of the passage its onset, length and accent, and the pulses beneath, over one
 * repetition ("cycle"). Time is counted in ticks, `ticks` of them to the quarter, exact.
 *
 *      bar line           first note                                  cycle end
 *      0 ----- offset ----|------------------- cycle -----------------|
 *      (pickup's silent part: pulses of the count-in)   whole bars, so downbeats stay downbeats
 *
 * Pure.
 */
#ifndef EVENHAND_DRILL_DRILL_H
#define EVENHAND_DRILL_DRILL_H

#include "evenhand/drill/placing.h"
#include "evenhand/drill/rotation.h"
#include "evenhand/harp/fingering.h"
#include "evenhand/music/passage.h"

typedef enum {
    ACCENT_STRONG, /* the metre's strong beats */
    ACCENT_FINGER, /* every note of one finger */
    ACCENT_PLACE   /* the strong-beat pattern moved to one place of the rotation */
} AccentRule;

typedef enum {
    TIMING_TOTAL, /* a group of notes keeps its total length */
    TIMING_GOAL   /* short notes at the goal speed, the long one a rest: the time is stretched */
} RhythmTiming;

/* Of every `notes` notes the one at `long_at` (0-based) is long : short = p : q. */
typedef struct {
    int notes;   /* 2, 3 or 4; 0: even, no rhythm */
    int long_at; /* 0 .. notes - 1 */
    int p, q;    /* 1..64 each; 3:1 usual */
    RhythmTiming timing;
} Rhythm;

typedef struct {
    AccentRule accent;
    int finger;        /* 1..4 for ACCENT_FINGER */
    int place;         /* 0-based index into the rotation's places for ACCENT_PLACE */
    BeatPattern beats; /* user-set strong beats; count 0: the metre's */
    Ratio subdivision; /* the rotation's step; 0/1: the commonest note length */
    Rhythm rhythm;
    Placing placing; /* the passage it is played from is made by this; stage.h does that,
                      * drill_build takes the passage and the rotation as made */
} DrillSpec;

enum { DRILL_TEXT_MAX = 160, RHYTHM_PART_MAX = 64, DRILL_PULSES_MAX = 1000000 };

typedef struct {
    int64_t onset;  /* ticks from the bar line at or before the first note */
    int64_t length; /* ticks */
    int32_t note;   /* index into the passage of the first note of the block */
    bool accent;
    int8_t change; /* what the rhythm does to it: 1 longer, -1 shorter, 0 as written */
} DrillNote;

typedef enum { PULSE_DOWNBEAT, PULSE_BEAT, PULSE_SUBDIVISION } PulseKind;

typedef struct {
    int64_t at; /* ticks, as DrillNote.onset */
    PulseKind kind;
    int32_t bar;    /* index into the passage's bars; the last one's for padding bars */
    int64_t in_bar; /* ticks from its bar line, before any stretching of time */
} DrillPulse;

typedef struct {
    DrillSpec spec;
    int64_t ticks;  /* to the quarter */
    int64_t offset; /* ticks from the bar line to the cycle's start */
    int64_t cycle;  /* ticks of one repetition */
    int64_t tail;   /* ticks from the cycle's end to the next bar line, 0 without pickup */
    DrillNote *notes;
    size_t note_count;
    DrillPulse *pulses; /* sorted by at; those before `offset` sound in the count-in only */
    size_t pulse_count;
} Drill;

/* Builds one drill. ERROR_RANGE for a spec out of range (a place beyond the rotation, p or q);
 * ERROR_LIMIT where the lengths get finer than 2^40 ticks. Caller frees with drill_free. */
bool drill_build(const Passage *p, const Fingering *f, const Rotation *r, const DrillSpec *spec,
    Drill *out, Error *error);
void drill_free(Drill *d);

/* The plain drill. */
DrillSpec drill_plain(void);
bool drill_spec_equal(const DrillSpec *a, const DrillSpec *b);

/* The word used on command lines, e.g. "plain", "finger-4", "beat-3", "long-short",
 * "short-long", "long-2-of-3" or a placing drill's ("links"), joined by '+':
 * "links+finger-4+long-short". Returns out. */
char *drill_word(const DrillSpec *spec, char out[DRILL_TEXT_MAX]);
/* Reads such a word; ratio and timing are left as in *spec (give drill_plain() first).
 * ERROR_USAGE says which part is not known and lists the words. */
bool drill_parse(const char *word, DrillSpec *spec, Error *error);
/* Reads "p:q" into the rhythm. ERROR_USAGE. */
bool rhythm_parse_ratio(const char *text, Rhythm *rhythm, Error *error);
/* In words for people: "finger accents: all the 4s (ring)", "beat accents: place 3 of 8",
 * "long-short 3:1". `r` may be NULL. Returns out. */
char *drill_title(const DrillSpec *spec, const Rotation *r, char out[DRILL_TEXT_MAX]);

#endif
