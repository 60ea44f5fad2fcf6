#include "evenhand/formats/routine_file.h"

#include "routine_values.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef enum { SECTION_NONE, SECTION_ROUTINE, SECTION_STUDENT, SECTION_BLOCK, SECTION_BREAK } Kind;

enum { KINDS = SECTION_BREAK + 1, KEYS_MAX = 12 };

static const struct {
    const char *name;
    const char *keys[KEYS_MAX]; /* NULL ends them */
} sections[KINDS] = {
    [SECTION_NONE] = {"", {NULL}},
    [SECTION_ROUTINE] = {"routine", {"title", "student", "break-after", "minutes", NULL}},
    [SECTION_STUDENT] = {"student", {"name", NULL}},
    [SECTION_BLOCK] = {"block", {"title", "minutes", "repetitions", "passage", "drills", "tempo",
                                    "ladder", "steps", "pattern", "above", "rest", NULL}},
    [SECTION_BREAK] = {"break", {"title", "minutes", NULL}},
};

typedef struct {
    Routine *routine;
    Kind section;
    int line;      /* of the section */
    unsigned seen; /* bit for each key of it, by its place in the table */
    char student[ROUTINE_TEXT_MAX];
    int stated; /* line that says how long the whole is; 0 none */
    Error *error;
} Reading;

static bool wrong(Reading *r, int line, const char *text)
{
    return error_at(r->error, ERROR_SYNTAX, line, 0, "%s", text);
}

static RoutineBlock *last_block(Reading *r)
{
    return &r->routine->blocks[r->routine->count - 1];
}

static bool has(const Reading *r, const char *key)
{
    for (int i = 0; sections[r->section].keys[i] != NULL; i++)
        if (strcmp(sections[r->section].keys[i], key) == 0)
            return (r->seen & 1u << i) != 0;
    return false;
}

/* Up after three clean ones, by the metronome's numbers, one rung above the goal [common
 * practice]. */
static RoutineBlock new_block(const Reading *r, bool breaks, int line)
{
    RoutineBlock block = {.breaks = breaks,
        .tempo = {{0, 1}, {0, 1}},
        .ladder = {.by = LADDER_BY_NUMBERS,
            .amount = {0, 1},
            .pattern = LADDER_CLEAN,
            .clean = 3,
            .repetitions = 1,
            .above = 1},
        .rest = ROUTINE_REST,
        .line = line};
    snprintf(block.student, sizeof block.student, "%s", r->student);
    for (int i = r->routine->count - 1; i >= 0; i--) /* spelled as it was first */
        if (routine_same_name(r->routine->blocks[i].student, r->student))
            snprintf(block.student, sizeof block.student, "%s", r->routine->blocks[i].student);
    snprintf(block.title, sizeof block.title, "%s", breaks ? "Break" : "");
    return block;
}

static bool open_block(Reading *r, bool breaks, int line)
{
    Routine *routine = r->routine;
    if (routine->count >= ROUTINE_BLOCKS_MAX)
        return error_at(
            r->error, ERROR_LIMIT, line, 0, "a routine has at most %d blocks", ROUTINE_BLOCKS_MAX);
    if (routine->blocks == NULL)
        routine->blocks = calloc(ROUTINE_BLOCKS_MAX, sizeof *routine->blocks);
    if (routine->blocks == NULL)
        return error_set(r->error, ERROR_MEMORY, "out of memory for the routine");
    routine->blocks[routine->count++] = new_block(r, breaks, line);
    return true;
}

static bool check_length(Reading *r, RoutineBlock *b)
{
    if (has(r, "minutes") && has(r, "repetitions"))
        return wrong(r, b->line, "this block has minutes and repetitions: write one of them");
    if (!has(r, "minutes") && !has(r, "repetitions"))
        return wrong(r, b->line,
            b->breaks ? "this break has no length: write minutes = 5"
                      : "this block has no length: write minutes = 5 or repetitions = 4");
    if (b->seconds > 0 && b->seconds <= b->rest)
        return error_at(r->error, ERROR_SYNTAX, b->line, 0,
            "its rest of %d seconds is all of this block: write more minutes, or a rest from %d",
            b->rest, ROUTINE_BELL);
    return true;
}

