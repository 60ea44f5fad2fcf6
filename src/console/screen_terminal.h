/* screen_terminal.h - what the terminal can do, and what must be sent to give it back. */
#ifndef EVENHAND_SRC_CONSOLE_SCREEN_TERMINAL_H
#define EVENHAND_SRC_CONSOLE_SCREEN_TERMINAL_H

#include "evenhand/drill/drill.h" /* for Error */

#include <stddef.h>

enum { TERMINAL_RESTORE_MAX = 256 };

/* Whether a screen can be drawn on standard output; curses would end the program where it
 * cannot. ERROR_TERMINAL says why. */
bool terminal_can(Error *error);
/* Once curses has started: attributes off, cursor seen, keypad as it was, and the screen from
 * before. Returns the bytes written into out. */
size_t terminal_restore(char out[TERMINAL_RESTORE_MAX]);

#endif
