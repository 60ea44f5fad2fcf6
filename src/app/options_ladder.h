/* options_ladder.h - inside the options only: readers of what shapes a tempo ladder. The table in
 * options.c lists them. */
#ifndef EVENHAND_SRC_APP_OPTIONS_LADDER_H
#define EVENHAND_SRC_APP_OPTIONS_LADDER_H

#include "evenhand/app/options.h"

bool read_from(Options *o, const char *value, Error *error);
bool read_to(Options *o, const char *value, Error *error);
bool read_by(Options *o, const char *value, Error *error);
bool read_pattern(Options *o, const char *value, Error *error);
bool read_clean(Options *o, const char *value, Error *error);
bool read_above(Options *o, const char *value, Error *error);
bool read_notes_per_beat(Options *o, const char *value, Error *error);

#endif
