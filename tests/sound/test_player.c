/* The player without a device: time is handed in, frames are exact. And its frame clock. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/sound/player_clock.h"
#include "evenhand/sound/player.h"
#include "scene.h"

enum { RATE = 44100 };
#define MS ((int64_t)1000000)
#define S ((int64_t)1000000000)

static Player *silent_player(int rate)
{
    PlayerOptions options = {.rate = rate, .silent = true};
    Player *p = player_new(&options);
    assert_non_null(p);
    return p;
}

/* ---- the frame clock ------------------------------------------------------------------------- */

static int64_t exact_frame(const FrameClock *c, int64_t time)
{
    __extension__ typedef __int128 Wide;
    Wide product = (Wide)(time - c->time) * c->rate;
    Wide whole = product / S - (product % S < 0 ? 1 : 0);
    return c->frame + (int64_t)whole;
}

static void frames_of_moments_are_exact(void **state)
{
    (void)state;
    Random r = {.state = 20240607};
    for (int i = 0; i < 100000; i++) {
        FrameClock c = {.frame = (int64_t)(random_next(&r) >> 24),
            .time = (int64_t)(random_next(&r) >> 4),
            .rate = random_between(&r, 8000, 192000)};
        int64_t span = (int64_t)(random_next(&r) >> random_between(&r, 10, 40));
        int64_t time = c.time + (random_between(&r, 0, 1) ? span : -span);
        int64_t frame = clock_frame(&c, time);
        if (frame != exact_frame(&c, time))
            fail_msg(
                "case %d: %lld, not %lld", i, (long long)frame, (long long)exact_frame(&c, time));
        /* The moment of a frame is the last nanosecond not after its beginning. */
        int64_t moment = clock_time(&c, frame);
        assert_true(moment <= time);
        assert_true(clock_frame(&c, moment + 1) >= frame);
        assert_true(clock_frame(&c, moment - 1) < frame);
    }
}

static void a_clock_follows_smoothly_and_jumps_when_it_must(void **state)
{
    (void)state;
    FrameClock c = {.frame = 1000, .time = 0, .rate = 48000};
    assert_int_equal(clock_follow(&c, 1480, 10 * MS), 0);
    assert_int_equal(clock_time(&c, 1480), 10 * MS);
    assert_int_equal(clock_follow(&c, 1960, 24 * MS), 4 * MS); /* jitter: a quarter of it */
    assert_int_equal(clock_time(&c, 1960), 21 * MS);
    assert_int_equal(clock_follow(&c, 1960, 17 * MS), 4 * MS);
    assert_int_equal(clock_time(&c, 1960), 20 * MS);
    /* a jump is taken whole once it has lasted: frame 1960 + 480 k, 20 + 10 k ms, and 50 more */
    int k = 1;
    for (; clock_time(&c, 1960) == 20 * MS; k++) {
        assert_true(k < 100);
        clock_follow(&c, 1960 + 480 * k, (20 + 10 * k + 50) * MS);
    }
    assert_int_equal((k - 2) * 10 * MS, CLOCK_BELIEF);
    assert_int_equal(clock_time(&c, 1960), 70 * MS);
}

/* A few blocks told wrongly do not move what the screen shows. */
static void a_clock_is_not_misled_by_a_few_blocks(void **state)
{
    (void)state;
    FrameClock c = {.frame = 0, .time = 0, .rate = 48000};
    Random r = {.state = 5};
    for (int k = 1; k < 2000; k++) {
        int64_t wrong = k % 40 < 8 ? random_between(&r, -70, 70) * MS : 0;
        clock_follow(&c, 480 * k, 10 * MS * k + wrong);
        int64_t off = clock_time(&c, 0);
        assert_true(off < CLOCK_JUMP && off > -CLOCK_JUMP);
    }
}

/* ---- silent on the clock --------------------------------------------------------------------- */

static void irregular_polls_give_the_frames_of_the_clock(void **state)
{
    (void)state;
    Scene scene = scene_quavers(RATE, true);
    Mix mix = mix_plain(-20);
    Random r = {.state = 77};
    for (int round = 0; round < 20; round++) {
        Engine *e = scene_engine(&scene, &mix);
        Player *p = silent_player(RATE);
        player_open(p);
        int64_t start = (int64_t)(random_next(&r) >> 8), now = start, told = 0;
        player_start(p, e, start);
        for (int i = 0; i < 300; i++) {
            now += random_between(&r, 0, 80) * MS + random_between(&r, 0, 999999);
            assert_false(player_poll(p, now));
            int64_t due = exact_frame(&(FrameClock){.time = start, .rate = RATE}, now);
            assert_int_equal(engine_position(e), due);
            assert_int_equal(player_heard(p, now), due);
            /* Between polls it stands at what is rendered; back in time it does not go. */
            assert_int_equal(player_heard(p, now + 7 * MS), due);
            assert_true(player_heard(p, now - 100 * MS) >= told);
            told = due;
        }
        assert_int_equal(player_status(p).state, PLAYER_SILENT);
        player_free(p);
        engine_free(e);
    }
    scene_end(&scene);
}

