/* The thread that writes while somebody plays. Its moments are waited for with scribe_poll; the
 * only pause is its own, before it tries again what the disk refused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "shelf.h"

#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { TODAY = 20700, PATIENCE = 10000 };

static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static Repetition numbered(const char *student, int number)
{
    Repetition r = shelf_repetition(student, number % 3, 1, TODAY, true);
    r.at = number;
    return r;
}

static void what_is_put_is_written_in_order(void **state)
{
    (void)state;
    const char *path = shelf_new("a/record.db");
    Scribe *s = scribe_start(path, "Ada", 5, TODAY);
    assert_non_null(s);
    for (int i = 1; i <= 200; i++) {
        Repetition r = numbered("Ada", i);
        assert_int_equal(scribe_put(s, &r), i);
        if (i % 50 == 0)
            assert_true(shelf_written(s, (uint64_t)i));
    }
    assert_int_equal(shelf_count(path), 200); /* told as written: found by another */
    scribe_stop(s, PATIENCE);
    assert_int_equal(
        shelf_ask(path, "SELECT count(*) FROM repetition WHERE id = at AND clean = 1"), 200);
    assert_int_equal(shelf_ask(path, "SELECT count(*) FROM sitting WHERE at = 5"), 1);
    assert_true(shelf_whole(path));
}

/* Whatever the moment a correction comes, before, while and after it is written: the last counts.
 */
static void the_last_verdict_counts(void **state)
{
    (void)state;
    enum { ALL = 400 };
    const char *path = shelf_new("record.db");
    Scribe *s = scribe_start(path, "Ada", 0, TODAY);
    bool last[ALL + 1];
    unsigned x = 17;
    print_message("seed %u\n", x);
    for (int i = 1; i <= ALL; i++) {
        Repetition r = numbered("Ada", i);
        assert_true(i < 40 || shelf_written(s, (uint64_t)i - 30));
        assert_int_equal(scribe_put(s, &r), i);
        last[i] = true;
        for (int k = 0; k < 3; k++) {
            x = x * 1103515245u + 12345u;
            int which = i - (int)(x >> 16) % (i < 30 ? i : 30);
            bool clean = (x >> 24) & 1;
            if (scribe_judge(s, (uint64_t)which, clean))
                last[which] = clean;
        }
    }
    assert_false(scribe_judge(s, 0, false));
    assert_false(scribe_judge(s, ALL + 1, false));
    scribe_stop(s, PATIENCE);
    for (int i = 1; i <= ALL; i++) {
        char sql[80];
        snprintf(sql, sizeof sql, "SELECT clean FROM repetition WHERE at = %d", i);
        assert_int_equal(shelf_ask(path, sql), last[i]);
    }
}

/* Keeps the record for itself, as another program may. */
static sqlite3 *hold(const char *path)
{
    sqlite3 *db;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    sqlite3_busy_timeout(db, PATIENCE);
    assert_int_equal(sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_OK);
    return db;
}

static void let_go(sqlite3 *db)
{
    sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL);
    sqlite3_close(db);
}

/* More than there is room for is refused and counted, never told as written; nobody waits. */
static void a_full_ring_loses_and_says_so(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    shelf_make(path, "Ada", 1, TODAY);
    sqlite3 *other = hold(path);
    Scribe *s = scribe_start(path, "Ada", 0, TODAY);
    double start = seconds();
    for (int i = 1; i <= SCRIBE_ROOM + 10; i++) {
        Repetition r = numbered("Ada", i);
        assert_int_equal(scribe_put(s, &r), i <= SCRIBE_ROOM ? i : 0);
    }
    assert_true(scribe_judge(s, SCRIBE_ROOM, false)); /* there is room to correct what waits */
    Repetition none = numbered("Ada", 0);
    none.tempo.per_minute = ratio_int(0);
    assert_int_equal(scribe_put(s, &none), 0);
    ScribeStatus status;
    scribe_poll(s, &status);
    assert_true(seconds() - start < 0.5);
    assert_int_equal(status.written, 0);
    assert_int_equal(status.lost, 11);
    let_go(other);
    assert_true(shelf_written(s, SCRIBE_ROOM));
    Repetition r = numbered("Ada", 99);
    assert_int_equal(scribe_put(s, &r), SCRIBE_ROOM + 1);
    scribe_stop(s, PATIENCE);
    assert_int_equal(shelf_count(path), SCRIBE_ROOM + 2);
    assert_int_equal(
        shelf_ask(path, "SELECT count(*) FROM repetition WHERE clean = 0 AND at = 64"), 1);
}

