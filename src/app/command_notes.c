#include "evenhand/app/command.h"
#include "evenhand/app/load.h"
#include "evenhand/app/report.h"
#include "evenhand/formats/sheet.h"

bool command_notes(const Options *o, Error *error)
{
    Loaded l;
    Text text = {0};
    if (!load_passage(o->file, o, &l, error))
        return false;
    report_notices(l.passage, o->file);
    bool done = sheet_notes(&text, l.passage, &l.fingering, error) && report_text(&text, error);
    text_free(&text);
    loaded_free(&l);
    return done;
}
