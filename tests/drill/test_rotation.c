/* Where moving accents land. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "evenhand/drill/drill.h"

#include <string.h>

typedef struct {
    Passage *p;
    Fingering f;
    Rotation r;
} Made;

static Made make(Passage *p, const BeatPattern *beats, Ratio subdivision)
{
    Made m = {.p = p};
    Error error = {0};
    assert_true(fingering_plan(p, NULL, &m.f, &error));
    assert_true(rotation_plan(p, &m.f, beats, subdivision, &m.r, &error));
    return m;
}

static void unmake(Made *m)
{
    rotation_free(&m->r);
    fingering_free(&m->f);
    passage_free(m->p);
}

static void four_quavers_places_of_a_scale(void **state)
{
    (void)state;
    Made m = make(passage_scale(28, 15, 1, ratio(1, 2)), NULL, ratio_int(0));
    assert_int_equal(m.r.place_count, 4); /* beats 1 and 3 of four return after four quavers */
    /* 4+4+4+3: fingers 4321 4321 4321 321, every fourth note from the place's own */
    static const int expected[4][5] = {
        {0, 0, 0, 1, 3}, {0, 0, 1, 3, 0}, {0, 1, 3, 0, 0}, {0, 3, 0, 0, 0}};
    for (int place = 0; place < 4; place++) {
        assert_int_equal(m.r.places[place].first, place);
        assert_true(ratio_equal(m.r.places[place].shift, ratio(place, 2)));
        assert_memory_equal(m.r.places[place].by_finger, expected[place], sizeof expected[place]);
    }
    unmake(&m);
}

/* An accent every k notes over groups of n walks through all fingers in lcm(k, n) notes:
 * calculated. Three quavers to the beat against groups of four. */
static void the_fingering_drifts_against_the_bar(void **state)
{
    (void)state;
    int strings[12];
    Ratio lengths[12];
    for (int i = 0; i < 12; i++) {
        strings[i] = 20 + i;
        lengths[i] = ratio(1, 2);
    }
    Made m = make(passage_of(strings, lengths, 12, metre(6, 8), ratio_int(0)), NULL, ratio_int(0));
    assert_int_equal(m.r.place_count, 3); /* 1 and 4 of six quavers */
    for (int place = 0; place < 3; place++) {
        assert_int_equal(m.r.places[place].notes, 4);
        for (int finger = 1; finger <= 4; finger++)
            assert_int_equal(m.r.places[place].by_finger[finger], 1);
    }
    unmake(&m);
}

static void metres_have_their_strong_beats(void **state)
{
    (void)state;
    static const struct {
        int num, den, places; /* of quavers */
    } cases[] = {{4, 4, 4}, {3, 4, 6}, {2, 4, 4}, {6, 8, 3}, {9, 8, 3}, {3, 8, 3}, {5, 4, 10}};
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        int strings[40];
        Ratio lengths[40];
        for (int i = 0; i < 40; i++) {
            strings[i] = 10 + i;
            lengths[i] = ratio(1, 2);
        }
        Made m =
            make(passage_of(strings, lengths, 40, metre(cases[c].num, cases[c].den), ratio_int(0)),
                NULL, ratio_int(0));
        assert_int_equal(m.r.place_count, cases[c].places);
        unmake(&m);
    }
}

static int times_accented(const Rotation *r, size_t note)
{
    int times = 0;
    for (size_t place = 0; place < r->place_count; place++)
        times += rotation_accents(r, note, (int)place);
    return times;
}

static void every_note_exactly_once(void **state)
{
    (void)state;
    static const int steps[][2] = {{0, 1}, {1, 1}, {1, 2}, {1, 4}, {1, 3}, {3, 2}, {2, 1}};
    Random r = {.state = 77};
    for (int round = 0; round < 2000; round++) {
        const int *step = steps[random_between(&r, 0, 6)];
        Made m = make(passage_random(&r, 60), NULL, ratio(step[0], step[1]));
        for (size_t i = 0; i < m.p->note_count; i++)
            assert_int_equal(times_accented(&m.r, i), 1);
        int total = 0;
        for (size_t place = 0; place < m.r.place_count; place++) {
            assert_true(m.r.places[place].notes > 0); /* no empty variant is drilled */
            total += m.r.places[place].notes;
            if (place > 0 && m.r.places[place].on_grid == m.r.places[place - 1].on_grid)
                assert_true(ratio_cmp(m.r.places[place - 1].shift, m.r.places[place].shift) < 0);
        }
        assert_int_equal(total, m.p->note_count);
        unmake(&m);
    }
}

static void every_finger_exactly_once(void **state)
{
    (void)state;
    Random r = {.state = 78};
    for (int round = 0; round < 500; round++) {
        Made m = make(passage_random(&r, 60), NULL, ratio_int(0));
        int *times = calloc(m.p->note_count, sizeof *times);
        for (int finger = 1; finger <= 4; finger++) {
            Drill d;
            Error error = {0};
            DrillSpec spec = drill_plain();
            spec.accent = ACCENT_FINGER;
            spec.finger = finger;
            assert_true(drill_build(m.p, &m.f, &m.r, &spec, &d, &error));
            for (size_t i = 0; i < d.note_count; i++)
                times[d.notes[i].note] += d.notes[i].accent;
            drill_free(&d);
        }
        for (size_t i = 0; i < m.p->note_count; i++)
            assert_int_equal(times[i], 1);
        free(times);
        unmake(&m);
    }
}

static void user_beats_count_for_each(void **state)
{
    (void)state;
    BeatPattern beats;
    Error error = {0};
    assert_true(beat_pattern_parse("1,2", &beats, &error));
    Made m = make(passage_scale(20, 16, 1, ratio(1, 2)), &beats, ratio_int(0));
    assert_int_equal(m.r.place_count, 8); /* no shorter period than the bar */
    for (size_t i = 0; i < 16; i++)
        assert_int_equal(times_accented(&m.r, i), 2);
    unmake(&m);
    assert_true(beat_pattern_parse("1,2,3,4", &beats, &error)); /* period: one beat */
    m = make(passage_scale(20, 16, 1, ratio(1, 2)), &beats, ratio_int(0));
    assert_int_equal(m.r.place_count, 2);
    for (size_t i = 0; i < 16; i++)
        assert_int_equal(times_accented(&m.r, i), 1);
    unmake(&m);
}

static void patterns_are_read_or_refused(void **state)
{
    (void)state;
    BeatPattern beats;
    Error error = {0};
    assert_true(beat_pattern_parse("1,5/2", &beats, &error));
    assert_int_equal(beats.count, 2);
    assert_true(ratio_equal(beats.at[1], ratio(5, 2)));
    static const char *const bad[] = {"", ",", "1,", "0", "1/2", "x", "1;3", "1/0", "1/", "99999",
        "1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        error = (Error){0};
        assert_false(beat_pattern_parse(bad[i], &beats, &error));
        assert_int_equal(error.kind, ERROR_USAGE);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(four_quavers_places_of_a_scale),
        cmocka_unit_test(the_fingering_drifts_against_the_bar),
        cmocka_unit_test(metres_have_their_strong_beats),
        cmocka_unit_test(every_note_exactly_once),
        cmocka_unit_test(every_finger_exactly_once),
        cmocka_unit_test(user_beats_count_for_each),
        cmocka_unit_test(patterns_are_read_or_refused),
    };
    return cmocka_run_group_tests_name("rotation", tests, NULL, NULL);
}
