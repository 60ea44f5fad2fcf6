/* A drill cut at a bar line sounds as it did up to there, however the cut came about; the bell and
 * what follows stand on their exact frames. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "scene.h"

#include <string.h>

enum { FRAMES_A_SECOND = 48000, AHEAD = FRAMES_A_SECOND * VOICE_LEAD_MILLISECONDS / 1000 };

static Timeline *cut_at(const Timeline *t, int64_t frame)
{
    Error error = {0};
    Timeline *cut = timeline_until(t, frame, &error);
    assert_non_null(cut);
    return cut;
}

static float *play(const Scene *s, const Cue *cues, size_t count, int64_t frames, EventList *list)
{
    Mix mix = mix_plain(-20);
    Engine *e = scene_engine(s, &mix);
    float *out = sample_room(frames);
    run_script(e, cues, count, out, frames, 512, list);
    engine_free(e);
    return out;
}

static const EngineEvent *event_of(const EventList *list, EngineEventKind kind, const Timeline *t)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->event[i].kind == kind && list->event[i].source.timeline == t)
            return &list->event[i];
    fail_msg("no event %d of it", (int)kind);
    return NULL;
}

/* What is decided before the cut is decided a lead ahead: up to there every sample is the same. */
static void the_sound_before_the_cut_is_identical(void **state)
{
    (void)state;
    Random random = {404};
    Scene s = scene_quavers(FRAMES_A_SECOND, false);
    for (int round = 0; round < 12; round++) {
        Timeline *t = scene_timeline(&s, drill_plain(), random_between(&random, 150, 300), 2, 1, 1);
        int64_t frames = timeline_frames(t);
        int64_t line = timeline_line_near(t, random_between(&random, AHEAD, (int)frames));
        Timeline *cut = cut_at(t, line);
        int64_t all = frames + FRAMES_A_SECOND;
        int64_t asked = random_between(&random, 0, (int)(line - line / 4 - 1));
        const Cue whole[] = {cue_source(0, COMMAND_PLAY, t, s.plucks, 0)};
        const Cue from_start[] = {cue_source(0, COMMAND_PLAY, cut, s.plucks, 0)};
        const Cue changed[] = {cue_source(0, COMMAND_PLAY, t, s.plucks, 0),
            cue_source(asked, COMMAND_CHANGE, cut, s.plucks, 0)};
        EventList list = {0};
        float *a = play(&s, whole, 1, all, NULL);
        float *b = play(&s, from_start, 1, all, NULL);
        float *c = play(&s, changed, 2, all, &list);
        assert_memory_equal(a, b, (size_t)line * sizeof *a);
        bool taken = timeline_next_pulse(t, asked) < timeline_count(cut);
        assert_memory_equal(taken ? b : a, c, (size_t)all * sizeof *a);
        if (taken)
            assert_int_equal(event_of(&list, ENGINE_ENDED, cut)->engine_frame, AHEAD + line);
        free(a);
        free(b);
        free(c);
        timeline_free(cut);
        timeline_free(t);
    }
    scene_end(&s);
}

/* Cut short by mistake, the whole one goes on from there: a minute more. */
static void a_cut_can_be_taken_back_in_mid_play(void **state)
{
    (void)state;
    Scene s = scene_quavers(FRAMES_A_SECOND, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 240, 4, 1, 1);
    Timeline *cut = cut_at(t, timeline_line_near(t, timeline_frames(t) / 2));
    int64_t all = timeline_frames(t) + FRAMES_A_SECOND;
    const Cue whole[] = {cue_source(0, COMMAND_PLAY, t, NULL, 0)};
    const Cue changed[] = {cue_source(0, COMMAND_PLAY, cut, NULL, 0),
        cue_source(timeline_frames(cut) / 2, COMMAND_CHANGE, t, NULL, 0)};
    float *a = play(&s, whole, 1, all, NULL), *b = play(&s, changed, 2, all, NULL);
    assert_memory_equal(a, b, (size_t)all * sizeof *a);
    free(a);
    free(b);
    timeline_free(cut);
    timeline_free(t);
    scene_end(&s);
}

