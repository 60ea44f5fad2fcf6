/* pty.h - runs a function in a child process on a terminal of its own, and watches both. */
#ifndef EVENHAND_TESTS_CONSOLE_PTY_H
#define EVENHAND_TESTS_CONSOLE_PTY_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>
#include <termios.h>

enum { PTY_SECONDS = 20 }; /* nothing here takes one; a test that hangs must end */

typedef struct {
    const char *term, *locale; /* NULL: xterm-256color, C.UTF-8; "": not set */
    bool no_color;
    int width, height; /* 0: 80 x 24 */
} PtyOptions;

typedef struct {
    pid_t child;
    int master, slave;
    int report;            /* reading end of the child's numbers */
    struct termios before; /* the terminal's settings before the child had it */
    char *output;          /* all that the child wrote, NUL-terminated */
    size_t size;
} Pty;

/* In the child: `scenario` with pty_report at hand; its result is the exit status. */
Pty pty_start(const PtyOptions *options, int (*scenario)(void));
void pty_report(int number); /* child: hands a number to the parent */

/* Parent, all with a deadline; what the child writes is kept meanwhile. */
bool pty_number(Pty *p, int *number);
bool pty_output_has(Pty *p, size_t from, const char *wanted);
int pty_end(Pty *p);      /* waits for the end: waitpid's status, -1 when it did not come */
bool pty_stopped(Pty *p); /* waits until the child has stopped */
void pty_type(Pty *p, const char *bytes);
void pty_resize(Pty *p, int width, int height);
void pty_signal(Pty *p, int number);
/* The terminal's settings are those from before. */
bool pty_settings_restored(const Pty *p);
void pty_free(Pty *p); /* kills what is left of it */

#endif
