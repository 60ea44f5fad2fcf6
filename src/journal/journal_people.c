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

/* What was deleted or renamed must stay nowhere: SQLite overwrites it in the file
 * (secure_delete), pages that were moved about are written anew where there is room for that, and
 * the log of changes is cut to nothing. Whoever reads at that moment may keep the log: then the
 * news says so. */
static void wipe(Journal *j)
{
    static const char doing[] = "wiping";
    int64_t busy = 1;
    sqlite3_exec(j->db, "VACUUM", NULL, NULL, NULL);
    bool done =
        journal_number(j, journal_prepare(j, "PRAGMA wal_checkpoint(TRUNCATE)", doing, NULL), 1,
            &busy, doing, NULL) &&
        busy == 0;
    if (!done)
        snprintf(j->news, sizeof j->news,
            "It is done, but traces stay in the record's log until every other evenhand that has "
            "it open is closed.");
}

bool journal_rename(Journal *j, const char *student, const char *name, Error *error)
{
    static const char doing[] = "renaming";
    int64_t id, other;
    if (!need(j, student, &id, error) || !journal_transaction(j, doing, error))
        return false;
    bool done = journal_student(j, name, &other, error);
    if (done && other != 0 && other != id)
        done = error_set(error, ERROR_RECORD,
            "the record has a student '%.80s' already; choose another name", name);
    if (done && other == 0) {
        sqlite3_stmt *s =
            with_id(j, "UPDATE student SET name = ?2 WHERE id = ?1", id, doing, error);
        journal_bind_name(s, 2, name);
        done = journal_finish(j, s, doing, error);
    }
    if (!journal_end(j, done, doing, error))
        return false;
    if (other == 0)
        wipe(j);
    return true;
}

/* The days' lines go first: else each repetition's trigger would count its day anew. */
bool journal_delete(Journal *j, const char *student, int64_t *repetitions, Error *error)
{
    static const char doing[] = "deleting";
    static const char *const steps[] = {
        "DELETE FROM coarse WHERE level IN (0, 1, 2) AND student = ?1",
        "DELETE FROM daily WHERE student = ?1", "DELETE FROM fingering WHERE student = ?1",
        "DELETE FROM repetition WHERE student = ?1", "DELETE FROM sitting WHERE student = ?1",
        "DELETE FROM student WHERE id = ?1"};
    int64_t id;
    *repetitions = 0;
    if (!need(j, student, &id, error) || !journal_transaction(j, doing, error))
        return false;
    bool done = journal_number(j,
        with_id(j, "SELECT count(*) FROM repetition WHERE student = ?1", id, doing, error), 0,
        repetitions, doing, error);
    for (size_t i = 0; done && i < sizeof steps / sizeof steps[0]; i++)
        done = journal_finish(j, with_id(j, steps[i], id, doing, error), doing, error);
    done = done && journal_run(j,
                       "DELETE FROM passage WHERE id NOT IN (SELECT passage FROM daily);"
                       "DELETE FROM drill WHERE id NOT IN (SELECT drill FROM daily)",
                       doing, error);
    if (!journal_end(j, done, doing, error))
        return false;
    wipe(j);
    return true;
}

enum { PART_MAX = JOURNAL_PATH_MAX + 32 };

/* A copy is made under another name first, so that one that was broken off is never taken for a
 * whole one. A file that is there is left alone. */
static bool begin_copy(const char *path, char part[PART_MAX], Error *error)
{
    if (strlen(path) >= JOURNAL_PATH_MAX - 64)
        return error_set(error, ERROR_LIMIT, "the copy's name is too long");
    if (access(path, F_OK) == 0)
        return error_set(error, ERROR_EXISTS, "%.160s is there already", path);
    snprintf(part, PART_MAX, "%s.part-%ld", path, (long)getpid());
    int fd = open(part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0)
        return error_set(error, ERROR_WRITE, "%.120s cannot be written: %s", path, strerror(errno));
    close(fd);
    return true;
}

/* Some file systems know no second name for a file: there it is renamed. */
static bool end_copy(const char *path, const char *part, bool done, Error *error)
{
    bool linked = done && link(part, path) == 0;
    bool taken = done && !linked && access(path, F_OK) == 0;
    if (taken)
        error_set(error, ERROR_EXISTS, "%.160s is there already", path);
    else if (done && !linked && rename(part, path) != 0)
        error_set(error, ERROR_WRITE, "%.120s cannot be written: %s", path, strerror(errno));
    else if (done && !linked)
        return true;
    unlink(part);
    return linked;
}

/* In one piece, without a log beside it, so that it can be carried away. */
static bool close_whole(Journal *copy, bool done, Error *error)
{
    done = done && journal_run(copy, "PRAGMA journal_mode = DELETE", "closing the copy", error);
    journal_close(copy);
    return done;
}

static bool take_student(Journal *copy, Journal *j, const char *student, Error *error)
{
    static const char doing[] = "copying the student";
    if (!journal_attach(copy, j->path, error))
        return false;
    bool done = journal_transaction(copy, doing, error);
    if (done)
        done = journal_end(copy, journal_take_in(copy, student, error), doing, error);
    journal_detach(copy);
    return done;
}

bool journal_export(Journal *j, const char *student, const char *path, Error *error)
{
    int64_t id;
    char part[PART_MAX];
    if (!need(j, student, &id, error) || !begin_copy(path, part, error))
        return false;
    Journal *copy = journal_open(part, error);
    bool done = copy != NULL && take_student(copy, j, student, error);
    return end_copy(path, part, close_whole(copy, done, error), error);
}

static bool copy_all(Journal *j, const char *part, Error *error)
{
    sqlite3 *to = NULL;
    bool done = sqlite3_open_v2(part, &to, SQLITE_OPEN_READWRITE, NULL) == SQLITE_OK;
    sqlite3_backup *b = done ? sqlite3_backup_init(to, "main", j->db, "main") : NULL;
    done = b != NULL && sqlite3_backup_step(b, -1) == SQLITE_DONE;
    done = b != NULL && sqlite3_backup_finish(b) == SQLITE_OK && done;
    done = done && sqlite3_exec(to, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL) == SQLITE_OK;
    if (!done)
        journal_say(to, part, "copying the record to", error);
    sqlite3_close(to);
    return done;
}

bool journal_backup(Journal *j, const char *path, Error *error)
{
    char part[PART_MAX];
    if (j->db == NULL)
        return error_set(error, ERROR_RECORD, "there is no record to copy");
    if (!begin_copy(path, part, error))
        return false;
    return end_copy(path, part, copy_all(j, part, error), error);
}
