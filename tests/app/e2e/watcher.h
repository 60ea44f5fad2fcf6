/* watcher.h - something that must be done when the test's process is gone, whatever its end was.
 * Include after cmocka.h.
 *
 * A child waits for the end of a pipe that only the test's process holds open, then has a shell
 * do it.
 */
#ifndef EVENHAND_TESTS_APP_E2E_WATCHER_H
#define EVENHAND_TESTS_APP_E2E_WATCHER_H

#include <fcntl.h>
#include <stdio.h>
#include <sys/wait.h>
#include <unistd.h>

enum { WATCHER_FILES = 256 }; /* the test has no more open */

typedef struct {
    int alive; /* write end of the pipe */
    pid_t child;
} Watcher;

static inline void watcher_child(int end, const char *command)
{
    char byte;
    setsid();
    for (int fd = 3; fd < WATCHER_FILES; fd++) /* another watcher's pipe, too */
        if (fd != end)
            close(fd);
    for (int fd = 0; fd < 3; fd++)
        dup2(open("/dev/null", O_RDWR), fd);
    while (read(end, &byte, 1) > 0)
        ;
    execl("/bin/sh", "sh", "-c", command, (char *)NULL);
    _exit(1);
}

static inline void watcher_begin(Watcher *w, const char *command)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    fflush(NULL);
    w->child = fork();
    assert_true(w->child >= 0);
    if (w->child == 0)
        watcher_child(ends[0], command);
    close(ends[0]);
    fcntl(ends[1], F_SETFD, FD_CLOEXEC);
    w->alive = ends[1];
}

/* Has it done now, and waits for that. */
static inline void watcher_end(Watcher *w)
{
    if (w->child == 0)
        return;
    close(w->alive);
    waitpid(w->child, NULL, 0);
    *w = (Watcher){0};
}

#endif
