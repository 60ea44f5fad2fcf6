/* tmux.h - a terminal that can be read: a tmux server of our own, one window, one pane. Include
 * after cmocka.h. A function that cannot do its work fails the running test with the reason.
 *
 * The server listens in a directory of its own. Whatever way the test ends, even killed, a
 * watcher then ends the server and removes the directory.
 */
#ifndef EVENHAND_TESTS_APP_E2E_TMUX_H
#define EVENHAND_TESTS_APP_E2E_TMUX_H

#include "program.h"
#include "sound/loopback.h"
#include "watcher.h"

#include <stdarg.h>

enum { PANE_ROOM = 65536 };

typedef struct {
    char directory[64];
    Watcher watcher;
} Tmux;

/* Runs a tmux command, keeps what it prints (as much as fits). False: tmux says no. */
static inline bool tmux_try(const Tmux *t, char *out, size_t size, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
static inline bool tmux_try(const Tmux *t, char *out, size_t size, const char *format, ...)
{
    char words[COMMAND_ROOM / 2], command[COMMAND_ROOM];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(words, sizeof words, format, arguments);
    va_end(arguments);
    snprintf(command, sizeof command, "exec tmux -u -f %s/conf -S %s/socket %s 2>/dev/null",
        t->directory, t->directory, words);
    FILE *f = popen(command, "r");
    assert_non_null(f);
    size_t used = fread(out, 1, size - 1, f);
    out[used] = '\0';
    return pclose(f) == 0;
}

static inline void tmux_do(const Tmux *t, const char *words)
{
    char out[256];
    if (!tmux_try(t, out, sizeof out, "%s", words))
        fail_msg("tmux %s failed (Debian package tmux)", words);
}

/* What of the test's surroundings must not reach into the terminal. */
static inline void tmux_configure(const Tmux *t)
{
    char path[96];
    snprintf(path, sizeof path, "%s/conf", t->directory);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs("set -g status off\nset -g default-terminal tmux-256color\nset -s escape-time 0\n"
          "set -g remain-on-exit on\nset -g default-shell /bin/sh\n"
          "set -g history-limit 0\nset -g update-environment ''\n",
        f);
    fclose(f);
}

static inline void tmux_watch(Tmux *t)
{
    char command[256];
    snprintf(command, sizeof command, "tmux -S %s/socket kill-server; rm -rf '%s'", t->directory,
        t->directory);
    watcher_begin(&t->watcher, command);
}

/* Opens a terminal in which /bin/sh runs `command`, with this process's environment. */
static inline void tmux_begin(Tmux *t, int width, int height, const char *command)
{
    char out[256];
    snprintf(t->directory, sizeof t->directory, "/tmp/evenhand-tmux-XXXXXX");
    assert_non_null(mkdtemp(t->directory));
    tmux_configure(t);
    tmux_watch(t);
    unsetenv("TMUX");
    if (!tmux_try(t, out, sizeof out, "new-session -d -x %d -y %d \"%s\"", width, height, command))
        fail_msg("tmux cannot open a terminal: %s (Debian package tmux)", out);
}

/* Opens a terminal in which the program runs in UTF-8 with these words. */
static inline void tmux_begin_program(Tmux *t, int width, int height, const char *words)
{
    char command[PROGRAM_ROOM + COMMAND_ROOM];
    snprintf(command, sizeof command, "exec env LC_ALL=C.UTF-8 '%s' %s", program_path(), words);
    tmux_begin(t, width, height, command);
}

/* Ends the server and all in it. */
static inline void tmux_end(Tmux *t)
{
    if (t->directory[0] == '\0')
        return;
    watcher_end(&t->watcher);
    t->directory[0] = '\0';
}

static inline void tmux_keys(const Tmux *t, const char *keys)
{
    char words[256];
    snprintf(words, sizeof words, "send-keys %s", keys);
    tmux_do(t, words);
}

static inline void tmux_resize(const Tmux *t, int width, int height)
{
    char words[64];
    snprintf(words, sizeof words, "resize-window -x %d -y %d", width, height);
    tmux_do(t, words);
}

/* What the pane shows, in lines; with `styled` its attributes as escape sequences, too. */
static inline void tmux_capture(const Tmux *t, bool styled, char text[PANE_ROOM])
{
    if (!tmux_try(t, text, PANE_ROOM, "capture-pane -p %s", styled ? "-e" : ""))
        fail_msg("the terminal is gone");
}

/* A value that tmux knows of the pane, such as #{cursor_flag}. */
static inline int tmux_number(const Tmux *t, const char *format)
{
    char out[64];
    if (!tmux_try(t, out, sizeof out, "display-message -p '%s'", format))
        fail_msg("the terminal is gone");
    return atoi(out);
}

/* Waits until the pane shows `words`. False: it does not within `patience`. */
static inline bool tmux_wait(const Tmux *t, const char *words, int64_t patience)
{
    static char text[PANE_ROOM];
    for (int64_t give_up = monotonic_now() + patience;; pause_for(10 * MILLISECOND)) {
        tmux_capture(t, false, text);
        if (strstr(text, words) != NULL)
            return true;
        if (monotonic_now() > give_up)
            return false;
    }
}

/* As above, and fails where it does not, showing what is there. */
static inline void tmux_want(const Tmux *t, const char *words, int64_t patience)
{
    static char text[PANE_ROOM];
    if (tmux_wait(t, words, patience))
        return;
    tmux_capture(t, false, text);
    fail_msg("\"%s\" is not shown within %lld ms; the terminal shows\n%s", words,
        (long long)(patience / MILLISECOND), text);
}

/* Waits until the program that was opened has its sound device: the sound screen tells. Then it is
 * ready to start. */
static inline void tmux_ready(const Tmux *t)
{
    tmux_want(t, "Space: start", 5 * SECOND);
    tmux_keys(t, "s");
    tmux_want(t, "48000 Hz", 5 * SECOND);
    tmux_keys(t, "s");
    tmux_want(t, "Space: start", SECOND);
}

/* Opens the program with these words and waits until it is ready to start. */
static inline void tmux_begin_practice(Tmux *t, int width, int height, const char *words)
{
    tmux_begin_program(t, width, height, words);
    tmux_ready(t);
}

/* The same at 80 x 24, as a child of the terminal's shell: tmux at once continues a process of its
 * own that is stopped. The shell says nothing when it is killed. Returns the program's process id.
 */
static inline pid_t tmux_begin_apart(Tmux *t, const char *words)
{
    char command[PROGRAM_ROOM + COMMAND_ROOM], path[96], number[32] = "";
    snprintf(command, sizeof command,
        "exec 3>&2 2>/dev/null; "
        "sh -c 'echo \\$\\$ >\\$0; exec env LC_ALL=C.UTF-8 %s %s 2>&3 3>&-' \\$PID_FILE; true",
        program_path(), words);
    snprintf(path, sizeof path, "/tmp/evenhand-pid-%ld", (long)getpid());
    setenv("PID_FILE", path, 1);
    unlink(path);
    tmux_begin(t, 80, 24, command);
    tmux_ready(t);
    FILE *f = fopen(path, "r");
    assert_non_null(f);
    assert_non_null(fgets(number, sizeof number, f));
    fclose(f);
    unlink(path);
    assert_true(atol(number) > 1);
    return (pid_t)atol(number);
}

#endif
