#include "evenhand/app/command.h"
#include "evenhand/app/load.h"
#include "evenhand/app/report.h"
#include "evenhand/formats/sheet.h"

#include <langinfo.h>
#include <string.h>

bool command_show(const Options *o, Error *error)
{
    Loaded l;
    Text text = {0};
    SheetStyle style = {.utf8 = !o->ascii && strcmp(nl_langinfo(CODESET), "UTF-8") == 0};
    if (!load_passage(o->file, o, &l, error))
        return false;
    report_notices(l.passage, o->file);
    bool done =
        sheet_show(&text, l.passage, &l.fingering, &l.rotation, &l.session, &style, error) &&
        report_text(&text, error);
    text_free(&text);
    loaded_free(&l);
    return done;
}
