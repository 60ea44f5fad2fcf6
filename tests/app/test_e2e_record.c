/* The practice record under hard conditions, end to end: a miss told late, a process that is
 * stopped and goes on, one that is killed, two consoles at once. Everything in it is invented. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "concert.h"
#include "e2e/ledger.h"
#include "e2e/promise.h"

#include <signal.h>

#define RECORDED "\xE2\x9C\x93 "  /* the sign before how many are recorded, */
#define RECORDING "\xE2\x80\xA6 " /* and while one more is on its way */

enum { ATTEMPTS = 3, KEPT_MAX = 64 };

static Promise promise;
static Tmux second;

static int teardown(void **state)
{
    tmux_end(&second);
    return concert_tear_down(state);
}

/* Again, on a card of its own, only when the player or the recorder lost frames. */
static void undisturbed(void (*scenario)(void), int underruns)
{
    for (int attempt = 1;; attempt++) {
        scenario();
        if (concert_end(underruns))
            return;
        assert_true(attempt < ATTEMPTS);
        concert_tear_down(NULL);
        concert_set_up(NULL);
    }
}

/* ---- a miss told late ----------------------------------------------------------------------- */

static void press_late(void)
{
    tmux_begin_practice(&terminal, 80, 24,
        WALK " --drill plain --from 168 --to 208 --pattern clean --clean 1 --above 0 --count-in 1 "
             "--student Late " BELL_LAYERS);
    loopback_record(&card.loop);
    tmux_keys(&terminal, "Space");
    tmux_want(&terminal, "1/4 = 168 ", 3 * SECOND);
    tmux_want(&terminal, "1/4 = 176 ", 6 * SECOND); /* the second begins */
    tmux_keys(&terminal, "m");
    tmux_want(&terminal, "The one before counts missed.", SECOND);
    tmux_want(&terminal, "up to 176 if clean, 168 again if missed", SECOND);
    tmux_want(&terminal, "bar 2", 3 * SECOND);
    tmux_want(&terminal, "bar 1", 3 * SECOND); /* the third */
    tmux_want(&terminal, "bar 2", 3 * SECOND);
    tmux_want(&terminal, "1/4 = 184 ", 3 * SECOND); /* the fourth */
}

/* The second one has begun at its tempo and keeps it; what comes after it does not. */
static void a_late_miss_corrects_the_one_before(void **state)
{
    (void)state;
    static const int tempos[] = {168, 176, 176};
    static const Entry played[] = {
        {"Walk", "plain", 168, false}, {"Walk", "plain", 176, true}, {"Walk", "plain", 176, true}};
    undisturbed(press_late, 0);
    promise = (Promise){.end = 0};
    promise_music(&promise, WALK " --drill plain --repetitions 1 --count-in 1", 168, 12);
    for (int i = 1; i < 3; i++)
        promise_music(&promise, WALK " --drill plain --repetitions 1 --count-in 0", tempos[i], 8);
    promise_music(&promise, WALK " --drill plain --repetitions 1 --count-in 0", 184, 8);
    size_t agreed = clicks_agree(&heard, 0, &promise.clicks, 0);
    print_message("%zu of %zu clicks stand where they should\n", agreed, heard.count);
    expect_from(&heard, &promise.clicks, 0);
    assert_true(agreed > 4 + 3 * 15); /* the fourth has begun */
    ledger_is_whole();
    ledger_expect("Late", played, 3, 3);
}

/* ---- stopped -------------------------------------------------------------------------------- */

static const char halted[] = "[routine]\ntitle = Halted\nstudent = Halted\n"
                             "[block]\ntitle = The walk\nminutes = 0.15\nrest = 2\n"
                             "passage = walk.abc:1\ndrills = finger-3\ntempo = 1/4=208\n"
                             "[block]\ntitle = Steps\nrepetitions = 1\nrest = 2\n"
                             "passage = walk.abc:2\ndrills = plain\ntempo = 1/4=240\n";
