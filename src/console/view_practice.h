/* view_practice.h - the practice screen's own parts: where everything stands, and who draws it.
 *
 * The screen is a pile of bands; each has a height, and what lies above it pushes it down, so
 * that bands cannot overlap. A low terminal has few bands, a high one all of them, and larger
 * ones. Pure.
 *
 *      80 x 24                         band
 *      Title             key metre     TITLE
 *      drill                  hands    DRILL
 *      repetition step time left       PROGRESS
 *      block of a routine, time left   ROUTINE
 *                                      GAP_TOP
 *      finger  accent  next   beat     LABELS
 *     |444444| >>>>>>  3 G4   222222   PANEL
 *      next accent, where the panel has no room for it   COMING
 *      what the crossing finger does next                CROSSING
 *      accents, fingers, note names, long and short, group brackets, beats, marker
 *      what comes next                 NEXT
 *      news, or the audio device       MESSAGE
 *      what Space does                 KEYS
 */
#ifndef EVENHAND_SRC_CONSOLE_VIEW_PRACTICE_H
#define EVENHAND_SRC_CONSOLE_VIEW_PRACTICE_H

#include "bigfont.h"
#include "view_parts.h"

typedef enum {
    BAND_TITLE,
    BAND_DRILL,
    BAND_PROGRESS,
    BAND_ROUTINE, /* where a routine runs: block and time; the whole as a bar; the time, large */
    BAND_GAP_TOP,
    BAND_LABELS,
    BAND_PANEL,
    BAND_COMING,
    BAND_GAP_MIDDLE, /* the finger's frame ends there, and the beats stand there as dots */
    BAND_CROSSING,
    BAND_ACCENTS,
    BAND_FINGERS,
    BAND_NAMES, /* one row, or as many as make the run of the strings a staircase */
    BAND_LENGTHS,
    BAND_BRACKETS,
    BAND_BEATS,
    BAND_MARKER,
    BAND_GAP_LOW,
    BAND_NEXT,
    BAND_MESSAGE,
    BAND_GAP_END,
    BAND_KEYS,
    BANDS
} Band;

typedef struct {
    int top[BANDS], rows[BANDS]; /* rows 0: not on the screen */
    BigSize size;                /* of the panel's figures */
    int figure;                  /* columns of one digit or of the accent sign */
    BigSize chord;               /* of the fingers of a chord, side by side */
    int finger_x, finger_width;  /* within the finger's frame, which has a blank around it */
    int accent_x;
    int info_x, info_width; /* between accent and beat; width 0: no room */
    int beat_x, beat_width;
} PracticeLayout;

PracticeLayout practice_layout(const Model *m, int width, int height);

/* What is still to come in this repetition, or at the head of the next one. */
typedef struct {
    int note;   /* index, -1: nothing */
    int notes;  /* how many notes from the one heard now; 1: the next one */
    bool again; /* it belongs to the next repetition: the hand is placed afresh */
} Ahead;
Ahead practice_next_accent(const Model *m);
Ahead practice_next_link(const Model *m);
/* The strings of a chord where their names fit into `width` columns, else its lowest one's. */
void practice_strings(const ModelNote *n, int width, char *out, size_t size);
/* The title where it fits into `width` columns, else the few words, if there are any. */
const char *practice_words(const char *title, const char *brief, int width);
/* The hand crosses, is replaced or lifted on the way to this note. */
bool practice_bears_link(const ModelNote *n);
/* The note that the passage is shown around: heard now, else the one to come. */
int practice_focus(const Model *m);
/* "in 3 notes", "next note". */
void practice_distance(int notes, char *out, size_t size);

/* What a routine draws (view_routine.c): its rows, the title line where there are none, and the
 * whole screen while nothing is played. */
enum { ROUTINE_BAND_BIG = 9 };
void routine_band(const Model *m, Grid *g, int y, int rows);
void routine_title(const Model *m, Grid *g, int y);
void view_routine_idle(const Model *m, Grid *g);

void practice_panel(const Model *m, Grid *g, const PracticeLayout *layout);
void practice_notes(const Model *m, Grid *g, const PracticeLayout *layout);

#endif
