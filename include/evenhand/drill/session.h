/* session.h - what is done in which order: drills, tempos, repetitions, count-in, rests. Pure. */
#ifndef EVENHAND_DRILL_SESSION_H
#define EVENHAND_DRILL_SESSION_H

#include "evenhand/drill/drill.h"

enum { SESSION_STEPS_MAX = 2048, SESSION_BARS_MAX = 16, SESSION_REPETITIONS_MAX = 1000 };

typedef struct {
    DrillSpec drill;
    Tempo tempo;
    int repetitions;   /* 1 .. SESSION_REPETITIONS_MAX */
    int count_in_bars; /* 0 .. SESSION_BARS_MAX, at this step's tempo */
    int rest_bars;     /* 0 .. SESSION_BARS_MAX after the last repetition; the first of them
                        * carries the announcement of the next step */
    int from_bar;      /* index of the passage's bar in which the first repetition begins (after
                        * a pause); 0, or a bar without a bar line of its own: the beginning */
} SessionStep;

typedef struct {
    SessionStep *steps;
    size_t count;
} Session;

/* What session_default leaves open. Zeroed: passage tempo, 2 repetitions, 1 bar of count-in
 * (2 where a bar lasts under 1.5 s), 1 bar of rest. */
typedef struct {
    Tempo tempo;
    int repetitions;
    int count_in_bars; /* 0: default */
    int rest_bars;     /* 0: default; -1: none */
    DrillSpec base;    /* beats, subdivision and the rhythm's p:q and timing are taken from it */
} SessionOptions;

/* Plain; all the 4s, 3s, 2s, thumbs (fingers the plan does not use are left out); the whole
 * beat rotation; long-short; short-long; where three notes make a beat, the threes with the long
 * note in each place; plain. */
bool session_default(const Passage *p, const Fingering *f, const Rotation *r,
    const SessionOptions *options, Session *out, Error *error);
/* Every drill there is for the passage, each once: the default session's without its last
 * plain, then the groups of three and of four with the long note in each place, then the placing
 * drills that the passage has what they need for. */
bool session_every(const Passage *p, const Fingering *f, const Rotation *r,
    const SessionOptions *options, Session *out, Error *error);
/* One drill alone, from options. */
bool session_single(const Passage *p, const DrillSpec *drill, const SessionOptions *options,
    Session *out, Error *error);
void session_free(Session *s);

#endif
