/* Drills: rhythms exact, totals kept, whole bars, words read back. */
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
    Drill d;
} Made;

static Made make(Passage *p, const DrillSpec *spec)
{
    Made m = {.p = p};
    Error error = {0};
    assert_true(fingering_plan(p, NULL, &m.f, &error));
    assert_true(rotation_plan(p, &m.f, &spec->beats, spec->subdivision, &m.r, &error));
    assert_true(drill_build(p, &m.f, &m.r, spec, &m.d, &error));
    return m;
}

static void unmake(Made *m)
{
    drill_free(&m->d);
    rotation_free(&m->r);
    fingering_free(&m->f);
    passage_free(m->p);
}

static DrillSpec rhythm(int notes, int long_at, int p, int q, RhythmTiming timing)
{
    DrillSpec spec = drill_plain();
    spec.rhythm = (Rhythm){notes, long_at, p, q, timing};
    return spec;
}

/* Onset or length of note i in quarters. */
static Ratio onset(const Made *m, size_t i)
{
    return ratio(m->d.notes[i].onset, m->d.ticks);
}

static Ratio length(const Made *m, size_t i)
{
    return ratio(m->d.notes[i].length, m->d.ticks);
}

static void plain_has_the_strong_beats(void **state)
{
    (void)state;
    DrillSpec spec = drill_plain();
    Made m = make(passage_scale(28, 8, 1, ratio(1, 2)), &spec);
    for (size_t i = 0; i < 8; i++) {
        assert_int_equal(m.d.notes[i].accent, i % 4 == 0); /* 1 and 3 of four */
        assert_true(ratio_equal(onset(&m, i), ratio((int64_t)i, 2)));
    }
    assert_true(ratio_equal(ratio(m.d.cycle, m.d.ticks), ratio_int(4)));
    assert_int_equal(m.d.pulse_count, 8); /* four beats and a quaver after each */
    unmake(&m);
}

static void long_short_three_to_one(void **state)
{
    (void)state;
    DrillSpec spec = rhythm(2, 0, 3, 1, TIMING_TOTAL);
    Made m = make(passage_scale(28, 9, 1, ratio(1, 2)), &spec);
    for (size_t i = 0; i < 8; i++) {
        assert_true(ratio_equal(length(&m, i), i % 2 == 0 ? ratio(3, 4) : ratio(1, 4)));
        assert_int_equal(m.d.notes[i].change, i % 2 == 0 ? 1 : -1);
    }
    assert_true(ratio_equal(onset(&m, 1), ratio(3, 4)));
    assert_true(ratio_equal(length(&m, 8), ratio(1, 2))); /* cut short by the end: plain */
    assert_int_equal(m.d.notes[8].change, 0);
    unmake(&m);
    spec = rhythm(2, 1, 7, 1, TIMING_TOTAL);
    m = make(passage_scale(28, 8, 1, ratio(1, 2)), &spec);
    assert_true(ratio_equal(onset(&m, 1), ratio(1, 8))); /* short first, 1 : 7 of a quarter */
    unmake(&m);
}

/* short = total / (r + n - 1): calculated. */
static void groups_of_three_and_four(void **state)
{
    (void)state;
    for (int n = 3; n <= 4; n++)
        for (int at = 0; at < n; at++) {
            DrillSpec spec = rhythm(n, at, 5, 2, TIMING_TOTAL);
            Made m = make(passage_scale(20, 12, 1, ratio(1, 4)), &spec);
            Ratio total = ratio(n, 4), r = ratio(5, 2);
            Ratio small = ratio_div(total, ratio_add(r, ratio_int(n - 1)));
            for (int k = 0; k < n; k++) {
                Ratio expected = k == at ? ratio_mul(small, r) : small;
                assert_true(ratio_equal(length(&m, (size_t)k), expected));
            }
            assert_true(ratio_equal(onset(&m, (size_t)n), total));
            unmake(&m);
        }
}

