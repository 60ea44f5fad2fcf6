#include "evenhand/app/command.h"
#include "evenhand/app/export.h"
#include "evenhand/app/report.h"

bool command_write(const Options *o, Error *error)
{
    Loaded l;
    if (!o->output)
        return error_set(error, ERROR_USAGE, "write needs a file to write: -o OUT.wav");
    if (!export_can(o->output, error) || !load_passage(o->file, o, &l, error))
        return false;
    report_notices(l.passage, o->file);
    bool done = export_write(&l, o, o->output, o->force, error);
    loaded_free(&l);
    return done;
}
