/* Pause, stop and play again: what is heard in between, and that nothing jumps. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sound/scene.h"

#include <math.h>

enum { RATE = 48000, LEAD = RATE * VOICE_LEAD_MILLISECONDS / 1000 };

/* ---- pause, stop, play again --------------------------------------------------------------- */

/* With the held stretch cut out, what was paused is what was not, but for the fades. */
static void a_pause_holds_and_goes_on(void **state)
{
    (void)state;
    enum { FADE = RATE / 200, HELD = 12345 };
    Scene s = scene_quavers(RATE, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 137, 1, 1, 0);
    const int64_t frames = timeline_frames(t);
    float *whole = sample_room(frames), *paused = sample_room(frames + HELD);
    Mix mix = mix_plain(-12);
    mix.on[LAYER_GUIDE] = true;
    const Source source = {t, s.plucks};
    for (int64_t at = 100; at < frames - RATE; at += 54321) {
        Engine *e = scene_engine(&s, &mix);
        const Cue plain[] = {cue_source(0, COMMAND_PLAY, t, s.plucks, 0)};
        run_script(e, plain, 1, whole, frames, 1024, NULL);
        engine_free(e);
        EventList list = {0};
        e = scene_engine(&s, &mix);
        const Cue cues[] = {cue_source(0, COMMAND_PLAY, t, s.plucks, 0), cue(at, COMMAND_PAUSE),
            cue(at + FADE + HELD, COMMAND_RESUME)};
        run_script(e, cues, 3, paused, frames + HELD, 1024, &list);
        assert_memory_equal(whole, paused, (size_t)at * sizeof *whole);
        for (int64_t i = 0; i < FADE; i++) { /* linear, down and up */
            const float down = (float)(FADE - 1 - i) / FADE, up = (float)(i + 1) / FADE;
            assert_float_equal(paused[at + i], whole[at + i] * down, 1e-6F);
            assert_float_equal(paused[at + FADE + HELD + i], whole[at + FADE + i] * up, 1e-6F);
        }
        for (int64_t i = at + FADE; i < at + FADE + HELD; i++)
            assert_float_equal(paused[i], 0, 0);
        assert_memory_equal(whole + at + 2 * FADE, paused + at + 2 * FADE + HELD,
            (size_t)(frames - at - 2 * FADE) * sizeof *whole);
        /* Before the first frame is heard it is paused at a frame below 0. */
        const EngineEvent *held = find_event(&list, ENGINE_PAUSED, 0);
        check_event(held, t, at + FADE, at + FADE - LEAD);
        assert_ptr_equal(held->source.plucks, source.plucks);
        check_event(find_event(&list, ENGINE_RESUMED, 0), t, at + FADE + HELD, at + FADE - LEAD);
        engine_free(e);
    }
    free(whole);
    free(paused);
    timeline_free(t);
    scene_end(&s);
}

static void pausing_and_resuming_in_haste_leaves_no_trace(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true);
    Timeline *t = scene_timeline(&s, drill_plain(), 120, 1, 1, 0);
    const int64_t frames = timeline_frames(t) + 2 * LEAD;
    float *out = sample_room(frames);
    EventList list = {0};
    const Mix mix = mix_plain(-12);
    Engine *e = scene_engine(&s, &mix);
    const Cue cues[] = {cue(0, COMMAND_PAUSE), cue(0, COMMAND_RESUME), /* nothing plays: nothing */
        cue_source(0, COMMAND_PLAY, t, NULL, 0), cue(5000, COMMAND_PAUSE),
        cue(5000, COMMAND_RESUME), cue(30000, COMMAND_PAUSE), cue(30100, COMMAND_RESUME),
        cue(30150, COMMAND_PAUSE), cue(30200, COMMAND_RESUME), cue(31000, COMMAND_RESUME)};
    run_script(e, cues, sizeof cues / sizeof cues[0], out, frames, 4096, &list);
    Expected x = {0};
    expect(&x, t, LEAD, 0, timeline_count(t));
    check_heard(&x, out, frames, "haste");
    assert_int_equal(count_events(&list, ENGINE_PAUSED, NULL), 0);
    assert_int_equal(count_events(&list, ENGINE_RESUMED, NULL), 0);
    engine_free(e);
    free(out);
    timeline_free(t);
    scene_end(&s);
}

static float steepest(const float *out, int64_t from, int64_t to)
{
    float most = 0;
    for (int64_t i = from > 0 ? from : 1; i < to; i++)
        most = fmaxf(most, fabsf(out[i] - out[i - 1]));
    return most;
}

