/* bench_rooms.c - what can be timed inside one process.
 *
 *     bench_rooms text NOTES     prints an invented run of so many notes as ABC
 *     bench_rooms wander NOTES   the same, of steps, turns, leaps and rests at random
 *     bench_rooms broken NOTES   the same, of triads broken to and fro, another one every bar
 *     bench_rooms read FILE      reads all of FILE's tunes once and says how many; to be timed as
 *                                a process, as a reader of another kind is
 *     bench_rooms abc FILE       best time to read all of FILE's tunes, in microseconds
 *     bench_rooms plan FILE      best time to plan the fingers of its first tune, likewise; and
 *                                of its four cheapest plans
 *     bench_rooms drills FILE    best time to build all drills of its default session, likewise
 *     bench_rooms engine FILE    99.9th percentile of one 256-frame block at 48 kHz, likewise,
 *                                every layer on, and the median
 */
#include "evenhand/drill/session.h"
#include "evenhand/drill/timeline.h"
#include "evenhand/formats/abc.h"
#include "evenhand/harp/fingering.h"
#include "evenhand/sound/engine.h"

#include <errno.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { TIMES = 9, RATE = 48000, BLOCK = 256, FILE_MAX = 1 << 20 };

typedef struct {
    Passage *passage;
    Fingering fingering;
    Rotation rotation;
    Session session;
} Work;

static double microseconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e6 + (double)t.tv_nsec / 1e3;
}

static _Noreturn void fail(const Error *error)
{
    char text[512];
    fprintf(stderr, "bench_rooms: %s\n", error_format(error, text, sizeof text));
    exit(1);
}

static const char *const strings[] = {"C,", "D,", "E,", "F,", "G,", "A,", "B,", "C", "D", "E", "F",
    "G", "A", "B", "c", "d", "e", "f", "g", "a", "b", "c'"};
enum { SPAN = (int)(sizeof strings / sizeof strings[0]) - 1 };

/* Up and down over three octaves. */
static int wave_place(int i)
{
    int place = i % (2 * SPAN);
    return place <= SPAN ? place : 2 * SPAN - place;
}

/* xorshift64*, from memory (Vigna 2016). */
static int random_below(uint64_t *state, int most)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (int)((*state * 2685821657736338717u >> 33) % (uint64_t)most);
}

/* Steps one way for a while, now and then a turn, a leap of up to an octave, or a rest (-1). */
static int wander_place(uint64_t *state, int *place, int *way)
{
    int chance = random_below(state, 24);
    if (chance < 4 || *place + *way < 0 || *place + *way > SPAN)
        *way = -*way;
    *place += chance == 5 ? random_below(state, 15) - 7 : *way;
    *place = *place < 0 ? 0 : *place > SPAN ? SPAN : *place;
    return chance == 6 ? -1 : *place;
}

/* Quavers; letters only, so that any reader takes it. Rests are not counted as notes. */
/* Low, high, middle, high; another triad for each bar of eight. */
static int broken_place(uint64_t *state, int *root, int i)
{
    static const int figure[] = {0, 4, 2, 4};
    if (i % 8 == 0)
        *root = random_below(state, SPAN - 4);
    return *root + figure[i % 4];
}

static int print_text(int notes, const char *kind)
{
    uint64_t state = 20240229;
    int at = SPAN / 2, way = 1;

    printf("X:1\nT:Long run (invented)\nM:4/4\nL:1/8\nQ:1/4=120\nK:C\n");
    for (int i = 0, played = 0; played < notes; i++) {
        int place = strcmp(kind, "wander") == 0   ? wander_place(&state, &at, &way)
                    : strcmp(kind, "broken") == 0 ? broken_place(&state, &at, i)
                                                  : wave_place(i);
        fputs(place < 0 ? "z" : strings[place], stdout);
        played += place >= 0;
        if (i % 8 == 7 || played == notes)
            fputs(i % 64 == 63 ? "|\n" : "| ", stdout);
        else if (i % 4 == 3)
            putchar(' ');
    }
    putchar('\n');
    return 0;
}

static size_t read_file(const char *path, char *text)
{
    FILE *f = fopen(path, "rb");
    if (f == NULL) {
        fprintf(stderr, "bench_rooms: %s: %s\n", path, strerror(errno));
        exit(1);
    }
    size_t size = fread(text, 1, FILE_MAX, f);
    fclose(f);
    return size;
}

/* Where the line so many further on begins; the end where there is no such line. */
static const char *line_start(const char *text, const char *end, int further)
{
    for (; further > 0 && text < end; further--) {
        const char *feed = memchr(text, '\n', (size_t)(end - text));
        text = feed ? feed + 1 : end;
    }
    return text;
}

/* Where each tune of a text begins, and the end of the last. The caller frees. */
static const char **find_tunes(const char *text, size_t size, size_t *count)
{
    AbcTune *tunes = NULL;
    Error error;

    if (!abc_list(text, size, &tunes, count, &error))
        fail(&error);
    const char **starts = calloc(*count + 1, sizeof *starts);
    if (starts == NULL)
        exit(1);
    for (size_t i = 0; i < *count; i++)
        starts[i] = i == 0
                        ? line_start(text, text + size, tunes[i].line - 1)
                        : line_start(starts[i - 1], text + size, tunes[i].line - tunes[i - 1].line);
    starts[*count] = text + size;
    free(tunes);
    return starts;
}

static void read_tunes(const char *const *starts, size_t count)
{
    Error error;
    for (size_t i = 0; i < count; i++) {
        Passage *p = abc_read(starts[i], (size_t)(starts[i + 1] - starts[i]), 0, &error);
        if (p == NULL)
            fail(&error);
        passage_free(p);
    }
}