static void goal_speed_stretches_the_long_note(void **state)
{
    (void)state;
    DrillSpec spec = rhythm(2, 0, 3, 1, TIMING_GOAL);
    Made m = make(passage_scale(28, 8, 1, ratio(1, 2)), &spec);
    for (size_t i = 0; i < 8; i++) {
        assert_true(ratio_equal(length(&m, i), i % 2 == 0 ? ratio(3, 2) : ratio(1, 2)));
        int64_t pair = (int64_t)i / 2 * 4; /* in halves */
        assert_true(ratio_equal(onset(&m, i), ratio(i % 2 == 0 ? pair : pair + 3, 2)));
    }
    assert_true(ratio_equal(ratio(m.d.cycle, m.d.ticks), ratio_int(8)));
    /* each beat's pulse stays on the note that stands on that beat */
    size_t note = 0;
    for (size_t i = 0; i < m.d.pulse_count; i++)
        if (m.d.pulses[i].kind != PULSE_SUBDIVISION) {
            assert_int_equal(m.d.pulses[i].at, m.d.notes[note].onset);
            note += 2;
        }
    assert_int_equal(note, 8);
    unmake(&m);
}

static void pairs_keep_to_the_beat(void **state)
{
    (void)state;
    /* A pickup quaver: it stays plain, pairs begin on the bar line. */
    int strings[9];
    Ratio lengths[9];
    for (int i = 0; i < 9; i++) {
        strings[i] = 28 + i;
        lengths[i] = ratio(1, 2);
    }
    DrillSpec spec = rhythm(2, 0, 3, 1, TIMING_TOTAL);
    Made m = make(passage_of(strings, lengths, 9, metre(4, 4), ratio(1, 2)), &spec);
    assert_int_equal(m.d.notes[0].change, 0);
    assert_int_equal(m.d.notes[1].change, 1);
    assert_int_equal(m.d.notes[8].change, -1);
    assert_true(ratio_equal(onset(&m, 1), ratio_int(4))); /* first bar line after the pickup */
    /* the pickup fits into the last bar's end only if that is free; here the bar is full */
    assert_true(ratio_equal(ratio(m.d.cycle, m.d.ticks), ratio_int(8)));
    unmake(&m);
    lengths[8] = ratio_int(0); /* now a last bar of three and a half beats: the pickup fits */
    m = make(passage_of(strings, lengths, 8, metre(4, 4), ratio(1, 2)), &spec);
    assert_true(ratio_equal(ratio(m.d.cycle, m.d.ticks), ratio_int(4)));
    unmake(&m);
}

/* What stands on a beat stays there wherever the group fits into the beat. */
static void beats_are_never_moved(void **state)
{
    (void)state;
    static const int metres[][2] = {{4, 4}, {3, 4}, {6, 8}, {9, 8}, {12, 8}, {2, 2}, {5, 4}};
    static const int lengths_of[][2] = {{1, 2}, {1, 4}, {1, 3}, {1, 6}};
    int moved = 0, shaped = 0;
    for (size_t m = 0; m < sizeof metres / sizeof metres[0]; m++)
        for (size_t l = 0; l < sizeof lengths_of / sizeof lengths_of[0]; l++)
            for (int n = 2; n <= 4; n++)
                for (int at = 0; at < n; at++) {
                    int strings[48];
                    Ratio lengths[48];
                    for (int i = 0; i < 48; i++) {
                        strings[i] = 4 + i;
                        lengths[i] = ratio(lengths_of[l][0], lengths_of[l][1]);
                    }
                    Metre time = metre(metres[m][0], metres[m][1]);
                    DrillSpec spec = rhythm(n, at, 3, 1, TIMING_TOTAL);
                    Made made = make(passage_of(strings, lengths, 48, time, ratio_int(0)), &spec);
                    Ratio pulse = passage_pulse(made.p);
                    Ratio span = ratio_mul(lengths[0], ratio_int(n));
                    for (size_t i = 0; i < made.d.note_count; i++) {
                        shaped += made.d.notes[i].change != 0;
                        if (ratio_cmp(span, pulse) <= 0 &&
                            ratio_divides(pulse, passage_in_bar(made.p, i)))
                            moved += !ratio_equal(onset(&made, i), made.p->notes[i].onset);
                    }
                    unmake(&made);
                }
    assert_int_equal(moved, 0);
    assert_true(shaped > 5000);
}

