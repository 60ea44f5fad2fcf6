/* options_record.h - inside the options only: readers of what is asked of the practice record. The
 * table in options.c lists them. */
#ifndef EVENHAND_SRC_APP_OPTIONS_RECORD_H
#define EVENHAND_SRC_APP_OPTIONS_RECORD_H

#include "evenhand/app/options.h"

bool read_by_any(Options *o, const char *value, Error *error); /* of a ladder, or of the record */
bool read_record(Options *o, const char *value, Error *error);
bool read_passage(Options *o, const char *value, Error *error);
bool read_since(Options *o, const char *value, Error *error);
bool read_until(Options *o, const char *value, Error *error);
bool read_csv(Options *o, const char *value, Error *error);
bool read_json(Options *o, const char *value, Error *error);
bool read_stale(Options *o, const char *value, Error *error);
bool read_import(Options *o, const char *value, Error *error);
bool read_export_student(Options *o, const char *value, Error *error);
bool read_rename(Options *o, const char *value, Error *error);
bool read_delete_student(Options *o, const char *value, Error *error);
bool read_backup(Options *o, const char *value, Error *error);

#endif