/* Given up without patience: what was not written is not told as written. */
static void stopping_without_patience_does_not_wait(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    shelf_make(path, "Ada", 1, TODAY);
    sqlite3 *other = hold(path);
    Scribe *s = scribe_start(path, "Ada", 0, TODAY);
    Repetition r = numbered("Ada", 1);
    assert_int_equal(scribe_put(s, &r), 1);
    double start = seconds();
    scribe_stop(s, 50);
    assert_true(seconds() - start < 1);
    let_go(other);
    assert_true(shelf_whole(path));
    scribe_stop(NULL, 0);
}

static void stopping_with_patience_writes_all(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    for (int t = 0; t < 20; t++) {
        Scribe *s = scribe_start(path, "Ada", 0, TODAY);
        for (int i = 1; i <= t; i++) {
            Repetition r = numbered("Ada", i);
            scribe_put(s, &r);
        }
        scribe_stop(s, PATIENCE);
        assert_int_equal(shelf_count(path), t * (t + 1) / 2);
    }
}

static void a_deleted_file_is_begun_anew(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Scribe *s = scribe_start(path, "Ada", 0, TODAY);
    Repetition r = numbered("Ada", 1);
    scribe_put(s, &r);
    assert_true(shelf_written(s, 1));
    assert_int_equal(unlink(path), 0);
    r = numbered("Ada", 2);
    scribe_put(s, &r);
    assert_true(shelf_written(s, 2));
    assert_true(scribe_judge(s, 1, false)); /* of the file that is gone: nothing */
    scribe_stop(s, PATIENCE);
    assert_int_equal(shelf_count(path), 1);
    assert_int_equal(shelf_ask(path, "SELECT at * 10 + clean FROM repetition"), 21);
    assert_true(shelf_whole(path));
}

/* By another process: by way of SQLite it makes no difference to another connection. */
static void a_student_deleted_in_mid_sitting_comes_again(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Scribe *s = scribe_start(path, "Ada", 0, TODAY);
    Repetition r = numbered("Ada", 1);
    scribe_put(s, &r);
    assert_true(shelf_written(s, 1));
    Journal *j = shelf_open(path);
    int64_t gone;
    Error error = {0};
    assert_true(journal_delete(j, "Ada", &gone, &error));
    journal_close(j);
    r = numbered("Ada", 2);
    double start = seconds();
    scribe_put(s, &r);
    assert_true(shelf_written(s, 2));
    assert_true(seconds() - start < 1.5); /* at once, not when it would try again */
    ScribeStatus status;
    scribe_poll(s, &status);
    assert_string_equal(status.news, "");
    scribe_stop(s, PATIENCE);
    assert_int_equal(shelf_count(path), 1);
    assert_true(shelf_whole(path));
}

/* A studio afternoon: each student has sittings of their own. */
static void each_student_has_a_sitting(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Scribe *s = scribe_start(path, "Ada", 0, TODAY);
    static const char *const names[] = {"Ada", "Bo", "", "Ada"};
    for (int i = 1; i <= 12; i++) {
        Repetition r = numbered(names[(i - 1) / 3], i);
        scribe_put(s, &r);
    }
    scribe_stop(s, PATIENCE);
    assert_int_equal(shelf_ask(path, "SELECT count(*) FROM sitting"), 4);
    assert_int_equal(shelf_ask(path, "SELECT count(*) FROM repetition r JOIN sitting s ON s.id ="
                                     " r.sitting WHERE s.student = r.student"),
        12);
}

static void a_damaged_record_is_told_once(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    shelf_write(path, "rubbish rubbish rubbish", 23);
    Scribe *s = scribe_start(path, "Ada", 0, TODAY);
    ScribeStatus status;
    assert_true(shelf_news(s, &status));
    assert_true(status.warns);
    assert_non_null(strstr(status.news, "damaged"));
    scribe_poll(s, &status);
    assert_string_equal(status.news, "");
    Repetition r = numbered("Ada", 1);
    scribe_put(s, &r);
    scribe_stop(s, PATIENCE);
    assert_int_equal(shelf_count(path), 1);
    assert_int_equal(shelf_set_aside(path), 1);
}

