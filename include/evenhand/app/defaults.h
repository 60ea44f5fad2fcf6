/* defaults.h - what a player has set for all passages. Console thread; reads one small file.
 *
 * $XDG_CONFIG_HOME/evenhand/fingers, else ~/.config/evenhand/fingers: words as in wishes.h, lines
 * that begin with # passed over. [XDG base directories: unset, empty or relative: the default] */
#ifndef EVENHAND_APP_DEFAULTS_H
#define EVENHAND_APP_DEFAULTS_H

#include "evenhand/harp/fingering.h"

/* Where the file would be, into out; false where there is no home. */
bool defaults_path(char *out, size_t size);
/* Adds the file's wishes to *options. No file: nothing. Errors carry the file and its line. */
bool defaults_fingers(FingeringOptions *options, Error *error);

#endif
