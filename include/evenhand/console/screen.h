/* screen.h - the curses driver: copies a grid's changed cells to the terminal, reads keys.
 * Console thread only; one at a time. */
#ifndef EVENHAND_CONSOLE_SCREEN_H
#define EVENHAND_CONSOLE_SCREEN_H

#include "evenhand/console/grid.h"
#include "evenhand/drill/drill.h" /* for Error */

typedef struct ScreenDriver ScreenDriver;

typedef struct {
    bool ascii;    /* no UTF-8 even where the locale has it */
    bool no_color; /* as NO_COLOR, which is heeded anyway */
} ScreenOptions;

/* Opens the terminal. It is restored by screen_close, and also on SIGINT, SIGTERM, SIGHUP,
 * SIGQUIT and on every other signal that ends a program and can be caught (then the signal goes on
 * as it would have; what was ignored stays ignored).
 * SIGINT/TERM/HUP/QUIT ask the loop to end first: screen_quit_asked; a second one does not wait.
 * After SIGTSTP and SIGCONT all is drawn again. ERROR_TERMINAL, ERROR_MEMORY. */
ScreenDriver *screen_open(const ScreenOptions *options, Error *error);
void screen_close(ScreenDriver *s); /* NULL is fine */
void screen_size(const ScreenDriver *s, int *width, int *height);
bool screen_utf8(const ScreenDriver *s);
/* Writes the cells that differ from the last grid shown (all, after a resize). Returns how many
 * were written. What lies outside the terminal is left out. */
int screen_show(ScreenDriver *s, const Grid *g);
/* Waits at most `milliseconds` for a key: its rune or KEY_CODE_*; 0 none. */
uint32_t screen_key(ScreenDriver *s, int milliseconds);
bool screen_quit_asked(void);
/* Which signal asked, 0 none: main may raise it again after screen_close. SIGHUP also when the
 * terminal has gone. */
int screen_quit_signal(void);

#endif
