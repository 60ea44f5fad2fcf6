/* A real terminal shows what the grid holds: the views drawn through curses inside tmux (Debian
 * tmux), whose own idea of its cells is read back and compared, at several sizes.
 *
 * The program runs itself in the terminal: test_terminal --draw. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "console/fixture.h"
#include "evenhand/console/screen.h"
#include "evenhand/console/view.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { SECONDS = 20, TEXT_MAX = 1 << 17, COMMAND_MAX = 2048 };

static char directory[] = "/tmp/evenhand-terminal-XXXXXX";
static char program[1024]; /* this test's own path */

/* ---- inside the terminal --------------------------------------------------------------------- */

/* Draws at the terminal's size until it is told to end; key 'w' asks for wide titles. */
static int draw(void)
{
    static Fixture f;
    Error error = {0};
    ScreenDriver *s = screen_open(&(ScreenOptions){0}, &error);
    Grid g;
    if (s == NULL || !grid_init(&g, 1, 1))
        return 1;
    fixture_make(&f, SCREEN_PRACTICE, RUN_PLAYING, screen_utf8(s));
    while (!screen_quit_asked()) {
        int width, height;
        uint32_t key = screen_key(s, 20);
        if (key == 'q')
            break;
        if (key == 'w')
            f.model.screen = SCREEN_PASSAGES;
        screen_size(s, &width, &height);
        if (grid_resize(&g, width, height)) {
            view_draw(&f.model, &g);
            screen_show(s, &g);
        }
    }
    screen_close(s);
    grid_free(&g);
    return 0;
}

/* ---- outside -----------------------------------------------------------------------------------
 */

/* Runs tmux on a server of its own; its output into text (may be NULL). */
static void tmux(const char *arguments, char *text)
{
    char command[COMMAND_MAX];
    snprintf(command, sizeof command, "tmux -u -f /dev/null -S %s/socket %s", directory, arguments);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    size_t used = text == NULL ? 0 : fread(text, 1, TEXT_MAX - 1, pipe);
    if (text != NULL)
        text[used] = '\0';
    if (pclose(pipe) != 0)
        fail_msg("tmux failed (Debian package tmux): %s", command);
}

static char *wanted(Screen screen, int width, int height)
{
    static Fixture f;
    Grid g;
    fixture_make(&f, screen, RUN_PLAYING, true);
    assert_true(grid_init(&g, width, height));
    view_draw(&f.model, &g);
    char *text = grid_text(&g, false);
    grid_free(&g);
    return text;
}

/* capture-pane cuts trailing blanks of a line as grid_text does. */
static void assert_shows(Screen screen, int width, int height)
{
    static char shown[TEXT_MAX];
    struct timespec start, now, pause = {.tv_nsec = 20000000};
    char *want = wanted(screen, width, height);
    clock_gettime(CLOCK_MONOTONIC, &start);
    do {
        tmux("capture-pane -p -t 0", shown);
        if (strcmp(shown, want) == 0)
            break;
        nanosleep(&pause, NULL);
        clock_gettime(CLOCK_MONOTONIC, &now);
    } while (now.tv_sec - start.tv_sec < SECONDS);
    assert_string_equal(shown, want);
    free(want);
}

static void test_terminal_shows_the_grid(void **state)
{
    static const struct {
        int width, height;
    } sizes[] = {{60, 20}, {40, 12}, {30, 8}, {120, 40}, {80, 24}};
    char command[COMMAND_MAX], where[64];
    (void)state;

    snprintf(command, sizeof command,
        "new-session -d -x 80 -y 24 'env LC_ALL=C.UTF-8 %s --draw' \\; set status off", program);
    tmux(command, NULL);
    tmux("resize-window -t 0 -x 80 -y 24", NULL);
    assert_shows(SCREEN_PRACTICE, 80, 24);
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        snprintf(
            where, sizeof where, "resize-window -t 0 -x %d -y %d", sizes[i].width, sizes[i].height);
        tmux(where, NULL);
        assert_shows(SCREEN_PRACTICE, sizes[i].width, sizes[i].height);
    }
    tmux("send-keys -t 0 w", NULL); /* wide characters and combining marks */
    assert_shows(SCREEN_PASSAGES, 80, 24);
    tmux("send-keys -t 0 q", NULL);
}

static int set_up(void **state)
{
    (void)state;
    return mkdtemp(directory) == NULL ? -1 : 0;
}

static int tear_down(void **state)
{
    char command[COMMAND_MAX];
    (void)state;
    snprintf(command, sizeof command, "tmux -S %s/socket kill-server 2>/dev/null; rm -rf %s",
        directory, directory);
    return system(command) < 0 ? -1 : 0;
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_terminal_shows_the_grid)};
    if (argc > 1 && strcmp(argv[1], "--draw") == 0)
        return draw();
    ssize_t size = readlink("/proc/self/exe", program, sizeof program - 1);
    if (size < 0)
        return 2;
    program[size] = '\0';
    return cmocka_run_group_tests_name("terminal", tests, set_up, tear_down);
}
