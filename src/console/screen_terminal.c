/* Apart from the rest: <term.h> makes macros of "columns", "lines" and hundreds of other words. */
#include "screen_terminal.h"

#include <curses.h>
#include <stdlib.h>
#include <string.h>
#include <term.h>
#include <unistd.h>

bool terminal_can(Error *error)
{
    const char *name = getenv("TERM");
    int found = 0;

    if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO))
        return error_set(error, ERROR_TERMINAL, "standard input and output are not a terminal");
    if (name == NULL || name[0] == '\0')
        return error_set(error, ERROR_TERMINAL, "the variable TERM is not set");
    if (setupterm(name, STDOUT_FILENO, &found) != OK)
        return error_set(error, ERROR_TERMINAL, "the terminal type '%.60s' is not known", name);
    bool can = cursor_address != NULL && clear_screen != NULL;
    del_curterm(cur_term);
    if (!can)
        return error_set(error, ERROR_TERMINAL,
            "the terminal '%.60s' cannot place its cursor, so no screen can be drawn on it", name);
    return true;
}

/* Terminfo's strings hold delays like "$<5>", which only curses acts upon. */
static size_t add_string(char *out, size_t used, size_t size, const char *string)
{
    for (const char *s = string == NULL ? "" : string; *s != '\0' && used < size; s++) {
        const char *end = s[0] == '$' && s[1] == '<' ? strchr(s, '>') : NULL;
        if (end != NULL)
            s = end;
        else
            out[used++] = *s;
    }
    return used;
}

size_t terminal_restore(char out[TERMINAL_RESTORE_MAX])
{
    const char *const strings[] = {exit_attribute_mode, orig_pair, cursor_normal, keypad_local,
        exit_ca_mode == NULL ? "\r\n" : exit_ca_mode};
    size_t used = 0;
    for (size_t i = 0; i < sizeof strings / sizeof strings[0]; i++)
        used = add_string(out, used, TERMINAL_RESTORE_MAX, strings[i]);
    return used;
}
