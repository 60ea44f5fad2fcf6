/* The timeline: exact frames, order, sections, what is at frame F. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "timeline_made.h"

#include <string.h>

static SessionStep step_at(int per_minute)
{
    return (SessionStep){.drill = drill_plain(),
        .tempo = tempo(ratio_int(1), ratio_int(per_minute)),
        .repetitions = 2,
        .count_in_bars = 1,
        .rest_bars = 1};
}

static SessionStep random_step(Random *r)
{
    SessionStep step = step_at(random_between(r, 20, 300));
    step.tempo.per_minute = ratio(random_between(r, 200, 3000), random_between(r, 8, 10));
    step.repetitions = random_between(r, 1, 5);
    step.count_in_bars = random_between(r, 0, 2);
    step.rest_bars = random_between(r, 0, 2);
    if (random_between(r, 0, 1)) {
        int n = random_between(r, 2, 4);
        step.drill.rhythm = (Rhythm){n, random_between(r, 0, n - 1), random_between(r, 1, 7),
            random_between(r, 1, 3), random_between(r, 0, 1) ? TIMING_TOTAL : TIMING_GOAL};
    }
    step.drill.accent = random_between(r, 0, 1) ? ACCENT_FINGER : ACCENT_STRONG;
    step.drill.finger = random_between(r, 1, 4);
    step.from_bar = random_between(r, 0, 2) == 0 ? random_between(r, 0, 4) : 0;
    return step;
}

static void a_scale_at_120(void **state)
{
    (void)state;
    Made m = make(passage_scale(28, 8, 1, ratio(1, 2)), step_at(120), NULL, 48000);
    assert_int_equal(timeline_frames(m.t), 4 * 4 * 24000); /* count-in, twice, rest */
    assert_int_equal(timeline_repetition_frame(m.t, 0), 4 * 24000);
    assert_int_equal(timeline_repetition_frame(m.t, 2), 12 * 24000);
    /* count-in 4, then twice 8 pulses-and-quavers and 8 notes, then 4 */
    assert_int_equal(timeline_count(m.t), 4 + 2 * 16 + 4);
    TimelineEvent e = timeline_event(m.t, 0);
    assert_int_equal(e.kind, EVENT_COUNT_IN);
    assert_int_equal(e.level, 2);
    e = timeline_event(m.t, 4);
    assert_int_equal(e.kind, EVENT_DOWNBEAT);
    assert_int_equal(e.frame, 96000);
    e = timeline_event(m.t, 5);
    assert_int_equal(e.kind, EVENT_ACCENT);
    assert_int_equal(e.frame, 96000);
    assert_int_equal(e.length, 12000);
    assert_int_equal(e.finger, 4);
    e = timeline_event(m.t, 7);
    assert_int_equal(e.kind, EVENT_NOTE);
    assert_int_equal(e.frame, 108000);
    assert_true(ratio_equal(e.beat, ratio(3, 2)));
    unmake(&m);
}

/* Ideal place of note `i` of repetition k, from the passage alone: no drill, no ticks. The
 * difference times the denominator is compared in 128 bits, so the check itself is exact. */
__extension__ typedef __int128 Wide;

static void an_hour_at_137_stays_within_half_a_frame(void **state)
{
    (void)state;
    SessionStep step = step_at(137);
    step.drill.rhythm = (Rhythm){2, 0, 3, 1, TIMING_TOTAL};
    step.repetitions = 1000;
    Made m = make(passage_scale(21, 32, 1, ratio(1, 2)), step, NULL, 44100);
    assert_true(timeline_frames(m.t) > (int64_t)44100 * 3600);
    size_t notes = 0;
    for (size_t i = 0; i < timeline_count(m.t); i++) {
        TimelineEvent e = timeline_event(m.t, i);
        if (e.kind != EVENT_NOTE && e.kind != EVENT_ACCENT)
            continue;
        /* quarters in quarters of a quarter: pair * 4 + (0 or 3), 4 bars a repetition */
        int64_t fourths = 16 + (int64_t)e.repetition * 64 + (e.note / 2) * 4 + (e.note % 2) * 3;
        Wide ideal = (Wide)fourths * 60 * 44100; /* over 4 * 137 */
        Wide off = (Wide)e.frame * 4 * 137 - ideal;
        off = off < 0 ? -off : off;
        assert_true(2 * off <= 4 * 137);
        notes++;
    }
    assert_int_equal(notes, 32000);
    unmake(&m);
}