static bool check_block(Reading *r)
{
    RoutineBlock *b = last_block(r);
    static const char *const playing[] = {"repetitions", "drills", "tempo", "ladder"};
    static const char *const climbing[] = {"steps", "pattern", "above"};
    if (b->title[0] == '\0')
        return wrong(r, b->line, "this block has no title: write title = Warm up");
    if (!check_length(r, b))
        return false;
    for (size_t i = 0; b->passage[0] == '\0' && i < sizeof playing / sizeof playing[0]; i++)
        if (has(r, playing[i]))
            return error_at(r->error, ERROR_SYNTAX, b->line, 0,
                "%s of what? Write passage = FILE.abc in this block, or leave that out",
                playing[i]);
    if (has(r, "tempo") && has(r, "ladder"))
        return wrong(r, b->line, "this block has a tempo and a ladder: write one of them");
    if (has(r, "ladder") && has(r, "repetitions"))
        return wrong(
            r, b->line, "a ladder has its own repetitions: write minutes in place of repetitions");
    for (size_t i = 0; !has(r, "ladder") && i < sizeof climbing / sizeof climbing[0]; i++)
        if (has(r, climbing[i]))
            return error_at(r->error, ERROR_SYNTAX, b->line, 0,
                "%s of what? Write ladder = 60 to 96 in this block, or leave that out",
                climbing[i]);
    return true;
}

static bool close_section(Reading *r)
{
    if (r->section == SECTION_STUDENT && !has(r, "name"))
        return wrong(r, r->line, "whose blocks follow? Write name = and the student's name");
    if (r->section == SECTION_BLOCK || r->section == SECTION_BREAK)
        return check_block(r);
    return true;
}

static bool open_section(Reading *r, const IniEntry *e)
{
    static const char *const names[] = {"routine", "student", "block", "break", NULL};
    int kind = SECTION_ROUTINE;
    while (kind < KINDS && strcmp(sections[kind].name, e->section) != 0)
        kind++;
    if (strcmp(e->section, "exam") == 0)
        return error_at(r->error, ERROR_USAGE, e->line, 0,
            "this is no routine, it is an exam plan: show it with evenhand plan FILE");
    if (kind == KINDS) {
        const char *meant = routine_nearest(e->section, names);
        return error_at(r->error, ERROR_SYNTAX, e->line, 0,
            "there is no section [%s]%s%s%s: write [routine], [student], [block] or [break]",
            e->section, meant != NULL ? ", perhaps [" : "", meant != NULL ? meant : "",
            meant != NULL ? "]" : "");
    }
    if (kind == SECTION_ROUTINE && r->section != SECTION_NONE)
        return wrong(r, e->line, "[routine] stands once, at the top");
    r->section = (Kind)kind;
    r->line = e->line;
    r->seen = 0;
    if (kind == SECTION_BLOCK || kind == SECTION_BREAK)
        return open_block(r, kind == SECTION_BREAK, e->line);
    return true;
}

/* Marks the key as seen. */
static bool know_key(Reading *r, const IniEntry *e)
{
    const char *const *keys = sections[r->section].keys;
    char known[200] = "";
    for (int i = 0; keys[i] != NULL; i++) {
        size_t used = strlen(known);
        snprintf(known + used, sizeof known - used, "%s%s", i > 0 ? ", " : "", keys[i]);
        if (strcmp(keys[i], e->key) != 0)
            continue;
        if ((r->seen & 1u << i) != 0)
            return error_at(r->error, ERROR_SYNTAX, e->line, 0,
                "%s stands twice in this section: leave one of them out", e->key);
        r->seen |= 1u << i;
        return true;
    }
    if (r->section == SECTION_NONE)
        return error_at(r->error, ERROR_SYNTAX, e->line, 0,
            "%s stands before any section: write [routine] or [block] above it", e->key);
    const char *meant = routine_nearest(e->key, keys);
    if (meant != NULL)
        return error_at(r->error, ERROR_SYNTAX, e->line, 0, "there is no %s in [%s]: write %s",
            e->key, sections[r->section].name, meant);
    return error_at(r->error, ERROR_SYNTAX, e->line, 0, "there is no %s in [%s]; there is %s",
        e->key, sections[r->section].name, known);
}

static bool take_text(Reading *r, const IniEntry *e, char *out, size_t size)
{
    if (e->value[0] == '\0')
        return error_at(
            r->error, ERROR_SYNTAX, e->line, 0, "%s is empty: write it, or leave it out", e->key);
    if (strlen(e->value) >= size)
        return error_at(
            r->error, ERROR_SYNTAX, e->line, 0, "%s has at most %d bytes", e->key, (int)size - 1);
    memcpy(out, e->value, strlen(e->value) + 1);
    return true;
}

