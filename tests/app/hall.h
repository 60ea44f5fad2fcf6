/* hall.h - a routine on the bench: the engine's frames are the clock, and hours of them fit.
 * Invented data. Include after cmocka.h. */
#ifndef EVENHAND_TESTS_APP_HALL_H
#define EVENHAND_TESTS_APP_HALL_H

#include "stand.h"

enum { STEP = 400, BAR = 4 * RATE /* of the passage at 60 */, RECENT = 1 << 16 };

/* A practice whose samples are thrown away but for the latest. */
typedef struct {
    Stand s;
    float recent[RECENT];
    int64_t rendered, heard, lead;
} Hall;

/* The routine of this text; four.abc beside it is four bars of 4/4 at 60. hall_close. */
Hall *hall_of(const char *routine);
void hall_close(Hall *h);
/* A file beside them, "run.ini" or "four.abc"; returns its path. */
const char *hall_put(const char *name, const char *text);
/* What is shown when this frame is heard; what lies before it is rendered and looked at. */
const Model *hear(Hall *h, int64_t frame);
void press(Hall *h, Action action);
/* The frame at which what the model says changes, between `from` and `to`. */
int64_t change_of(Hall *h, int64_t from, int64_t to, bool (*says)(const Model *));
/* A bell is struck here: the loudest sample far and wide. */
void assert_bell(const Hall *h, int64_t frame);
void only_bells(Hall *h);

/* A directory for the files, before and after all tests. */
int hall_folder(void **state);
int hall_folder_gone(void **state);

#endif
