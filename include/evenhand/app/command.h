/* command.h - the table of commands: one file each, src/app/command_<name>.c.
 *
 * A command gets the options, prints its result on standard output and returns true, or fills
 * *error and returns false; main prints the error and makes the exit code (0 done, 1 failed,
 * 2 ERROR_USAGE). False without an error: the result itself says what is wrong, exit code 1.
 */
#ifndef EVENHAND_APP_COMMAND_H
#define EVENHAND_APP_COMMAND_H

#include "evenhand/app/options.h"

#define EVENHAND_VERSION "1.0.0"

typedef struct {
    CommandId id;
    const char *name;
    const char *operand; /* "FILE[:X]", "[FILE]" (may be left out), "" none */
    const char *summary; /* one line */
    bool (*run)(const Options *o, Error *error);
} CommandRow;

const CommandRow *command_table(int *count);
const CommandRow *command_find(CommandId id); /* NULL where it is not in the table */

bool command_practice(const Options *o, Error *error);   /* the console */
bool command_unattended(const Options *o, Error *error); /* practice without a terminal: prints
                                                          * the sheet, writes the track */
bool command_show(const Options *o, Error *error);
bool command_notes(const Options *o, Error *error);
bool command_timeline(const Options *o, Error *error);
bool command_write(const Options *o, Error *error);
bool command_mark(const Options *o, Error *error);
bool command_page(const Options *o, Error *error);
bool command_routine(const Options *o, Error *error);
bool command_ladder(const Options *o, Error *error);
bool command_passages(const Options *o, Error *error);
bool command_plan(const Options *o, Error *error);
bool command_record(const Options *o, Error *error);
bool command_sound(const Options *o, Error *error);

#endif
