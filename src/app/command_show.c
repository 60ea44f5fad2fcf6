#include "evenhand/app/command.h"
#include "evenhand/app/load.h"
#include "evenhand/app/remarks.h"
#include "evenhand/app/report.h"
#include "evenhand/formats/sheet.h"

#include <langinfo.h>
#include <string.h>

static bool print_sheet(const Loaded *l, const SheetStyle *style, Error *error)
{
    Text text = {0};
    bool done =
        sheet_show(&text, l->passage, &l->fingering, &l->rotation, &l->session, style, error) &&
        report_text(&text, error);
    text_free(&text);
    return done;
}

/* The sheet with the best plans and with what the passage asks of the harp. */
static bool show(const Options *o, const Loaded *l, Error *error)
{
    FingeringOptions fingers = load_fingering_options(o, l->passage);
    Fingering plans[FINGERING_PLANS_MAX];
    Setting setting;
    Instrument harp = o->harp;
    SheetStyle style = {.utf8 = !o->ascii && strcmp(nl_langinfo(CODESET), "UTF-8") == 0,
        .names = o->names,
        .plans = plans,
        .setting = &setting};
    if (!o->has_harp && !instrument_parse(HARP_UNASKED, &harp, error))
        return false;
    if (!setting_make_named(l->passage, &harp, o->names, &setting, error))
        return false;
    bool done = fingering_plans(l->passage, &fingers, o->plans > 0 ? o->plans : OPTION_PLANS, plans,
                    &style.plan_count, error) &&
                print_sheet(l, &style, error);
    for (int i = 0; i < style.plan_count; i++)
        fingering_free(&plans[i]);
    setting_free(&setting);
    return done;
}

/* False without an error when something stands against the marks: it is said already. */
static bool check(const Options *o, const Loaded *l, Error *error)
{
    FingeringOptions fingers = load_fingering_options(o, l->passage);
    char path[PATHS_MAX], source[ERROR_SOURCE_MAX];
    int reference;
    Remarks r;
    Text text = {0};
    if (!load_split(o->file, path, &reference, error) ||
        !remarks_make(l->passage, &fingers, &r, error))
        return false;
    text_clean(strcmp(path, "-") == 0 ? "standard input" : path, source, sizeof source);
    bool done = remarks_text(&text, &r, l->passage, source, error) && report_text(&text, error);
    bool clean = r.counted == 0;
    text_free(&text);
    remarks_free(&r);
    return done && clean;
}

bool command_show(const Options *o, Error *error)
{
    Loaded l;
    if (!load_passage(o->file, o, &l, error))
        return false;
    report_notices(l.passage, o->file);
    bool done = o->check ? check(o, &l, error) : show(o, &l, error);
    loaded_free(&l);
    return done;
}
