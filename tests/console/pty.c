#define _XOPEN_SOURCE 700 /* posix_openpt */

#include "pty.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static int report_end = -1; /* child's writing end */

static int64_t now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

static void set_or_not(const char *name, const char *value)
{
    if (value[0] == '\0')
        unsetenv(name);
    else
        setenv(name, value, 1);
}

static void become_child(const PtyOptions *o, const char *terminal, int (*scenario)(void))
{
    setsid();
    int fd = open(terminal, O_RDWR);
    for (int i = 0; i < 3; i++)
        dup2(fd, i);
    close(fd);
    ioctl(0, TIOCSCTTY, 0);
    set_or_not("TERM", o->term == NULL ? "xterm-256color" : o->term);
    set_or_not("LC_ALL", o->locale == NULL ? "C.UTF-8" : o->locale);
    set_or_not("NO_COLOR", o->no_color ? "1" : "");
    unsetenv("LINES");
    unsetenv("COLUMNS");
    signal(SIGINT, SIG_DFL);
    signal(SIGHUP, SIG_DFL);
    _exit(scenario()); /* scenarios let go of what they hold by ending */
}

Pty pty_start(const PtyOptions *o, int (*scenario)(void))
{
    Pty p = {.master = posix_openpt(O_RDWR | O_NOCTTY)};
    int ends[2];
    if (p.master < 0 || grantpt(p.master) != 0 || unlockpt(p.master) != 0 || pipe(ends) != 0)
        abort();
    const char *terminal = ptsname(p.master);
    p.slave = open(terminal, O_RDWR | O_NOCTTY);
    pty_resize(&p, o->width > 0 ? o->width : 80, o->height > 0 ? o->height : 24);
    tcgetattr(p.slave, &p.before);
    p.report = ends[0];
    p.child = fork();
    if (p.child == 0) {
        report_end = ends[1];
        close(p.master);
        close(ends[0]);
        become_child(o, terminal, scenario);
    }
    close(ends[1]);
    p.output = calloc(1, 1);
    return p;
}

void pty_report(int number)
{
    if (write(report_end, &number, sizeof number) != (ssize_t)sizeof number)
        _exit(99);
}

/* Takes in what the child has written by now. */
static void drain(Pty *p)
{
    struct pollfd ready = {.fd = p->master, .events = POLLIN};
    while (p->master >= 0 && poll(&ready, 1, 0) > 0 && (ready.revents & POLLIN) != 0) {
        p->output = realloc(p->output, p->size + 4096 + 1);
        ssize_t got = read(p->master, p->output + p->size, 4096);
        if (got <= 0)
            break;
        p->size += (size_t)got;
        p->output[p->size] = '\0';
    }
}

/* Until there may be something new to look at. False past the deadline. */
static bool wait_a_little(Pty *p, int64_t deadline)
{
    struct pollfd ready[2] = {
        {.fd = p->master, .events = POLLIN}, {.fd = p->report, .events = POLLIN}};
    poll(ready, 2, 5);
    drain(p);
    return now_ms() < deadline;
}

bool pty_number(Pty *p, int *number)
{
    int64_t deadline = now_ms() + PTY_SECONDS * 1000;
    do {
        struct pollfd ready = {.fd = p->report, .events = POLLIN};
        if (poll(&ready, 1, 0) > 0)
            return read(p->report, number, sizeof *number) == (ssize_t)sizeof *number;
    } while (wait_a_little(p, deadline));
    return false;
}

bool pty_output_has(Pty *p, size_t from, const char *wanted)
{
    int64_t deadline = now_ms() + PTY_SECONDS * 1000;
    do {
        drain(p);
        if (from <= p->size && strstr(p->output + from, wanted) != NULL)
            return true;
    } while (wait_a_little(p, deadline));
    return false;
}

static bool child_changed(Pty *p, int options, int *status)
{
    int64_t deadline = now_ms() + PTY_SECONDS * 1000;
    do {
        if (waitpid(p->child, status, WNOHANG | options) == p->child)
            return true;
    } while (wait_a_little(p, deadline));
    return false;
}

int pty_end(Pty *p)
{
    int status;
    if (!child_changed(p, 0, &status))
        return -1;
    p->child = 0;
    drain(p);
    return status;
}

bool pty_stopped(Pty *p)
{
    int status;
    bool stopped = child_changed(p, WUNTRACED, &status) && WIFSTOPPED(status);
    drain(p);
    return stopped;
}

void pty_type(Pty *p, const char *bytes)
{
    if (write(p->master, bytes, strlen(bytes)) != (ssize_t)strlen(bytes))
        abort();
}

void pty_resize(Pty *p, int width, int height)
{
    struct winsize size = {.ws_col = (unsigned short)width, .ws_row = (unsigned short)height};
    ioctl(p->master, TIOCSWINSZ, &size);
}

void pty_signal(Pty *p, int number)
{
    kill(p->child, number);
}

bool pty_settings_restored(const Pty *p)
{
    struct termios now;
    return tcgetattr(p->slave, &now) == 0 && now.c_iflag == p->before.c_iflag &&
           now.c_oflag == p->before.c_oflag && now.c_lflag == p->before.c_lflag &&
           now.c_cflag == p->before.c_cflag &&
           memcmp(now.c_cc, p->before.c_cc, sizeof now.c_cc) == 0;
}

void pty_free(Pty *p)
{
    int status;
    if (p->child > 0) {
        kill(p->child, SIGKILL);
        waitpid(p->child, &status, 0);
    }
    if (p->master >= 0)
        close(p->master);
    close(p->slave);
    close(p->report);
    free(p->output);
}
