#include "options_record.h"

#include "evenhand/app/values.h"

#include "options_ladder.h"

#include <string.h>

bool read_by_any(Options *o, const char *value, Error *error)
{
    for (RecordBy by = RECORD_BY_STUDENT; by < RECORD_GROUPS; by++) {
        if (strcmp(value, record_by_word(by)) != 0)
            continue;
        o->record.has_by = true;
        o->record.by = by;
        return true;
    }
    return read_by(o, value, error);
}

bool read_record(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->record.page = true;
    return true;
}

bool read_passage(Options *o, const char *value, Error *error)
{
    if (value[0] == '\0')
        return error_set(error, ERROR_USAGE, "--passage takes the title of a passage");
    o->record.passage = value;
    return true;
}

static bool read_day(const char *value, const char *name, Day *out, Error *error)
{
    return date_read(value, out, NULL) ||
           error_set(
               error, ERROR_USAGE, "%s takes a date such as 2026-11-25, not '%.40s'", name, value);
}

bool read_since(Options *o, const char *value, Error *error)
{
    return read_day(value, "--since", &o->record.since, error);
}

bool read_until(Options *o, const char *value, Error *error)
{
    return read_day(value, "--until", &o->record.until, error);
}

bool read_csv(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->record.csv = true;
    return true;
}

bool read_json(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->record.json = true;
    return true;
}

bool read_stale(Options *o, const char *value, Error *error)
{
    return value_int(value, "--stale", 1, OPTION_STALE_MAX, &o->record.stale, error);
}

/* Of what changes or copies the record one thing is done at a time. */
static bool read_deed(
    Options *o, RecordDeed deed, const char *name, const char *value, bool empty, Error *error)
{
    if (value[0] == '\0' && !empty)
        return error_set(error, ERROR_USAGE, "%s needs a value", name);
    if (o->record.deed != RECORD_LIST)
        return error_set(error, ERROR_USAGE,
            "one thing at a time: %s goes with no other change or copy of the record", name);
    o->record.deed = deed;
    o->record.what = value;
    return true;
}

bool read_import(Options *o, const char *value, Error *error)
{
    return read_deed(o, RECORD_IMPORT, "--import", value, false, error);
}

bool read_export_student(Options *o, const char *value, Error *error)
{
    return read_deed(o, RECORD_EXPORT, "--export-student", value, true, error);
}

bool read_rename(Options *o, const char *value, Error *error)
{
    const char *equals = strchr(value, '=');
    if (equals == NULL || equals[1] == '\0' || strchr(equals + 1, '=') != NULL)
        return error_set(error, ERROR_USAGE,
            "--rename takes the old name and the new one, as in --rename Ada=\"Ada B.\", not "
            "'%.60s'",
            value);
    if (strlen(equals + 1) >= RECORD_NAME_MAX)
        return error_set(
            error, ERROR_USAGE, "a student's name has at most %d bytes", RECORD_NAME_MAX - 1);
    return read_deed(o, RECORD_RENAME, "--rename", value, false, error);
}

bool read_delete_student(Options *o, const char *value, Error *error)
{
    return read_deed(o, RECORD_DELETE, "--delete-student", value, true, error);
}

bool read_backup(Options *o, const char *value, Error *error)
{
    return read_deed(o, RECORD_BACKUP, "--backup", value, false, error);
}
