/* passages.h - passages made in a line, and random ones, for tests. Invented data. */
#ifndef EVENHAND_TESTS_PASSAGES_H
#define EVENHAND_TESTS_PASSAGES_H

#include "evenhand/music/passage.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>

typedef struct {
    uint64_t state;
} Random;

/* xorshift64*: [from memory, Vigna 2016]; good enough to vary tests, and repeatable. */
static inline uint64_t random_next(Random *r)
{
    r->state ^= r->state >> 12;
    r->state ^= r->state << 25;
    r->state ^= r->state >> 27;
    return r->state * 2685821657736338717u;
}

static inline int random_between(Random *r, int low, int high)
{
    return low + (int)(random_next(r) % (uint64_t)(high - low + 1));
}

/* Natural pitch on a string (7 * octave + letter). */
static inline Pitch pitch_on(int string)
{
    return (Pitch){.letter = (int8_t)(string % 7), .alter = 0, .octave = (int8_t)(string / 7)};
}

/* A passage of `count` notes, one after the other; string < 0 is a rest. Bars from `metre`,
 * after a pickup of this length (0/1: none). Never NULL. */
static inline Passage *passage_of(
    const int *strings, const Ratio *lengths, size_t count, Metre metre, Ratio pickup)
{
    Passage *p = passage_new();
    Error error = {0};
    assert(p != NULL);
    p->metre = metre;
    Ratio at = ratio_int(0), bar = metre_bar(&metre), line = ratio_int(0);
    int number = pickup.num > 0 ? 0 : 1;
    for (size_t i = 0; i <= count; i++) {
        Ratio until = i < count ? at : ratio_sub(at, ratio(1, 1000)); /* none on the very end */
        while (ratio_cmp(line, until) <= 0) {
            bool made = passage_add_bar(p, line, &metre, number, &error);
            assert(made);
            line = ratio_add(line, number == 0 ? pickup : bar);
            number++;
            if (bar.num == 0)
                line = ratio_int(1 << 20);
        }
        if (i == count)
            break;
        if (strings[i] >= 0) {
            Note note = {.onset = at, .length = lengths[i], .pitch = pitch_on(strings[i])};
            bool added = passage_add_note(p, &note, &error);
            assert(added);
        }
        at = ratio_add(at, lengths[i]);
    }
    bool finished = passage_finish(p, at, &error);
    assert(finished);
    return p;
}

/* Steps up (or down) from a string in even notes, 4/4. */
static inline Passage *passage_scale(int from, int count, int step, Ratio length)
{
    int *strings = calloc((size_t)count, sizeof *strings);
    Ratio *lengths = calloc((size_t)count, sizeof *lengths);
    assert(strings != NULL && lengths != NULL);
    for (int i = 0; i < count; i++) {
        strings[i] = from + i * step;
        lengths[i] = length;
    }
    Passage *p = passage_of(strings, lengths, (size_t)count, metre(4, 4), ratio_int(0));
    free(strings);
    free(lengths);
    return p;
}

/* Random metre, lengths (triplets among them), rests, steps and leaps. */
static inline Passage *passage_random(Random *r, int most)
{
    static const int metres[][2] = {
        {4, 4}, {3, 4}, {2, 4}, {6, 8}, {9, 8}, {5, 4}, {2, 2}, {12, 8}};
    static const int lengths_of[][2] = {{1, 1}, {1, 2}, {1, 4}, {1, 3}, {3, 2}, {1, 6}, {2, 1}};
    int count = random_between(r, 1, most);
    int *strings = calloc((size_t)count, sizeof *strings);
    Ratio *lengths = calloc((size_t)count, sizeof *lengths);
    assert(strings != NULL && lengths != NULL);
    int string = random_between(r, 20, 40), kind = random_between(r, 0, 6);
    for (int i = 0; i < count; i++) {
        if (random_between(r, 0, 9) == 0)
            kind = random_between(r, 0, 6);
        lengths[i] = ratio(lengths_of[kind][0], lengths_of[kind][1]);
        string += random_between(r, 0, 6) == 0 ? random_between(r, -6, 6)
                                               : (random_between(r, 0, 9) < 5 ? 1 : -1);
        string = string < 8 ? 8 : string > 54 ? 54 : string;
        strings[i] = i > 0 && random_between(r, 0, 14) == 0 ? -1 : string;
    }
    int m = random_between(r, 0, 7);
    Metre time = metre(metres[m][0], metres[m][1]);
    Ratio pickup = random_between(r, 0, 3) == 0 ? ratio(1, 2) : ratio_int(0);
    Passage *p = passage_of(strings, lengths, (size_t)count, time, pickup);
    free(strings);
    free(lengths);
    return p;
}

