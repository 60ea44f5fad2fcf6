#include "evenhand/app/command.h"
#include "evenhand/app/report.h"
#include "evenhand/app/routine_load.h"

#include <unistd.h>

/* The console; without a terminal, or with --check, the table of the routine, every block loaded
 * and measured: what is wrong with one is told before any of it is printed. */
bool command_routine(const Options *o, Error *error)
{
    LoadedRoutine r;
    Text text = {0};
    if (!o->check && isatty(STDOUT_FILENO))
        return command_practice(o, error);
    if (!routine_load(o->file, o->student, &r, error))
        return false;
    bool done = routine_table(&text, &r, o, o->file, error) && report_text(&text, error);
    text_free(&text);
    routine_unload(&r);
    return done;
}
