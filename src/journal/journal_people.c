/* Students: renamed, deleted whole, taken to another machine; copies of the whole record. */
#include "journal_parts.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static bool need(Journal *j, const char *student, int64_t *id, Error *error)
{
    if (j->db == NULL)
        *id = 0;
    else if (!journal_student(j, student, id, error))
        return false;
    return *id != 0 || error_set(error, ERROR_RECORD, "the record has no student '%.80s'", student);
}

static sqlite3_stmt *with_id(
    Journal *j, const char *sql, int64_t id, const char *doing, Error *error)
{
    sqlite3_stmt *s = journal_prepare(j, sql, doing, error);
    if (s != NULL)
        sqlite3_bind_int64(s, 1, id);
    return s;
}

bool journal_rename(Journal *j, const char *student, const char *name, Error *error)
{
    int64_t id, other;
    if (!need(j, student, &id, error) || !journal_student(j, name, &other, error))
        return false;
    if (other == id)
        return true;
    if (other != 0)
        return error_set(error, ERROR_RECORD,
            "the record has a student '%.80s' already; choose another name", name);
    sqlite3_stmt *s =
        with_id(j, "UPDATE student SET name = ?2 WHERE id = ?1", id, "renaming", error);
    if (s != NULL)
        sqlite3_bind_text(s, 2, name, -1, SQLITE_TRANSIENT);
    return journal_finish(j, s, "renaming", error);
}

/* The triggers of each repetition would count its day anew: the day's lines go first, and the
 * repetitions by the student's own trigger at the end. */
bool journal_delete(Journal *j, const char *student, int64_t *repetitions, Error *error)
{
    static const char doing[] = "deleting";
    int64_t id;
    *repetitions = 0;
    if (!need(j, student, &id, error) || !journal_transaction(j, doing, error))
        return false;
    bool done =
        journal_number(j,
            with_id(j, "SELECT count(*) FROM repetition WHERE student = ?1", id, doing, error), 0,
            repetitions, doing, error) &&
        journal_finish(
            j, with_id(j, "DELETE FROM student WHERE id = ?1", id, doing, error), doing, error) &&
        journal_run(j,
            "DELETE FROM passage WHERE id NOT IN (SELECT passage FROM repetition);"
            "DELETE FROM drill WHERE id NOT IN (SELECT drill FROM repetition)",
            doing, error);
    if (!journal_end(j, done, doing, error))
        return false;
    /* what was deleted must not stay in the log of changes either */
    return journal_run(j, "PRAGMA wal_checkpoint(TRUNCATE)", doing, error);
}

/* A file that is there is left alone. */
static bool fresh_file(const char *path, Error *error)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0 && errno == EEXIST)
        return error_set(error, ERROR_EXISTS, "%.160s is there already", path);
    if (fd < 0)
        return error_set(error, ERROR_WRITE, "%.120s cannot be written: %s", path, strerror(errno));
    close(fd);
    return true;
}

/* A file in one piece, without a log beside it, that can be carried away. */
static bool close_whole(Journal *copy, bool done, const char *path, Error *error)
{
    done = done && journal_run(copy, "PRAGMA journal_mode = DELETE", "closing the copy", error);
    journal_close(copy);
    if (!done)
        unlink(path);
    return done;
}

bool journal_export(Journal *j, const char *student, const char *path, Error *error)
{
    static const char doing[] = "copying the student";
    int64_t id;
    if (!need(j, student, &id, error) || !fresh_file(path, error))
        return false;
    Journal *copy = journal_open(path, error);
    if (copy == NULL) {
        unlink(path);
        return false;
    }
    sqlite3_stmt *s = journal_prepare(copy, "ATTACH ? AS other", doing, error);
    if (s != NULL)
        sqlite3_bind_text(s, 1, j->path, -1, SQLITE_TRANSIENT);
    bool done = journal_finish(copy, s, doing, error) && journal_transaction(copy, doing, error);
    if (done) {
        done = journal_take_in(copy, student, error);
        done = journal_end(copy, done, doing, error) &&
               journal_run(copy, "DETACH other", doing, error);
    }
    return close_whole(copy, done, path, error);
}

bool journal_backup(Journal *j, const char *path, Error *error)
{
    static const char doing[] = "copying the record";
    if (j->db == NULL)
        return error_set(error, ERROR_RECORD, "there is no record to copy");
    if (!fresh_file(path, error))
        return false;
    sqlite3 *to = NULL;
    bool done = sqlite3_open_v2(path, &to, SQLITE_OPEN_READWRITE, NULL) == SQLITE_OK;
    sqlite3_backup *b = done ? sqlite3_backup_init(to, "main", j->db, "main") : NULL;
    done = b != NULL && sqlite3_backup_step(b, -1) == SQLITE_DONE;
    done = b != NULL && sqlite3_backup_finish(b) == SQLITE_OK && done;
    done = done && sqlite3_exec(to, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL) == SQLITE_OK;
    if (!done)
        error_set(error, ERROR_WRITE, "%.100s: %.80s (%s)", path, sqlite3_errmsg(to), doing);
    sqlite3_close(to);
    if (!done)
        unlink(path);
    return done;
}
