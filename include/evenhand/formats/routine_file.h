/* routine_file.h - a timed routine as a teacher writes it by hand. Pure.
 *
 *     [routine]                     title, student, break-after (minutes), minutes (of the whole)
 *     [student]                     name: whose blocks follow
 *     [block]                       title, minutes or repetitions, passage, drills,
 *     title = Placing                 tempo or ladder (with steps, pattern, above), rest (seconds)
 *     minutes = 5
 *     passage = 03-one-octave-down.abc
 *     drills = links, finger-4
 *     tempo = 1/4=60
 *     [break]                       title, minutes
 */
#ifndef EVENHAND_FORMATS_ROUTINE_FILE_H
#define EVENHAND_FORMATS_ROUTINE_FILE_H

#include "evenhand/plan/routine.h"

/* Errors carry the line, say what is wrong and what to write: ERROR_SYNTAX for sections, names and
 * values, and for a whole whose parts do not add up to it; ERROR_LIMIT, ERROR_MEMORY. On failure
 * *out is zeroed. The caller frees with routine_free. */
bool routine_read(const char *text, size_t size, Routine *out, Error *error);

#endif
