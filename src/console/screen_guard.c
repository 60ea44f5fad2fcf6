#define _XOPEN_SOURCE 700 /* sigaltstack */

#include "screen_guard.h"

#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

enum { RESTORE_MAX = 512, HANDLER_STACK = 64 * 1024 };

typedef enum {
    WAY_ASK,   /* set a flag and let the loop end; a second one does not wait for it */
    WAY_CRASH, /* restore, then let it go on as it would have */
    WAY_STOP,  /* restore, stop, and come back */
    WAY_GO_ON
} Way;

static const struct {
    int number;
    Way way;
} watched[] = {
    {SIGINT, WAY_ASK},
    {SIGTERM, WAY_ASK},
    {SIGHUP, WAY_ASK},
    {SIGQUIT, WAY_ASK},
    {SIGSEGV, WAY_CRASH},
    {SIGABRT, WAY_CRASH},
    {SIGBUS, WAY_CRASH},
    {SIGFPE, WAY_CRASH},
    {SIGILL, WAY_CRASH},
    /* Nobody sends these on purpose; each would end the program. [POSIX.1-2008, signal.h] */
    {SIGUSR1, WAY_CRASH},
    {SIGUSR2, WAY_CRASH},
    {SIGALRM, WAY_CRASH},
    {SIGPIPE, WAY_CRASH},
    {SIGTRAP, WAY_CRASH},
    {SIGSYS, WAY_CRASH},
    {SIGXCPU, WAY_CRASH},
    {SIGXFSZ, WAY_CRASH},
    {SIGVTALRM, WAY_CRASH},
    {SIGPROF, WAY_CRASH},
    {SIGTSTP, WAY_STOP},
    {SIGCONT, WAY_GO_ON},
};
enum { WATCHED = sizeof watched / sizeof watched[0] };

/* Signal handlers take no argument of ours: this one struct is what they may know. */
static struct {
    int fd;
    bool begun;
    volatile sig_atomic_t armed;
    volatile sig_atomic_t asked;
    volatile sig_atomic_t continued;
    struct termios settings;
    char restore[RESTORE_MAX];
    size_t restore_size;
    struct sigaction before[WATCHED];
    stack_t stack_before;
    bool exit_noted;
} guard;

/* A stack overflow is a crash, too: the handler needs a stack of its own. */
static char handler_stack[HANDLER_STACK];

/* Only what may be called in a signal handler. */
static void give_back(void)
{
    size_t done = 0;
    while (done < guard.restore_size) {
        ssize_t now = write(guard.fd, guard.restore + done, guard.restore_size - done);
        if (now < 0 && errno == EINTR)
            continue;
        if (now <= 0)
            break;
        done += (size_t)now;
    }
    tcsetattr(guard.fd, TCSANOW, &guard.settings);
}

static void put_before(int number)
{
    for (size_t i = 0; i < WATCHED; i++)
        if (watched[i].number == number)
            sigaction(number, &guard.before[i], NULL);
}

static void raise_unblocked(int number)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, number);
    raise(number);
    pthread_sigmask(SIG_UNBLOCK, &set, NULL);
}

static void on_ask(int number)
{
    if (guard.asked == 0) {
        guard.asked = number;
        return;
    }
    if (guard.armed)
        give_back();
    put_before(number);
    raise_unblocked(number);
}

static void on_crash(int number)
{
    if (guard.armed)
        give_back();
    put_before(number);
    raise_unblocked(number);
}

static void on_stop(int number)
{
    int kept = errno;
    if (guard.armed)
        give_back();
    (void)number;
    raise(SIGSTOP); /* stops here; SIGCONT's handler asks for the redrawing */
    errno = kept;
}

static void on_continue(int number)
{
    (void)number;
    guard.continued = 1;
}

static void on_exit_of_program(void)
{
    if (guard.armed)
        give_back();
}

static void take_over(size_t i)
{
    static void (*const handlers[])(int) = {[WAY_ASK] = on_ask,
        [WAY_CRASH] = on_crash,
        [WAY_STOP] = on_stop,
        [WAY_GO_ON] = on_continue};
    struct sigaction action = {.sa_flags = watched[i].way == WAY_CRASH ? SA_ONSTACK : 0};

    sigemptyset(&action.sa_mask);
    action.sa_handler = handlers[watched[i].way];
    sigaction(watched[i].number, NULL, &guard.before[i]);
    /* What was ignored (nohup, a shell without jobs) stays ignored. */
    if (guard.before[i].sa_handler != SIG_IGN)
        sigaction(watched[i].number, &action, NULL);
}

bool guard_begin(int fd)
{
    if (guard.begun || tcgetattr(fd, &guard.settings) != 0)
        return false;
    guard.fd = fd;
    guard.begun = true;
    guard.asked = guard.armed = guard.continued = 0;
    stack_t stack = {.ss_sp = handler_stack, .ss_size = sizeof handler_stack};
    sigaltstack(&stack, &guard.stack_before);
    for (size_t i = 0; i < WATCHED; i++)
        take_over(i);
    if (!guard.exit_noted)
        guard.exit_noted = atexit(on_exit_of_program) == 0;
    return true;
}

void guard_arm(const char *restore, size_t size)
{
    guard.restore_size = size < RESTORE_MAX ? size : RESTORE_MAX;
    memcpy(guard.restore, restore, guard.restore_size);
    guard.armed = 1;
}

void guard_end(void)
{
    if (!guard.begun)
        return;
    guard.armed = 0;
    tcsetattr(guard.fd, TCSANOW, &guard.settings);
    for (size_t i = 0; i < WATCHED; i++)
        sigaction(watched[i].number, &guard.before[i], NULL);
    sigaltstack(&guard.stack_before, NULL);
    guard.begun = false;
}

int guard_asked(void)
{
    return guard.asked;
}

void guard_ask(int signal_number)
{
    if (guard.asked == 0)
        guard.asked = signal_number;
}

bool guard_continued(void)
{
    bool continued = guard.continued != 0;
    guard.continued = 0;
    return continued;
}
