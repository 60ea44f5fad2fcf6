/* What the engine plays when: every check is on frames found in the samples. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sound/scene.h"

#include <math.h>

enum { RATE = 48000, LEAD = RATE * VOICE_LEAD_MILLISECONDS / 1000 };

/* ---- playing ------------------------------------------------------------------------------- */

static void every_peak_stands_on_its_frame(void **state)
{
    (void)state;
    const int64_t starts[] = {0, 1, 777, 5000};
    const int64_t froms[] = {0, 1, 20000, 43200, 100001};
    Scene s = scene_quavers(RATE, true);
    Timeline *t = scene_timeline(&s, drill_plain(), 137, 2, 1, 1);
    const int64_t frames = timeline_frames(t) + 10000;
    float *out = sample_room(frames);
    for (size_t i = 0; i < 4; i++)
        for (size_t k = 0; k < 5; k++) {
            const Mix mix = mix_plain(-12);
            Engine *e = scene_engine(&s, &mix);
            assert_int_equal(engine_lead(e), LEAD);
            EventList list = {0};
            const Cue cues[] = {cue_source(starts[i], COMMAND_PLAY, t, NULL, froms[k])};
            run_script(e, cues, 1, out, frames, 512, &list);
            const int64_t base = starts[i] + LEAD - froms[k];
            Expected x = {0};
            expect(&x, t, base, timeline_find(t, froms[k]), timeline_count(t));
            check_heard(&x, out, frames, "play");
            check_event(find_event(&list, ENGINE_STARTED, 0), t, starts[i] + LEAD, froms[k]);
            check_event(find_event(&list, ENGINE_ENDED, 0), t, base + timeline_frames(t),
                timeline_frames(t));
            assert_int_equal(count_events(&list, ENGINE_RETIRED, t), 1);
            assert_int_equal(list.count, 3);
            assert_int_equal(engine_position(e), frames);
            assert_true(engine_idle(e));
            engine_free(e);
        }
    free(out);
    timeline_free(t);
    scene_end(&s);
}

/* The bundled sounds, whose tails run on: pulses alone, at a tempo that is no whole number of
 * frames, still peak on their frames. */
static void bundled_sounds_peak_on_their_frames(void **state)
{
    (void)state;
    const int rates[] = {44100, 48000, 96000};
    for (size_t r = 0; r < 3; r++) {
        Scene s = scene_quavers(rates[r], false);
        Timeline *t = scene_timeline(&s, drill_plain(), 97, 1, 1, 0);
        const int64_t frames = timeline_frames(t), lead = rates[r] * VOICE_LEAD_MILLISECONDS / 1000;
        float *out = sample_room(frames + lead);
        Mix mix = mix_plain(-12);
        mix.on[LAYER_NOTES] = mix.on[LAYER_ACCENT] = mix.on[LAYER_SUBDIVISION] = false;
        Engine *e = scene_engine(&s, &mix);
        const Cue cues[] = {cue_source(0, COMMAND_PLAY, t, NULL, 0)};
        run_script(e, cues, 1, out, frames + lead, 4096, NULL);
        for (size_t i = timeline_next_pulse(t, 0); i < timeline_count(t);
             i = timeline_next_pulse(t, timeline_event(t, i).frame + 1)) {
            const int64_t due = timeline_event(t, i).frame + lead;
            int64_t peak = due - lead / 2;
            for (int64_t k = due - lead / 2; k < due + lead / 2; k++)
                if (fabsf(out[k]) > fabsf(out[peak]))
                    peak = k;
            assert_int_equal(peak, due);
        }
        engine_free(e);
        free(out);
        timeline_free(t);
        scene_end(&s);
    }
}

static void the_first_second_rises_from_quiet(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true);
    Timeline *t = scene_timeline(&s, drill_plain(), 240, 2, 2, 0);
    const Mix mix = mix_plain(-12);
    Engine *e = scene_engine(&s, &mix);
    float *out = sample_room(4 * RATE);
    const Cue cues[] = {cue_source(0, COMMAND_PLAY, t, NULL, 0),
        cue_source(2 * RATE, COMMAND_PLAY, t, NULL, 0)}; /* again, not from silence */
    run_script(e, cues, 2, out, 4 * RATE, 256, NULL);
    const float full = mix_gain(-12);
    for (int i = 0; i < 8; i++) { /* four count-in pulses a second */
        const float risen = i < 4 ? 0.25F + 0.75F * (float)i / 4 : 1;
        assert_float_equal(out[LEAD + i * RATE / 4], full * risen, 1e-6F);
        if (i > 0)
            assert_true(out[LEAD + i * RATE / 4] >= out[LEAD + (i - 1) * RATE / 4]);
    }
    assert_float_equal(out[2 * RATE + LEAD], full, 1e-6F);
    engine_free(e);
    free(out);
    timeline_free(t);
    scene_end(&s);
}

/* ---- change of tempo ----------------------------------------------------------------------- */

