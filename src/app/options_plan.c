#include "options_plan.h"

bool read_exam_plan(Options *o, const char *value, Error *error)
{
    if (value[0] == '\0')
        return error_set(error, ERROR_USAGE, "--plan needs a file: --plan PLAN.ini");
    o->exam_plan = value;
    return true;
}

bool read_months(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->months = true;
    return true;
}

bool read_today(Options *o, const char *value, Error *error)
{
    o->has_today = true;
    return date_read(value, &o->today, NULL) ||
           error_set(
               error, ERROR_USAGE, "--today takes a date such as 2026-11-25, not '%.40s'", value);
}
