#include "evenhand/app/report.h"

#include "evenhand/app/load.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static const int watched[] = {SIGINT, SIGTERM, SIGHUP, SIGQUIT};
enum { WATCHED = sizeof watched / sizeof watched[0] };

/* A signal handler has no other way to tell than a variable of the file. */
static volatile sig_atomic_t caught;
static struct sigaction before[WATCHED];

bool report_text(const Text *text, Error *error)
{
    size_t sent = 0;
    while (sent < text->size) {
        ssize_t n = write(STDOUT_FILENO, text->bytes + sent, text->size - sent);
        if (n >= 0)
            sent += (size_t)n;
        else if (errno == EPIPE)
            return true;
        else if (errno != EINTR)
            return error_set(
                error, ERROR_WRITE, "standard output cannot be written: %s", strerror(errno));
    }
    return true;
}

void report_error(const Error *error)
{
    char line[ERROR_TEXT_MAX + ERROR_SOURCE_MAX + 200];
    fprintf(stderr, "evenhand: %s\n", error_format(error, line, sizeof line));
}

void report_notices(const Passage *p, const char *given)
{
    char path[PATHS_MAX], name[ERROR_SOURCE_MAX], text[sizeof p->notices[0].text];
    int reference;
    bool split = given && load_split(given, path, &reference, NULL);
    const char *source = !split ? "passage" : strcmp(path, "-") == 0 ? "standard input" : path;
    text_clean(source, name, sizeof name);
    for (size_t i = 0; i < p->notice_count; i++) {
        const Notice *n = &p->notices[i];
        fprintf(stderr, "evenhand: %s:%d:%d: note: %s\n", name, n->line, n->column,
            text_clean(n->text, text, sizeof text));
    }
}

bool report_progress(void *context, int64_t done, int64_t total)
{
    (void)context;
    if (isatty(STDERR_FILENO) && total > 0)
        fprintf(stderr, "\rwriting: %d %%", (int)(100.0 * (double)done / (double)total));
    return caught == 0;
}

void report_progress_end(void)
{
    if (isatty(STDERR_FILENO))
        fprintf(stderr, "\r              \r");
}

static void catch_signal(int number)
{
    caught = number;
}

void report_watch_signals(void)
{
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = catch_signal;
    sigemptyset(&action.sa_mask);
    caught = 0;
    for (int i = 0; i < WATCHED; i++) {
        sigaction(watched[i], NULL, &before[i]);
        if (before[i].sa_handler != SIG_IGN) /* as under nohup: stays ignored */
            sigaction(watched[i], &action, NULL);
    }
}

void report_rethrow_signals(void)
{
    for (int i = 0; i < WATCHED; i++)
        sigaction(watched[i], &before[i], NULL);
    if (caught != 0)
        raise(caught);
}
