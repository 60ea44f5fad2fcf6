/* Opening, closing, and what went wrong in plain words. */
#include "journal_parts.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { BUSY_MS = 5000, ASIDE_TRIES = 1000 };

bool journal_fail(Journal *j, const char *doing, Error *error)
{
    int code = j->db != NULL ? sqlite3_errcode(j->db) & 0xff : SQLITE_CANTOPEN;
    switch (code) {
    case SQLITE_FULL:
        return error_set(
            error, ERROR_RECORD, "the disk is full, so the record cannot take in more (%s)", doing);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return error_set(error, ERROR_RECORD,
            "another program holds the record and does not let go (%s)", doing);
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
        return error_set(
            error, ERROR_RECORD, "the record %.120s cannot be written (%s)", j->path, doing);
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return error_set(error, ERROR_RECORD, "the record %.120s is damaged (%s)", j->path, doing);
    case SQLITE_NOMEM: return error_set(error, ERROR_MEMORY, "out of memory for the record");
    default:
        return error_set(
            error, ERROR_RECORD, "the record: %.120s (%s)", sqlite3_errmsg(j->db), doing);
    }
}

bool journal_run(Journal *j, const char *sql, const char *doing, Error *error)
{
    return sqlite3_exec(j->db, sql, NULL, NULL, NULL) == SQLITE_OK || journal_fail(j, doing, error);
}

sqlite3_stmt *journal_prepare(Journal *j, const char *sql, const char *doing, Error *error)
{
    sqlite3_stmt *s = NULL;
    if (sqlite3_prepare_v2(j->db, sql, -1, &s, NULL) != SQLITE_OK)
        journal_fail(j, doing, error);
    return s;
}

bool journal_finish(Journal *j, sqlite3_stmt *s, const char *doing, Error *error)
{
    bool done = s != NULL && sqlite3_step(s) == SQLITE_DONE;
    if (s != NULL && !done)
        journal_fail(j, doing, error);
    sqlite3_finalize(s);
    return done;
}

bool journal_number(
    Journal *j, sqlite3_stmt *s, int64_t none, int64_t *out, const char *doing, Error *error)
{
    int step = s != NULL ? sqlite3_step(s) : SQLITE_ERROR;
    *out = step == SQLITE_ROW ? sqlite3_column_int64(s, 0) : none;
    if (s != NULL && step != SQLITE_ROW && step != SQLITE_DONE)
        journal_fail(j, doing, error);
    sqlite3_finalize(s);
    return step == SQLITE_ROW || step == SQLITE_DONE;
}

bool journal_transaction(Journal *j, const char *doing, Error *error)
{
    return journal_run(j, "BEGIN IMMEDIATE", doing, error);
}

bool journal_end(Journal *j, bool done, const char *doing, Error *error)
{
    if (done && journal_run(j, "COMMIT", doing, error))
        return true;
    if (!sqlite3_get_autocommit(j->db))
        sqlite3_exec(j->db, "ROLLBACK", NULL, NULL, NULL);
    return false;
}

