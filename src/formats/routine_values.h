/* routine_values.h - single values of a routine file. Internal to the room.
 *
 * All: false, and the error says what to write, with this line. */
#ifndef EVENHAND_SRC_FORMATS_ROUTINE_VALUES_H
#define EVENHAND_SRC_FORMATS_ROUTINE_VALUES_H

#include "evenhand/formats/ini.h"
#include "evenhand/plan/routine.h"

/* A whole number from min to max. */
bool routine_whole(const IniEntry *e, int min, int max, int *out, Error *error);
/* Minutes, "5" or "2.5", as whole seconds; more than none, at most so many minutes. */
bool routine_minutes(const IniEntry *e, int most, int *seconds, Error *error);
/* "72" or "1/4=72"; a beat that is not named stays 0/1. */
bool routine_tempo(const IniEntry *e, Tempo *out, Error *error);
/* "60 to 120", "1/4=60 to 1/4=120". */
bool routine_ladder(const IniEntry *e, LadderSpec *out, Error *error);
/* "numbers", "5 percent", "4": beats a minute. */
bool routine_steps(const IniEntry *e, LadderSpec *out, Error *error);
/* "straight", "two-up", "clean", "clean-3": up after so many clean ones in a row. */
bool routine_pattern(const IniEntry *e, LadderSpec *out, Error *error);
/* Words of drills with commas or blanks between them. */
bool routine_drills(const IniEntry *e, RoutineBlock *out, Error *error);
/* Which of `words` (NULL ends them) was probably meant: the one with the fewest letters to change,
 * of at most two; NULL: none. */
const char *routine_nearest(const char *given, const char *const *words);

#endif