/* The silent clock drives the same engine: its events fall on the same frames as with one long
 * render. */
static void a_timeline_runs_on_the_silent_clock(void **state)
{
    (void)state;
    Scene scene = scene_quavers(RATE, true);
    Mix mix = mix_plain(-20);
    Engine *e = scene_engine(&scene, &mix);
    Timeline *t = scene_timeline(&scene, drill_plain(), 137, 1, 1, 0);
    Player *p = silent_player(RATE);
    EventList events = {0};
    player_open(p);
    player_start(p, e, 5 * S);
    Cue play = cue_source(0, COMMAND_PLAY, t, NULL, 0);
    assert_true(engine_send(e, &play.command));
    for (int64_t now = 5 * S; now < 15 * S; now += 33 * MS) {
        player_poll(p, now);
        receive_all(e, &events);
    }
    assert_int_equal(events.count, 3); /* started, ended, retired */
    assert_int_equal(events.event[0].kind, ENGINE_STARTED);
    int64_t first = events.event[0].engine_frame - events.event[0].timeline_frame;
    assert_in_range(first, 0, RATE / 10);
    for (size_t i = 1; i < events.count; i++)
        if (events.event[i].kind == ENGINE_ENDED)
            assert_int_equal(events.event[i].engine_frame, first + timeline_frames(t));
    player_free(p);
    engine_free(e);
    timeline_free(t);
    scene_end(&scene);
}

static void a_process_that_stood_still_goes_on_where_it_stood(void **state)
{
    (void)state;
    Scene scene = scene_quavers(RATE, true);
    Mix mix = mix_plain(-20);
    Engine *e = scene_engine(&scene, &mix);
    Player *p = silent_player(RATE);
    player_open(p);
    player_start(p, e, 0);
    player_poll(p, S);
    player_poll(p, 3 * S); /* late, but to be caught up */
    assert_int_equal(engine_position(e), 3 * RATE);
    player_poll(p, 3600 * S); /* stood still: nothing is rendered at once */
    assert_int_equal(engine_position(e), 3 * RATE);
    assert_int_equal(player_heard(p, 3600 * S), 3 * RATE);
    player_poll(p, 3601 * S);
    assert_int_equal(engine_position(e), 4 * RATE);
    player_free(p);
    engine_free(e);
    scene_end(&scene);
}

static void before_it_starts_it_is_harmless(void **state)
{
    (void)state;
    Player *p = silent_player(0);
    PlayerStatus s = player_status(p);
    assert_int_equal(s.state, PLAYER_CLOSED);
    assert_false(player_poll(p, S));
    assert_int_equal(player_heard(p, S), 0);
    player_retry(p, S);
    player_open(p);
    player_open(p); /* twice is once */
    s = player_status(p);
    assert_int_equal(s.state, PLAYER_SILENT);
    assert_int_equal(s.rate, 48000);
    assert_string_equal(s.device, "");
    assert_string_equal(s.complaint, "");
    assert_string_equal(player_printed(p), "");
    assert_false(player_poll(p, S));
    player_free(p);
    player_free(NULL);
}

static void asking_again_leaves_a_silent_player_silent(void **state)
{
    (void)state;
    Scene scene = scene_quavers(RATE, true);
    Mix mix = mix_plain(-20);
    Engine *e = scene_engine(&scene, &mix);
    Player *p = silent_player(RATE);
    player_start(p, e, 0); /* not opened at all: silent too */
    player_retry(p, 0);
    for (int64_t now = 0; now <= S; now += 10 * MS)
        player_poll(p, now);
    assert_int_equal(player_status(p).state, PLAYER_SILENT);
    assert_int_equal(engine_position(e), RATE);
    player_free(p);
    engine_free(e);
    scene_end(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frames_of_moments_are_exact),
        cmocka_unit_test(a_clock_follows_smoothly_and_jumps_when_it_must),
        cmocka_unit_test(a_clock_is_not_misled_by_a_few_blocks),
        cmocka_unit_test(irregular_polls_give_the_frames_of_the_clock),
        cmocka_unit_test(a_timeline_runs_on_the_silent_clock),
        cmocka_unit_test(a_process_that_stood_still_goes_on_where_it_stood),
        cmocka_unit_test(before_it_starts_it_is_harmless),
        cmocka_unit_test(asking_again_leaves_a_silent_player_silent),
    };
    return cmocka_run_group_tests_name("player", tests, NULL, NULL);
}