/* Each directory on the way that is not there, for the user alone. */
static bool make_directories(const char *path, Error *error)
{
    char part[JOURNAL_PATH_MAX];
    snprintf(part, sizeof part, "%s", path);
    for (char *slash = strchr(part + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        if (mkdir(part, 0700) != 0 && errno != EEXIST)
            return error_set(error, ERROR_RECORD, "the directory %.120s cannot be made: %s", part,
                strerror(errno));
        *slash = '/';
    }
    return true;
}

/* The file is there afterwards, for the user alone; what SQLite puts beside it gets its mode. */
static bool make_file(const char *path, Error *error)
{
    int fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    bool done = fd >= 0 && fchmod(fd, 0600) == 0;
    if (!done)
        error_set(
            error, ERROR_RECORD, "the record %.120s cannot be written: %s", path, strerror(errno));
    if (fd >= 0)
        close(fd);
    return done;
}

static bool attach(Journal *j, int flags, Error *error)
{
    if (sqlite3_open_v2(j->path, &j->db, flags | SQLITE_OPEN_NOMUTEX, NULL) != SQLITE_OK)
        return journal_fail(j, "opening it", error);
    sqlite3_extended_result_codes(j->db, 0);
    sqlite3_busy_timeout(j->db, BUSY_MS);
    return true;
}

static bool damaged(const Journal *j)
{
    int code = sqlite3_errcode(j->db) & 0xff;
    return code == SQLITE_CORRUPT || code == SQLITE_NOTADB;
}

/* Looks through the whole file's structure; not at what the rows say. */
static bool sound(Journal *j, bool *bad, Error *error)
{
    static const char doing[] = "looking it through";
    sqlite3_stmt *s = journal_prepare(j, "PRAGMA quick_check(1)", doing, error);
    bool read = s != NULL && sqlite3_step(s) == SQLITE_ROW;
    const char *said = read ? (const char *)sqlite3_column_text(s, 0) : NULL;
    bool whole = said != NULL && strcmp(said, "ok") == 0;
    *bad = read ? !whole : damaged(j);
    if (s != NULL && !read)
        journal_fail(j, doing, error);
    else if (read && !whole)
        error_set(error, ERROR_RECORD, "the record %.120s is damaged", j->path);
    sqlite3_finalize(s);
    return whole;
}

/* *bad: the file is damaged, and nothing else is wrong. */
static bool set_up(Journal *j, bool *bad, Error *error)
{
    *bad = false;
    return make_directories(j->path, error) && make_file(j->path, error) &&
           attach(j, SQLITE_OPEN_READWRITE, error) && sound(j, bad, error) &&
           journal_run(j,
               "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;"
               "PRAGMA secure_delete = ON; PRAGMA trusted_schema = OFF",
               "setting it up", error) &&
           journal_migrate(j, error);
}

static void shut(Journal *j)
{
    sqlite3_close(j->db);
    j->db = NULL;
}

/* Renames the damaged file, and what belongs to it, to a name that nothing has. */
static bool set_aside(Journal *j, Error *error)
{
    static const char *const parts[] = {"-wal", "-shm", ""};
    char aside[JOURNAL_PATH_MAX + 64], from[JOURNAL_PATH_MAX + 8], to[JOURNAL_PATH_MAX + 80];
    int n = 0;
    do
        snprintf(aside, sizeof aside, "%s.damaged-%lld-%d", j->path, (long long)time(NULL), n);
    while (access(aside, F_OK) == 0 && ++n < ASIDE_TRIES);
    for (int i = 0; i < 3; i++) {
        snprintf(from, sizeof from, "%s%s", j->path, parts[i]);
        snprintf(to, sizeof to, "%s%s", aside, parts[i]);
        bool there = access(from, F_OK) == 0;
        if (there && (access(to, F_OK) == 0 || rename(from, to) != 0))
            return error_set(error, ERROR_RECORD,
                "the record %.120s is damaged and cannot be set aside: %s", j->path,
                strerror(errno));
    }
    const char *name = strrchr(aside, '/');
    snprintf(j->news, sizeof j->news,
        "The practice record was damaged: it is kept as %.120s, and a new one is begun.",
        name != NULL ? name + 1 : aside);
    return true;
}

static Journal *journal_new(const char *path, Error *error)
{
    Journal *j = calloc(1, sizeof *j);
    if (j == NULL) {
        error_set(error, ERROR_MEMORY, "out of memory for the record");
        return NULL;
    }
    if (snprintf(j->path, sizeof j->path, "%s", path) >= (int)sizeof j->path - 8) {
        error_set(error, ERROR_LIMIT, "the name of the record's file is too long");
        free(j);
        return NULL;
    }
    return j;
}

Journal *journal_open(const char *path, Error *error)
{
    bool bad;
    Journal *j = journal_new(path, error);
    if (j == NULL || set_up(j, &bad, error))
        return j;
    shut(j);
    if (bad && set_aside(j, error) && set_up(j, &bad, error))
        return j;
    journal_close(j);
    return NULL;
}

/* A schema older than what lists need is brought up to date first, which is the one thing that
 * reading may change. */
Journal *journal_open_reading(const char *path, Error *error)
{
    Journal *j = journal_new(path, error);
    if (j == NULL || access(path, F_OK) != 0)
        return j; /* an empty record */
    if (!attach(j, SQLITE_OPEN_READONLY, error)) {
        journal_close(j);
        return NULL;
    }
    int version = journal_version(j, "main");
    if (version >= 0 && version < JOURNAL_SCHEMA) {
        journal_close(j);
        return journal_open(path, error);
    }
    if (version < 0)
        journal_fail(j, "reading it", error);
    else if (version > JOURNAL_SCHEMA)
        journal_migrate(j, error); /* refuses it, with what is to be said */
    if (version == JOURNAL_SCHEMA)
        return j;
    journal_close(j);
    return NULL;
}

void journal_close(Journal *j)
{
    if (j == NULL)
        return;
    shut(j);
    free(j);
}

const char *journal_news(const Journal *j)
{
    return j->news;
}
