/* Every drill of any passage a file can bring: order, sections, accents, announcements. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "evenhand/drill/timeline.h"

#include <string.h>

typedef struct {
    Passage *p;
    Fingering f;
    Rotation r;
    Session s;
} Made;

static bool make(Made *m, Random *r)
{
    Error error = {0};
    *m =
        (Made){.p = random_between(r, 0, 3) == 0 ? passage_to_and_fro(r, 50) : passage_wild(r, 50)};
    if (m->p == NULL)
        return false;
    SessionOptions o = {.tempo = tempo(ratio_int(1), ratio(random_between(r, 100, 4000), 10)),
        .repetitions = random_between(r, 1, 3),
        .count_in_bars = random_between(r, 0, 2),
        .rest_bars = random_between(r, -1, 2),
        .base = {.rhythm = {.p = random_between(r, 1, 9),
                     .q = random_between(r, 1, 9),
                     .timing = random_between(r, 0, 1) ? TIMING_GOAL : TIMING_TOTAL}}};
    assert_true(fingering_plan(m->p, NULL, &m->f, &error));
    assert_true(rotation_plan(m->p, &m->f, NULL, ratio_int(0), &m->r, &error));
    assert_true(session_every(m->p, &m->f, &m->r, &o, &m->s, &error));
    for (size_t i = 0; i < m->s.count; i++)
        if (random_between(r, 0, 2) == 0) { /* accents and rhythms combine */
            Rhythm *rhythm = &m->s.steps[i].drill.rhythm;
            rhythm->notes = random_between(r, 2, 4);
            rhythm->long_at = random_between(r, 0, rhythm->notes - 1);
        }
    return true;
}

static void unmake(Made *m)
{
    session_free(&m->s);
    rotation_free(&m->r);
    fingering_free(&m->f);
    passage_free(m->p);
}

static void check_events(const Timeline *t)
{
    int64_t before = 0, frames = timeline_frames(t);
    int32_t note = -1;
    int repetition = -1;
    for (size_t i = 0; i < timeline_count(t); i++) {
        TimelineEvent e = timeline_event(t, i);
        assert_true(e.frame >= before && e.frame < frames);
        assert_true(ratio_valid(e.beat) && ratio_cmp(e.beat, ratio_int(1)) >= 0);
        before = e.frame;
        if (e.repetition >= 0) {
            assert_true(e.frame >= timeline_repetition_frame(t, e.repetition));
            assert_true(e.frame <= timeline_repetition_frame(t, e.repetition + 1));
        }
        if (e.note < 0)
            continue;
        /* every block once, in order, in each repetition */
        if (e.repetition != repetition)
            note = -1;
        assert_true(e.note > note);
        note = e.note;
        repetition = e.repetition;
        assert_true(e.length >= 0);
    }
}

static void events_stay_in_order(void **state)
{
    (void)state;
    Random r = {.state = 2026};
    int timelines = 0;
    for (int round = 0; round < 500; round++) {
        Made m;
        if (!make(&m, &r))
            continue;
        for (size_t i = 0; i < m.s.count; i++) {
            Error error = {0};
            const DrillSpec *next = i + 1 < m.s.count ? &m.s.steps[i + 1].drill : NULL;
            Timeline *t = timeline_new(m.p, &m.f, &m.r, &m.s.steps[i], next, 44100, &error);
            assert_non_null(t);
            check_events(t);
            timeline_free(t);
            timelines++;
        }
        unmake(&m);
    }
    assert_true(timelines > 5000);
}

/* Once for each strong beat of the pattern's least period; additive metres have one a part. */
static void every_block_has_its_places(void **state)
{
    (void)state;
    Random r = {.state = 2027};
    for (int round = 0; round < 500; round++) {
        Made m;
        if (!make(&m, &r))
            continue;
        for (size_t i = 0; i < m.p->note_count; i++) {
            const Metre *metre = &m.p->bars[m.p->notes[i].bar].metre;
            int times = 0;
            for (size_t place = 0; place < m.r.place_count; place++)
                times += rotation_accents(&m.r, i, (int)place);
            assert_in_range(times, 1, metre->part_count > 1 ? metre->part_count : 1);
        }
        unmake(&m);
    }
}

