/* Opening the record: made where there is none, refused untouched where it is not ours or newer,
 * set aside where it is damaged. */
#include "journal_parts.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { BUSY_MS = 5000, BUSY_PAUSE_MS = 10, ASIDE_TRIES = 1000, BESIDE = 4 };
enum { PART_MAX = JOURNAL_PATH_MAX + 80, URI_MAX = 3 * JOURNAL_PATH_MAX };

/* What SQLite puts beside a file, and the file. */
static const char *const beside[BESIDE] = {"-journal", "-wal", "-shm", ""};

/* Each directory on the way that is not there, for the user alone. */
static bool make_directories(const char *path, Error *error)
{
    char part[JOURNAL_PATH_MAX];
    snprintf(part, sizeof part, "%s", path);
    for (char *slash = strchr(part + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        struct stat there;
        if (stat(part, &there) != 0 && mkdir(part, 0700) != 0 && errno != EEXIST)
            return error_set(error, ERROR_RECORD,
                "the directory %.120s cannot be made: %s; make it, or set XDG_DATA_HOME", part,
                strerror(errno));
        *slash = '/';
    }
    return true;
}

/* A file that is there is not opened here: closing it would drop the locks that another Journal of
 * this process may have on it. */
static bool make_file(const char *path, bool *made, Error *error)
{
    *made = false;
    struct stat there;
    if (stat(path, &there) == 0)
        return true;
    int fd = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0 && errno == EEXIST)
        return true;
    if (fd < 0)
        return error_set(error, ERROR_RECORD,
            "the record %.100s cannot be made: %s; its directory must be yours and have room", path,
            strerror(errno));
    *made = true;
    close(fd);
    return true;
}

/* The record's file, and what is beside it, for the user alone. */
static void make_private(const char *path)
{
    char part[PART_MAX];
    struct stat there;
    for (int i = 0; i < BESIDE; i++) {
        snprintf(part, sizeof part, "%s%s", path, beside[i]);
        if (stat(part, &there) == 0 && (there.st_mode & 077) != 0)
            chmod(part, 0600); /* somebody else's, and writable: then it stays as it is */
    }
}