/* block | bell, rest | next block: each frame 0 stands where the one before ends. */
static void blocks_bell_and_rest_follow_to_the_frame(void **state)
{
    (void)state;
    Random random = {31};
    Error error = {0};
    Scene s = scene_quavers(FRAMES_A_SECOND, true);
    for (int round = 0; round < 12; round++) {
        Timeline *t = scene_timeline(&s, drill_plain(), random_between(&random, 60, 200), 2, 1, 1);
        Timeline *cut = cut_at(t, timeline_line_near(t, random_between(&random, 20000, 200000)));
        int64_t rest = random_between(&random, 1, 90000), frames = timeline_frames(cut);
        Timeline *silence = timeline_rest(s.passage, rest, true, FRAMES_A_SECOND, &error);
        assert_non_null(silence);
        const Cue cues[] = {cue_source(0, COMMAND_PLAY, cut, NULL, 0),
            cue_source(frames / 3, COMMAND_QUEUE, silence, NULL, 0),
            cue_source(frames + AHEAD / 2, COMMAND_QUEUE, t, NULL, 0)};
        int64_t all = frames + rest + timeline_frames(t) + FRAMES_A_SECOND;
        EventList list = {0};
        float *out = play(&s, cues, rest > AHEAD ? 3 : 2, all, &list);
        Expected x = {0};
        expect(&x, cut, AHEAD, 0, timeline_count(cut));
        expect(&x, silence, AHEAD + frames, 0, 1);
        assert_int_equal(event_of(&list, ENGINE_STARTED, silence)->engine_frame, AHEAD + frames);
        if (rest > AHEAD) {
            expect(&x, t, AHEAD + frames + rest, 0, timeline_count(t));
            assert_int_equal(
                event_of(&list, ENGINE_STARTED, t)->engine_frame, AHEAD + frames + rest);
        } else
            assert_int_equal(
                event_of(&list, ENGINE_ENDED, silence)->engine_frame, AHEAD + frames + rest);
        Ear ear = {.least = 0.005F};
        ear_hear(&ear, out, (size_t)all);
        assert_int_equal(ear.count, x.count);
        for (size_t i = 0; i < x.count; i++)
            assert_int_equal(ear.peak[i].frame, x.frame[i]);
        free(ear.peak);
        free(out);
        timeline_free(silence);
        timeline_free(cut);
        timeline_free(t);
    }
    scene_end(&s);
}

/* The bell is softer than the announcement would be, and obeys that layer. */
static void the_bell_obeys_the_announcements_layer(void **state)
{
    (void)state;
    Error error = {0};
    Scene s = scene_quavers(FRAMES_A_SECOND, true);
    Timeline *t = timeline_rest(s.passage, FRAMES_A_SECOND, true, FRAMES_A_SECOND, &error);
    assert_non_null(t);
    for (int on = 0; on < 2; on++) {
        Mix mix = mix_plain(-20);
        mix.on[LAYER_ANNOUNCE] = on;
        Engine *e = scene_engine(&s, &mix);
        float *out = sample_room(FRAMES_A_SECOND);
        /* Behind a second of silence, when the ramp at the start is over. */
        Timeline *before =
            timeline_rest(s.passage, FRAMES_A_SECOND, false, FRAMES_A_SECOND, &error);
        const Cue cues[] = {
            cue_source(0, COMMAND_PLAY, before, NULL, 0), cue_source(0, COMMAND_QUEUE, t, NULL, 0)};
        run_script(e, cues, 2, out, FRAMES_A_SECOND, 512, NULL);
        run_script(e, NULL, 0, out, FRAMES_A_SECOND, 512, NULL);
        assert_float_equal(out[AHEAD], (on ? mix_gain(-26) : 0.0F), 1e-6F);
        free(out);
        engine_free(e);
        timeline_free(before);
    }
    timeline_free(t);
    scene_end(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_sound_before_the_cut_is_identical),
        cmocka_unit_test(a_cut_can_be_taken_back_in_mid_play),
        cmocka_unit_test(blocks_bell_and_rest_follow_to_the_frame),
        cmocka_unit_test(the_bell_obeys_the_announcements_layer),
    };
    return cmocka_run_group_tests_name("engine cut", tests, NULL, NULL);
}