/* The strokes of the signal stand where the coming drill's accents can fall. */
static void the_signal_tells_the_truth(void **state)
{
    (void)state;
    static const int metres[][2] = {{4, 4}, {3, 4}, {6, 8}, {9, 8}, {12, 8}, {2, 2}, {5, 4}};
    for (size_t k = 0; k < sizeof metres / sizeof metres[0]; k++) {
        int strings[24];
        Ratio lengths[24];
        for (int i = 0; i < 24; i++) {
            strings[i] = 10 + i;
            lengths[i] = ratio(1, 2);
        }
        Metre time = metre(metres[k][0], metres[k][1]);
        Made m = {.p = passage_of(strings, lengths, 24, time, ratio_int(0))};
        Error error = {0};
        assert_true(fingering_plan(m.p, NULL, &m.f, &error));
        assert_true(rotation_plan(m.p, &m.f, NULL, ratio_int(0), &m.r, &error));
        SessionStep step = {.drill = drill_plain(),
            .tempo = tempo(ratio_int(1), ratio_int(60)),
            .repetitions = 1,
            .rest_bars = 1};
        for (int place = 0; (size_t)place < m.r.place_count; place++) {
            DrillSpec next = drill_plain();
            next.accent = ACCENT_PLACE;
            next.place = place;
            Timeline *t = timeline_new(m.p, &m.f, &m.r, &step, &next, 8000, &error);
            assert_non_null(t);
            int64_t bar_frames = 8000 * metre_bar(&time).num / metre_bar(&time).den;
            int strokes = 0, accents = 0;
            for (size_t i = 0; i < timeline_count(t); i++) {
                TimelineEvent e = timeline_event(t, i);
                if (e.kind != EVENT_ANNOUNCE)
                    continue;
                strokes++;
                int64_t in_bar = (e.frame - timeline_repetition_frame(t, 1)) % bar_frames;
                bool found = false; /* a note of the first bar that stands there and is accented */
                for (int n = 0; n < 24 && m.p->notes[n].bar == 0; n++)
                    found =
                        found || (rotation_accents(&m.r, (size_t)n, place) && n * 4000 == in_bar);
                assert_true(found);
            }
            for (int n = 0; n < 24 && m.p->notes[n].bar == 0; n++)
                accents += rotation_accents(&m.r, (size_t)n, place);
            assert_int_equal(strokes, accents);
            timeline_free(t);
        }
        unmake(&m);
    }
}

/* A chord held over what follows: the rhythm counts it only to the next block. */
static void held_chords_do_not_overtake(void **state)
{
    (void)state;
    Passage *p = passage_new();
    Error error = {0};
    static const struct {
        int at, length, string;
    } notes[] = {{0, 4, 32}, {4, 4, 28}, {4, 2, 30}, {6, 2, 28}, {6, 2, 32}, {8, 4, 33}};
    Metre time = metre(4, 4);
    assert_true(passage_add_bar(p, ratio_int(0), &time, 1, &error));
    for (size_t i = 0; i < 6; i++) {
        Note note = {.onset = ratio(notes[i].at, 2),
            .length = ratio(notes[i].length, 2),
            .pitch = pitch_on(notes[i].string)};
        assert_true(passage_add_note(p, &note, &error));
    }
    assert_true(passage_finish(p, ratio_int(6), &error));
    Made m = {.p = p};
    assert_true(fingering_plan(p, NULL, &m.f, &error));
    assert_true(rotation_plan(p, &m.f, NULL, ratio_int(0), &m.r, &error));
    for (int ratio_p = 2; ratio_p <= 7; ratio_p++)
        for (int timing = 0; timing <= 1; timing++) {
            DrillSpec spec = drill_plain();
            spec.rhythm = (Rhythm){2, 0, ratio_p, 1, (RhythmTiming)timing};
            Drill d;
            assert_true(drill_build(p, &m.f, &m.r, &spec, &d, &error));
            for (size_t i = 1; i < d.note_count; i++)
                assert_true(d.notes[i].onset > d.notes[i - 1].onset);
            drill_free(&d);
        }
    unmake(&m);
}

static void too_long_is_refused_before_it_overflows(void **state)
{
    (void)state;
    Passage *p = passage_new();
    Error error = {0};
    Note note = {
        .onset = ratio_int(0), .length = ratio_int((int64_t)1 << 43), .pitch = pitch_on(28)};
    assert_true(passage_add_note(p, &note, &error));
    assert_true(passage_finish(p, ratio_int((int64_t)1 << 43), &error));
    Made m = {.p = p};
    SessionStep step = {.drill = drill_plain(),
        .tempo = tempo(ratio_int(1), ratio_int(10)),
        .repetitions = SESSION_REPETITIONS_MAX};
    assert_true(fingering_plan(p, NULL, &m.f, &error));
    if (rotation_plan(p, &m.f, NULL, ratio_int(1), &m.r, &error))
        assert_null(timeline_new(p, &m.f, &m.r, &step, NULL, 192000, &error));
    assert_int_equal(error.kind, ERROR_LIMIT);
    unmake(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(events_stay_in_order),
        cmocka_unit_test(every_block_has_its_places),
        cmocka_unit_test(the_signal_tells_the_truth),
        cmocka_unit_test(held_chords_do_not_overtake),
        cmocka_unit_test(too_long_is_refused_before_it_overflows),
    };
    return cmocka_run_group_tests_name("wild passages", tests, NULL, NULL);
}
