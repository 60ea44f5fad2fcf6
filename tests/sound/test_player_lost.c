/* Devices that go away, hang, come back, are missing or refuse, through a real audio path. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "playing.h"

#include <math.h>
#include <sys/wait.h>

enum { THRESHOLD = -50, TEMPO = 173, REPETITIONS = 7, BACK_SECONDS = 15 };

static Loopback loop;
static Playing playing;
static Recording heard;
static WantedClicks wanted;

static int tear_down(void **state)
{
    (void)state;
    playing_end(&playing);
    return 0;
}

/* ---- a device that goes away ---------------------------------------------------------------- */

/* Polls for a while without a device: what is heard keeps to the line. */
static void keep_time_for(Playing *p, const Line *line, int64_t duration)
{
    for (int64_t until = monotonic_now() + duration; monotonic_now() < until;) {
        playing_poll(p);
        int64_t now = monotonic_now();
        player_poll(p->player, now);
        double off = line_off(line, now, player_heard(p->player, now));
        if (fabs(off) > 5)
            fail_msg("without a device time is %.1f ms off", off);
    }
}

/* The daemon comes back and is recorded; that takes seconds, and polls go on meanwhile. */
static void bring_back_while_polling(Playing *p, const Line *line)
{
    int status;
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        loopback_restart(&loop);
        loopback_record(&loop);
        _exit(0);
    }
    while (waitpid(child, &status, WNOHANG) == 0)
        keep_time_for(p, line, PLAYING_POLL);
    assert_int_equal(status, 0);
}

/* Time as it was before the loss. */
static Line before_loss;

static void lose_and_find_again(Playing *p, Recording *recording)
{
    playing_begin(p, TEMPO, REPETITIONS);
    loopback_record(&loop);
    playing_start(p);
    playing_until_heard(p, 2 * LOOPBACK_RATE);
    before_loss = playing_line(p);
    loopback_kill(&loop);
    int64_t killed = monotonic_now();
    assert_true(playing_until_state(p, PLAYER_LOST, PLAYING_SECOND));
    print_message("noticed within %lld ms\n", (long long)((monotonic_now() - killed) / PLAYING_MS));
    assert_string_equal(player_status(p->player).complaint, "The audio device went away.");
    keep_time_for(p, &before_loss, PLAYING_SECOND);
    assert_int_equal(player_status(p->player).state, PLAYER_LOST);

    bring_back_while_polling(p, &before_loss);
    assert_true(playing_until_state(p, PLAYER_DEVICE, BACK_SECONDS * PLAYING_SECOND));
    assert_string_equal(player_status(p->player).complaint, "");
    playing_to_the_end(p);
    loopback_hear(&loop, THRESHOLD, recording);
}

/* The wanted click that is nearest to the moment of the recording's first one. */
static size_t first_click_after(const Playing *p)
{
    int64_t moment = heard.start + heard.click[0].frame * PLAYING_SECOND / LOOPBACK_RATE;
    int64_t frame = line_frame(&before_loss, moment) - p->started;
    size_t at = 0;
    for (size_t i = 1; i < wanted.count; i++)
        if (llabs(wanted.frame[i] - frame) < llabs(wanted.frame[at] - frame))
            at = i;
    double off = (double)(wanted.frame[at] - frame) * 1e3 / LOOPBACK_RATE;
    print_message("back at click %zu, %.1f ms from its time; %zu clicks\n", at, off, heard.count);
    assert_true(fabs(off) < 30); /* daemon and recorder work in pieces of 10 ms */
    return at;
}

static void a_lost_device_keeps_time_and_is_picked_up(void **state)
{
    (void)state;
    playing_undisturbed(lose_and_find_again, &playing, &heard);
    playing_wanted(&playing, &wanted);
    assert_true(heard.count > 4);
    size_t at = first_click_after(&playing);
    assert_int_equal(heard.count, wanted.count - at); /* each one to the end */
    for (size_t i = 0; i < heard.count; i++)
        assert_in_range(heard.click[i].frame - heard.click[0].frame -
                            (wanted.frame[at + i] - wanted.frame[at]) + 1,
            0, 2);
    print_message("slowest poll %.1f ms\n", (double)playing.slowest / PLAYING_MS);
}

/* A server that hangs is worse than one that ends: every call to it blocks. The console's
 * polls do not (the bound leaves room for a busy machine; the calls block for seconds). */
