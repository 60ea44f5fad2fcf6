/* desk.h - the screen of fingerings on the bench, over a file in a folder of its own. */
#ifndef EVENHAND_TESTS_APP_DESK_H
#define EVENHAND_TESTS_APP_DESK_H

#include "stand.h"

enum { NOTES_MAX = 64, NAME_ROOM = 200 };

/* Group and test set-up: desk_file holds desk_tune (two tunes, the second with a mark and a
 * chord), and nothing else is in its folder. */
int desk_make(void **state);
int desk_drop(void **state);
int desk_set_up(void **state);
extern const char desk_tune[];
extern char desk_file[NAME_ROOM];

void desk_put(const char *path, const char *text);
char *in_folder(const char *name); /* until the next call */
void expect_file(const char *path, const char *text);
/* Takes away what is in the folder, and counts it. */
int clear_folder(void);

const ModelFingers *fingers_of(Stand *s);
/* The cursor goes there, and: this plan, this finger (0: free). */
void to_plan(Stand *s, int plan);
void hold(Stand *s, int note, int finger);

/* The plan in use, what is held, and which fingers carry the accents of one place. */
typedef struct {
    int finger[NOTES_MAX], fixed[NOTES_MAX], used, plans;
    int64_t cost;
    char rotation[MODEL_TEXT_MAX];
} Snapshot;
Snapshot snapshot(Stand *s);
bool same_fingers(const Snapshot *a, const Snapshot *b);
void expect_same(const Snapshot *a, const Snapshot *b);

#endif