#define HALT (3500 * MILLISECOND) /* more than the two seconds that count as standing still */

static void halt_and_go_on(void)
{
    char line[256];
    concert_file("routine.ini", halted);
    concert_file("walk.abc", NULL);
    snprintf(line, sizeof line, "routine %s/routine.ini " BELL_LAYERS, card.loop.directory);
    pid_t program = tmux_begin_apart(&terminal, line);
    loopback_record(&card.loop);
    tmux_keys(&terminal, "Space");
    tmux_want(&terminal, "repetition 1 of 2", 5 * SECOND);
    tmux_want(&terminal, "bar 2", 3 * SECOND);
    assert_int_equal(kill(program, SIGSTOP), 0);
    pause_for(HALT);
    assert_int_equal(kill(program, SIGCONT), 0);
    tmux_want(&terminal, "done: ", 20 * SECOND);
}

/* How many clicks stand where they should, measured from the last ones. */
static size_t agree_at_end(void)
{
    const Clicks *c = &promise.clicks;
    size_t n = 0, r = heard.count, w = c->count;
    while (n < r && n < w) {
        int64_t off = (heard.click[r - 1].frame - heard.click[r - 1 - n].frame) -
                      (c->frame[w - 1] - c->frame[w - 1 - n]);
        if (off < -CLICK_TOLERANCE || off > CLICK_TOLERANCE)
            break;
        n++;
    }
    return n;
}

/* All clicks before the halt stand where they should, and all after it among themselves. The halt
 * may fall into one click, which then has no peak of its own, or two. */
static void check_halt(void)
{
    const Clicks *c = &promise.clicks;
    size_t before = clicks_agree(&heard, 0, c, 0), after = agree_at_end(), all = before + after;
    assert_true(before > 0 && after > 0);
    size_t first = heard.count - after, due = c->count - after;
    double halt = (double)(heard.click[first].frame - heard.click[before - 1].frame -
                           c->frame[due] + c->frame[before - 1]) /
                  RATE;
    print_message(
        "%zu clicks, %.2f s of silence, %zu clicks, of %zu\n", before, halt, after, c->count);
    if (all > c->count || all + 1 < c->count || heard.count < all || heard.count > all + 2 ||
        (all == c->count && heard.count != all))
        fail_msg("%zu clicks are heard: some are lost, doubled or out of place", heard.count);
    assert_true(halt > 3 && halt < 4.5);
}

static void a_stopped_routine_loses_and_doubles_nothing(void **state)
{
    (void)state;
    static const Entry played[] = {{"Walk", "finger-3", 208, true}, {"Walk", "finger-3", 208, true},
        {"Four steps", "plain", 240, true}};
    undisturbed(halt_and_go_on, 1); /* one is the halt's own */
    promise = (Promise){.end = 0};
    promise_music(&promise, WALK " --drill finger-3 --repetitions 2", 208, 24);
    promise_rest(&promise, 9 * RATE);
    promise_music(&promise, FOUR_STEPS " --drill plain --repetitions 1", 240, 8);
    promise_rest(&promise, promise.end + 2 * RATE);
    check_halt();
    ledger_is_whole();
    ledger_expect("Halted", played, 3, 3);
}

/* ---- killed --------------------------------------------------------------------------------- */

static const char endless[] = "[routine]\ntitle = To be killed\nstudent = Killed\n"
                              "[block]\ntitle = Steps\nrepetitions = 60\nrest = 2\n"
                              "passage = walk.abc:2\ndrills = plain\ntempo = 1/4=300\n";

/* The number that the screen shows as recorded, also while one more is on its way; 0: none. */
static int shown(void)
{
    static char text[PANE_ROOM];
    tmux_capture(&terminal, false, text);
    int number = text_number(text, RECORDED), less = text_number(text, RECORDING);
    return number > 0 ? number : less > 0 ? less : 0;
}

