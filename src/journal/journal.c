/* Statements, transactions, and what went wrong in plain words. */
#include "journal_parts.h"

#include "evenhand/music/text.h"

#include <stdlib.h>
#include <string.h>

bool journal_say(sqlite3 *db, const char *path, const char *doing, Error *error)
{
    int code = db != NULL ? sqlite3_errcode(db) & 0xff : SQLITE_NOMEM;
    int how = db != NULL ? sqlite3_extended_errcode(db) : 0;
    if (code == SQLITE_FULL)
        return error_set(
            error, ERROR_RECORD, "the disk is full; make room on it (%s %.120s)", doing, path);
    if (how == SQLITE_IOERR_WRITE || how == SQLITE_IOERR_FSYNC || how == SQLITE_IOERR_SHMSIZE)
        return error_set(error, ERROR_RECORD,
            "the disk is full, or fails; make room on it (%s %.120s)", doing, path);
    switch (code) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return error_set(error, ERROR_RECORD,
            "another program holds the record and does not let go; close it (%s)", doing);
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
        return error_set(error, ERROR_RECORD,
            "the record %.120s cannot be opened or written; it and its directory must be yours"
            " (%s)",
            path, doing);
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return error_set(error, ERROR_RECORD,
            "the record %.100s is damaged (%s); the next practice sets it aside and begins anew",
            path, doing);
    case SQLITE_NOMEM: return error_set(error, ERROR_MEMORY, "out of memory for the record");
    default:
        return error_set(
            error, ERROR_RECORD, "the record %.100s: %.80s (%s)", path, sqlite3_errmsg(db), doing);
    }
}

bool journal_fail(Journal *j, const char *doing, Error *error)
{
    int code = j->db != NULL ? sqlite3_errcode(j->db) & 0xff : SQLITE_OK;
    j->stale = j->stale || code == SQLITE_CORRUPT || code == SQLITE_NOTADB;
    return journal_say(j->db, j->path, doing, error);
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

sqlite3_stmt *journal_kept(Journal *j, JournalKept which, const char *doing, Error *error)
{
    static const char adding[] =
        "INSERT INTO repetition (uid, sitting, student, passage, drill, fingers, beat_num,"
        " beat_den, tempo_num, tempo_den, clean, at, day)"
        " VALUES (randomblob(16), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)";
    static const char *const texts[KEPT_STATEMENTS] = {
        [KEPT_BEGIN] = "BEGIN IMMEDIATE",
        [KEPT_COMMIT] = "COMMIT",
        [KEPT_STUDENT] = "SELECT id FROM student WHERE name = ?",
        [KEPT_SITTING] = "SELECT student FROM sitting WHERE id = ?",
        [KEPT_PASSAGE] = "SELECT id FROM passage WHERE notes = ?2 AND title = ?1",
        [KEPT_DRILL] = "SELECT id FROM drill WHERE word = ?",
        [KEPT_REPETITION] = adding,
    };
    sqlite3_stmt **s = &j->kept[which];
    if (*s == NULL && sqlite3_prepare_v3(
                          j->db, texts[which], -1, SQLITE_PREPARE_PERSISTENT, s, NULL) != SQLITE_OK)
        journal_fail(j, doing, error);
    return *s;
}

void journal_release(Journal *j, sqlite3_stmt *s)
{
    for (int i = 0; s != NULL && i < KEPT_STATEMENTS; i++)
        if (j->kept[i] == s) {
            sqlite3_reset(s);
            sqlite3_clear_bindings(s);
            return;
        }
    sqlite3_finalize(s);
}

bool journal_finish(Journal *j, sqlite3_stmt *s, const char *doing, Error *error)
{
    bool done = s != NULL && sqlite3_step(s) == SQLITE_DONE;
    if (s != NULL && !done)
        journal_fail(j, doing, error);
    journal_release(j, s);
    return done;
}

bool journal_number(
    Journal *j, sqlite3_stmt *s, int64_t none, int64_t *out, const char *doing, Error *error)
{
    int step = s != NULL ? sqlite3_step(s) : SQLITE_ERROR;
    *out = step == SQLITE_ROW ? sqlite3_column_int64(s, 0) : none;
    if (s != NULL && step != SQLITE_ROW && step != SQLITE_DONE)
        journal_fail(j, doing, error);
    journal_release(j, s);
    return step == SQLITE_ROW || step == SQLITE_DONE;
}

/* How many bytes at the end of `text` begin a character of UTF-8 that is not finished. */
static size_t cut_short(const char *text, size_t size)
{
    for (size_t back = 1; back <= 3 && back <= size; back++) {
        unsigned char c = (unsigned char)text[size - back];
        if ((c & 0xC0) == 0x80)
            continue;
        size_t length = c > 0xF4 ? 1 : c >= 0xF0 ? 4 : c >= 0xE0 ? 3 : c >= 0xC2 ? 2 : 1;
        return length > back ? back : 0;
    }
    return 0;
}

char *journal_text(const char *in, char *out, size_t size)
{
    char whole[2 * RECORD_WORD_MAX];
    size_t length = strnlen(in, sizeof whole - 1);
    memcpy(whole, in, length);
    whole[length - cut_short(in, length)] = '\0';
    return text_clean(whole, out, size);
}

static void bind_text(sqlite3_stmt *s, int at, const char *text, size_t size)
{
    char whole[RECORD_WORD_MAX];
    if (s != NULL)
        sqlite3_bind_text(s, at, journal_text(text, whole, size), -1, SQLITE_TRANSIENT);
}

void journal_bind_name(sqlite3_stmt *s, int at, const char *name)
{
    bind_text(s, at, name, RECORD_NAME_MAX);
}

void journal_bind_word(sqlite3_stmt *s, int at, const char *word)
{
    bind_text(s, at, word, RECORD_WORD_MAX);
}

/* Somebody moved or deleted the file while it was open: what is written now nobody would find. */
static bool in_place(Journal *j, const char *doing, Error *error)
{
    int moved = 0;
    if (sqlite3_file_control(j->db, "main", SQLITE_FCNTL_HAS_MOVED, &moved) != SQLITE_OK || !moved)
        return true;
    j->stale = true;
    return error_set(error, ERROR_RECORD,
        "the record %.100s was moved or deleted; start again to begin a new one (%s)", j->path,
        doing);
}

bool journal_transaction(Journal *j, const char *doing, Error *error)
{
    if (j->db == NULL || j->reading)
        return error_set(error, ERROR_RECORD, "the record is only read here (%s)", doing);
    return in_place(j, doing, error) &&
           journal_finish(j, journal_kept(j, KEPT_BEGIN, doing, error), doing, error);
}

bool journal_end(Journal *j, bool done, const char *doing, Error *error)
{
    if (done && journal_finish(j, journal_kept(j, KEPT_COMMIT, doing, error), doing, error))
        return in_place(j, doing, error);
    if (!sqlite3_get_autocommit(j->db))
        sqlite3_exec(j->db, "ROLLBACK", NULL, NULL, NULL);
    return false;
}

void journal_close(Journal *j)
{
    if (j == NULL)
        return;
    for (int i = 0; i < KEPT_STATEMENTS; i++)
        sqlite3_finalize(j->kept[i]);
    sqlite3_close(j->db);
    free(j);
}

const char *journal_news(const Journal *j)
{
    return j->news;
}

bool journal_stale(const Journal *j)
{
    return j->stale;
}
