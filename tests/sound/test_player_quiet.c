/* Whatever the audio libraries print, at start, when a device is lost or when it comes back: on
 * a terminal none of it is seen while the player is there. Standard error is a terminal of the
 * test's own here. */
#define _XOPEN_SOURCE 700 /* posix_openpt and its like */

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/sound/player.h"
#include "loopback.h"
#include "scene.h"

#include <fcntl.h>
#include <poll.h>
#include <stdlib.h>

#define S ((int64_t)1000000000)
#define POLL (S / 100)

static Loopback loop;

typedef struct {
    int master; /* what is printed is read here */
    int saved;  /* descriptor 2 as it was */
} Terminal;

static void terminal_open(Terminal *t)
{
    t->master = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(t->master >= 0);
    assert_int_equal(grantpt(t->master), 0);
    assert_int_equal(unlockpt(t->master), 0);
    int slave = open(ptsname(t->master), O_RDWR | O_NOCTTY);
    assert_true(slave >= 0);
    t->saved = dup(STDERR_FILENO);
    dup2(slave, STDERR_FILENO);
    close(slave);
}

/* What came there up to now. */
static size_t terminal_read(const Terminal *t, char *out, size_t size)
{
    struct pollfd ready = {.fd = t->master, .events = POLLIN};
    size_t count = 0;
    while (count + 1 < size && poll(&ready, 1, 0) == 1 && (ready.revents & POLLIN) != 0) {
        ssize_t got = read(t->master, out + count, size - 1 - count);
        if (got <= 0)
            break;
        count += (size_t)got;
    }
    out[count] = '\0';
    return count;
}

static void terminal_close(const Terminal *t)
{
    dup2(t->saved, STDERR_FILENO);
    close(t->saved);
    close(t->master);
}

static bool reach(Player *p, PlayerState state, int64_t patience)
{
    for (int64_t give_up = monotonic_now() + patience; monotonic_now() < give_up;) {
        pause_for(POLL);
        player_poll(p, monotonic_now());
        if (player_status(p).state == state)
            return true;
    }
    return false;
}

static void a_terminal_sees_nothing_of_the_libraries(void **state)
{
    (void)state;
    enum { ROOM = 4096 };
    static char seen[ROOM], after[ROOM];
    static const char word[] = "word";
    Scene scene = scene_quavers(LOOPBACK_RATE, true);
    Mix mix = mix_default();
    Engine *e = scene_engine(&scene, &mix);
    PlayerOptions options = {.rate = LOOPBACK_RATE};
    Terminal terminal;

    /* Nothing is asserted while descriptor 2 leads elsewhere: it would not be read. */
    terminal_open(&terminal);
    Player *p = player_new(&options);
    player_open(p);
    player_start(p, e, monotonic_now());
    bool flowed = reach(p, PLAYER_LOST, S) == false;
    loopback_kill(&loop);
    bool lost = reach(p, PLAYER_LOST, 2 * S);
    bool printed = false;
    for (int i = 0; i < 200; i++) { /* two seconds: it looks again, in vain */
        reach(p, PLAYER_DEVICE, POLL);
        printed |= strstr(player_printed(p), "PaAlsa") != NULL;
    }
    player_free(p);
    size_t count = terminal_read(&terminal, seen, sizeof seen);
    ssize_t wrote = write(STDERR_FILENO, word, sizeof word - 1);
    terminal_read(&terminal, after, sizeof after);
    terminal_close(&terminal);

    assert_true(flowed);
    assert_true(lost);
    assert_true(printed); /* there was something to keep back: PortAudio 19.6 tells of the loss */
    if (count != 0)
        fail_msg("the terminal saw: %s", seen);
    assert_int_equal(wrote, 4);
    assert_string_equal(after, word); /* and it is given back */
    engine_free(e);
    scene_end(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_terminal_sees_nothing_of_the_libraries),
    };
    loopback_start(&loop);
    int failed = cmocka_run_group_tests_name("player_quiet", tests, NULL, NULL);
    loopback_stop(&loop);
    return failed;
}
