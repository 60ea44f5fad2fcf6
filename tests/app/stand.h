/* stand.h - a practice on the bench: the engine is rendered by the test, frame by frame, and the
 * model is looked at as a listener LATENCY frames behind would see it. */
#ifndef EVENHAND_TESTS_APP_STAND_H
#define EVENHAND_TESTS_APP_STAND_H

#include "evenhand/app/practice.h"

enum { RATE = 8000, LATENCY = 800, BLOCK = 40 };

typedef struct {
    Practice *p;
    Engine *engine;
    VoiceBank *voices;
    Options options;
    float *heard; /* all samples so far */
    size_t count, room;
} Stand;

/* Only count-ins, notes and accents click. stand_free. */
Stand stand_of(const char *file);
Stand stand_of_routine(const char *file);
void stand_free(Stand *s);
const Model *look(Stand *s, int64_t frame);
/* Renders one block and looks at what is heard by then. */
const Model *turn(Stand *s);
void act(Stand *s, Action action);
/* A click: no louder sample within 15 ms on either side. */
bool is_click(const float *samples, size_t count, size_t at);
void run_until(Stand *s, RunState state);
/* Chooses the drill whose title holds these words from the list. */
const Model *choose_drill(Stand *s, const char *words);

#endif