static void totals_are_kept(void **state)
{
    (void)state;
    Random r = {.state = 99};
    for (int round = 0; round < 1500; round++) {
        int n = random_between(&r, 2, 4);
        DrillSpec spec = rhythm(n, random_between(&r, 0, n - 1), random_between(&r, 1, 9),
            random_between(&r, 1, 9), TIMING_TOTAL);
        Made m = make(passage_random(&r, 50), &spec);
        DrillSpec plain_spec = drill_plain();
        Drill plain;
        Error error = {0};
        assert_true(drill_build(m.p, &m.f, &m.r, &plain_spec, &plain, &error));
        assert_true(ratio_equal(ratio(m.d.cycle, m.d.ticks), ratio(plain.cycle, plain.ticks)));
        int in_group = 0;
        for (size_t i = 0; i < m.d.note_count; i++) {
            /* what is no group is untouched; groups begin and end where they did */
            bool moved = !ratio_equal(onset(&m, i), ratio(plain.notes[i].onset, plain.ticks));
            bool changed = m.d.notes[i].change != 0;
            assert_true(!moved || changed);
            if (changed && in_group == 0)
                assert_false(moved);
            in_group = changed ? (in_group + 1) % n : 0;
            if (!changed)
                assert_true(ratio_equal(length(&m, i), ratio(plain.notes[i].length, plain.ticks)));
            if (i > 0)
                assert_true(m.d.notes[i].onset > m.d.notes[i - 1].onset);
        }
        if (spec.rhythm.p != spec.rhythm.q)
            assert_int_equal(in_group, 0); /* no group is left half done */
        drill_free(&plain);
        unmake(&m);
    }
}

static void goal_timing_keeps_short_notes_and_order(void **state)
{
    (void)state;
    Random r = {.state = 100};
    for (int round = 0; round < 800; round++) {
        int n = random_between(&r, 2, 4), q = random_between(&r, 1, 3),
            p = q + random_between(&r, 1, 6);
        DrillSpec spec = rhythm(n, random_between(&r, 0, n - 1), p, q, TIMING_GOAL);
        Made m = make(passage_random(&r, 40), &spec);
        for (size_t i = 0; i < m.d.note_count; i++) {
            Ratio written = m.p->notes[m.d.notes[i].note].length;
            Ratio expected = m.d.notes[i].change > 0 ? ratio_mul(written, ratio(p, q)) : written;
            assert_true(ratio_equal(length(&m, i), expected));
            if (i > 0)
                assert_true(m.d.notes[i].onset >= m.d.notes[i - 1].onset + 1);
        }
        for (size_t i = 1; i < m.d.pulse_count; i++)
            assert_true(m.d.pulses[i].at > m.d.pulses[i - 1].at);
        const DrillNote *last = &m.d.notes[m.d.note_count - 1];
        assert_true(last->onset + last->length <= m.d.offset + m.d.cycle);
        unmake(&m);
    }
}

/* Repetitions follow each other in whole bars: every pulse of the cycle lies in a bar whose
 * line is a whole number of bars away, so downbeats stay downbeats. */
static void cycles_are_whole_bars(void **state)
{
    (void)state;
    Random r = {.state = 101};
    for (int round = 0; round < 1500; round++) {
        DrillSpec spec = drill_plain();
        Made m = make(passage_random(&r, 40), &spec);
        int64_t bar = metre_bar(&m.p->metre).num * (m.d.ticks / metre_bar(&m.p->metre).den);
        assert_true(m.d.cycle > 0);
        assert_int_equal(m.d.cycle % bar, 0);
        assert_true(m.d.offset < bar);
        const DrillNote *last = &m.d.notes[m.d.note_count - 1];
        assert_true(last->onset + last->length <= m.d.offset + m.d.cycle);
        for (size_t i = 0; i < m.d.pulse_count; i++)
            assert_int_equal(m.d.pulses[i].kind == PULSE_DOWNBEAT, m.d.pulses[i].at % bar == 0);
        unmake(&m);
    }
}

