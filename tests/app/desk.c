#include "desk.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "tools/golden.h"

#include <dirent.h>
#include <unistd.h>

const char desk_tune[] = "% mine\r\nX:1\r\nT:Up and down\r\nM:4/4\r\nL:1/8\r\nQ:1/4=72\r\nK:G\r\n"
                         "\"G\"GABc defg | gfed cBAG |]\r\n\r\nX:2\r\nT:Marked\r\nM:4/4\r\n"
                         "L:1/8\r\nK:C\r\n!4!CDEF GABc |[CEG]2 |: CDEF :|\r\n";
char desk_file[NAME_ROOM];
static char folder[] = "/tmp/evenhand-fingers-XXXXXX";

void desk_put(const char *path, const char *text)
{
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(text, 1, strlen(text), f), strlen(text));
    assert_int_equal(fclose(f), 0);
}

char *in_folder(const char *name)
{
    static char path[2 * NAME_ROOM];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

void expect_file(const char *path, const char *text)
{
    char *got = golden_read(path);
    assert_non_null(got);
    assert_string_equal(got, text);
    free(got);
}

/* Takes away what a test left in the folder, and counts it. */
int clear_folder(void)
{
    int count = 0;
    DIR *d = opendir(folder);
    assert_non_null(d);
    for (struct dirent *e = readdir(d); e != NULL; e = readdir(d))
        if (e->d_name[0] != '.') {
            assert_int_equal(unlink(in_folder(e->d_name)), 0);
            count++;
        }
    closedir(d);
    return count;
}

int desk_set_up(void **state)
{
    (void)state;
    clear_folder();
    desk_put(desk_file, desk_tune);
    return 0;
}

int desk_make(void **state)
{
    (void)state;
    if (mkdtemp(folder) == NULL)
        return -1;
    snprintf(desk_file, sizeof desk_file, "%s/runs.abc", folder);
    return 0;
}

int desk_drop(void **state)
{
    (void)state;
    clear_folder();
    return rmdir(folder);
}

const ModelFingers *fingers_of(Stand *s)
{
    return &practice_model(s->p)->fingers;
}

static void to_note(Stand *s, int note)
{
    while (fingers_of(s)->note != note)
        act(s, fingers_of(s)->note < note ? ACTION_NOTE_AFTER : ACTION_NOTE_BEFORE);
}

void to_plan(Stand *s, int plan)
{
    while (fingers_of(s)->cursor != plan)
        act(s, fingers_of(s)->cursor < plan ? ACTION_DOWN : ACTION_UP);
    act(s, ACTION_CHOOSE);
}

void hold(Stand *s, int note, int finger)
{
    to_note(s, note);
    act(s, (Action)(ACTION_FINGER_FREE + finger));
}

/* The list tells which fingers carry the accents of a place: of the rotation that goes with the
 * fingers. */
static void rotation_of(Stand *s, char out[MODEL_TEXT_MAX])
{
    const Model *m = practice_model(s->p);
    int drill = 0;
    while (drill < m->drills.count && strstr(m->drills.items[drill].title, "place 2") == NULL)
        drill++;
    assert_true(drill < m->drills.count);
    snprintf(out, MODEL_TEXT_MAX, "%s", m->drills.items[drill].detail);
}

Snapshot snapshot(Stand *s)
{
    turn(s);
    const ModelFingers *f = fingers_of(s);
    Snapshot shot = {.used = f->used, .plans = f->plan_count, .cost = f->plans[f->used].cost};
    for (int i = 0; i < f->note_count; i++) {
        shot.finger[i] = f->plans[f->used].notes[i].finger;
        shot.fixed[i] = f->fixed[i];
    }
    rotation_of(s, shot.rotation);
    return shot;
}

bool same_fingers(const Snapshot *a, const Snapshot *b)
{
    return memcmp(a->finger, b->finger, sizeof a->finger) == 0;
}

void expect_same(const Snapshot *a, const Snapshot *b)
{
    assert_true(same_fingers(a, b));
    assert_memory_equal(a->fixed, b->fixed, sizeof a->fixed);
    assert_int_equal(a->used, b->used);
    assert_int_equal(a->plans, b->plans);
    assert_int_equal(a->cost, b->cost);
    assert_string_equal(a->rotation, b->rotation);
}