/* Every tune of the text, each on its own: finding a tune in a book is no part of reading it. */
static double time_reading(const char *text, size_t size)
{
    double best = 1e18;
    size_t count = 0;
    const char **starts = find_tunes(text, size, &count);

    for (int k = 0; k < TIMES; k++) {
        double start = microseconds();
        read_tunes(starts, count);
        double took = microseconds() - start;
        best = took < best ? took : best;
    }
    free(starts);
    return best;
}

/* Once, finding included. */
static void read_once(const char *text, size_t size)
{
    size_t count = 0;
    const char **starts = find_tunes(text, size, &count);
    read_tunes(starts, count);
    free(starts);
    printf("%zu tunes\n", count);
}

static void prepare(const char *text, size_t size, Work *w)
{
    Error error;
    SessionOptions options = {.tempo = {{0, 1}, {0, 1}}};

    w->passage = abc_read(text, size, 0, &error);
    if (w->passage == NULL || !fingering_plan(w->passage, NULL, &w->fingering, &error) ||
        !rotation_plan(w->passage, &w->fingering, NULL, (Ratio){0, 1}, &w->rotation, &error))
        fail(&error);
    options.tempo = w->passage->tempo;
    options.base = drill_plain();
    if (!session_default(w->passage, &w->fingering, &w->rotation, &options, &w->session, &error))
        fail(&error);
}

static void release(Work *w)
{
    session_free(&w->session);
    rotation_free(&w->rotation);
    fingering_free(&w->fingering);
    passage_free(w->passage);
}

static double time_drills(const Work *w)
{
    double best = 1e18;
    Error error;

    for (int k = 0; k < TIMES; k++) {
        double start = microseconds();
        for (size_t i = 0; i < w->session.count; i++) {
            Drill d;
            if (!drill_build(w->passage, &w->fingering, &w->rotation, &w->session.steps[i].drill,
                    &d, &error))
                fail(&error);
            drill_free(&d);
        }
        double took = microseconds() - start;
        best = took < best ? took : best;
    }
    return best;
}

/* The cheapest `wanted` plans of the passage. */
static double time_planning(const Passage *p, int wanted)
{
    double best = 1e18;
    Error error;

    for (int k = 0; k < TIMES; k++) {
        Fingering plans[FINGERING_PLANS_MAX];
        int found = 0;
        double start = microseconds();
        if (!fingering_plans(p, NULL, wanted, plans, &found, &error))
            fail(&error);
        double took = microseconds() - start;
        best = took < best ? took : best;
        for (int i = 0; i < found; i++)
            fingering_free(&plans[i]);
    }
    return best;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Plays the session's first step ten times, every layer on, and times each block. */
static void time_engine(const Work *w)
{
    Error error;
    float out[BLOCK];
    Mix mix = mix_default();
    for (int i = 0; i < LAYER_KINDS; i++)
        mix.on[i] = true;

    VoiceBank *voices = voices_load("sounds", NULL, RATE, &error);
    PluckBank *plucks = plucks_make(w->passage, RATE, 440, &error);
    Timeline *t = timeline_new(
        w->passage, &w->fingering, &w->rotation, &w->session.steps[0], NULL, RATE, &error);
    Engine *e = voices == NULL ? NULL : engine_new(voices, &mix, &error);
    if (plucks == NULL || t == NULL || e == NULL)
        fail(&error);

    size_t blocks = (size_t)(timeline_frames(t) / BLOCK) * 10;
    double *took = calloc(blocks + 1, sizeof *took);
    if (took == NULL)
        exit(1);
    Command play = {.kind = COMMAND_PLAY, .source = {t, plucks}};
    for (size_t i = 0; i < blocks; i++) {
        EngineEvent event;
        if (i % (blocks / 10) == 0)
            engine_send(e, &play);
        double start = microseconds();
        engine_render(e, out, BLOCK);
        took[i] = microseconds() - start;
        while (engine_receive(e, &event))
            continue;
    }
    qsort(took, blocks, sizeof *took, by_size);
    printf("%.3f %.3f\n", took[(size_t)((double)blocks * 0.999)], took[blocks / 2]);

    free(took);
    engine_free(e);
    timeline_free(t);
    plucks_free(plucks);
    voices_free(voices);
}

/* What needs the first tune planned. */
static void bench_first(const char *what, const char *text, size_t size)
{
    Work w = {0};
    prepare(text, size, &w);
    if (strcmp(what, "plan") == 0)
        printf("%.1f %.1f\n", time_planning(w.passage, 1), time_planning(w.passage, 4));
    else if (strcmp(what, "drills") == 0)
        printf("%.1f\n", time_drills(&w));
    else
        time_engine(&w);
    release(&w);
}

int main(int argc, char **argv)
{
    if (argc != 3) {
        fputs("usage: bench_rooms text|wander|broken NOTES, or read|abc|plan|drills|engine FILE\n",
            stderr);
        return 2;
    }
    bool prints = strcmp(argv[1], "text") == 0 || strcmp(argv[1], "wander") == 0 ||
                  strcmp(argv[1], "broken") == 0;
    if (prints)
        return print_text((int)strtol(argv[2], NULL, 10), argv[1]);

    char *text = malloc(FILE_MAX);
    if (text == NULL)
        return 1;
    size_t size = read_file(argv[2], text);
    if (strcmp(argv[1], "read") == 0)
        read_once(text, size);
    else if (strcmp(argv[1], "abc") == 0)
        printf("%.1f\n", time_reading(text, size));
    else
        bench_first(argv[1], text, size);
    free(text);
    return 0;
}
