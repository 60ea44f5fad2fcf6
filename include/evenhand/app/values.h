/* values.h - reads the single values of the command line, each with its stated range.
 *
 * All: ERROR_USAGE on failure, naming `what` (e.g. "--rate"), the range and what was given.
 */
#ifndef EVENHAND_APP_VALUES_H
#define EVENHAND_APP_VALUES_H

#include "evenhand/music/error.h"
#include "evenhand/music/tempo.h"

/* A whole number from min to max, nothing before or after it. */
bool value_int(const char *text, const char *what, int min, int max, int *out, Error *error);
/* A number from min to max with at most three decimals, exact: "72", "66.5". */
bool value_decimal(const char *text, const char *what, int min, int max, Ratio *out, Error *error);
/* A note length as a fraction of a whole note, 1/128 to 2: "1/8", "3/8"; out in quarters. */
bool value_length(const char *text, const char *what, Ratio *out, Error *error);
/* "72": beat stays 0/1, the passage's own beat unit; "3/8=60": the unit named. */
bool value_tempo(const char *text, const char *what, Tempo *out, Error *error);

#endif
