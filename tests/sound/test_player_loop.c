/* The player through a real audio path: PortAudio, ALSA, PulseAudio and back as a recording.
 * Runs in real time, but every claim is about frames. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "playing.h"

#include <math.h>

enum { THRESHOLD = -50, TEMPO = 173, REPETITIONS = 3 };

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

/* An awkward tempo: 8323.7 frames to the quaver. */
static void play_it_all(Playing *p, Recording *recording)
{
    playing_begin(p, TEMPO, REPETITIONS);
    assert_int_equal(player_status(p->player).state, PLAYER_DEVICE);
    assert_int_equal(player_status(p->player).rate, LOOPBACK_RATE);
    loopback_record(&loop);
    playing_start(p);
    playing_to_the_end(p);
    assert_int_equal(player_status(p->player).state, PLAYER_DEVICE);
    loopback_hear(&loop, THRESHOLD, recording);
}

static void every_click_comes_back_on_its_frame(void **state)
{
    (void)state;
    double level[2] = {0, 0};
    int count[2] = {0, 0};
    playing_undisturbed(play_it_all, &playing, &heard);
    playing_wanted(&playing, &wanted);
    assert_int_equal(heard.count, wanted.count);
    for (size_t i = 0; i < heard.count; i++) {
        int64_t at = heard.click[i].frame - heard.click[0].frame;
        assert_in_range(at - (wanted.frame[i] - wanted.frame[0]) + 1, 0, 2);
        if (wanted.frame[i] < timeline_repetition_frame(playing.timeline, 0))
            continue; /* the count-in has a level of its own */
        level[wanted.accent[i]] += heard.click[i].level;
        count[wanted.accent[i]]++;
    }
    assert_int_equal(count[true], REPETITIONS * 4);
    assert_int_equal(count[false], REPETITIONS * 12);
    double louder = level[true] / count[true] - level[false] / count[false];
    print_message("accents are %.2f dB louder; 6 asked\n", louder);
    assert_true(fabs(louder - 6) < 0.5);
}

/* When the player says that each click is heard, CLOCK_MONOTONIC nanoseconds. */
static int64_t told[HEARD_MAX];

static void play_and_ask(Playing *p, Recording *recording)
{
    playing_begin(p, TEMPO, REPETITIONS);
    loopback_record(&loop);
    playing_start(p);
    playing_wanted(p, &wanted);
    for (size_t i = 0; i < wanted.count; i++) {
        while (p->heard + LOOPBACK_RATE / 50 < p->started + wanted.frame[i])
            playing_poll(p); /* until 20 ms before it */
        int64_t now = monotonic_now();
        int64_t left = p->started + wanted.frame[i] - player_heard(p->player, now);
        told[i] = now + left * PLAYING_SECOND / LOOPBACK_RATE;
    }
    playing_to_the_end(p);
    loopback_hear(&loop, THRESHOLD, recording);
}

/* The loop's own delay is in it: daemon and recorder work in pieces of 10 ms. */
static void what_is_heard_is_what_the_player_says(void **state)
{
    (void)state;
    double worst = 0, sum = 0;
    playing_undisturbed(play_and_ask, &playing, &heard);
    assert_int_equal(heard.count, wanted.count);
    for (size_t i = 0; i < heard.count; i++) {
        int64_t real = heard.start + heard.click[i].frame * PLAYING_SECOND / LOOPBACK_RATE;
        double off = (double)(real - told[i]) / PLAYING_MS;
        sum += off;
        worst = fabs(off) > worst ? fabs(off) : worst;
    }
    print_message("heard %.1f ms after what the player says; at most %.1f ms off\n",
        sum / (double)heard.count, worst);
    assert_true(worst < 30);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(every_click_comes_back_on_its_frame, tear_down),
        cmocka_unit_test_teardown(what_is_heard_is_what_the_player_says, tear_down),
    };
    loopback_start(&loop);
    int failed = cmocka_run_group_tests_name("player_loop", tests, NULL, NULL);
    loopback_stop(&loop);
    return failed;
}
