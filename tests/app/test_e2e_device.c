/* The program without its sound device: none from the beginning, or one that dies in mid-drill.
 * It keeps time, says what is wrong, and takes the device up again. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "concert.h"
#include "e2e/picture.h"

/* A recording knows when its frames were heard to about 10 ms (the size of the recorder's
 * pieces), the program how late its device is to about as much; two recordings are compared. */
#define TIME_TOLERANCE (30 * MILLISECOND)

enum { COUNT_IN = 4 }; /* clicks */

static Recording before_loss, after_loss;

/* ---- none ----------------------------------------------------------------------------------- */

/* Looks all the time until `words` are shown; the moment between the looks. */
static int64_t moment_of(const char *words, int64_t patience)
{
    static char text[PANE_ROOM];
    int64_t last = monotonic_now();
    for (int64_t give_up = last + patience; last < give_up;) {
        int64_t now = monotonic_now();
        tmux_capture(&terminal, false, text);
        if (strstr(text, words) != NULL)
            return (last + monotonic_now()) / 2;
        last = now;
    }
    fail_msg("\"%s\" is not shown; the terminal shows\n%s", words, text);
    return 0;
}

static void without_a_device_it_is_silent_on_the_clock(void **state)
{
    (void)state;
    loopback_no_device(&card.loop);
    tmux_begin_program(&terminal, SCREEN_WIDTH, SCREEN_HEIGHT,
        FOUR_STEPS " --tempo 126 --drill plain --repetitions 4 --count-in 1 --rest 0");
    tmux_want(&terminal, "silent: no sound device", 5 * SECOND);
    tmux_keys(&terminal, "Space");
    int64_t started = moment_of(" to go", SECOND);
    tmux_want(&terminal, "silent: no sound device", 0);
    int64_t playing = moment_of("repetition 1 of 4", 3 * SECOND);
    int64_t last = moment_of("repetition 4 of 4", 8 * SECOND);
    int64_t ended = moment_of("the session is done", 3 * SECOND);

    /* A bar of two beats at 126. Both ends of each span are seen with the same delay, but for
     * one turn of the program and one of the looking. */
    const double bar = 2 * 60e3 / 126;
    double count_in = (double)(playing - started) / MILLISECOND;
    double three = (double)(last - playing) / MILLISECOND;
    double one = (double)(ended - last) / MILLISECOND;
    print_message("count-in %.0f ms, due %.0f; three bars %.0f, due %.0f; the last %.0f\n",
        count_in, bar, three, 3 * bar, one);
    assert_true(fabs(count_in - bar) < 100);
    assert_true(fabs(three - 3 * bar) < 60);
    assert_true(fabs(one - bar) < 60);
}

/* ---- lost ----------------------------------------------------------------------------------- */

/* Starts the drill and lets it run until the first repetition has sounded for a while. */
static void begin_drill(const char *words)
{
    concert_expect(words);
    concert_begin(SCREEN_WIDTH, SCREEN_HEIGHT, words, "");
    tmux_keys(&terminal, "Space");
    tmux_want(&terminal, "repetition 1 of", 4 * SECOND);
    pause_for(SECOND / 2);
}

/* What the audio libraries have to say of a dead device must not reach the screen. */
static void check_screen_is_whole(void)
{
    static char text[PANE_ROOM];
    static Picture p;
    tmux_capture(&terminal, false, text);
    picture_read(text, &p);
    Marked m = picture_marked(&p);
    if (strstr(text, "Expression") != NULL || strstr(text, "ALSA") != NULL || !m.marked ||
        picture_find(&p, 0, "Walk") != 1 ||
        picture_find(&p, SCREEN_HEIGHT - 1, "Space: pause") != 1)
        fail_msg("the screen is torn:\n%s", text);
}

/* A click that is cut, by a device that dies or comes back within it, may have no peak of its
 * own. Then it is lower than every whole note, and it is no witness. */