static void events_are_sorted_and_found(void **state)
{
    (void)state;
    Random r = {.state = 5};
    static const int rates[] = {8000, 44100, 48000, 96000};
    for (int round = 0; round < 400; round++) {
        DrillSpec next = random_step(&r).drill;
        Made m =
            make(passage_random(&r, 30), random_step(&r), &next, rates[random_between(&r, 0, 3)]);
        size_t count = timeline_count(m.t);
        int64_t before = 0;
        for (size_t i = 0; i < count; i++) {
            TimelineEvent e = timeline_event(m.t, i);
            assert_true(e.frame >= before);
            assert_true(e.frame <= timeline_frames(m.t));
            size_t found = timeline_find(m.t, e.frame);
            assert_true(found <= i);
            assert_int_equal(timeline_event(m.t, found).frame, e.frame);
            if (found > 0)
                assert_true(timeline_event(m.t, found - 1).frame < e.frame);
            before = e.frame;
        }
        assert_int_equal(timeline_find(m.t, before + 1), count);
        assert_int_equal(timeline_find(m.t, -5), 0);
        unmake(&m);
    }
}

/* What is lit is what sounds: at each note's frame that note is named, and until the next one. */
static void at_each_frame_the_right_note(void **state)
{
    (void)state;
    Random r = {.state = 6};
    for (int round = 0; round < 300; round++) {
        Made m = make(passage_random(&r, 25), random_step(&r), NULL, 48000);
        TimelineEvent note = {.note = -1, .repetition = -1}, pulse = {.frame = -1};
        for (size_t i = 0; i < timeline_count(m.t); i++) {
            TimelineEvent e = timeline_event(m.t, i);
            bool strikes = e.kind == EVENT_NOTE || e.kind == EVENT_ACCENT;
            if (strikes)
                note = e;
            if (e.kind == EVENT_COUNT_IN || e.kind == EVENT_DOWNBEAT || e.kind == EVENT_PULSE)
                pulse = e;
            int64_t until = i + 1 < timeline_count(m.t) ? timeline_event(m.t, i + 1).frame
                                                        : timeline_frames(m.t);
            if (until == e.frame)
                continue;
            for (int64_t frame = e.frame; frame < until;
                 frame += frame + 1 < until ? until - 1 - frame : 1) {
                TimelinePlace at = timeline_at(m.t, frame);
                bool playing = at.section == SECTION_PLAY && at.repetition == note.repetition;
                assert_int_equal(at.note, playing ? note.note : -1);
                if (at.note >= 0)
                    assert_int_equal(at.accent, note.kind == EVENT_ACCENT);
                if (pulse.frame >= 0) {
                    assert_int_equal(at.since_pulse, frame - pulse.frame);
                    assert_true(ratio_equal(at.beat, pulse.beat));
                    assert_int_equal(at.downbeat, pulse.level == 2);
                }
            }
        }
        unmake(&m);
    }
}

static void sections_meet(void **state)
{
    (void)state;
    Random r = {.state = 7};
    for (int round = 0; round < 300; round++) {
        Made m = make(passage_random(&r, 25), random_step(&r), NULL, 44100);
        int64_t play = timeline_repetition_frame(m.t, 0), end = timeline_frames(m.t);
        int64_t rest = timeline_repetition_frame(m.t, m.step.repetitions);
        if (play > 0)
            assert_int_equal(timeline_at(m.t, play - 1).section, SECTION_COUNT_IN);
        assert_int_equal(timeline_at(m.t, play).section, SECTION_PLAY);
        assert_int_equal(timeline_at(m.t, rest - 1).section, SECTION_PLAY);
        assert_int_equal(timeline_at(m.t, rest - 1).repetition, m.step.repetitions - 1);
        if (end > rest)
            assert_int_equal(timeline_at(m.t, rest).section, SECTION_REST);
        assert_int_equal(timeline_at(m.t, end).section, SECTION_END);
        for (int k = 0; k < m.step.repetitions; k++)
            assert_int_equal(timeline_at(m.t, timeline_repetition_frame(m.t, k)).repetition, k);
        unmake(&m);
    }
}