/* STOP and PLAY in the middle of sound: 5 ms later the old is gone, without a jump. */
static void stop_and_play_drop_softly(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, false);
    Timeline *a = scene_timeline(&s, drill_plain(), 300, 2, 0, 0);
    Timeline *b = scene_timeline(&s, drill_plain(), 60, 1, 1, 0);
    Timeline *never = scene_timeline(&s, drill_plain(), 60, 1, 1, 0);
    Mix mix = mix_plain(-20);
    for (int i = 0; i < LAYER_KINDS; i++)
        mix.on[i] = i == LAYER_GUIDE; /* low tones: a jump would stand out */
    float *out = sample_room(3 * RATE);
    for (int stop = 0; stop < 2; stop++) {
        EventList list = {0};
        Engine *e = scene_engine(&s, &mix);
        const int64_t at = RATE + 2400; /* between two notes, strings ringing */
        const Cue cues[] = {cue_source(0, COMMAND_PLAY, a, s.plucks, 0),
            cue_source(100, COMMAND_QUEUE, never, NULL, 0),
            stop ? cue(at, COMMAND_STOP) : cue_source(at, COMMAND_PLAY, b, NULL, 0)};
        run_script(e, cues, 3, out, 3 * RATE, 777, &list);
        assert_true(fabsf(out[at]) + fabsf(out[at + 30]) > 0);
        for (int64_t i = at + RATE / 200; i < at + LEAD / 2; i++)
            assert_float_equal(out[i], 0, 0);
        assert_true(steepest(out, at, at + LEAD / 2) <= steepest(out, 0, at));
        assert_int_equal(count_events(&list, ENGINE_RETIRED, a), 1);
        assert_int_equal(count_events(&list, ENGINE_RETIRED, never), 1);
        assert_int_equal(count_events(&list, ENGINE_STARTED, never), 0);
        if (stop) {
            check_event(find_event(&list, ENGINE_ENDED, 0), a, at, at - LEAD);
            assert_true(engine_idle(e));
        } else {
            check_event(find_event(&list, ENGINE_STARTED, 1), b, at + LEAD, 0);
        }
        engine_free(e);
    }
    free(out);
    timeline_free(a);
    timeline_free(b);
    timeline_free(never);
    scene_end(&s);
}

static void play_and_stop_end_a_pause(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true);
    Timeline *a = scene_timeline(&s, drill_plain(), 120, 2, 1, 0);
    Timeline *b = scene_timeline(&s, drill_plain(), 100, 1, 1, 0);
    float *out = sample_room(4 * RATE);
    EventList list = {0};
    const Mix mix = mix_plain(-12);
    Engine *e = scene_engine(&s, &mix);
    const Cue cues[] = {cue_source(0, COMMAND_PLAY, a, NULL, 0), cue(RATE, COMMAND_PAUSE),
        cue_source(2 * RATE, COMMAND_PLAY, b, NULL, 0), cue(3 * RATE, COMMAND_PAUSE),
        cue(3 * RATE + 1000, COMMAND_STOP)};
    run_script(e, cues, 5, out, 4 * RATE, 500, &list);
    Expected x = {0};
    expect(&x, a, LEAD, 0, timeline_next_pulse(a, RATE - LEAD + RATE / 200));
    expect(&x, b, 2 * RATE + LEAD, 0, timeline_next_pulse(b, RATE - LEAD));
    check_heard(&x, out, 4 * RATE, "out of a pause");
    check_event(find_event(&list, ENGINE_STARTED, 1), b, 2 * RATE + LEAD, 0);
    const int64_t held = RATE - LEAD + RATE / 200;
    check_event(find_event(&list, ENGINE_PAUSED, 1), b, 3 * RATE + RATE / 200, held);
    check_event(find_event(&list, ENGINE_ENDED, 0), b, 3 * RATE + 1000, held);
    assert_true(engine_idle(e));
    engine_free(e);
    free(out);
    timeline_free(a);
    timeline_free(b);
    scene_end(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_pause_holds_and_goes_on),
        cmocka_unit_test(pausing_and_resuming_in_haste_leaves_no_trace),
        cmocka_unit_test(stop_and_play_drop_softly),
        cmocka_unit_test(play_and_stop_end_a_pause),
    };
    return cmocka_run_group_tests_name("engine_pause", tests, NULL, NULL);
}