static void specs_out_of_range_are_refused(void **state)
{
    (void)state;
    DrillSpec good = drill_plain();
    Made m = make(passage_scale(28, 8, 1, ratio(1, 2)), &good);
    DrillSpec bad[6];
    for (int i = 0; i < 6; i++)
        bad[i] = drill_plain();
    bad[0].accent = ACCENT_FINGER;
    bad[0].finger = 5;
    bad[1].accent = ACCENT_PLACE;
    bad[1].place = 4;
    bad[2].rhythm.notes = 5;
    bad[3].rhythm = (Rhythm){2, 2, 3, 1, TIMING_TOTAL};
    bad[4].rhythm = (Rhythm){2, 0, 0, 1, TIMING_TOTAL};
    bad[5].rhythm = (Rhythm){2, 0, 3, RHYTHM_PART_MAX + 1, TIMING_TOTAL};
    for (int i = 0; i < 6; i++) {
        Drill d;
        Error error = {0};
        assert_false(drill_build(m.p, &m.f, &m.r, &bad[i], &d, &error));
        assert_int_equal(error.kind, ERROR_RANGE);
    }
    unmake(&m);
}

static void words_read_back(void **state)
{
    (void)state;
    static const char *const words[] = {"plain", "finger-1", "finger-4", "beat-1", "beat-12",
        "long-short", "short-long", "long-1-of-3", "long-4-of-4", "finger-4+long-short",
        "beat-3+long-2-of-3"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        DrillSpec spec = drill_plain();
        Error error = {0};
        char text[DRILL_TEXT_MAX];
        assert_true(drill_parse(words[i], &spec, &error));
        assert_string_equal(drill_word(&spec, text), words[i]);
        assert_true(drill_title(&spec, NULL, text)[0] != '\0');
    }
    static const char *const bad[] = {"", "finger-0", "finger-5", "finger-", "beat-0", "beat-x",
        "long", "long-0-of-3", "long-5-of-4", "long-1-of-5", "plain+", "+plain", "Plain",
        "beat-99999999999"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        DrillSpec spec = drill_plain(), before = spec;
        Error error = {0};
        assert_false(drill_parse(bad[i], &spec, &error));
        assert_int_equal(error.kind, ERROR_USAGE);
        assert_true(drill_spec_equal(&spec, &before));
    }
}

static void titles_name_what_is_accented(void **state)
{
    static const char *const titles[][2] = {{"plain", "plain: strong beats"},
        {"finger-4", "finger accents: all the 4s (ring)"},
        {"finger-1", "finger accents: all the 1s (thumb)"},
        {"beat-1", "beat accents: place 1 of 4 (the strong beats)"},
        {"beat-3", "beat accents: place 3 of 4"}, {"long-short", "long-short 3:1"}};
    Rotation r;
    Error error = {0};
    Passage *p = passage_scale(28, 8, 1, ratio(1, 2));
    (void)state;
    assert_true(rotation_plan(p, NULL, NULL, ratio(1, 2), &r, &error));
    for (size_t i = 0; i < sizeof titles / sizeof titles[0]; i++) {
        DrillSpec spec = drill_plain();
        char text[DRILL_TEXT_MAX];
        assert_true(drill_parse(titles[i][0], &spec, &error));
        assert_string_equal(drill_title(&spec, &r, text), titles[i][1]);
    }
    rotation_free(&r);
    passage_free(p);
}

static void ratios_are_read_or_refused(void **state)
{
    (void)state;
    Rhythm r = {0};
    Error error = {0};
    assert_true(rhythm_parse_ratio("7:2", &r, &error));
    assert_int_equal(r.p, 7);
    assert_int_equal(r.q, 2);
    static const char *const bad[] = {
        "", "3", ":", "3:", ":1", "0:1", "3:0", "65:1", "3:1:1", "a:b"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_false(rhythm_parse_ratio(bad[i], &r, &error));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plain_has_the_strong_beats),
        cmocka_unit_test(long_short_three_to_one),
        cmocka_unit_test(groups_of_three_and_four),
        cmocka_unit_test(goal_speed_stretches_the_long_note),
        cmocka_unit_test(pairs_keep_to_the_beat),
        cmocka_unit_test(beats_are_never_moved),
        cmocka_unit_test(totals_are_kept),
        cmocka_unit_test(goal_timing_keeps_short_notes_and_order),
        cmocka_unit_test(cycles_are_whole_bars),
        cmocka_unit_test(specs_out_of_range_are_refused),
        cmocka_unit_test(words_read_back),
        cmocka_unit_test(titles_name_what_is_accented),
        cmocka_unit_test(ratios_are_read_or_refused),
    };
    return cmocka_run_group_tests_name("drill", tests, NULL, NULL);
}
