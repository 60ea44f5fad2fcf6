/* Timelines that end early are the same up to their end; rests last exactly as long as asked. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "timeline_made.h"

#include <string.h>

static Made random_made(Random *r)
{
    static const int rates[3] = {44100, 48000, 96000};
    SessionStep step = {.drill = drill_plain(),
        .tempo = tempo(ratio_int(1), ratio(random_between(r, 200, 3000), random_between(r, 8, 10))),
        .repetitions = random_between(r, 1, 4),
        .count_in_bars = random_between(r, 0, 2),
        .rest_bars = random_between(r, 0, 2),
        .from_bar = random_between(r, 0, 3)};
    Passage *p = passage_scale(24, random_between(r, 5, 24), 1, ratio(1, random_between(r, 1, 4)));
    return make(p, step, NULL, rates[random_between(r, 0, 2)]);
}

static bool same_event(TimelineEvent a, TimelineEvent b, int64_t end)
{
    int64_t left = end - a.frame;
    if (a.length > left)
        a.length = left;
    return a.frame == b.frame && a.kind == b.kind && a.level == b.level &&
           a.repetition == b.repetition && a.bar == b.bar && ratio_equal(a.beat, b.beat) &&
           a.note == b.note && a.finger == b.finger && a.group == b.group && a.length == b.length;
}

static bool same_place(TimelinePlace a, TimelinePlace b)
{
    return a.section == b.section && a.repetition == b.repetition && a.note == b.note &&
           a.accent == b.accent && a.bar == b.bar && ratio_equal(a.beat, b.beat) &&
           a.downbeat == b.downbeat && a.since_pulse == b.since_pulse;
}

static void check_cut(Random *r, const Made *m, int64_t end)
{
    Error error = {0};
    Timeline *cut = timeline_until(m->t, end, &error);
    assert_non_null(cut);
    assert_int_equal(timeline_frames(cut), end);
    assert_int_equal(timeline_whole_count(cut), timeline_count(m->t));
    assert_int_equal(timeline_count(cut), timeline_find(m->t, end));
    for (size_t i = 0; i < timeline_count(cut); i++)
        assert_true(same_event(timeline_event(m->t, i), timeline_event(cut, i), end));
    for (int look = 0; look < 20 && end > 0; look++) {
        int64_t frame = random_between(r, 0, (int)end - 1);
        assert_true(same_place(timeline_at(m->t, frame), timeline_at(cut, frame)));
        assert_true(timeline_find(cut, frame) <= timeline_count(cut));
    }
    assert_int_equal(timeline_at(cut, end).section, SECTION_END);
    assert_int_equal(timeline_find(cut, end), timeline_count(cut));
    Timeline *again = timeline_until(cut, end / 2, &error); /* may be cut once more */
    assert_non_null(again);
    assert_int_equal(timeline_count(again), timeline_find(m->t, end / 2));
    timeline_free(again);
    timeline_free(cut);
}

static void a_cut_timeline_is_the_same_up_to_its_end(void **state)
{
    (void)state;
    Random random = {20261125};
    for (int round = 0; round < 200; round++) {
        Made m = random_made(&random);
        int64_t end = timeline_frames(m.t);
        check_cut(&random, &m, random_between(&random, 0, (int)end));
        check_cut(&random, &m, end);
        check_cut(&random, &m, 0);
        unmake(&m);
    }
}

/* By the definition: no bar line lies nearer, and the answer is one. */
static void the_nearest_bar_line_is_found(void **state)
{
    (void)state;
    Random random = {77};
    for (int round = 0; round < 200; round++) {
        Made m = random_made(&random);
        int64_t end = timeline_frames(m.t), at = random_between(&random, 0, (int)end);
        int64_t found = timeline_line_near(m.t, at), off = found > at ? found - at : at - found;
        bool is_line = found == end;
        for (size_t i = 0; i < timeline_count(m.t); i++) {
            TimelineEvent e = timeline_event(m.t, i);
            if (e.kind != EVENT_DOWNBEAT && !(e.kind == EVENT_COUNT_IN && e.level == 2))
                continue;
            is_line = is_line || e.frame == found;
            assert_true((e.frame > at ? e.frame - at : at - e.frame) >= off);
        }
        assert_true(is_line);
        assert_true(end - at >= off);
        assert_int_equal(timeline_line_near(m.t, end), end);
        unmake(&m);
    }
}

static void ends_outside_are_refused(void **state)
{
    (void)state;
    Random random = {5};
    Made m = random_made(&random);
    Error error = {0};
    assert_null(timeline_until(m.t, -1, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    error = (Error){0};
    assert_null(timeline_until(m.t, timeline_frames(m.t) + 1, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    unmake(&m);
}

static void a_rest_lasts_as_long_as_asked(void **state)
{
    (void)state;
    static const int64_t lengths[] = {1, 2, 96001, (int64_t)192000 * 3600 * 3};
    Passage *p = passage_scale(28, 8, 1, ratio(1, 2));
    Error error = {0};
    for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++)
        for (int bell = 0; bell < 2; bell++) {
            Timeline *t = timeline_rest(p, lengths[i], bell, 48000, &error);
            assert_non_null(t);
            assert_int_equal(timeline_frames(t), lengths[i]);
            assert_int_equal(timeline_count(t), bell);
            if (bell) {
                TimelineEvent e = timeline_event(t, 0);
                assert_int_equal(e.frame, 0);
                assert_int_equal(e.kind, EVENT_BELL);
                assert_int_equal(e.note, -1);
                assert_string_equal(event_word(e.kind), "bell");
            }
            assert_int_equal(timeline_at(t, 0).section, SECTION_REST);
            assert_int_equal(timeline_at(t, 0).note, -1);
            assert_int_equal(timeline_at(t, lengths[i] - 1).section, SECTION_REST);
            assert_int_equal(timeline_at(t, lengths[i]).section, SECTION_END);
            assert_int_equal(timeline_next_pulse(t, 0), timeline_count(t));
            assert_false(timeline_accents(t, 7));
            timeline_free(t);
        }
    assert_null(timeline_rest(p, 0, true, 48000, &error));
    assert_null(timeline_rest(p, ((int64_t)1 << 40) + 1, true, 48000, &error));
    assert_null(timeline_rest(p, 48000, true, 10, &error));
    passage_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cut_timeline_is_the_same_up_to_its_end),
        cmocka_unit_test(the_nearest_bar_line_is_found),
        cmocka_unit_test(ends_outside_are_refused),
        cmocka_unit_test(a_rest_lasts_as_long_as_asked),
    };
    return cmocka_run_group_tests_name("timeline cut", tests, NULL, NULL);
}
