#include "shelf.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <dirent.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static char folder[64];
static char paths[8][SHELF_PATH];
static int next_path, next_folder;

int shelf_begin(void **state)
{
    (void)state;
    snprintf(folder, sizeof folder, "%s/evenhand-record-XXXXXX",
        access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
    return mkdtemp(folder) == NULL;
}

int shelf_end(void **state)
{
    (void)state;
    char command[SHELF_PATH];
    snprintf(command, sizeof command, "chmod -R u+rwX '%s'; rm -rf '%s'", folder, folder);
    return system(command) != 0;
}

const char *shelf_folder(void)
{
    return folder;
}

static char *fresh_path(void)
{
    return paths[next_path++ % 8];
}

const char *shelf_new(const char *name)
{
    char *path = fresh_path();
    int at = snprintf(path, SHELF_PATH, "%s/%d", folder, next_folder++);
    assert_int_equal(mkdir(path, 0700), 0);
    snprintf(path + at, SHELF_PATH - (size_t)at, "/%s", name);
    return path;
}

const char *shelf_path(const char *path, const char *beside)
{
    char whole[2 * SHELF_PATH];
    snprintf(whole, sizeof whole, "%s%s", path, beside);
    return strcpy(fresh_path(), whole);
}

Repetition shelf_repetition(const char *student, int passage, int drill, Day day, bool clean)
{
    Repetition r = {.notes = 1000 + (uint64_t)passage,
        .fingers = 7,
        .tempo = tempo(ratio_int(1), ratio_int(60 + passage)),
        .clean = clean,
        .at = day * INT64_C(86400000),
        .day = day};
    snprintf(r.student, sizeof r.student, "%s", student);
    snprintf(r.passage, sizeof r.passage, "Passage %d", passage);
    snprintf(r.drill, sizeof r.drill, "drill-%d", drill);
    return r;
}

Journal *shelf_open(const char *path)
{
    Error error = {0};
    Journal *j = journal_open(path, &error);
    if (j == NULL)
        fail_msg("%s: %s", path, error.text);
    return j;
}

void shelf_fill(Journal *j, const char *student, int count, Day day)
{
    int64_t sitting, id;
    Error error = {0};
    assert_true(journal_begin(j, student, day * INT64_C(86400000), day, &sitting, &error));
    for (int i = 0; i < count; i++) {
        Repetition r = shelf_repetition(student, i % 3, i % 2, day, i % 4 != 0);
        r.at += i;
        if (!journal_add(j, sitting, &r, &id, &error))
            fail_msg("%s", error.text);
    }
}

void shelf_make(const char *path, const char *student, int count, Day day)
{
    Journal *j = shelf_open(path);
    shelf_fill(j, student, count, day);
    journal_close(j);
}

static sqlite3 *plain(const char *path)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
    sqlite3_busy_timeout(db, 10000);
    return db;
}

int64_t shelf_ask(const char *path, const char *sql)
{
    sqlite3 *db = plain(path);
    sqlite3_stmt *s = NULL;
    if (sqlite3_prepare_v2(db, sql, -1, &s, NULL) != SQLITE_OK || sqlite3_step(s) != SQLITE_ROW)
        fail_msg("%s: %s: %s", path, sql, sqlite3_errmsg(db));
    int64_t value = sqlite3_column_int64(s, 0);
    sqlite3_finalize(s);
    sqlite3_close(db);
    return value;
}

void shelf_tell(const char *path, const char *sql)
{
    sqlite3 *db = plain(path);
    if (sqlite3_exec(db, sql, NULL, NULL, NULL) != SQLITE_OK)
        fail_msg("%s: %s: %s", path, sql, sqlite3_errmsg(db));
    sqlite3_close(db);
}

