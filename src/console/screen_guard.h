/* screen_guard.h - gives the terminal back on every way out: close, exit, signals, a crash.
 *
 * What must be written is prepared beforehand, so that a signal handler only calls write and
 * tcsetattr. One terminal at a time. Console thread, but for the handlers themselves.
 */
#ifndef EVENHAND_SRC_CONSOLE_SCREEN_GUARD_H
#define EVENHAND_SRC_CONSOLE_SCREEN_GUARD_H

#include <stdbool.h>
#include <stddef.h>

/* Remembers the terminal's settings and takes the signals over. Before curses starts: curses
 * leaves alone what somebody else handles. */
bool guard_begin(int fd);
/* From here on `restore` is written on the way out. */
void guard_arm(const char *restore, size_t size);
/* The terminal is given back, the signals go where they went before. */
void guard_end(void);

/* The signal that asked for the end, 0 none. */
int guard_asked(void);
/* Ends as though that signal had come: the terminal has gone. */
void guard_ask(int signal_number);
/* True once after the program was stopped and went on: all must be drawn again. */
bool guard_continued(void);

#endif