static void damage_in_mid_sitting_is_set_aside(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    shelf_make(path, "Ada", 300, TODAY);
    Scribe *s = scribe_start(path, "Ada", 0, TODAY);
    Repetition r = numbered("Ada", 1);
    scribe_put(s, &r);
    assert_true(shelf_written(s, 1));
    shelf_tell(path, "PRAGMA wal_checkpoint(TRUNCATE)");
    ShelfBytes b = shelf_read(path);
    memset(b.bytes + 4096, 0xA5, b.size - 4096);
    FILE *f = fopen(path, "r+b"); /* in place: the same file */
    assert_non_null(f);
    assert_int_equal(fwrite(b.bytes, 1, b.size, f), b.size);
    fclose(f);
    free(b.bytes);
    shelf_tell(path, "PRAGMA user_version = 2"); /* a change, so that its pages are read again */
    r = numbered("Ada", 2);
    scribe_put(s, &r);
    ScribeStatus status;
    assert_true(shelf_news(s, &status));
    assert_non_null(strstr(status.news, "damaged"));
    scribe_stop(s, PATIENCE);
    assert_int_equal(shelf_set_aside(path), 1);
    assert_int_equal(shelf_count(path), 1);
    assert_true(shelf_whole(path));
}

static void a_newer_record_is_told_and_not_touched(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    shelf_make(path, "Ada", 3, TODAY);
    shelf_tell(path, "PRAGMA user_version = 99");
    Scribe *s = scribe_start(path, "Ada", 0, TODAY);
    Repetition r = numbered("Ada", 1);
    scribe_put(s, &r);
    ScribeStatus status;
    assert_true(shelf_news(s, &status));
    assert_non_null(strstr(status.news, "Not recorded for now"));
    assert_non_null(strstr(status.news, "newer evenhand"));
    assert_true(status.warns && !status.open && status.written == 0);
    scribe_stop(s, PATIENCE);
    assert_int_equal(shelf_count(path), 3);
}

static void a_clock_that_jumped_is_told(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    shelf_make(path, "Ada", 3, TODAY + 365);
    Scribe *s = scribe_start(path, "Ada", 0, TODAY);
    Repetition r = numbered("Ada", 1);
    scribe_put(s, &r);
    ScribeStatus status;
    assert_true(shelf_news(s, &status));
    assert_non_null(strstr(status.news, "clock"));
    scribe_stop(s, PATIENCE);
    assert_int_equal(shelf_count(path), 4);
}

/* No file may grow further: what SQLite meets on a full disk. Then there is room again. */
static void a_full_disk_is_told_and_left_behind(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    shelf_make(path, "Ada", 3, TODAY);
    struct rlimit before, small;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    signal(SIGXFSZ, SIG_IGN);
    Scribe *s = scribe_start(path, "Ada", 0, TODAY);
    Repetition r = numbered("Ada", 1);
    scribe_put(s, &r);
    assert_true(shelf_written(s, 1));
    struct stat log;
    assert_int_equal(stat(shelf_path(path, "-wal"), &log), 0);
    small = before;
    small.rlim_cur = (rlim_t)log.st_size + 100;
    setrlimit(RLIMIT_FSIZE, &small);
    r = numbered("Ada", 2);
    scribe_put(s, &r);
    ScribeStatus status;
    bool told = shelf_news(s, &status);
    setrlimit(RLIMIT_FSIZE, &before);
    assert_true(told);
    assert_non_null(strstr(status.news, "make room"));
    assert_true(status.warns);
    assert_int_equal(status.written, 1);
    assert_true(shelf_written(s, 2) || shelf_news(s, &status));
    scribe_stop(s, PATIENCE);
    assert_int_equal(shelf_count(path), 5);
    assert_true(shelf_whole(path));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_put_is_written_in_order),
        cmocka_unit_test(the_last_verdict_counts),
        cmocka_unit_test(a_full_ring_loses_and_says_so),
        cmocka_unit_test(stopping_without_patience_does_not_wait),
        cmocka_unit_test(stopping_with_patience_writes_all),
        cmocka_unit_test(a_deleted_file_is_begun_anew),
        cmocka_unit_test(a_student_deleted_in_mid_sitting_comes_again),
        cmocka_unit_test(each_student_has_a_sitting),
        cmocka_unit_test(a_damaged_record_is_told_once),
        cmocka_unit_test(damage_in_mid_sitting_is_set_aside),
        cmocka_unit_test(a_newer_record_is_told_and_not_touched),
        cmocka_unit_test(a_clock_that_jumped_is_told),
        cmocka_unit_test(a_full_disk_is_told_and_left_behind),
    };
    return cmocka_run_group_tests_name("scribe", tests, shelf_begin, shelf_end);
}