/* Kills it so many milliseconds after the screen has shown `wanted` as recorded. Returns what it
 * shows in the end. */
static int kill_after(int wanted, int milliseconds)
{
    char line[256];
    snprintf(line, sizeof line, "routine %s/routine.ini --rate 48000", card.loop.directory);
    pid_t program = tmux_begin_apart(&terminal, line);
    tmux_keys(&terminal, "Space");
    for (int64_t give_up = monotonic_now() + 10 * SECOND; shown() < wanted;)
        assert_true(monotonic_now() < give_up);
    pause_for(milliseconds * MILLISECOND);
    assert_int_equal(kill(program, SIGKILL), 0);
    while (tmux_number(&terminal, "#{pane_dead}") != 1)
        pause_for(10 * MILLISECOND);
    int last = shown();
    tmux_end(&terminal);
    return last;
}

/* The picture that stands is the program's last. */
static void what_was_shown_as_recorded_is(void **state)
{
    (void)state;
    static Entry played[KEPT_MAX];
    static const int moments[][2] = {{1, 0}, {3, 130}, {2, 290}};
    size_t before = 0;
    for (int i = 0; i < KEPT_MAX; i++)
        played[i] = (Entry){"Four steps", "plain", 300, true};
    concert_file("routine.ini", endless);
    concert_file("walk.abc", NULL);
    for (size_t i = 0; i < sizeof moments / sizeof moments[0]; i++) {
        int last = kill_after(moments[i][0], moments[i][1]);
        assert_true(last >= moments[i][0]);
        ledger_is_whole();
        /* One more may have been written since that picture. */
        size_t kept =
            ledger_expect("Killed", played, before + (size_t)last, before + (size_t)last + 1);
        print_message("shown %d, recorded %zu\n", last, kept - before);
        before = kept;
    }
}

/* ---- two at once ---------------------------------------------------------------------------- */

#define SHORT                                                                                      \
    FOUR_STEPS " --drill plain --repetitions 6 --count-in 1 --rest 0 --level -30 --rate 48000 "

static void two_consoles_write_one_record(void **state)
{
    (void)state;
    static Entry fast[6], slow[6];
    for (int i = 0; i < 6; i++) {
        fast[i] = (Entry){"Four steps", "plain", 240, true};
        slow[i] = (Entry){"Four steps", "plain", 120, i != 2};
    }
    tmux_begin_practice(&terminal, 80, 24, SHORT "--tempo 240 --student Ann");
    tmux_begin_practice(&second, 80, 24, SHORT "--tempo 120 --student Ben");
    tmux_keys(&terminal, "Space");
    tmux_keys(&second, "Space");
    tmux_want(&second, "repetition 3 of 6", 5 * SECOND);
    pause_for(SECOND / 2); /* its first third is over */
    tmux_keys(&second, "m");
    tmux_want(&terminal, "the session is done", 10 * SECOND);
    tmux_want(&second, "the session is done", 10 * SECOND);
    tmux_want(&terminal, RECORDED "6", SECOND);
    tmux_want(&second, RECORDED "6", SECOND);
    ledger_expect("Ann", fast, 6, 6); /* while both have it open */
    ledger_expect("Ben", slow, 6, 6);
    concert_leave(&terminal);
    concert_leave(&second);
    ledger_is_whole();
    ledger_expect("Ann", fast, 6, 6);
    ledger_expect("Ben", slow, 6, 6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(
            a_late_miss_corrects_the_one_before, concert_set_up, teardown),
        cmocka_unit_test_setup_teardown(
            a_stopped_routine_loses_and_doubles_nothing, concert_set_up, teardown),
        cmocka_unit_test_setup_teardown(what_was_shown_as_recorded_is, concert_set_up, teardown),
        cmocka_unit_test_setup_teardown(two_consoles_write_one_record, concert_set_up, teardown),
    };
    program_surroundings();
    return cmocka_run_group_tests_name("e2e_record", tests, NULL, NULL);
}
