/* The terminal is as it was on every way out: asked, crashed, stopped, left alone. */
#define _XOPEN_SOURCE 700 /* the signals of timers and limits */

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "console/screen_child.h"

#include <signal.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

static int scenario_loop(void)
{
    ScreenDriver *s = child_screen();
    Grid g = child_grid(s);
    grid_put(&g, 0, 0, -1, STYLE_NORMAL, "here");
    pty_report(screen_show(s, &g));
    while (!screen_quit_asked()) {
        screen_key(s, 20);
        screen_show(s, &g);
    }
    int asked = screen_quit_signal();
    screen_close(s);
    return asked;
}

static void test_signals_ask(void **state)
{
    static const int signals[] = {SIGTERM, SIGINT, SIGHUP, SIGQUIT};
    (void)state;
    for (size_t i = 0; i < sizeof signals / sizeof signals[0]; i++) {
        int number;
        Pty p = pty_start(&(PtyOptions){0}, scenario_loop);
        assert_true(pty_number(&p, &number));
        pty_signal(&p, signals[i]);
        int status = pty_end(&p);
        assert_true(WIFEXITED(status));
        assert_int_equal(WEXITSTATUS(status), signals[i]);
        assert_true(given_back(&p));
        pty_free(&p);
    }
}

static int scenario_deaf(void)
{
    child_screen();
    pty_report(0);
    while (!screen_quit_asked())
        pause();
    pty_report(1);
    for (;;)
        pause(); /* was asked, and does not hear */
    return 0;
}

static void test_second_signal_does_not_wait(void **state)
{
    int number;
    (void)state;
    Pty p = pty_start(&(PtyOptions){0}, scenario_deaf);
    assert_true(pty_number(&p, &number));
    pty_signal(&p, SIGTERM);
    assert_true(pty_number(&p, &number));
    assert_int_equal(number, 1);
    pty_signal(&p, SIGTERM);
    int status = pty_end(&p);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), SIGTERM);
    assert_true(given_back(&p));
    pty_free(&p);
}

static int crash_signal;

static int scenario_crash(void)
{
    child_screen();
    raise(crash_signal);
    return 0;
}

static void test_crashes(void **state)
{
    static const int signals[] = {SIGSEGV, SIGABRT, SIGBUS, SIGFPE, SIGILL, SIGUSR1, SIGUSR2,
        SIGALRM, SIGPIPE, SIGTRAP, SIGSYS, SIGXCPU, SIGXFSZ, SIGVTALRM, SIGPROF};
    (void)state;
    for (size_t i = 0; i < sizeof signals / sizeof signals[0]; i++) {
        crash_signal = signals[i];
        Pty p = pty_start(&(PtyOptions){0}, scenario_crash);
        int status = pty_end(&p);
        /* A sanitizer reports some of them and exits by itself: as it would have. */
        assert_true(
            WIFSIGNALED(status) ? WTERMSIG(status) == signals[i] : WEXITSTATUS(status) != 0);
        assert_true(given_back(&p));
        pty_free(&p);
    }
}

static int deeper(volatile int *depth)
{
    volatile int here[256];
    here[0] = *depth + 1;
    if (here[0] > 1 << 28) /* never reached: a quarter of a terabyte */
        return 0;
    return deeper(here) + here[0];
}

static int scenario_overflow(void)
{
    volatile int depth = 0;
    child_screen();
    return deeper(&depth);
}

static void test_stack_overflow(void **state)
{
    (void)state;
    Pty p = pty_start(&(PtyOptions){0}, scenario_overflow);
    int status = pty_end(&p);
    assert_true(WIFSIGNALED(status) || WEXITSTATUS(status) != 0);
    assert_true(given_back(&p));
    pty_free(&p);
}

static int scenario_exit(void)
{
    child_screen();
    exit(3); /* without screen_close */
}

static void test_exit(void **state)
{
    (void)state;
    Pty p = pty_start(&(PtyOptions){0}, scenario_exit);
    int status = pty_end(&p);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) != 0); /* a leak checker changes the 3 */
    assert_true(given_back(&p));
    pty_free(&p);
}

static void test_stop_and_go_on(void **state)
{
    int number;
    (void)state;
    Pty p = pty_start(&(PtyOptions){0}, scenario_loop);
    assert_true(pty_number(&p, &number));
    pty_signal(&p, SIGTSTP);
    assert_true(pty_stopped(&p));
    assert_true(given_back(&p)); /* while it is stopped, the shell has the terminal */
    size_t before = p.size;
    pty_signal(&p, SIGCONT);
    assert_true(pty_output_has(&p, before, ENTER_SCREEN));
    assert_true(pty_output_has(&p, before, "here")); /* all drawn again */
    pty_signal(&p, SIGTERM);
    int status = pty_end(&p);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), SIGTERM);
    assert_true(given_back(&p));
    pty_free(&p);
}

static int scenario_orphan(void)
{
    signal(SIGHUP, SIG_IGN); /* as under nohup: only the lost terminal is left to tell */
    int asked = scenario_loop();
    pty_report(asked);
    return 0;
}

static void test_terminal_gone(void **state)
{
    int number;
    (void)state;
    Pty p = pty_start(&(PtyOptions){0}, scenario_orphan);
    assert_true(pty_number(&p, &number));
    close(p.master);
    p.master = -1;
    assert_true(pty_number(&p, &number));
    assert_int_equal(number, SIGHUP);
    assert_int_equal(pty_end(&p), 0);
    pty_free(&p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_signals_ask),
        cmocka_unit_test(test_second_signal_does_not_wait),
        cmocka_unit_test(test_crashes),
        cmocka_unit_test(test_stack_overflow),
        cmocka_unit_test(test_exit),
        cmocka_unit_test(test_stop_and_go_on),
        cmocka_unit_test(test_terminal_gone),
    };
    return cmocka_run_group_tests_name("screen exits", tests, NULL, NULL);
}