/* After a pause: the same events from that bar line on, as far apart as ever. */
static void a_repetition_can_begin_in_a_later_bar(void **state)
{
    (void)state;
    Random r = {.state = 12};
    int partial = 0;
    for (int round = 0; round < 400; round++) {
        SessionStep step = random_step(&r);
        step.from_bar = 0;
        Passage *p = passage_random(&r, 60);
        Made whole = make(p, step, NULL, 48000);
        step.from_bar = random_between(&r, 1, 6);
        Error error = {0};
        Timeline *t = timeline_new(p, &whole.f, &whole.r, &step, NULL, 48000, &error);
        assert_non_null(t);
        size_t left_out = timeline_count(whole.t) - timeline_count(t);
        size_t in = timeline_find(t, timeline_repetition_frame(t, 0));
        TimelineEvent first = timeline_event(t, in);
        partial += first.bar > 0;
        if (first.bar > 0) {
            assert_int_equal(first.kind, EVENT_DOWNBEAT);
            assert_int_equal(first.bar, step.from_bar);
            assert_int_equal(first.frame, timeline_repetition_frame(t, 0));
        }
        /* from there both timelines tell the same, shifted */
        size_t count = timeline_count(t);
        for (size_t i = count - 1; i > in; i--) {
            TimelineEvent a = timeline_event(t, i), b = timeline_event(t, i - 1);
            size_t k = timeline_count(whole.t) - (count - i);
            TimelineEvent c = timeline_event(whole.t, k), d = timeline_event(whole.t, k - 1);
            assert_int_equal(a.kind, c.kind);
            assert_int_equal(a.note, c.note);
            assert_in_range(a.frame - b.frame - (c.frame - d.frame) + 2, 0, 4);
        }
        assert_true(left_out < timeline_count(whole.t));
        timeline_free(t);
        unmake(&whole);
    }
    assert_true(partial > 100);
}

static void count_in_counts_down(void **state)
{
    (void)state;
    SessionStep step = step_at(60);
    step.count_in_bars = 2;
    Made m = make(passage_scale(28, 8, 1, ratio(1, 2)), step, NULL, 1000);
    assert_int_equal(timeline_at(m.t, 0).bars_left, 2);
    assert_int_equal(timeline_at(m.t, 3999).bars_left, 2);
    assert_int_equal(timeline_at(m.t, 4000).bars_left, 1);
    assert_int_equal(timeline_at(m.t, 8000).bars_left, 0);
    assert_true(ratio_equal(timeline_at(m.t, 2500).beat, ratio_int(3)));
    unmake(&m);
}

static int strokes(const DrillSpec *next, int64_t frames[32], int64_t *bar)
{
    Made m = make(passage_scale(28, 8, 1, ratio(1, 2)), step_at(60), next, 1000);
    int count = 0;
    for (size_t i = 0; i < timeline_count(m.t); i++)
        if (timeline_event(m.t, i).kind == EVENT_ANNOUNCE)
            frames[count++] = timeline_event(m.t, i).frame - timeline_repetition_frame(m.t, 2);
    *bar = 4000;
    unmake(&m);
    return count;
}

static void what_comes_next_is_told_by_ear(void **state)
{
    (void)state;
    int64_t at[32], bar;
    DrillSpec next = drill_plain();
    assert_int_equal(strokes(NULL, at, &bar), 0);
    assert_int_equal(strokes(&next, at, &bar), 2); /* 1 and 3 of four */
    assert_int_equal(at[0], 0);
    assert_int_equal(at[1], 2000);
    next.accent = ACCENT_FINGER;
    for (next.finger = 1; next.finger <= 4; next.finger++)
        assert_int_equal(strokes(&next, at, &bar), next.finger);
    assert_int_equal(at[3], 1500); /* half a beat apart */
    next.accent = ACCENT_PLACE;
    next.place = 3;
    assert_int_equal(strokes(&next, at, &bar), 2); /* where the accents will fall */
    assert_int_equal(at[0], 1500);
    assert_int_equal(at[1], 3500);
    next = drill_plain();
    next.rhythm.notes = 2;
    assert_int_equal(strokes(&next, at, &bar), 8); /* long and short in every beat */
    assert_int_equal(at[1], 750);
}