static bool is_cut(const Recording *r, size_t which)
{
    double lowest = 0;
    for (size_t i = 1; i + 1 < r->count; i++)
        if (i >= COUNT_IN || r == &after_loss) /* the count-in rises from silence */
            lowest = fmin(lowest, r->click[i].level);
    return r->click[which].level < lowest - 1;
}

static void lose_device(void)
{
    int64_t killed = monotonic_now();
    loopback_kill(&card.loop);
    int64_t said = moment_of("the sound device is gone", 3 * SECOND);
    print_message("the loss is told after %lld ms\n", (long long)((said - killed) / MILLISECOND));
    assert_true(said - killed < 1500 * MILLISECOND);
    pause_for(SECOND / 4);
    check_screen_is_whole();
    loopback_hear(&card.loop, CLICK_THRESHOLD, &before_loss);
    assert_true(before_loss.count > COUNT_IN + 2);
    if (is_cut(&before_loss, before_loss.count - 1))
        before_loss.count--;
    expect_from(&before_loss, &clicks, 0);
}

/* The clicks of the second recording are the timeline's last ones, each on its frame relative to
 * the others, and stand in time where the first recording's clock puts them. */
static void check_time_was_kept(void)
{
    assert_true(after_loss.count > 8);
    if (is_cut(&after_loss, 0)) {
        after_loss.count--;
        memmove(&after_loss.click[0], &after_loss.click[1],
            after_loss.count * sizeof after_loss.click[0]);
    }
    assert_true(after_loss.count < clicks.count);
    size_t at = clicks.count - after_loss.count;
    expect_from(&after_loss, &clicks, at);
    int64_t due =
        heard_time(&before_loss, before_loss.click[0].frame + clicks.frame[at] - clicks.frame[0]);
    double off = (double)(heard_time(&after_loss, after_loss.click[0].frame) - due) / MILLISECOND;
    print_message("%zu clicks before, %zu after, of %zu; %.2f ms off the clock\n",
        before_loss.count, after_loss.count, clicks.count, off);
    assert_true(at > before_loss.count);
    assert_true(fabs(off) < (double)TIME_TOLERANCE / MILLISECOND);
}

static void a_device_killed_in_mid_drill_comes_back_in_time(void **state)
{
    (void)state;
    begin_drill(WALK " --tempo 137 --drill finger-3 --repetitions 4 --count-in 1 --rest 0");
    lose_device();
    tmux_want(&terminal, "repetition 2 of", 6 * SECOND);
    check_screen_is_whole();
    loopback_restart(&card.loop);
    loopback_record(&card.loop);
    tmux_want(&terminal, "The sound is back.", 10 * SECOND);
    tmux_want(&terminal, "the session is done", 15 * SECOND);
    loopback_hear(&card.loop, CLICK_THRESHOLD, &after_loss);
    check_time_was_kept();
}

static void a_device_is_taken_up_again_when_asked(void **state)
{
    (void)state;
    begin_drill(WALK " --tempo 152 --drill finger-2 --repetitions 3 --count-in 1 --rest 0");
    lose_device();
    /* The program looks by itself after 1, 3, 7 seconds; what is asked for comes between. */
    pause_for(SECOND / 2);
    loopback_restart(&card.loop);
    loopback_record(&card.loop);
    tmux_keys(&terminal, "a");
    tmux_want(&terminal, "The sound is back.", 1500 * MILLISECOND);
    tmux_want(&terminal, "the session is done", 15 * SECOND);
    loopback_hear(&card.loop, CLICK_THRESHOLD, &after_loss);
    check_time_was_kept();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(
            without_a_device_it_is_silent_on_the_clock, concert_set_up, concert_tear_down),
        cmocka_unit_test_setup_teardown(
            a_device_killed_in_mid_drill_comes_back_in_time, concert_set_up, concert_tear_down),
        cmocka_unit_test_setup_teardown(
            a_device_is_taken_up_again_when_asked, concert_set_up, concert_tear_down),
    };
    program_surroundings();
    return cmocka_run_group_tests_name("e2e_device", tests, NULL, NULL);
}
