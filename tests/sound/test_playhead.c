#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/sound/playhead.h"
#include "sound/scene.h"

enum { RATE = 48000, LEAD = RATE * VOICE_LEAD_MILLISECONDS / 1000 };

/* Two timelines that are only ever compared by address here. */
static const char names[2];
static const Timeline *const A = (const Timeline *)(const void *)&names[0];
static const Timeline *const B = (const Timeline *)(const void *)&names[1];

static void take(
    Playhead *h, EngineEventKind kind, const Timeline *t, int64_t engine, int64_t timeline)
{
    const EngineEvent event = {
        .kind = kind, .source = {t, NULL}, .engine_frame = engine, .timeline_frame = timeline};
    playhead_take(h, &event);
}

static void check_at(
    const Playhead *h, int64_t engine, const Timeline *t, int64_t timeline, bool held)
{
    const Timeline *found = NULL;
    int64_t frame = -1;
    bool is_held = false;
    if (playhead_at(h, engine, &found, &frame, &is_held) != (t != NULL))
        fail_msg("at %lld: found %p", (long long)engine, (const void *)found);
    if (!t)
        return;
    assert_ptr_equal(found, t);
    assert_int_equal(frame, timeline);
    assert_int_equal(is_held, held);
}

static void nothing_plays_before_anything_was_told(void **state)
{
    (void)state;
    Playhead h = {0};
    check_at(&h, 0, NULL, 0, false);
    check_at(&h, INT64_MAX, NULL, 0, false);
    check_at(&h, -5, NULL, 0, false);
    playhead_drop_before(&h, 100);
    assert_false(playhead_uses(&h, A));
}

static void it_runs_holds_and_goes_on(void **state)
{
    (void)state;
    Playhead h = {0};
    take(&h, ENGINE_STARTED, A, 1000, 0);
    check_at(&h, 999, NULL, 0, false);
    check_at(&h, 1000, A, 0, false);
    check_at(&h, 1500, A, 500, false);
    take(&h, ENGINE_PAUSED, A, 2000, 1000);
    check_at(&h, 1999, A, 999, false);
    check_at(&h, 2000, A, 1000, true);
    check_at(&h, 9000, A, 1000, true);
    take(&h, ENGINE_RESUMED, A, 10000, 1000);
    check_at(&h, 9999, A, 1000, true);
    check_at(&h, 10000, A, 1000, false);
    check_at(&h, 10500, A, 1500, false);
    take(&h, ENGINE_STARTED, B, 12000, 700); /* a change of tempo in mid-drill */
    check_at(&h, 11999, A, 2999, false);
    check_at(&h, 12000, B, 700, false);
    take(&h, ENGINE_ENDED, B, 13000, 1700);
    check_at(&h, 12999, B, 1699, false);
    check_at(&h, 13000, NULL, 0, false);
    check_at(&h, 1500, A, 500, false); /* the past still answers: a listener is late */
}

static void before_the_first_frame_the_timeline_is_negative(void **state)
{
    (void)state;
    Playhead h = {0};
    take(&h, ENGINE_PAUSED, A, 500, -460);
    take(&h, ENGINE_RESUMED, A, 900, -460);
    take(&h, ENGINE_STARTED, A, 1360, 0);
    check_at(&h, 600, A, -460, true);
    check_at(&h, 1000, A, -360, false);
    check_at(&h, 1360, A, 0, false);
}

static void retired_timelines_stay_until_dropped(void **state)
{
    (void)state;
    Playhead h = {0};
    take(&h, ENGINE_STARTED, A, 1000, 0);
    take(&h, ENGINE_STARTED, B, 2000, 0);
    take(&h, ENGINE_RETIRED, A, 2100, 0);
    check_at(&h, 1500, A, 500, false);
    check_at(&h, 2200, B, 200, false);
    assert_true(playhead_uses(&h, A));
    playhead_drop_before(&h, 1999);
    assert_true(playhead_uses(&h, A)); /* frame 1999 is A's */
    check_at(&h, 1999, A, 999, false);
    playhead_drop_before(&h, 2000);
    assert_false(playhead_uses(&h, A));
    assert_true(playhead_uses(&h, B));
    check_at(&h, 1999, NULL, 0, false);
    check_at(&h, 2000, B, 0, false);
    take(&h, ENGINE_ENDED, B, 3000, 1000);
    playhead_drop_before(&h, 3000);
    assert_false(playhead_uses(&h, B));
    check_at(&h, 3000, NULL, 0, false);
}

