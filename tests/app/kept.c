#include "kept.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/paths.h"
#include "evenhand/journal/journal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NOON = 43200000, MINUTE = 60000, DAY_MS = 86400000 };

static char home[] = "/tmp/evenhand-kept-XXXXXX";

int kept_enter(void **state)
{
    (void)state;
    memcpy(strrchr(home, '-') + 1, "XXXXXX", 6);
    return mkdtemp(home) != NULL && setenv("XDG_DATA_HOME", home, 1) == 0 ? 0 : -1;
}

int kept_leave(void **state)
{
    char command[KEPT_PATH];
    (void)state;
    snprintf(command, sizeof command, "rm -rf '%s'", home);
    return system(command) == 0 ? 0 : -1;
}

const char *kept_path(const char *name)
{
    static char path[KEPT_PATH];
    snprintf(path, sizeof path, "%s/%s", home, name);
    return path;
}

/* A passage's notes are told by its title here. */
static uint64_t notes_of(const char *title)
{
    uint64_t sum = 14695981039346656037u;
    for (; *title != '\0'; title++)
        sum = (sum ^ (unsigned char)*title) * 1099511628211u;
    return sum >> 1;
}

static void write_one(Journal *j, const Kept *k)
{
    Error error = {0};
    int64_t at = (int64_t)k->day * DAY_MS + NOON, sitting, id;
    if (!journal_begin(j, k->student, at, k->day, &sitting, &error))
        fail_msg("%s", error.text);
    for (int i = 0; i < k->count; i++) {
        Repetition r = {.notes = notes_of(k->passage),
            .fingers = k->fingers,
            .tempo = tempo(ratio_int(1), ratio_int(k->per_minute)),
            .clean = i < k->clean,
            .at = at + (int64_t)i * MINUTE,
            .day = k->day};
        snprintf(r.student, sizeof r.student, "%s", k->student);
        snprintf(r.passage, sizeof r.passage, "%s", k->passage);
        snprintf(r.drill, sizeof r.drill, "%s", k->drill);
        if (!journal_add(j, sitting, &r, &id, &error))
            fail_msg("%s", error.text);
    }
}

void kept_write(const char *path, const Kept *kept, int count)
{
    char found[PATHS_MAX];
    Error error = {0};
    if (path == NULL && !paths_record(found, &error))
        fail_msg("%s", error.text);
    Journal *j = journal_open(path != NULL ? path : found, &error);
    if (j == NULL)
        fail_msg("%s", error.text);
    for (int i = 0; i < count; i++)
        write_one(j, &kept[i]);
    journal_close(j);
}
