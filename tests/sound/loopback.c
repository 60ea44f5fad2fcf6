#include "loopback.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { COMMAND_MAX = 300, LINE_ROOM = 1024 };

/* The address sanitizer reads this. Sound libraries are loaded, leak and are unloaded again; only
 * whole call stacks tell whose leaks they are. */
const char *__asan_default_options(void);
const char *__asan_default_options(void)
{
    return "fast_unwind_on_malloc=0";
}

/* Runs a helper and hands its lines to `take`. */
static void run(const char *command, void (*take)(char *line, void *context), void *context)
{
    char line[LINE_ROOM];
    FILE *out = popen(command, "r");

    if (out == NULL)
        fail_msg("cannot run %s", command);
    while (fgets(line, sizeof line, out) != NULL) {
        line[strcspn(line, "\n")] = '\0';
        if (take != NULL)
            take(line, context);
    }
    if (pclose(out) != 0)
        fail_msg("%s failed (its reason stands on standard error)", command);
}

static void loopback(
    const Loopback *l, const char *words, void (*take)(char *line, void *context), void *context)
{
    char command[COMMAND_MAX];
    char what[16];
    size_t verb = strcspn(words, " ");

    snprintf(what, sizeof what, "%.*s", (int)verb, words);
    snprintf(command, sizeof command, "/usr/bin/python3 tests/tools/loopback.py %s %s%s", what,
        l->directory, words + verb);
    run(command, take, context);
}

static void take_variable(char *line, void *context)
{
    char *equals = strchr(line, '=');

    (void)context;
    if (equals == NULL)
        return;
    *equals = '\0';
    setenv(line, equals + 1, 1);
}

void loopback_start(Loopback *l)
{
    snprintf(l->directory, sizeof l->directory, "/tmp/evenhand-loopback-XXXXXX");
    if (mkdtemp(l->directory) == NULL)
        fail_msg("no directory can be made in /tmp");
    l->owner = (long)getpid();
    loopback_restart(l);
}

void loopback_restart(const Loopback *l)
{
    char words[40];
    snprintf(words, sizeof words, "start %ld", l->owner);
    loopback(l, words, take_variable, NULL);
}

void loopback_kill(const Loopback *l)
{
    loopback(l, "kill", NULL, NULL);
}

void loopback_freeze(const Loopback *l)
{
    loopback(l, "freeze", NULL, NULL);
}

void loopback_thaw(const Loopback *l)
{
    loopback(l, "thaw", NULL, NULL);
}

void loopback_no_device(const Loopback *l)
{
    loopback(l, "silent", take_variable, NULL);
}

void loopback_record(const Loopback *l)
{
    char words[100];
    snprintf(words, sizeof words, "record %s/heard.wav", l->directory);
    loopback(l, words, NULL, NULL);
}

static void take_click(char *line, void *context)
{
    Recording *r = context;
    char *end;
    long long frame = strtoll(line, &end, 10);

    if (end == line || *end != '\t' || r->count == HEARD_MAX) /* the header line */
        return;
    r->click[r->count++] = (HeardClick){.frame = frame, .level = strtod(end, NULL)};
}

static void take_start(char *line, void *context)
{
    Recording *r = context;
    char *end;
    r->start = strtoll(line, &end, 10);
    r->slip = strtoll(end, NULL, 10);
}

void loopback_hear(const Loopback *l, double threshold, Recording *out)
{
    char command[COMMAND_MAX];

    loopback(l, "finish", NULL, NULL);
    *out = (Recording){0};
    snprintf(command, sizeof command, "cat %s/heard.wav.start", l->directory);
    run(command, take_start, out);
    snprintf(command, sizeof command,
        "/usr/bin/python3 tests/tools/clicks.py %s/heard.wav --threshold %.1f", l->directory,
        threshold);
    run(command, take_click, out);
}

void loopback_stop(Loopback *l)
{
    char command[COMMAND_MAX];

    if (l->directory[0] == '\0')
        return;
    loopback(l, "stop", NULL, NULL);
    snprintf(command, sizeof command, "rm -rf '%s'", l->directory);
    run(command, NULL, NULL);
    l->directory[0] = '\0';
}

int64_t monotonic_now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * 1000000000 + t.tv_nsec;
}

void pause_for(int64_t nanoseconds)
{
    struct timespec t = {
        .tv_sec = (time_t)(nanoseconds / 1000000000), .tv_nsec = (long)(nanoseconds % 1000000000)};
    nanosleep(&t, NULL);
}