/* "file:" and the path as SQLite reads it in a URI. */
static void uri_of(const char *path, const char *query, char out[URI_MAX])
{
    static const char plain[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/._-";
    int used = snprintf(out, URI_MAX, path[0] == '/' ? "file://" : "file:");
    for (; *path != '\0' && used < URI_MAX - 64; path++)
        used += snprintf(out + used, 4, strchr(plain, *path) != NULL ? "%c" : "%%%02X",
            (unsigned)(unsigned char)*path);
    snprintf(out + used, (size_t)(URI_MAX - used), "?%s", query);
}

static void shut(Journal *j)
{
    for (int i = 0; i < KEPT_STATEMENTS; i++) {
        sqlite3_finalize(j->kept[i]);
        j->kept[i] = NULL;
    }
    sqlite3_close(j->db);
    j->db = NULL;
}

bool journal_attach_file(Journal *j, int flags, const char *query, Error *error)
{
    char uri[URI_MAX];
    uri_of(j->path, query, uri);
    if (sqlite3_open_v2(uri, &j->db, flags | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_URI, NULL) !=
        SQLITE_OK)
        return journal_fail(j, "opening it", error);
    sqlite3_busy_timeout(j->db, BUSY_MS);
    return true;
}

/* Until all has been looked at, closing it again must not write what waits in its log. */
static void hold_log(Journal *j, bool hold)
{
    sqlite3_db_config(j->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, (int)hold, (int *)NULL);
}

/* SQLite would begin a file of no bytes (or one) anew, and throw away what waits in the log beside
 * it. */
static bool beginning_lost(Journal *j, Error *error)
{
    char log[PART_MAX];
    struct stat file, waiting;
    snprintf(log, sizeof log, "%s-wal", j->path);
    if (stat(j->path, &file) != 0 || file.st_size > 1 || stat(log, &waiting) != 0 ||
        waiting.st_size == 0)
        return false;
    error_set(error, ERROR_RECORD, "the record %.120s has lost its beginning", j->path);
    return true;
}

/* Looks through the whole file's structure; not at what the rows say. */
static bool sound(Journal *j, Error *error)
{
    static const char doing[] = "looking it through";
    sqlite3_stmt *s = journal_prepare(j, "PRAGMA quick_check(1)", doing, error);
    bool read = s != NULL && sqlite3_step(s) == SQLITE_ROW;
    const char *said = read ? (const char *)sqlite3_column_text(s, 0) : NULL;
    bool whole = said != NULL && strcmp(said, "ok") == 0;
    if (s != NULL && !read)
        journal_fail(j, doing, error);
    else if (read && !whole) {
        j->stale = true;
        error_set(error, ERROR_RECORD, "the record %.120s is damaged", j->path);
    }
    sqlite3_finalize(s);
    return whole;
}

/* Two programs that begin the same record at once: one is told to wait, and SQLite does not wait
 * for it here. */
static bool keep_log(Journal *j, Error *error)
{
    const struct timespec pause = {0, BUSY_PAUSE_MS * 1000000L};
    int code = SQLITE_OK;
    for (int i = 0; i < BUSY_MS / BUSY_PAUSE_MS; i++) {
        code = sqlite3_exec(j->db, "PRAGMA journal_mode = WAL", NULL, NULL, NULL);
        if (code != SQLITE_BUSY)
            break;
        nanosleep(&pause, NULL);
    }
    return code == SQLITE_OK || journal_fail(j, "setting it up", error);
}

static bool set_up(Journal *j, Error *error)
{
    bool made;
    int version;
    j->stale = false;
    if (!make_directories(j->path, error) || !make_file(j->path, &made, error))
        return false;
    if (!made && beginning_lost(j, error)) {
        j->stale = true;
        return false;
    }
    if (!journal_attach_file(j, SQLITE_OPEN_READWRITE, "", error))
        return false;
    hold_log(j, true);
    if (!journal_ours(j, &version, error) || !sound(j, error))
        return false;
    hold_log(j, false);
    bool done = journal_run(j,
                    "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;"
                    "PRAGMA secure_delete = ON; PRAGMA trusted_schema = OFF",
                    "setting it up", error) &&
                keep_log(j, error) && journal_migrate(j, error);
    make_private(j->path);
    return done;
}

/* Takes a name that nothing has, with an empty file. */
static bool claim(const char *path, char aside[PART_MAX])
{
    for (int n = 0; n < ASIDE_TRIES; n++) {
        snprintf(aside, PART_MAX, "%s.damaged-%lld-%d", path, (long long)time(NULL), n);
        int fd = open(aside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
        if (fd >= 0) {
            close(fd);
            return true;
        }
        if (errno != EEXIST)
            return false;
    }
    return false;
}

/* Renames the damaged file, and before it what belongs to it, to a name that nothing has. */
static bool set_aside(Journal *j, const struct stat *damaged, Error *error)
{
    char aside[PART_MAX], from[PART_MAX + 8], to[PART_MAX + 8];
    struct stat now;
    if (stat(j->path, &now) != 0 || now.st_ino != damaged->st_ino || now.st_dev != damaged->st_dev)
        return true; /* another program was faster, and has begun a new one */
    bool done = claim(j->path, aside);
    for (int i = 0; done && i < BESIDE; i++) {
        snprintf(from, sizeof from, "%s%s", j->path, beside[i]);
        snprintf(to, sizeof to, "%s%s", aside, beside[i]);
        done = rename(from, to) == 0 || (errno == ENOENT && beside[i][0] != '\0');
    }
    if (!done)
        return error_set(error, ERROR_RECORD,
            "the record %.100s is damaged and cannot be set aside: %s; move it away", j->path,
            strerror(errno));
    const char *name = strrchr(aside, '/');
    snprintf(j->news, sizeof j->news,
        "The practice record was damaged: it is kept beside the new one that is begun, as %.120s.",
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
    if (snprintf(j->path, sizeof j->path, "%s", path) >= (int)sizeof j->path - 64) {
        error_set(error, ERROR_LIMIT, "the name of the record's file is too long");
        free(j);
        return NULL;
    }
    return j;
}

Journal *journal_open(const char *path, Error *error)
{
    struct stat before = {0};
    Journal *j = journal_new(path, error);
    if (j == NULL || set_up(j, error))
        return j;
    bool damaged = j->stale && stat(j->path, &before) == 0;
    shut(j);
    if (damaged && set_aside(j, &before, error) && set_up(j, error))
        return j;
    journal_close(j);
    return NULL;
}

/* Bytes of what lies beside a file; -1: it is not there. */
static long long bytes_beside(const char *path, const char *what)
{
    char part[PART_MAX];
    struct stat there;
    snprintf(part, sizeof part, "%s%s", path, what);
    return stat(part, &there) == 0 ? (long long)there.st_size : -1;
}

/* Nothing waits beside it: all that was written is in the file. */
static bool in_one_piece(const char *path)
{
    return bytes_beside(path, "-wal") <= 0 && bytes_beside(path, "-journal") <= 0;
}

/* SQLite may not put its files beside it, or open those that are there. */
static bool kept_out(Journal *j)
{
    int code = j->db != NULL ? sqlite3_errcode(j->db) & 0xff : SQLITE_OK;
    return code == SQLITE_CANTOPEN || code == SQLITE_READONLY;
}

/* The first look. Where SQLite may not put its files beside the record (a medium that is only
 * read), a record without a log can be read as it lies. */
static bool look(Journal *j, int *version, Error *error)
{
    if (journal_attach_file(j, SQLITE_OPEN_READONLY, "", error) && journal_ours(j, version, error))
        return true;
    if (!kept_out(j) || !in_one_piece(j->path))
        return false;
    shut(j);
    return journal_attach_file(j, SQLITE_OPEN_READONLY, "immutable=1", error) &&
           journal_ours(j, version, error);
}

/* A schema older than what lists need is brought up to date first, which is the one thing that
 * reading may change. */
Journal *journal_open_reading(const char *path, Error *error)
{
    struct stat there;
    int version;
    Journal *j = journal_new(path, error);
    if (j == NULL)
        return NULL;
    j->reading = true;
    bool missing = stat(path, &there) != 0;
    if (missing && errno != ENOENT && errno != ENOTDIR) {
        error_set(
            error, ERROR_RECORD, "the record %.120s cannot be read: %s", path, strerror(errno));
        journal_close(j);
        return NULL;
    }
    if (missing || (there.st_size == 0 && in_one_piece(path)))
        return j; /* an empty record */
    bool done = look(j, &version, error);
    if (done && version == JOURNAL_SCHEMA)
        return j;
    journal_close(j);
    return done ? journal_open(path, error) : NULL;
}

static bool attach(Journal *j, const char *path, const char *query)
{
    char uri[URI_MAX];
    uri_of(path, query, uri);
    sqlite3_stmt *s = NULL;
    bool done = sqlite3_prepare_v2(j->db, "ATTACH ? AS other", -1, &s, NULL) == SQLITE_OK &&
                sqlite3_bind_text(s, 1, uri, -1, SQLITE_STATIC) == SQLITE_OK &&
                sqlite3_step(s) == SQLITE_DONE;
    sqlite3_finalize(s);
    return done;
}

/* A file that nobody has open is read as it lies, so that nothing is left beside it; another with
 * whoever has it open. */
bool journal_attach(Journal *j, const char *path, Error *error)
{
    if (strlen(path) >= JOURNAL_PATH_MAX || access(path, R_OK) != 0)
        return error_set(error, ERROR_READ, "%.160s cannot be read", path);
    bool alone = bytes_beside(path, "-wal") < 0 && bytes_beside(path, "-journal") < 0;
    if (attach(j, path, alone ? "immutable=1" : "mode=ro"))
        return true;
    if (kept_out(j) && in_one_piece(path))
        return attach(j, path, "immutable=1") ||
               error_set(error, ERROR_READ, "%.160s cannot be read", path);
    if (kept_out(j))
        return error_set(error, ERROR_RECORD,
            "part of the record %.100s waits in files beside it; copy all to where you may write",
            path);
    return error_set(error, ERROR_RECORD, "%.160s is no practice record, or it is damaged", path);
}

void journal_detach(Journal *j)
{
    sqlite3_exec(j->db, "DETACH other", NULL, NULL, NULL);
}
