/* paths.h - where the bundled sounds and passages are, and where the practice record is.
 *
 * The bundled ones are tried in this order: $EVENHAND_DATA; next to the program (build/evenhand:
 * the directory above; PREFIX/bin/evenhand: ../share/evenhand); EVENHAND_DATADIR, compiled in by
 * make install. The first that has the wanted directory is taken.
 */
#ifndef EVENHAND_APP_PATHS_H
#define EVENHAND_APP_PATHS_H

#include "evenhand/music/error.h"

enum { PATHS_MAX = 4096 };

/* Fills out with the directory `what` ("sounds" or "presets"). ERROR_READ says where it was
 * looked for. */
bool paths_data(const char *what, char out[PATHS_MAX], Error *error);
/* directory/name into out; ERROR_LIMIT when it does not fit. */
bool paths_join(const char *directory, const char *name, char out[PATHS_MAX], Error *error);
/* The practice record's file, which may not be there yet: evenhand/record.db in $XDG_DATA_HOME,
 * where that is unset, empty or relative in ~/.local/share [XDG Base Directory Specification].
 * ERROR_RECORD where HOME does not name a directory either, ERROR_LIMIT for too long a name. */
bool paths_record(char out[PATHS_MAX], Error *error);
/* Whether both names, links followed, are one file that is there. */
bool paths_same(const char *a, const char *b);

#endif
