/* options_plan.h - readers of the options that concern plans by the calendar. Internal to the
 * room. */
#ifndef EVENHAND_SRC_APP_OPTIONS_PLAN_H
#define EVENHAND_SRC_APP_OPTIONS_PLAN_H

#include "evenhand/app/options.h"

bool read_exam_plan(Options *o, const char *value, Error *error);
bool read_months(Options *o, const char *value, Error *error);
bool read_today(Options *o, const char *value, Error *error);

#endif
