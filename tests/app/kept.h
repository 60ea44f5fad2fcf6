/* kept.h - a practice record made by the test, in a directory of its own that XDG_DATA_HOME names.
 * Everything in it is invented. */
#ifndef EVENHAND_TESTS_APP_KEPT_H
#define EVENHAND_TESTS_APP_KEPT_H

#include "evenhand/plan/record.h"

enum { KEPT_PATH = 200 };

/* Makes the directory (cmocka's set-up), and takes it away with all that is in it. */
int kept_enter(void **state);
int kept_leave(void **state);
/* A file's name in it: "evenhand/record.db". Valid until the next call. */
const char *kept_path(const char *name);

/* `count` repetitions, the first `clean` of them clean, a minute apart from noon on (UTC). */
typedef struct {
    const char *student, *passage, *drill;
    int per_minute; /* quarters */
    Day day;
    int count, clean;
    uint64_t fingers;
} Kept;
/* Writes them into the record at `path` (NULL: the one that the program finds). */
void kept_write(const char *path, const Kept *kept, int count);

#endif