static void a_hanging_server_does_not_hang_the_console(void **state)
{
    (void)state;
    playing_begin(&playing, TEMPO, REPETITIONS);
    loopback_record(&loop);
    playing_start(&playing);
    playing_until_heard(&playing, LOOPBACK_RATE);
    Line line = playing_line(&playing);
    loopback_freeze(&loop);
    assert_true(playing_until_state(&playing, PLAYER_LOST, PLAYING_SECOND));
    assert_string_equal(
        player_status(playing.player).complaint, "The audio device takes no more sound.");
    keep_time_for(&playing, &line, 2 * PLAYING_SECOND);
    loopback_thaw(&loop);
    assert_true(playing_until_state(&playing, PLAYER_DEVICE, BACK_SECONDS * PLAYING_SECOND));
    print_message("slowest poll %.1f ms\n", (double)playing.slowest / PLAYING_MS);
    assert_true(playing.slowest < 250 * PLAYING_MS);

    loopback_freeze(&loop);
    int64_t before = monotonic_now();
    playing_end(&playing);
    int64_t took = monotonic_now() - before;
    print_message("left a hanging server after %lld ms\n", (long long)(took / PLAYING_MS));
    loopback_thaw(&loop);
    assert_true(took < 3 * PLAYING_SECOND);

    /* What was left behind comes to its end now; the next player waits for it and plays. */
    playing_begin(&playing, TEMPO, 1);
    assert_int_equal(player_status(playing.player).state, PLAYER_DEVICE);
}

/* ---- no device, and not the one that was asked for ------------------------------------------- */

static void without_a_device_it_is_silent_until_asked_again(void **state)
{
    (void)state;
    loopback_no_device(&loop);
    playing_begin(&playing, TEMPO, 2);
    PlayerStatus s = player_status(playing.player);
    assert_int_equal(s.state, PLAYER_SILENT);
    assert_int_equal(s.rate, LOOPBACK_RATE);
    assert_string_equal(s.device, "");
    assert_string_equal(s.complaint, "There is no audio output device.");
    Line line = {.time = monotonic_now(), .frame = 0};
    playing_start(&playing);
    keep_time_for(&playing, &line, PLAYING_SECOND / 2);

    player_retry(playing.player, monotonic_now());
    keep_time_for(&playing, &line, PLAYING_SECOND);
    assert_int_equal(player_status(playing.player).state, PLAYER_SILENT);

    loopback_restart(&loop);
    player_retry(playing.player, monotonic_now());
    assert_true(playing_until_state(&playing, PLAYER_DEVICE, BACK_SECONDS * PLAYING_SECOND));
}

static PlayerStatus status_of_opening(const PlayerOptions *options)
{
    Player *p = player_new(options);
    assert_non_null(p);
    assert_int_equal(player_status(p).state, PLAYER_CLOSED);
    player_open(p);
    PlayerStatus s = player_status(p);
    player_free(p);
    return s;
}

static void a_refused_rate_gives_way_to_the_devices_own(void **state)
{
    (void)state;
    PlayerOptions options = {.rate = 8000000};
    PlayerStatus s = status_of_opening(&options);
    assert_int_equal(s.state, PLAYER_DEVICE);
    assert_in_range(s.rate, 8000, 192000);
    assert_non_null(strstr(s.complaint, "does not take 8000000 frames a second"));
    assert_true(s.latency > 0.01 && s.latency < 0.5);
}

static void a_device_that_is_not_there_is_not_replaced_by_another(void **state)
{
    (void)state;
    PlayerOptions options = {.device = "no such\033device"};
    PlayerStatus s = status_of_opening(&options);
    assert_int_equal(s.state, PLAYER_SILENT);
    assert_string_equal(s.complaint, "No output device has this name or number: no such?device.");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(a_lost_device_keeps_time_and_is_picked_up, tear_down),
        cmocka_unit_test_teardown(a_hanging_server_does_not_hang_the_console, tear_down),
        cmocka_unit_test_teardown(without_a_device_it_is_silent_until_asked_again, tear_down),
        cmocka_unit_test(a_refused_rate_gives_way_to_the_devices_own),
        cmocka_unit_test(a_device_that_is_not_there_is_not_replaced_by_another),
    };
    loopback_start(&loop);
    int failed = cmocka_run_group_tests_name("player_lost", tests, NULL, NULL);
    loopback_stop(&loop);
    return failed;
}
