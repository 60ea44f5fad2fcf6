#include "evenhand/app/command.h"
#include "evenhand/app/report.h"
#include "evenhand/app/routine_load.h"

/* The table of a routine, every block loaded and measured: what is wrong with one is told before
 * any of it is printed. */
bool command_routine(const Options *o, Error *error)
{
    LoadedRoutine r;
    Text text = {0};
    if (!routine_load(o->file, o->student, &r, error))
        return false;
    bool done = routine_table(&text, &r, o, o->file, error) && report_text(&text, error);
    text_free(&text);
    routine_unload(&r);
    return done;
}
