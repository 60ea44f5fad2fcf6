/* options_fingers.h - inside the options only: readers of what shapes fingers, hands and the page.
 * The table in options.c lists them. */
#ifndef EVENHAND_SRC_APP_OPTIONS_FINGERS_H
#define EVENHAND_SRC_APP_OPTIONS_FINGERS_H

#include "evenhand/app/options.h"

bool read_hands(Options *o, const char *value, Error *error);
bool read_largest_group(Options *o, const char *value, Error *error);
bool read_small(Options *o, const char *value, Error *error);
bool read_each_octave(Options *o, const char *value, Error *error);
bool read_avoid_twos(Options *o, const char *value, Error *error);
bool read_lifted(Options *o, const char *value, Error *error);
bool read_start(Options *o, const char *value, Error *error);
bool read_ignore_marks(Options *o, const char *value, Error *error);
bool read_plans(Options *o, const char *value, Error *error);
bool read_check(Options *o, const char *value, Error *error);

bool read_instrument(Options *o, const char *value, Error *error);
bool read_names(Options *o, const char *value, Error *error);
bool read_paper(Options *o, const char *value, Error *error);
bool read_page(Options *o, const char *value, Error *error);

#endif