static void two_words_at_one_frame_leave_the_later(void **state)
{
    (void)state;
    Playhead h = {0};
    take(&h, ENGINE_STARTED, A, 1000, 0);
    take(&h, ENGINE_RESUMED, A, 2000, 1000);
    take(&h, ENGINE_PAUSED, A, 2000, 1000);
    check_at(&h, 2500, A, 1000, true);
    take(&h, ENGINE_STARTED, B, 2000, 5);
    check_at(&h, 2500, B, 505, false);
    check_at(&h, 1999, A, 999, false);
    assert_int_equal(h.count, 2);
}

static void beyond_its_room_it_forgets_the_oldest(void **state)
{
    (void)state;
    Playhead h = {0};
    enum { TAKEN = 3 * PLAYHEAD_STRETCHES };
    for (int i = 0; i < TAKEN; i++)
        take(&h, ENGINE_STARTED, i % 2 ? B : A, 1000 * i, 7 * i);
    assert_int_equal(h.count, PLAYHEAD_STRETCHES);
    for (int i = 0; i < TAKEN; i++)
        if (i < TAKEN - PLAYHEAD_STRETCHES)
            check_at(&h, 1000 * i + 500, NULL, 0, false);
        else
            check_at(&h, 1000 * i + 500, i % 2 ? B : A, 7 * i + 500, false);
}

/* What is lit is what is heard: after any commands, every peak in the samples stands where the
 * playhead finds an event on exactly that frame of the timeline, and while it is held or has
 * ended nothing sounds. */
static void every_peak_is_where_the_playhead_says(void **state)
{
    (void)state;
    enum { FRAMES = 40 * RATE, TIMELINES = 5, CUES = 50 };
    Random random = {8642};
    Scene s = scene_quavers(RATE, true);
    Timeline *t[TIMELINES];
    for (int i = 0; i < TIMELINES; i++)
        t[i] = scene_timeline(&s, drill_plain(), 97 + 53 * i, 2, 1, i % 2);
    static float out[FRAMES];
    size_t peaks = 0;
    for (int round = 0; round < 12; round++) {
        static EventList list;
        Playhead h = {0};
        Cue cues[CUES];
        int64_t at = 0;
        for (int i = 0; i < CUES; i++) {
            static const CommandKind kinds[] = {COMMAND_PLAY, COMMAND_CHANGE, COMMAND_CHANGE,
                COMMAND_QUEUE, COMMAND_PAUSE, COMMAND_RESUME, COMMAND_RESUME, COMMAND_STOP};
            const CommandKind kind = i == 0 ? COMMAND_PLAY : kinds[random_between(&random, 0, 7)];
            const Timeline *which = t[random_between(&random, 0, TIMELINES - 1)];
            cues[i] = cue_source(at, kind, which, NULL,
                random_between(&random, 0, 2) ? 0 : random_between(&random, 0, RATE));
            at += random_between(&random, 0, 2 * RATE);
        }
        list.count = 0;
        const Mix mix = mix_plain(-12);
        Engine *e = scene_engine(&s, &mix);
        run_script(e, cues, CUES, out, FRAMES, random_between(&random, 1, 5000), &list);
        engine_free(e);
        assert_true(list.count < EVENTS_KEPT);
        Ear ear = {.least = 0.01F};
        ear_hear(&ear, out, FRAMES);
        size_t told = 0;
        for (size_t i = 0; i < ear.count; i++) {
            const Timeline *found;
            int64_t frame;
            bool held;
            while (told < list.count && list.event[told].engine_frame <= ear.peak[i].frame)
                playhead_take(&h, &list.event[told++]);
            if (!playhead_at(&h, ear.peak[i].frame, &found, &frame, &held))
                fail_msg("round %d: a peak at %lld where nothing plays", round,
                    (long long)ear.peak[i].frame);
            assert_false(held);
            const size_t event = timeline_find(found, frame);
            if (event == timeline_count(found) || timeline_event(found, event).frame != frame)
                fail_msg("round %d: a peak at %lld, frame %lld, where no event is", round,
                    (long long)ear.peak[i].frame, (long long)frame);
        }
        peaks += ear.count;
        free(ear.peak);
    }
    assert_true(peaks > 1000);
    for (int i = 0; i < TIMELINES; i++)
        timeline_free(t[i]);
    scene_end(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_plays_before_anything_was_told),
        cmocka_unit_test(it_runs_holds_and_goes_on),
        cmocka_unit_test(before_the_first_frame_the_timeline_is_negative),
        cmocka_unit_test(retired_timelines_stay_until_dropped),
        cmocka_unit_test(two_words_at_one_frame_leave_the_later),
        cmocka_unit_test(beyond_its_room_it_forgets_the_oldest),
        cmocka_unit_test(every_peak_is_where_the_playhead_says),
    };
    return cmocka_run_group_tests_name("playhead", tests, NULL, NULL);
}
