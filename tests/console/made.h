/* made.h - random models in grids of random sizes, for properties of the views. */
#ifndef EVENHAND_TESTS_CONSOLE_MADE_H
#define EVENHAND_TESTS_CONSOLE_MADE_H

#include "evenhand/console/grid.h"
#include "evenhand/console/model.h"

enum { ROUNDS = 3000, NOTES_MAX = 60, ITEMS_MAX = 30, POINTS_MAX = 90 };

/* The model and all that it points to; the seed, never 0, makes it. */
typedef struct {
    uint64_t seed;
    Model model;
    ModelNote notes[NOTES_MAX];
    ModelItem items[ITEMS_MAX];
    ModelNote plans[MODEL_PLANS_MAX][NOTES_MAX];
    uint8_t fixed[NOTES_MAX];
    ModelRecordItem records[ITEMS_MAX];
    ChartPoint points[POINTS_MAX];
} Made;
extern Made made;

int between(int low, int high);
/* `sane`: a passage that is being played, as the application would fill it in. */
void random_model(bool sane);
/* The fingerings; random_model makes them only where it is not sane. */
void random_fingers(ModelFingers *f, int notes, bool sane);
/* Mostly the sizes that people have, sometimes tiny or huge. */
Grid random_grid(void);

#endif
