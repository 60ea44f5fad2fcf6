/* screen_child.h - what the screen tests do in the child that has the terminal, and what they ask
 * of the terminal afterwards. */
#ifndef EVENHAND_TESTS_CONSOLE_SCREEN_CHILD_H
#define EVENHAND_TESTS_CONSOLE_SCREEN_CHILD_H

#include "console/pty.h"
#include "evenhand/console/screen.h"

/* xterm's strings, from its terminfo entry (infocmp xterm-256color). */
#define ENTER_SCREEN "\x1B[?1049h"
#define LEAVE_SCREEN "\x1B[?1049l"

ScreenDriver *child_screen(void);       /* ends the child where it cannot be opened */
Grid child_grid(const ScreenDriver *s); /* of the screen's size */
/* Everything was written before the terminal's own screen came back, its cursor can be seen and
 * its settings are those from before. Call it when the child has ended or stopped. */
bool given_back(const Pty *p);

#endif