/* Property: wherever a CHANGE comes, the events before the next undecided pulse are the old
 * tempo's, those from it on the new one's, the pulse itself is where it was, and none is lost
 * or doubled. */
static void a_change_takes_over_on_the_next_pulse(void **state)
{
    (void)state;
    Random random = {20240601};
    Scene s = scene_quavers(RATE, true);
    for (int round = 0; round < 60; round++) {
        const int from = random_between(&random, 40, 300), to = random_between(&random, 40, 300);
        Timeline *a = scene_timeline(&s, drill_plain(), from, 2, 1, 0);
        Timeline *b = scene_timeline(&s, drill_plain(), to, 2, 1, 0);
        const int64_t at = random_between(&random, 0, (int)timeline_frames(a) - 2 * LEAD);
        const int64_t frames = timeline_frames(a) + timeline_frames(b) + 4000;
        const size_t pulse = timeline_next_pulse(a, at); /* head: at + LEAD, base: LEAD */
        float *out = sample_room(frames);
        Expected x = {0};
        EventList list = {0};
        const Mix mix = mix_plain(-12);
        Engine *e = scene_engine(&s, &mix);
        const Cue cues[] = {
            cue_source(0, COMMAND_PLAY, a, NULL, 0), cue_source(at, COMMAND_CHANGE, b, NULL, 0)};
        run_script(e, cues, 2, out, frames, random_between(&random, 1, 3000), &list);
        expect(&x, a, LEAD, 0, pulse);
        if (pulse < timeline_count(a)) {
            const int64_t here = LEAD + timeline_event(a, pulse).frame;
            const int64_t there = timeline_event(b, pulse).frame;
            expect(&x, b, here - there, pulse, timeline_count(b));
            check_event(find_event(&list, ENGINE_STARTED, 1), b, here, there);
            check_event(find_event(&list, ENGINE_ENDED, 0), b, here - there + timeline_frames(b),
                timeline_frames(b));
        } else {
            assert_null(find_event(&list, ENGINE_STARTED, 1)); /* too late: a ends as it was */
        }
        char what[80];
        snprintf(what, sizeof what, "round %d: %d to %d at %lld", round, from, to, (long long)at);
        check_heard(&x, out, frames, what);
        assert_int_equal(count_events(&list, ENGINE_RETIRED, a), 1);
        assert_int_equal(count_events(&list, ENGINE_RETIRED, b), 1);
        engine_free(e);
        free(out);
        timeline_free(a);
        timeline_free(b);
    }
    scene_end(&s);
}

/* Pulses whose voices begin before the switch are decided a lead ahead: a CHANGE that comes
 * within the lead of a pulse takes the pulse after it. */
static void a_change_within_the_lead_takes_the_pulse_after(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true);
    Timeline *a = scene_timeline(&s, drill_plain(), 60, 1, 1, 0);
    Timeline *b = scene_timeline(&s, drill_plain(), 120, 1, 1, 0);
    const int64_t frames = 8 * RATE;
    float *out = sample_room(frames);
    for (int64_t at = RATE - 1; at <= RATE + 1; at++) { /* pulse 1 is heard at RATE + LEAD */
        EventList list = {0};
        const Mix mix = mix_plain(-12);
        Engine *e = scene_engine(&s, &mix);
        const Cue cues[] = {
            cue_source(0, COMMAND_PLAY, a, NULL, 0), cue_source(at, COMMAND_CHANGE, b, NULL, 0)};
        run_script(e, cues, 2, out, frames, 64, &list);
        const int64_t pulse = at <= RATE ? 1 : 2;
        check_event(find_event(&list, ENGINE_STARTED, 1), b, LEAD + pulse * RATE, pulse * RATE / 2);
        engine_free(e);
    }
    free(out);
    timeline_free(a);
    timeline_free(b);
    scene_end(&s);
}

static void the_last_of_several_changes_counts(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true);
    Timeline *a = scene_timeline(&s, drill_plain(), 60, 1, 1, 0);
    Timeline *b = scene_timeline(&s, drill_plain(), 120, 1, 1, 0);
    Timeline *c = scene_timeline(&s, drill_plain(), 90, 1, 1, 0);
    const int64_t frames = 16 * RATE;
    float *out = sample_room(frames);
    EventList list = {0};
    const Mix mix = mix_plain(-12);
    Engine *e = scene_engine(&s, &mix);
    const Cue cues[] = {cue_source(0, COMMAND_PLAY, a, NULL, 0),
        cue_source(1000, COMMAND_CHANGE, b, NULL, 0), cue_source(2000, COMMAND_CHANGE, c, NULL, 0)};
    run_script(e, cues, 3, out, frames, 1000, &list);
    const int64_t there = timeline_event(c, 1).frame;
    Expected x = {0};
    expect(&x, a, LEAD, 0, 1);
    expect(&x, c, LEAD + RATE - there, 1, timeline_count(c));
    check_heard(&x, out, frames, "two changes");
    assert_int_equal(count_events(&list, ENGINE_RETIRED, b), 1);
    assert_int_equal(count_events(&list, ENGINE_STARTED, b), 0);
    /* A change with nothing to change gives the source back at once. */
    const Cue late[] = {cue_source(frames, COMMAND_CHANGE, b, NULL, 0)};
    EventList after = {0};
    run_script(e, late, 1, out, 1000, 1000, &after);
    assert_int_equal(after.count, 1);
    assert_int_equal(count_events(&after, ENGINE_RETIRED, b), 1);
    engine_free(e);
    free(out);
    timeline_free(a);
    timeline_free(b);
    timeline_free(c);
    scene_end(&s);
}

