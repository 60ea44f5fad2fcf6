/* setting_fixture.h - harps by name, their settings, passages of chords, for the tests of both. */
#ifndef EVENHAND_TESTS_SETTING_FIXTURE_H
#define EVENHAND_TESTS_SETTING_FIXTURE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "evenhand/harp/instrument.h"

static inline Instrument harp(const char *text)
{
    Instrument out;
    Error error = {0};
    assert_true(instrument_parse(text, &out, &error));
    return out;
}

static inline Setting set(const Passage *p, const char *on)
{
    Instrument h = harp(on);
    Setting s;
    Error error = {0};
    assert_true(setting_make(p, &h, &s, &error));
    return s;
}

static inline Passage *chords(const Pitch *pitches, const int *sizes, int count, Ratio length)
{
    Passage *p = passage_new();
    Error error = {0};
    Metre four = metre(4, 4);
    assert_non_null(p);
    assert_true(passage_add_bar(p, ratio_int(0), &four, 1, &error));
    Ratio at = ratio_int(0);
    for (int i = 0; i < count; i++) {
        for (int k = 0; k < sizes[i]; k++) {
            Note note = {.onset = at, .length = length, .pitch = *pitches++};
            assert_true(passage_add_note(p, &note, &error));
        }
        at = ratio_add(at, length);
    }
    assert_true(passage_finish(p, at, &error));
    return p;
}

#endif
