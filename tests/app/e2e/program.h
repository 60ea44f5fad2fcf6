/* program.h - the program that is tested, and the timeline that it promises. Include after
 * cmocka.h.
 *
 * The program is $EVENHAND_BIN, else $EVENHAND_BUILD/evenhand, else build/evenhand.
 */
#ifndef EVENHAND_TESTS_APP_E2E_PROGRAM_H
#define EVENHAND_TESTS_APP_E2E_PROGRAM_H

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { PROGRAM_ROOM = 2048, COMMAND_ROOM = 8192, EVENTS_MAX = 4096, RATE = 48000 };

#define SECOND ((int64_t)1000000000)
#define MILLISECOND ((int64_t)1000000)

/* Two tunes: 1 fifteen notes in two bars of 4/4, up and down; 2 four notes in a bar of 2/4. */
#define WALK "tests/app/e2e/walk.abc:1"
#define FOUR_STEPS "tests/app/e2e/walk.abc:2"

/* An event as `evenhand timeline` prints it; 0 where it prints "-". */
typedef struct {
    int64_t frame;
    int step;                              /* 1-based, counted by the count-ins */
    int bar, beat;                         /* whole beats; the fraction of a beat is not kept */
    bool count_in, pulse, strikes, accent; /* pulse: of any kind; strikes: a note begins */
    int note, finger, group;
} Event;

typedef struct {
    size_t count;
    Event event[EVENTS_MAX];
} Events;

/* The program's path; the same string each time. */
static inline const char *program_path(void)
{
    static char path[PROGRAM_ROOM];
    const char *named = getenv("EVENHAND_BIN"), *build = getenv("EVENHAND_BUILD");
    char root[PROGRAM_ROOM / 2 - 1];

    if (path[0] != '\0')
        return path;
    if (named != NULL)
        snprintf(path, sizeof path, "%s", named);
    else
        snprintf(path, sizeof path, "%s/evenhand", build != NULL ? build : "build");
    if (path[0] != '/') {
        char relative[PROGRAM_ROOM / 2];
        snprintf(relative, sizeof relative, "%.*s", (int)sizeof relative - 1, path);
        assert_non_null(getcwd(root, sizeof root));
        snprintf(path, sizeof path, "%s/%s", root, relative);
    }
    if (access(path, X_OK) != 0)
        fail_msg("%s is not there: make builds it", path);
    return path;
}

/* The surroundings of all that a test starts: the tree's own data; a practice record that is
 * nobody's (each sound card brings one of its own), never the one in the home of who runs the test;
 * built with sanitizers, no search for leaks in the audio libraries, whose modules are gone by then
 * and have no names (the sound room's tests look for ours). */
static inline void program_surroundings(void)
{
    setenv("XDG_DATA_HOME", "/dev/null/nobody", 1); /* where nothing can be made */
    char options[COMMAND_ROOM];
    const char *given = getenv("ASAN_OPTIONS");
    snprintf(options, sizeof options, "%s:detect_leaks=0", given != NULL ? given : "");
    setenv("ASAN_OPTIONS", options, 1);
    setenv("EVENHAND_DATA", ".", 1);
}

/* One row: frame bar beat kind level note finger group. */
static inline void take_event(Events *all, const char *line, bool *counting, int *step)
{
    char kind[16], bar[16], beat[16], note[16], finger[16], group[16];
    long long frame;
    int level;
    if (sscanf(line, "%lld %15s %15s %15s %d %15s %15s %15s", &frame, bar, beat, kind, &level, note,
            finger, group) != 8)
        return; /* the header line */
    Event e = {.frame = frame,
        .bar = atoi(bar),
        .beat = atoi(beat),
        .count_in = strcmp(kind, "count-in") == 0,
        .accent = strcmp(kind, "accent") == 0,
        .note = atoi(note),
        .finger = atoi(finger),
        .group = atoi(group)};
    char *slash = strchr(beat, '/');
    if (slash != NULL)
        e.beat /= atoi(slash + 1);
    e.pulse = e.count_in || strcmp(kind, "downbeat") == 0 || strcmp(kind, "pulse") == 0;
    e.strikes = e.accent || strcmp(kind, "note") == 0;
    if (e.count_in && !*counting)
        ++*step;
    *counting = e.count_in;
    e.step = *step;
    assert_true(all->count < EVENTS_MAX);
    all->event[all->count++] = e;
}

/* The timeline of these words (file and options) at RATE. */
static inline void read_events(const char *words, Events *out)
{
    char command[COMMAND_ROOM], line[256];
    bool counting = false;
    int step = 0;

    out->count = 0;
    snprintf(command, sizeof command, "'%s' timeline %s --rate %d", program_path(), words, RATE);
    FILE *rows = popen(command, "r");
    assert_non_null(rows);
    while (fgets(line, sizeof line, rows) != NULL)
        take_event(out, line, &counting, &step);
    if (pclose(rows) != 0 || out->count == 0)
        fail_msg("%s failed", command);
}

/* First event of a step; count where there is none. */
static inline size_t step_begin(const Events *all, int step)
{
    size_t i = 0;
    while (i < all->count && all->event[i].step < step)
        i++;
    return i;
}

#endif