/* ---- one after the other ------------------------------------------------------------------- */

static void the_queued_source_follows_without_a_gap(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true);
    Timeline *t[3] = {scene_timeline(&s, drill_plain(), 137, 1, 1, 0),
        scene_timeline(&s, drill_plain(), 211, 1, 0, 0),
        scene_timeline(&s, drill_plain(), 89, 1, 0, 1)};
    int64_t total = 3000, base = LEAD;
    for (int i = 0; i < 3; i++)
        total += timeline_frames(t[i]);
    float *out = sample_room(total);
    EventList list = {0};
    const Mix mix = mix_plain(-12);
    Engine *e = scene_engine(&s, &mix);
    /* The third replaces the second, which comes back as the third after all. */
    const Cue cues[] = {cue_source(0, COMMAND_PLAY, t[0], NULL, 0),
        cue_source(10, COMMAND_QUEUE, t[2], NULL, 0), cue_source(20, COMMAND_QUEUE, t[1], NULL, 0),
        cue_source(timeline_frames(t[0]) + 1, COMMAND_QUEUE, t[2], NULL, 0)};
    run_script(e, cues, 4, out, total, 333, &list);
    Expected x = {0};
    for (int i = 0; i < 3; i++) {
        expect(&x, t[i], base, 0, timeline_count(t[i]));
        check_event(find_event(&list, ENGINE_STARTED, (size_t)i), t[i], base, 0);
        base += timeline_frames(t[i]);
    }
    check_heard(&x, out, total, "queue");
    check_event(find_event(&list, ENGINE_ENDED, 0), t[2], base, timeline_frames(t[2]));
    assert_int_equal(count_events(&list, ENGINE_ENDED, NULL), 1);
    assert_int_equal(count_events(&list, ENGINE_RETIRED, t[0]), 1);
    assert_int_equal(count_events(&list, ENGINE_RETIRED, t[1]), 1);
    assert_int_equal(count_events(&list, ENGINE_RETIRED, t[2]), 2); /* once for each lending */
    engine_free(e);
    free(out);
    for (int i = 0; i < 3; i++)
        timeline_free(t[i]);
    scene_end(&s);
}

/* Too late to join on: within the last lead the next one starts a lead after the command. */
static void a_queue_after_the_end_starts_at_once(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true);
    Timeline *a = scene_timeline(&s, drill_plain(), 240, 1, 0, 0);
    Timeline *b = scene_timeline(&s, drill_plain(), 240, 1, 0, 0);
    const int64_t length = timeline_frames(a), frames = 3 * length;
    const int64_t late[] = {length + 1, length + LEAD / 2, length + LEAD, length + 5000};
    float *out = sample_room(frames);
    for (size_t i = 0; i < 4; i++) {
        EventList list = {0};
        const Mix mix = mix_plain(-12);
        Engine *e = scene_engine(&s, &mix);
        const Cue cues[] = {cue_source(0, COMMAND_PLAY, a, NULL, 0),
            cue_source(late[i], COMMAND_QUEUE, b, NULL, 0)};
        run_script(e, cues, 2, out, frames, 100, &list);
        check_event(find_event(&list, ENGINE_ENDED, 0), a, LEAD + length, length);
        check_event(find_event(&list, ENGINE_STARTED, 1), b, late[i] + LEAD, 0);
        Expected x = {0};
        expect(&x, a, LEAD, 0, timeline_count(a));
        expect(&x, b, late[i] + LEAD, 0, timeline_count(b));
        check_heard(&x, out, frames, "late queue");
        engine_free(e);
    }
    free(out);
    timeline_free(a);
    timeline_free(b);
    scene_end(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_peak_stands_on_its_frame),
        cmocka_unit_test(bundled_sounds_peak_on_their_frames),
        cmocka_unit_test(the_first_second_rises_from_quiet),
        cmocka_unit_test(a_change_takes_over_on_the_next_pulse),
        cmocka_unit_test(a_change_within_the_lead_takes_the_pulse_after),
        cmocka_unit_test(the_last_of_several_changes_counts),
        cmocka_unit_test(the_queued_source_follows_without_a_gap),
        cmocka_unit_test(a_queue_after_the_end_starts_at_once),
    };
    return cmocka_run_group_tests_name("engine", tests, NULL, NULL);
}
