#include "hall.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static char folder[] = "/tmp/evenhand-routine-XXXXXX";
static char path[200];

const char *hall_put(const char *name, const char *text)
{
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs(text, f);
    assert_int_equal(fclose(f), 0);
    return path;
}

Hall *hall_of(const char *routine)
{
    Hall *h = calloc(1, sizeof *h);
    assert_non_null(h);
    hall_put("four.abc", "X:1\nT:Four bars\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\nCDEF|GABc|cBAG|FEDC|\n");
    h->s = stand_of_routine(hall_put("run.ini", routine));
    h->lead = engine_lead(h->s.engine);
    practice_attach(h->s.p, h->s.engine);
    return h;
}

void hall_close(Hall *h)
{
    stand_free(&h->s);
    free(h);
}

const Model *hear(Hall *h, int64_t frame)
{
    while (h->rendered < frame + LATENCY) {
        float block[STEP];
        engine_render(h->s.engine, block, STEP);
        for (int i = 0; i < STEP; i++)
            h->recent[(h->rendered + i) % RECENT] = block[i];
        h->rendered += STEP;
        if (frame - h->heard > STEP) /* the console looks on meanwhile */
            look(&h->s, h->heard += STEP);
    }
    h->heard = frame;
    return look(&h->s, frame);
}

void press(Hall *h, Action action)
{
    assert_true(practice_act(h->s.p, action, h->heard * 1000 / RATE));
}

/* The frame at which what the model says changes, between `from` and `to`. */
int64_t change_of(Hall *h, int64_t from, int64_t to, bool (*says)(const Model *))
{
    assert_false(says(hear(h, from)));
    for (int64_t frame = from; frame <= to; frame++)
        if (says(hear(h, frame)))
            return frame;
    fail_msg("no change between %lld and %lld", (long long)from, (long long)to);
    return -1;
}

/* A bell is struck here: the loudest sample far and wide. */
void assert_bell(const Hall *h, int64_t frame)
{
    float size = fabsf(h->recent[frame % RECENT]);
    assert_true(size > 0.01F);
    for (int64_t k = frame - RATE / 50; k <= frame + RATE / 50; k++)
        assert_true(fabsf(h->recent[k % RECENT]) <= size);
}

void only_bells(Hall *h)
{
    practice_act(h->s.p, ACTION_LAYER_ANNOUNCE, 0);
    practice_act(h->s.p, ACTION_LAYER_NOTES, 0);
    practice_act(h->s.p, ACTION_LAYER_ACCENT, 0);
}

int hall_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) != NULL ? 0 : -1;
}

int hall_folder_gone(void **state)
{
    static const char *const names[] = {"four.abc", "run.ini"};
    (void)state;
    for (int i = 0; i < 2; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        unlink(path);
    }
    return rmdir(folder);
}
