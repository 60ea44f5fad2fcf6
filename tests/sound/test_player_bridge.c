/* What the console and the audio callback share: the engine handed over on an exact frame, and
 * back without a race (run it under the thread sanitizer too: make tsan). The device is a
 * thread of the test. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/sound/player_bridge.h"
#include "scene.h"

#include <pthread.h>
#include <stdatomic.h>

enum { RATE = 48000, BLOCK_MOST = 700 };

static void assert_silent(const float *samples, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (samples[i] != 0)
            fail_msg("sample %zu is not silent", i);
}

static void the_engine_starts_on_the_frame_it_is_offered_for(void **state)
{
    (void)state;
    enum { FRAMES = 48000, TAKE = 10007 };
    static float wanted[FRAMES], got[FRAMES * 2 + 2 * BLOCK_MOST];
    Scene scene = scene_quavers(RATE, false);
    Mix mix = mix_plain(-12);
    Timeline *t = scene_timeline(&scene, drill_plain(), 240, 1, 1, 0);
    Cue play = cue_source(0, COMMAND_PLAY, t, NULL, 0);
    Random r = {.state = 5};
    for (int channels = 1; channels <= 2; channels++) {
        Engine *e = scene_engine(&scene, &mix);
        Bridge *b = bridge_new();
        BridgeBlock block;
        run_script(e, &play, 1, wanted, FRAMES, 256, NULL);
        engine_free(e);

        e = scene_engine(&scene, &mix);
        engine_send(e, &play.command);
        bridge_reset(b, channels);
        assert_false(bridge_read(b, &block));
        bridge_offer(b, e, TAKE, 0);
        for (int64_t at = 0; at < FRAMES;) {
            int size = random_between(&r, 1, BLOCK_MOST);
            bridge_fill(b, got + at * channels, (size_t)size, 1000 + at, 5000 + at, false);
            assert_true(bridge_read(b, &block));
            assert_int_equal(block.stream_frame, at);
            assert_int_equal(block.end, at + size);
            assert_int_equal(block.called, 1000 + at);
            assert_int_equal(block.dac, 5000 + at);
            assert_int_equal(block.taken, at + size > TAKE);
            if (block.taken)
                assert_int_equal(block.engine_frame, at - TAKE);
            at += size;
        }
        assert_silent(got, (size_t)TAKE * (size_t)channels);
        for (int i = TAKE; i < FRAMES; i++)
            for (int c = 0; c < channels; c++)
                if (got[i * channels + c] != wanted[i - TAKE])
                    fail_msg("frame %d channel %d differs", i, c);
        bridge_free(b);
        engine_free(e);
    }
    timeline_free(t);
    scene_end(&scene);
}

/* A fade begins with the first frame that is played, also where the offer came too late for its
 * frame, whatever the blocks; one more offer has one of its own. */
static void an_offer_fades_in(void **state)
{
    (void)state;
    enum { FRAMES = 12000, FADE = 240, LATE = 700 };
    static float wanted[FRAMES], got[2 * (FRAMES + BLOCK_MOST)];
    Scene scene = scene_quavers(RATE, false);
    Mix mix = mix_plain(-12);
    Timeline *t = scene_timeline(&scene, drill_plain(), 240, 1, 1, 0);
    Cue play = cue_source(0, COMMAND_PLAY, t, NULL, 0);
    Random r = {.state = 8};
    Engine *e = scene_engine(&scene, &mix);
    run_script(e, &play, 1, wanted, FRAMES, 256, NULL);
    engine_free(e);
    for (int round = 0; round < 200; round++) {
        Bridge *b = bridge_new();
        int channels = round % 2 + 1, again = random_between(&r, 900, 8000);
        int64_t since = 0, played = 0;
        e = scene_engine(&scene, &mix);
        engine_send(e, &play.command);
        bridge_reset(b, channels);
        bridge_fill(b, got, LATE, 0, 0, false);
        bridge_offer(b, e, random_between(&r, 0, LATE), FADE);
        while (played < FRAMES - BLOCK_MOST) {
            if (since == 0 && played >= again) {
                bridge_withdraw(b);
                bridge_offer(b, e, 0, FADE);
                again = FRAMES;
                since = played;
            }
            int size = random_between(&r, 1, BLOCK_MOST);
            bridge_fill(b, got, (size_t)size, 0, 0, false);
            for (int i = 0; i < size * channels; i++) {
                int64_t frame = played + i / channels, place = frame - since + 1;
                float share = place < FADE ? (float)place / FADE : 1;
                if (got[i] != wanted[frame] * share)
                    fail_msg("round %d, frame %d is %f", round, (int)frame, (double)got[i]);
            }
            played += size;
        }
        assert_true(since > 0);
        bridge_free(b);
        engine_free(e);
    }
    timeline_free(t);
    scene_end(&scene);
}