static void steps_out_of_range_are_refused(void **state)
{
    (void)state;
    Passage *p = passage_scale(28, 8, 1, ratio(1, 2));
    Fingering f;
    Rotation r;
    Error error = {0};
    assert_true(fingering_plan(p, NULL, &f, &error));
    assert_true(rotation_plan(p, &f, NULL, ratio_int(0), &r, &error));
    SessionStep bad[5];
    for (int i = 0; i < 5; i++)
        bad[i] = step_at(60);
    bad[0].tempo.per_minute = ratio_int(TEMPO_MAX + 1);
    bad[1].tempo.per_minute = ratio(TEMPO_MIN * 2 - 1, 2);
    bad[2].repetitions = 0;
    bad[3].count_in_bars = SESSION_BARS_MAX + 1;
    bad[4].rest_bars = -1;
    for (int i = 0; i < 5; i++) {
        error = (Error){0};
        assert_null(timeline_new(p, &f, &r, &bad[i], NULL, 48000, &error));
        assert_int_equal(error.kind, ERROR_RANGE);
    }
    SessionStep good = step_at(60);
    assert_null(timeline_new(p, &f, &r, &good, NULL, 0, &error));
    rotation_free(&r);
    fingering_free(&f);
    passage_free(p);
}

static void a_session_is_the_sum_of_its_steps(void **state)
{
    (void)state;
    Passage *p = passage_scale(28, 15, 1, ratio(1, 2));
    Fingering f;
    Rotation r;
    Session s;
    Error error = {0};
    SessionOptions options = {.repetitions = 3, .base = drill_plain()};
    assert_true(fingering_plan(p, NULL, &f, &error));
    assert_true(rotation_plan(p, &f, NULL, ratio_int(0), &r, &error));
    assert_true(session_default(p, &f, &r, &options, &s, &error));
    static const char *const order[] = {"plain", "finger-4", "finger-3", "finger-2", "finger-1",
        "beat-1", "beat-2", "beat-3", "beat-4", "long-short", "short-long", "plain"};
    assert_int_equal(s.count, 12);
    int64_t sum = 0;
    for (size_t i = 0; i < s.count; i++) {
        char word[DRILL_TEXT_MAX];
        assert_string_equal(drill_word(&s.steps[i].drill, word), order[i]);
        assert_int_equal(s.steps[i].repetitions, 3);
        const DrillSpec *next = i + 1 < s.count ? &s.steps[i + 1].drill : NULL;
        Timeline *t = timeline_new(p, &f, &r, &s.steps[i], next, 48000, &error);
        sum += timeline_frames(t);
        timeline_free(t);
    }
    assert_int_equal(session_frames(p, &f, &r, &s, 48000, &error), sum);
    session_free(&s);
    assert_true(session_every(p, &f, &r, &options, &s, &error));
    assert_int_equal(s.count, 11 + 3 + 4 + 7); /* with every placing drill */
    for (size_t i = 0; i < s.count; i++)
        for (size_t k = 0; k < i; k++)
            assert_false(drill_spec_equal(&s.steps[i].drill, &s.steps[k].drill));
    session_free(&s);
    rotation_free(&r);
    fingering_free(&f);
    passage_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_scale_at_120),
        cmocka_unit_test(an_hour_at_137_stays_within_half_a_frame),
        cmocka_unit_test(events_are_sorted_and_found),
        cmocka_unit_test(at_each_frame_the_right_note),
        cmocka_unit_test(sections_meet),
        cmocka_unit_test(a_repetition_can_begin_in_a_later_bar),
        cmocka_unit_test(count_in_counts_down),
        cmocka_unit_test(what_comes_next_is_told_by_ear),
        cmocka_unit_test(steps_out_of_range_are_refused),
        cmocka_unit_test(a_session_is_the_sum_of_its_steps),
    };
    return cmocka_run_group_tests_name("timeline", tests, NULL, NULL);
}
