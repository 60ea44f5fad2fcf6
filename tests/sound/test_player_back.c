/* A device that comes back in the middle of a click or of a string's ring: what is heard fades
 * in from silence and then is what it would have been, sample by sample. The test is PortAudio and
 * owns the clock; only the thread that opens the device is real. */
#define _GNU_SOURCE
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/sound/player_state.h"
#include "sound/made_card.h"
#include "sound/scene.h"

#include <math.h>

enum {
    RATE = 48000,
    BLOCK = 959, /* no divisor of anything */
    FADE = RATE / 200,
    STREAM = 2 * RATE, /* of the device that came back */
    LATEST = RATE / 2, /* more that is rendered before it came back, over all moments */
    KEPT = 6 * RATE,
    MOMENTS = 24
};

static struct {
    Scene scene;
    Timeline *timeline;
    Engine *engine;
    Player *player;
    float wanted[KEPT]; /* with a device all along */
    float got[STREAM + BLOCK];
    int64_t now; /* nanoseconds */
} back;

/* Notes, strings and pulses close to each other: mostly something rings. */
static void scene_make(void)
{
    Mix mix = mix_plain(-6);
    mix.on[LAYER_GUIDE] = true;
    mix.level[LAYER_GUIDE] = -3;
    back.scene = scene_quavers(RATE, false);
    back.timeline = scene_timeline(&back.scene, drill_plain(), 307, 8, 0, 0);
    assert_true(timeline_frames(back.timeline) > KEPT);
    const Cue play = cue_source(0, COMMAND_PLAY, back.timeline, back.scene.plucks, 0);
    back.engine = scene_engine(&back.scene, &mix);
    run_script(back.engine, &play, 1, back.wanted, KEPT, 256, NULL);
    engine_free(back.engine);

    back.engine = scene_engine(&back.scene, &mix);
    assert_true(engine_send(back.engine, &play.command));
}

static void scene_unmake(void)
{
    player_free(back.player);
    engine_free(back.engine);
    timeline_free(back.timeline);
    scene_end(&back.scene);
}

static void poll_after(int64_t nanoseconds)
{
    back.now += nanoseconds;
    player_poll(back.player, back.now);
    assert_true(keeper_wait(back.player->keeper, CLOCK_SECOND));
}

/* Silent for a while, then there is a device; it is opened and started. */
static void come_back_after(int64_t frames)
{
    const PlayerOptions options = {.rate = RATE};
    back.now = 1000 * (int64_t)CLOCK_SECOND;
    card.rate = RATE;
    card.channels = 0;
    back.player = player_new(&options);
    player_open(back.player);
    assert_int_equal(player_status(back.player).state, PLAYER_SILENT);
    player_start(back.player, back.engine, back.now);
    poll_after(frames * CLOCK_SECOND / RATE);
    card.channels = 1;
    player_retry(back.player, back.now);
    poll_after(0);
    poll_after(0);
    assert_int_equal(keeper_report(back.player->keeper).state, STREAM_RUNNING);
}

/* Plays the stream. Returns the stream's frame that was the engine's first, and which engine
 * frame that is. */
static int64_t hear(int64_t *first)
{
    int64_t taken = -1;
    for (int64_t at = 0; at < STREAM; at += BLOCK) {
        const int64_t before = engine_position(back.engine);
        BridgeBlock block;
        card_block(back.got + at, BLOCK, (double)back.now / CLOCK_SECOND, 0);
        assert_true(bridge_read(back.player->bridge, &block));
        if (block.taken && taken < 0) {
            *first = before;
            taken = at + before - block.engine_frame;
        }
        poll_after((int64_t)BLOCK * CLOCK_SECOND / RATE);
    }
    assert_true(taken > 0);
    return taken;
}

/* Over the fade no step is larger than the sound's own step and one part of its level. */
static void check_fades_in(int64_t taken, int64_t first)
{
    float before = 0;
    for (int64_t i = 0; i < taken; i++)
        if (back.got[i] != 0)
            fail_msg("frame %lld is not silent", (long long)i);
    for (int64_t i = 0; i < FADE; i++) {
        const float *want = back.wanted + first + i, got = back.got[taken + i];
        const float most = fabsf(want[0] - want[-1]) + fabsf(want[0]) / FADE + 1e-6F;
        if (fabsf(got - before) > most)
            fail_msg("engine frame %lld, %lld of the fade: a step of %.4f, at most %.4f",
                (long long)(first + i), (long long)i, (double)fabsf(got - before), (double)most);
        before = got;
    }
    for (int64_t i = FADE; taken + i < STREAM; i++)
        if (back.got[taken + i] != back.wanted[first + i])
            fail_msg("engine frame %lld is not what it should be", (long long)(first + i));
}

static void a_device_that_comes_back_fades_in(void **state)
{
    float hardest = 0;
    (void)state;
    for (int i = 0; i < MOMENTS; i++) {
        int64_t first = 0;
        scene_make();
        come_back_after(RATE + (int64_t)i * LATEST / MOMENTS);
        const int64_t taken = hear(&first);
        hardest = fmaxf(hardest, fabsf(back.wanted[first]));
        check_fades_in(taken, first);
        scene_unmake();
    }
    print_message("without a fade a step of %.3f\n", (double)hardest);
    assert_true(hardest > 0.05F); /* or nothing was tried */
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_device_that_comes_back_fades_in)};
    return cmocka_run_group_tests_name("player_back", tests, NULL, NULL);
}