static void a_shut_gate_is_silence_and_an_untouched_engine(void **state)
{
    (void)state;
    float out[2 * 256];
    Scene scene = scene_quavers(RATE, true);
    Mix mix = mix_plain(-12);
    Engine *e = scene_engine(&scene, &mix);
    Bridge *b = bridge_new();
    bridge_reset(b, 2);
    bridge_offer(b, e, 0, 0);
    bridge_fill(b, out, 256, 0, 0, false);
    assert_int_equal(engine_position(e), 256);
    bridge_withdraw(b);
    memset(out, 1, sizeof out);
    bridge_fill(b, out, 256, 0, 0, false);
    assert_silent(out, 2 * 256);
    assert_int_equal(engine_position(e), 256);
    bridge_withdraw(b); /* twice is once */
    bridge_free(b);
    engine_free(e);
    scene_end(&scene);
}

static void underruns_and_the_end_are_told(void **state)
{
    (void)state;
    float out[64];
    Bridge *b = bridge_new();
    assert_int_equal(bridge_underruns(b), 0);
    for (int i = 0; i < 10; i++)
        bridge_fill(b, out, 64, 0, 0, i % 3 == 0);
    assert_int_equal(bridge_underruns(b), 4);
    assert_false(bridge_finished(b));
    bridge_finish(b);
    assert_true(bridge_finished(b));
    bridge_reset(b, 1);
    assert_int_equal(bridge_underruns(b), 0);
    assert_false(bridge_finished(b));
    bridge_free(b);
}

/* ---- two threads ----------------------------------------------------------------------------- */

typedef struct {
    Bridge *bridge;
    atomic_bool over;
    atomic_int_fast64_t blocks;
} Device;

/* Calls as fast as it can: far more often than any device, so that the two sides meet. */
static void *device_thread(void *context)
{
    Device *d = context;
    static float out[2 * BLOCK_MOST];
    Random r = {.state = 99};
    for (int64_t at = 0; !atomic_load(&d->over);) {
        int size = random_between(&r, 1, BLOCK_MOST);
        bridge_fill(d->bridge, out, (size_t)size, 3 * at, 3 * at + 7, false);
        at += size;
        atomic_fetch_add(&d->blocks, 1);
    }
    return NULL;
}

/* A block is read whole or not at all: its parts fit each other. */
static void check_whole(const BridgeBlock *b, int64_t *before)
{
    assert_int_equal(b->called, 3 * b->stream_frame);
    assert_int_equal(b->dac, b->called + 7);
    assert_in_range(b->end - b->stream_frame, 1, BLOCK_MOST);
    assert_true(b->stream_frame >= *before);
    *before = b->stream_frame;
}

static void the_engine_goes_to_and_fro_without_a_race(void **state)
{
    (void)state;
    float scratch[512];
    Scene scene = scene_quavers(RATE, true);
    Mix mix = mix_plain(-12);
    Engine *e = scene_engine(&scene, &mix);
    Device d = {.bridge = bridge_new()};
    pthread_t thread;
    Random r = {.state = 3};
    BridgeBlock block = {0};
    int64_t before = 0, by_callback = 0;
    bridge_reset(d.bridge, 2);
    assert_int_equal(pthread_create(&thread, NULL, device_thread, &d), 0);
    for (int turn = 0; turn < 2000; turn++) {
        int64_t was = engine_position(e);
        int64_t seen = atomic_load(&d.blocks);
        bridge_offer(
            d.bridge, e, block.end + random_between(&r, 0, 2000), random_between(&r, 0, 240));
        while (atomic_load(&d.blocks) < seen + turn % 5)
            if (bridge_read(d.bridge, &block))
                check_whole(&block, &before);
        bridge_withdraw(d.bridge);

        /* Ours alone now: it moves by what we render and by nothing else. */
        int64_t now = engine_position(e);
        by_callback += now - was;
        size_t mine = (size_t)random_between(&r, 1, 512);
        engine_render(e, scratch, mine);
        assert_int_equal(engine_position(e), now + (int64_t)mine);
    }
    atomic_store(&d.over, true);
    pthread_join(thread, NULL);
    assert_true(by_callback > 0);
    bridge_free(d.bridge);
    engine_free(e);
    scene_end(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_engine_starts_on_the_frame_it_is_offered_for),
        cmocka_unit_test(an_offer_fades_in),
        cmocka_unit_test(a_shut_gate_is_silence_and_an_untouched_engine),
        cmocka_unit_test(underruns_and_the_end_are_told),
        cmocka_unit_test(the_engine_goes_to_and_fro_without_a_race),
    };
    return cmocka_run_group_tests_name("player_bridge", tests, NULL, NULL);
}