static bool take_routine(Reading *r, const IniEntry *e)
{
    Routine *routine = r->routine;
    if (strcmp(e->key, "title") == 0)
        return take_text(r, e, routine->title, sizeof routine->title);
    if (strcmp(e->key, "student") == 0)
        return take_text(r, e, r->student, sizeof r->student);
    if (strcmp(e->key, "break-after") == 0)
        return routine_whole(e, 0, ROUTINE_MINUTES_MAX, &routine->break_after, r->error);
    r->stated = e->line;
    return routine_minutes(
        e, ROUTINE_MINUTES_MAX * ROUTINE_BLOCKS_MAX, &routine->seconds, r->error);
}

static bool take_ladder(Reading *r, const IniEntry *e, RoutineBlock *b)
{
    if (strcmp(e->key, "steps") == 0) {
        b->has_steps = true;
        return routine_steps(e, &b->ladder, r->error);
    }
    if (strcmp(e->key, "pattern") == 0)
        return routine_pattern(e, &b->ladder, r->error);
    if (strcmp(e->key, "above") == 0) {
        b->has_above = true;
        return routine_whole(e, 0, LADDER_ABOVE_MAX, &b->ladder.above, r->error);
    }
    b->has_ladder = true;
    b->ladder_line = e->line;
    return routine_ladder(e, &b->ladder, r->error);
}

static bool take_block(Reading *r, const IniEntry *e)
{
    RoutineBlock *b = last_block(r);
    if (strcmp(e->key, "title") == 0)
        return take_text(r, e, b->title, sizeof b->title);
    if (strcmp(e->key, "minutes") == 0)
        return routine_minutes(e, ROUTINE_MINUTES_MAX, &b->seconds, r->error);
    if (strcmp(e->key, "repetitions") == 0)
        return routine_whole(e, 1, ROUTINE_REPETITIONS_MAX, &b->repetitions, r->error);
    if (strcmp(e->key, "passage") == 0) {
        b->passage_line = e->line;
        return take_text(r, e, b->passage, sizeof b->passage);
    }
    if (strcmp(e->key, "drills") == 0) {
        b->drills_line = e->line;
        return routine_drills(e, b, r->error);
    }
    if (strcmp(e->key, "tempo") == 0) {
        b->tempo_line = e->line;
        return routine_tempo(e, &b->tempo, r->error);
    }
    if (strcmp(e->key, "rest") == 0)
        return routine_whole(e, ROUTINE_BELL, ROUTINE_REST_MAX, &b->rest, r->error);
    return take_ladder(r, e, b);
}

static bool take_entry(Reading *r, const IniEntry *e)
{
    if (e->key[0] == '\0')
        return close_section(r) && open_section(r, e);
    if (!know_key(r, e))
        return false;
    if (r->section == SECTION_ROUTINE)
        return take_routine(r, e);
    if (r->section == SECTION_STUDENT)
        return take_text(r, e, r->student, sizeof r->student);
    return take_block(r, e);
}

/* "28:30" */
static char *clock_text(int seconds, char out[24])
{
    snprintf(out, 24, "%d:%02d", seconds / 60, seconds % 60);
    return out;
}

static bool check_whole(Reading *r)
{
    char sum[24], said[24];
    int counted, seconds = routine_seconds(r->routine, &counted);
    if (r->routine->count == 0)
        return wrong(r, 1, "there is no block in it: write [block] with a title and minutes");
    if (r->stated == 0)
        return true;
    if (counted > 0)
        return error_at(r->error, ERROR_SYNTAX, r->stated, 0,
            "the whole cannot be said in minutes while %d of its blocks go by repetitions: leave "
            "this line out",
            counted);
    if (seconds != r->routine->seconds)
        return error_at(r->error, ERROR_SYNTAX, r->stated, 0,
            "the blocks come to %s minutes, not %s: change one of them, or this line",
            clock_text(seconds, sum), clock_text(r->routine->seconds, said));
    return true;
}

bool routine_read(const char *text, size_t size, Routine *out, Error *error)
{
    Ini ini;
    *out = (Routine){.break_after = ROUTINE_BREAK_MINUTES};
    Reading r = {.routine = out, .error = error};
    bool done = ini_read(text, size, &ini, error);
    for (size_t i = 0; done && i < ini.count; i++)
        done = take_entry(&r, &ini.entries[i]);
    done = done && close_section(&r) && check_whole(&r);
    ini_free(&ini);
    if (!done)
        routine_free(out);
    return done;
}
