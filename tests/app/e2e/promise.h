/* promise.h - what a routine promises to be heard: timelines one behind the other, each from the
 * frame on which the one before ends, and the bells between them. Include after cmocka.h. */
#ifndef EVENHAND_TESTS_APP_E2E_PROMISE_H
#define EVENHAND_TESTS_APP_E2E_PROMISE_H

#include "heard.h"

/* The layers that make every event and every bell one click; there is no announcement where one
 * drill is played by itself. */
#define BELL_LAYERS "--layers notes,accent,announcement=-6 --level -12 --rate 48000"

#define BELL_LEVEL (-24.0) /* 6 dB below the announcement, which is 6 below the master */

enum { BELLS_MAX = 8 };

typedef struct {
    Clicks clicks;
    size_t bell[BELLS_MAX], bells; /* which of the clicks */
    int64_t end;                   /* frame up to which all is promised */
} Promise;

/* `quarters` of a tempo in frames, to the nearest. */
static inline int64_t quarters_frames(int quarters, int tempo)
{
    return ((int64_t)quarters * 2 * 60 * RATE + tempo) / (2 * (int64_t)tempo);
}

/* The first `quarters` of this file's timeline at this tempo. */
static inline void promise_music(Promise *p, const char *words, int tempo, int quarters)
{
    static Events all;
    static Clicks some;
    char line[COMMAND_ROOM / 2];
    int64_t length = quarters_frames(quarters, tempo);
    snprintf(line, sizeof line, "%s --tempo %d", words, tempo);
    read_events(line, &all);
    expect_clicks(&all, 0, all.count, &some);
    for (size_t i = 0; i < some.count && some.frame[i] < length; i++) {
        p->clicks.event[p->clicks.count] = NULL;
        p->clicks.frame[p->clicks.count++] = p->end + some.frame[i];
    }
    p->end += length;
}

/* A bell, and silence up to this frame. */
static inline void promise_rest(Promise *p, int64_t end)
{
    assert_true(p->bells < BELLS_MAX);
    p->bell[p->bells++] = p->clicks.count;
    p->clicks.event[p->clicks.count] = NULL;
    p->clicks.frame[p->clicks.count++] = p->end;
    p->end = end;
}

#endif