/* Even notes on the strings of a hand, now here, now there: most go to and fro, around one that
 * comes back on every second stroke, others step on for a while; a rest now and then. */
static inline Passage *passage_to_and_fro(Random *r, int most)
{
    static const int metres[][2] = {{4, 4}, {3, 4}, {2, 4}, {6, 8}};
    int count = random_between(r, 1, most), string = random_between(r, 20, 40), anchor = string;
    int side = 1, left = 0, kind = 0;
    int *strings = calloc((size_t)count, sizeof *strings);
    Ratio *lengths = calloc((size_t)count, sizeof *lengths);
    assert(strings != NULL && lengths != NULL);
    for (int i = 0; i < count; i++) {
        if (left-- == 0) {
            kind = random_between(r, 0, 3);
            left = random_between(r, kind == 0 ? 0 : 2, kind == 0 ? 3 : 9);
            anchor = string + random_between(r, -3, 3);
            anchor = anchor < 16 ? 16 : anchor > 46 ? 46 : anchor;
            side = random_between(r, 0, 1) == 0 ? -1 : 1;
        }
        if (kind == 0)
            string += side;
        else if ((i & 1) == (kind & 1))
            string = anchor;
        else
            string = anchor + side * random_between(r, 1, kind == 3 ? 2 : 6);
        strings[i] = i > 0 && random_between(r, 0, 24) == 0 ? -1 : string;
        lengths[i] = ratio(1, 2);
    }
    int m = random_between(r, 0, 3);
    Passage *p = passage_of(
        strings, lengths, (size_t)count, metre(metres[m][0], metres[m][1]), ratio_int(0));
    free(strings);
    free(lengths);
    return p;
}

static inline Metre metre_wild(Random *r)
{
    static const Metre metres[] = {{4, 4, 0, {0}}, {3, 4, 0, {0}}, {6, 8, 0, {0}}, {9, 8, 0, {0}},
        {5, 8, 2, {3, 2}}, {8, 8, 3, {3, 3, 2}}, {7, 4, 0, {0}}, {0, 0, 0, {0}}, {3, 8, 0, {0}},
        {2, 2, 0, {0}}};
    return metres[random_between(r, 0, 9)];
}

static inline Ratio length_wild(Random *r)
{
    static const int of[][2] = {{1, 1}, {1, 2}, {1, 4}, {1, 3}, {3, 2}, {2, 5}, {2, 1}, {1, 6}};
    const int *length = of[random_between(r, 0, 7)];
    return ratio(length[0], length[1]);
}

static inline bool put_wild(Passage *p, Random *r, Ratio at, Ratio length)
{
    Error error = {0};
    int chord = random_between(r, 0, 6) == 0 ? random_between(r, 2, 5) : 1;
    for (int k = 0; k < chord; k++) {
        Note note = {.onset = at,
            .length = k > 0 ? length_wild(r) : length,
            .pitch = pitch_on(random_between(r, 8, 54))};
        if (!passage_add_note(p, &note, &error))
            return false;
    }
    return true;
}

/* All that a file can bring: chords of unequal lengths that reach over what follows, additive and
 * free metre, changes of metre, bars too short and too long, rests, leaps. NULL now and then,
 * where it came to nothing but rests. */
static inline Passage *passage_wild(Random *r, int most)
{
    Passage *p = passage_new();
    Error error = {0};
    assert(p != NULL);
    int count = random_between(r, 1, most), number = random_between(r, 0, 1);
    int constancy = random_between(r, 0, 9);
    Metre m = metre_wild(r);
    Ratio at = ratio_int(0), length = length_wild(r);
    bool done = passage_add_bar(p, at, &m, number++, &error);
    for (int i = 0; i < count && done; i++) {
        if (i > 0 && random_between(r, 0, 4) == 0) {
            m = random_between(r, 0, 2) == 0 ? metre_wild(r) : m;
            done = passage_add_bar(p, at, &m, number++, &error);
        }
        if (random_between(r, 0, 9) >= constancy)
            length = length_wild(r);
        if (random_between(r, 0, 12) > 0)
            done = done && put_wild(p, r, at, length);
        at = ratio_add(at, length);
    }
    if (done && passage_finish(p, at, &error))
        return p;
    passage_free(p);
    return NULL;
}

#endif
