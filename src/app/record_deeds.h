/* record_deeds.h - what changes or copies the practice record. Internal to the room. */
#ifndef EVENHAND_SRC_APP_RECORD_DEEDS_H
#define EVENHAND_SRC_APP_RECORD_DEEDS_H

#include "evenhand/app/options.h"

/* Does o->record.deed, which is not RECORD_LIST, on the record at `path`, and prints what came of
 * it. */
bool record_deed(const Options *o, const char *path, Error *error);
/* A name as a message has it: cleaned, "(no name)" for "". */
const char *record_shown(const char *name, char out[RECORD_NAME_MAX]);

#endif
