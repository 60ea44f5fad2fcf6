/* help.h - what --help prints, made from the command and option tables. */
#ifndef EVENHAND_APP_HELP_H
#define EVENHAND_APP_HELP_H

#include "evenhand/app/command.h"

/* The help of the whole program, or of one command (its options only). Appends to out; false
 * without memory. */
bool help_program(Text *out);
bool help_command(Text *out, const CommandRow *command);

#endif
