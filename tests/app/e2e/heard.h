/* heard.h - a recording against the timeline. Include after cmocka.h.
 *
 * For the mix "notes,accent" every moment of the timeline is one click or none: a count-in
 * sounds, a note sounds, with or without its accent; other pulses and the announcement do not.
 */
#ifndef EVENHAND_TESTS_APP_E2E_HEARD_H
#define EVENHAND_TESTS_APP_E2E_HEARD_H

#include "program.h"
#include "sound/loopback.h"

#include <math.h>

enum { CLICK_THRESHOLD = -50, CLICK_TOLERANCE = 1 };

/* The layers that make every event one click. */
#define ONE_CLICK_LAYERS "--layers notes,accent --level -12 --rate 48000"

typedef struct {
    size_t count;
    int64_t frame[EVENTS_MAX];
    const Event *event[EVENTS_MAX];
} Clicks;

/* The clicks of events [from, to). */
static inline void expect_clicks(const Events *all, size_t from, size_t to, Clicks *out)
{
    out->count = 0;
    for (size_t i = from; i < to; i++) {
        const Event *e = &all->event[i];
        if (!e->count_in && !e->strikes)
            continue;
        if (out->count > 0 && out->frame[out->count - 1] == e->frame)
            fail_msg("frame %lld has two clicks", (long long)e->frame);
        out->frame[out->count] = e->frame;
        out->event[out->count++] = e;
    }
}

/* How many clicks, from `heard` of the recording and `wanted` of the timeline on, stand where
 * they should, measured from the first of them. */
static inline size_t clicks_agree(const Recording *r, size_t heard, const Clicks *c, size_t wanted)
{
    size_t n = 0;
    while (heard + n < r->count && wanted + n < c->count) {
        int64_t off = (r->click[heard + n].frame - r->click[heard].frame) -
                      (c->frame[wanted + n] - c->frame[wanted]);
        if (off < -CLICK_TOLERANCE || off > CLICK_TOLERANCE)
            break;
        n++;
    }
    return n;
}

/* CLOCK_MONOTONIC nanoseconds at which a frame of the recording was heard. */
static inline int64_t heard_time(const Recording *r, int64_t frame)
{
    return r->start + frame * SECOND / LOOPBACK_RATE;
}

/* Every click of the recording stands where those of the timeline from `wanted` on do. */
static inline void expect_from(const Recording *r, const Clicks *c, size_t wanted)
{
    size_t agreed = clicks_agree(r, 0, c, wanted);
    if (agreed == r->count)
        return;
    for (size_t i = 0; i < r->count; i++)
        print_message("click %zu heard at %lld, %.1f dB; due at %lld\n", i + 1,
            (long long)(r->click[i].frame - r->click[0].frame), r->click[i].level,
            wanted + i < c->count ? (long long)(c->frame[wanted + i] - c->frame[wanted]) : -1LL);
    fail_msg("%zu of the recording's %zu clicks stand on the timeline from click %zu on", agreed,
        r->count, wanted + 1);
}

/* The recording has all the clicks and no others. */
static inline void expect_all(const Recording *r, const Clicks *c)
{
    expect_from(r, c, 0);
    if (r->count < c->count)
        fail_msg("%zu clicks of %zu are missing at the end", c->count - r->count, c->count);
}

/* Every accent of the clicks [0, count) is `asked` dB above the notes, every note as loud as the
 * others: within half a decibel. */
static inline void expect_levels(const Recording *r, const Clicks *c, double asked)
{
    double notes = 0, least = 0, most = -200, low = 0, high = -200;
    int count = 0, accents = 0;
    for (size_t i = 0; i < c->count; i++)
        if (c->event[i]->strikes && !c->event[i]->accent) {
            notes += r->click[i].level;
            low = fmin(low, r->click[i].level);
            high = fmax(high, r->click[i].level);
            count++;
        }
    assert_true(count > 0);
    notes /= count;
    for (size_t i = 0; i < c->count; i++)
        if (c->event[i]->accent) {
            least = accents == 0 ? r->click[i].level : fmin(least, r->click[i].level);
            most = fmax(most, r->click[i].level);
            accents++;
        }
    print_message("%d notes at %.2f dB (%.2f to %.2f), %d accents %.2f to %.2f dB louder, %.0f "
                  "asked\n",
        count, notes, low, high, accents, least - notes, most - notes, asked);
    assert_true(accents > 0);
    assert_true(low > notes - 0.5 && high < notes + 0.5);
    assert_true(least - notes > asked - 0.5 && most - notes < asked + 0.5);
}

#endif
