#include "record_deeds.h"

#include "evenhand/app/paths.h"
#include "evenhand/app/report.h"
#include "evenhand/journal/journal.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

const char *record_shown(const char *name, char out[RECORD_NAME_MAX])
{
    text_clean(name, out, RECORD_NAME_MAX);
    return out[0] != '\0' ? out : "(no name)";
}

static const char *plural(int64_t count)
{
    return count == 1 ? "" : "s";
}

static bool say(Text *text, bool added, Error *error)
{
    bool done = added ? report_text(text, error)
                      : error_set(error, ERROR_MEMORY, "there is no memory for the answer");
    text_free(text);
    return done;
}

/* What the journal has to tell of the record itself, as that it was damaged. */
static void tell_news(const Journal *j)
{
    char news[JOURNAL_NEWS_MAX];
    if (journal_news(j)[0] != '\0')
        fprintf(stderr, "evenhand: note: %s\n", text_clean(journal_news(j), news, sizeof news));
}

/* ---- files --------------------------------------------------------------------------------- */

static bool write_copy(Journal *j, const Options *o, const char *path, Error *error)
{
    return o->record.deed == RECORD_BACKUP ? journal_backup(j, path, error)
                                           : journal_export(j, o->record.what, path, error);
}

/* With --force the new file takes the old one's place only when it is whole. */
static bool replace(Journal *j, const Options *o, const char *path, Error *error)
{
    char beside[PATHS_MAX];
    if (snprintf(beside, sizeof beside, "%s.new-%ld", path, (long)getpid()) >= (int)sizeof beside)
        return error_set(error, ERROR_LIMIT, "the file's name is too long");
    if (!write_copy(j, o, beside, error))
        return false;
    if (rename(beside, path) == 0)
        return true;
    int why = errno;
    unlink(beside);
    return error_set(error, ERROR_WRITE, "%.120s cannot be written: %s", path, strerror(why));
}

static bool copy_out(Journal *j, const Options *o, const char *record, Error *error)
{
    const bool backup = o->record.deed == RECORD_BACKUP;
    const char *path = backup ? o->record.what : o->output;
    char name[RECORD_NAME_MAX], file[PATHS_MAX];
    Text text = {0};
    if (path == NULL)
        return error_set(
            error, ERROR_USAGE, "--export-student needs a file to write: -o STUDENT.db");
    if (paths_same(path, record))
        return error_set(
            error, ERROR_EXISTS, "%.120s is the record itself; write another file", path);
    if (!(o->force ? replace(j, o, path, error) : write_copy(j, o, path, error)))
        return false;
    text_clean(path, file, sizeof file);
    return say(&text,
        backup ? text_add(&text, "The whole record is copied to %s.\n", file)
               : text_add(&text, "What is recorded of %s is copied to %s.\n",
                     record_shown(o->record.what, name), file),
        error);
}

static bool take_in(Journal *j, const Options *o, Error *error)
{
    int64_t added, known;
    Text text = {0};
    if (!journal_merge(j, o->record.what, &added, &known, error))
        return false;
    return say(&text,
        text_add(&text, "%" PRId64 " repetition%s new, %" PRId64 " known already.\n", added,
            plural(added), known),
        error);
}

/* ---- students ------------------------------------------------------------------------------ */

static bool rename_student(Journal *j, const Options *o, Error *error)
{
    char old[PATHS_MAX], was[RECORD_NAME_MAX], is[RECORD_NAME_MAX];
    const char *equals = strchr(o->record.what, '=');
    Text text = {0};
    if (snprintf(old, sizeof old, "%.*s", (int)(equals - o->record.what), o->record.what) >=
        (int)sizeof old)
        return error_set(error, ERROR_LIMIT, "that name is too long");
    if (!journal_rename(j, old, equals + 1, error))
        return false;
    return say(&text,
        text_add(
            &text, "%s is now called %s.\n", record_shown(old, was), record_shown(equals + 1, is)),
        error);
}

/* What would go, and from which days. */
static bool warn_of_deleting(Journal *j, const Options *o, Error *error)
{
    const RecordFilter filter = {.student = o->record.what};
    RecordLine *passages = NULL;
    RecordLine *days = NULL;
    size_t passage_count, day_count;
    int64_t count = 0;
    char name[RECORD_NAME_MAX], first[DATE_TEXT_MAX], last[DATE_TEXT_MAX];
    if (!journal_lines(j, RECORD_BY_PASSAGE, &filter, &passages, &passage_count, error))
        return false;
    if (!journal_lines(j, RECORD_BY_DAY, &filter, &days, &day_count, error)) {
        free(passages);
        return false;
    }
    for (size_t i = 0; i < day_count; i++)
        count += days[i].count;
    if (day_count == 0)
        error_set(error, ERROR_RECORD, "the record has nothing of a student '%.60s'",
            record_shown(o->record.what, name));
    else
        error_set(error, ERROR_USAGE,
            "nothing is deleted yet: %" PRId64
            " repetition%s of %zu passage%s by %.40s, %s to %s, would go for good; "
            "--export-student keeps a copy, --force deletes",
            count, plural(count), passage_count, plural((int64_t)passage_count),
            record_shown(o->record.what, name), date_text(days[0].day, first),
            date_text(days[day_count - 1].day, last));
    free(passages);
    free(days);
    return false;
}

static bool delete_student(Journal *j, const Options *o, Error *error)
{
    int64_t count;
    char name[RECORD_NAME_MAX];
    Text text = {0};
    if (!o->force)
        return warn_of_deleting(j, o, error);
    if (!journal_delete(j, o->record.what, &count, error))
        return false;
    return say(&text,
        text_add(&text, "%" PRId64 " repetition%s by %s deleted.\n", count, plural(count),
            record_shown(o->record.what, name)),
        error);
}

/* ---- which --------------------------------------------------------------------------------- */

/* Only what writes opens for writing; a record that is not there is made for an import alone. */
static Journal *open_for(const Options *o, const char *path, Error *error)
{
    const RecordDeed deed = o->record.deed;
    bool changes = deed == RECORD_RENAME || (deed == RECORD_DELETE && o->force);
    bool there = access(path, F_OK) == 0;
    return deed == RECORD_IMPORT || (changes && there) ? journal_open(path, error)
                                                       : journal_open_reading(path, error);
}

bool record_deed(const Options *o, const char *path, Error *error)
{
    bool done = false;
    Journal *j = open_for(o, path, error);
    if (j == NULL)
        return false;
    tell_news(j);
    switch (o->record.deed) {
    case RECORD_IMPORT: done = take_in(j, o, error); break;
    case RECORD_EXPORT:
    case RECORD_BACKUP: done = copy_out(j, o, path, error); break;
    case RECORD_RENAME: done = rename_student(j, o, error); break;
    case RECORD_DELETE: done = delete_student(j, o, error); break;
    case RECORD_LIST: break;
    }
    journal_close(j);
    return done;
}