void shelf_make_older(const char *path, int version)
{
    shelf_tell(path,
        "BEGIN; DROP TRIGGER student_gone; DROP TRIGGER daily_added; DROP TRIGGER daily_grown;"
        "DROP TRIGGER daily_gone; DROP TABLE coarse;"
        "CREATE TRIGGER student_gone AFTER DELETE ON student BEGIN"
        "  DELETE FROM daily WHERE student = old.id; DELETE FROM fingering WHERE student = old.id;"
        "END; PRAGMA user_version = 2; COMMIT;");
    if (version == 1)
        shelf_tell(path,
            "BEGIN; DROP TRIGGER repetition_added; DROP TRIGGER repetition_judged;"
            "DROP TRIGGER repetition_gone; DROP TRIGGER student_gone; DROP TABLE daily;"
            "DROP TABLE fingering; PRAGMA user_version = 1; COMMIT;");
}

bool shelf_whole(const char *path)
{
    return shelf_ask(path, "SELECT count(*) FROM pragma_integrity_check WHERE integrity_check <> "
                           "'ok'") == 0 &&
           shelf_ask(path, "SELECT count(*) FROM pragma_foreign_key_check") == 0;
}

int64_t shelf_count(const char *path)
{
    return shelf_ask(path, "SELECT count(*) FROM repetition");
}

ShelfBytes shelf_read(const char *path)
{
    ShelfBytes b = {NULL, 0};
    FILE *f = fopen(path, "rb");
    if (f == NULL)
        return b;
    fseek(f, 0, SEEK_END);
    b.size = (size_t)ftell(f);
    rewind(f);
    b.bytes = malloc(b.size + 1);
    assert_non_null(b.bytes);
    assert_int_equal(fread(b.bytes, 1, b.size, f), b.size);
    fclose(f);
    return b;
}

void shelf_write(const char *path, const void *bytes, size_t size)
{
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(bytes, 1, size, f), size);
    assert_int_equal(fclose(f), 0);
}

bool shelf_same(ShelfBytes a, ShelfBytes b)
{
    return a.size == b.size && (a.size == 0 || memcmp(a.bytes, b.bytes, a.size) == 0);
}

bool shelf_holds(const char *path, const char *text)
{
    ShelfBytes b = shelf_read(path);
    size_t length = strlen(text);
    bool found = false;
    for (size_t i = 0; !found && i + length <= b.size; i++)
        found = memcmp(b.bytes + i, text, length) == 0;
    free(b.bytes);
    return found;
}

int shelf_mode(const char *path)
{
    struct stat there;
    return stat(path, &there) == 0 ? (int)(there.st_mode & 0777) : -1;
}

int shelf_set_aside(const char *path)
{
    char where[SHELF_PATH];
    snprintf(where, sizeof where, "%s", path);
    char *slash = strrchr(where, '/');
    *slash = '\0';
    char name[SHELF_PATH];
    int length = snprintf(name, sizeof name, "%s.damaged-", slash + 1), count = 0;
    DIR *d = opendir(where);
    assert_non_null(d);
    for (struct dirent *e; (e = readdir(d)) != NULL;) {
        size_t end = strlen(e->d_name);
        count += strncmp(e->d_name, name, (size_t)length) == 0 && e->d_name[end - 1] >= '0' &&
                 e->d_name[end - 1] <= '9';
    }
    closedir(d);
    return count;
}

static void breathe(void)
{
    nanosleep(&(struct timespec){0, 1000000}, NULL);
}

bool shelf_written(Scribe *s, uint64_t ticket)
{
    ScribeStatus status = {0};
    for (int i = 0; i < 10000 && status.written < ticket; i++) {
        breathe();
        scribe_poll(s, &status);
    }
    return status.written >= ticket;
}

bool shelf_news(Scribe *s, ScribeStatus *status)
{
    status->news[0] = '\0';
    for (int i = 0; i < 10000 && status->news[0] == '\0'; i++) {
        breathe();
        scribe_poll(s, status);
    }
    return status->news[0] != '\0';
}
