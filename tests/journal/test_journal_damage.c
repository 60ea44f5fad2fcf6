/* Files that are damaged, newer or not ours, and places where nothing can be written: nothing is
 * overwritten, and a sentence says what to do. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "shelf.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { TODAY = 20700, NOBODY = 65534 };

/* The one file beside `path` that was set aside holds what the record held. */
static void kept_aside(const char *path, ShelfBytes was)
{
    char command[2 * SHELF_PATH], copy[SHELF_PATH];
    snprintf(copy, sizeof copy, "%s.kept", path);
    snprintf(command, sizeof command, "cp '%s'.damaged-*-0 '%s'", path, copy);
    assert_int_equal(system(command), 0);
    ShelfBytes now = shelf_read(copy);
    assert_true(shelf_same(was, now));
    free(now.bytes);
}

static void set_aside_and_begun_anew(const char *path)
{
    ShelfBytes was = shelf_read(path);
    Journal *j = shelf_open(path);
    assert_non_null(strstr(journal_news(j), "damaged"));
    assert_non_null(strstr(journal_news(j), "record.db.damaged-"));
    shelf_fill(j, "Ada", 3, TODAY);
    journal_close(j);
    assert_int_equal(shelf_set_aside(path), 1);
    kept_aside(path, was);
    assert_int_equal(shelf_count(path), 3);
    assert_true(shelf_whole(path));
    free(was.bytes);
}

/* From two bytes on: one byte is an empty file to SQLite, which once marked files so. */
static void a_file_of_zeros_or_rubbish_is_set_aside(void **state)
{
    (void)state;
    static unsigned char bytes[20000];
    static const size_t sizes[] = {2, 15, 99, 100, 511, 512, 4096, sizeof bytes};
    for (int fill = 0; fill < 256; fill += 0x5A)
        for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
            const char *path = shelf_new("record.db");
            memset(bytes, fill, sizeof bytes);
            shelf_write(path, bytes, sizes[i]);
            set_aside_and_begun_anew(path);
        }
}

static void a_record_cut_short_is_set_aside(void **state)
{
    (void)state;
    const char *whole = shelf_new("whole.db");
    shelf_make(whole, "Bo", 400, TODAY);
    ShelfBytes b = shelf_read(whole);
    for (size_t size = 50; size < b.size; size += b.size / 9) {
        const char *path = shelf_new("record.db");
        shelf_write(path, b.bytes, size);
        set_aside_and_begun_anew(path);
    }
    free(b.bytes);
}

/* Each page of the file made rubbish once. What of it can be read is not believed. */
static void a_page_of_rubbish_is_set_aside(void **state)
{
    (void)state;
    enum { PAGE = 4096 };
    const char *whole = shelf_new("whole.db");
    shelf_make(whole, "Bo", 400, TODAY);
    ShelfBytes b = shelf_read(whole);
    unsigned char page[PAGE];
    for (size_t at = 0; at + PAGE <= b.size; at += PAGE) {
        const char *path = shelf_new("record.db");
        memcpy(page, b.bytes + at, PAGE);
        for (int i = 0; i < PAGE; i++)
            b.bytes[at + (size_t)i] ^= 0xFF;
        shelf_write(path, b.bytes, b.size);
        memcpy(b.bytes + at, page, PAGE);
        set_aside_and_begun_anew(path);
    }
    free(b.bytes);
}

static void damaged_twice_in_a_second_is_kept_twice(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    for (int i = 0; i < 5; i++) {
        char rubbish[64];
        int size = snprintf(rubbish, sizeof rubbish, "rubbish number %d", i);
        shelf_write(path, rubbish, (size_t)size);
        journal_close(shelf_open(path));
    }
    assert_int_equal(shelf_set_aside(path), 5);
}

/* The log holds what the file does not; SQLite alone would throw it away. */
static void a_log_whose_file_lost_its_bytes_is_kept(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db"), *log = shelf_path(path, "-wal");
    Journal *j = shelf_open(path);
    shelf_fill(j, "Bo", 5, TODAY);
    ShelfBytes waiting = shelf_read(log);
    journal_close(j);
    shelf_write(path, "", 0);
    shelf_write(log, waiting.bytes, waiting.size);
    j = shelf_open(path);
    assert_non_null(strstr(journal_news(j), "damaged"));
    journal_close(j);
    char command[2 * SHELF_PATH];
    shelf_write(shelf_path(path, ".was"), waiting.bytes, waiting.size);
    snprintf(command, sizeof command, "cmp '%s'.damaged-*-0-wal '%s'.was", path, path);
    assert_int_equal(system(command), 0);
    free(waiting.bytes);
}

/* Found while it is open: the list or the writing says so, and the journal is stale. */
static void damage_that_shows_later_is_told(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    shelf_make(path, "Bo", 400, TODAY);
    ShelfBytes b = shelf_read(path);
    Error error = {0};
    Repetition *r;
    size_t count;
    memset(b.bytes + 4096, 0xA5, b.size - 4096);
    shelf_write(path, b.bytes, b.size);
    free(b.bytes);
    Journal *j = journal_open_reading(path, &error);
    bool read = j != NULL && journal_repetitions(j, NULL, 0, 400, &r, NULL, &count, &error);
    assert_false(read);
    assert_non_null(strstr(error.text, "damaged"));
    assert_true(j == NULL || journal_stale(j));
    journal_close(j);
    assert_int_equal(shelf_set_aside(path), 0); /* reading moves nothing */
}

static void untouched(const char *path, const char *said)
{
    Error error = {0};
    ShelfBytes before = shelf_read(path), log = shelf_read(shelf_path(path, "-wal"));
    int mode = shelf_mode(path);
    assert_null(journal_open(path, &error));
    assert_non_null(strstr(error.text, said));
    assert_null(journal_open_reading(path, &error));
    assert_non_null(strstr(error.text, said));
    ShelfBytes after = shelf_read(path), log_after = shelf_read(shelf_path(path, "-wal"));
    assert_true(shelf_same(before, after) && shelf_same(log, log_after));
    assert_int_equal(shelf_mode(path), mode);
    assert_int_equal(shelf_set_aside(path), 0);
    free(before.bytes);
    free(after.bytes);
    free(log.bytes);
    free(log_after.bytes);
}

static void a_newer_record_is_not_touched(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db"), *log = shelf_path(path, "-wal");
    Journal *j = shelf_open(path);
    shelf_fill(j, "Bo", 5, TODAY);
    shelf_tell(path, "PRAGMA user_version = 99");
    ShelfBytes file = shelf_read(path), waiting = shelf_read(log);
    journal_close(j);
    untouched(path, "newer evenhand");
    shelf_write(path, file.bytes, file.size); /* and with part of it in the log */
    shelf_write(log, waiting.bytes, waiting.size);
    untouched(path, "newer evenhand");
    free(file.bytes);
    free(waiting.bytes);
}

static void another_programs_file_is_not_touched(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    shelf_write(path, "", 0);
    shelf_tell(path, "CREATE TABLE mine (x); INSERT INTO mine VALUES (1)");
    assert_int_equal(chmod(path, 0644), 0);
    untouched(path, "another program's");
    shelf_tell(path, "PRAGMA application_id = 77");
    untouched(path, "another program's");
}

static void an_older_record_is_brought_up_to_date(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db"), *same = shelf_new("same.db");
    for (int i = 0; i < 4; i++) {
        bool reading = i % 2 == 1;
        shelf_make(path, "Bo", 50, TODAY - i);
        shelf_make(same, "Bo", 50, TODAY - i);
        shelf_make_older(path, 1 + i / 2);
        Error error = {0};
        Journal *j = reading ? journal_open_reading(path, &error) : shelf_open(path);
        assert_non_null(j);
        journal_close(j);
        const char *const sums[] = {
            "SELECT sum(count * 1000000 + clean * 1000 + length(best)) FROM daily",
            "SELECT sum(level * passage + drill + count * 1000000 + clean * 1000) FROM coarse",
            "SELECT sum(first + last * 3 + fingers) FROM fingering",
            "SELECT count(*) FROM sqlite_schema", "SELECT user_version FROM pragma_user_version"};
        for (int k = 0; k < 5; k++)
            assert_int_equal(shelf_ask(path, sums[k]), shelf_ask(same, sums[k]));
        assert_true(shelf_whole(path));
    }
}

/* ---- places ---- */

/* What `attempt` returns, in a child that is no superuser. */
static int as_a_user(int (*attempt)(const char *path), const char *path)
{
    pid_t child = fork();
    if (child == 0) {
        if (geteuid() == 0 && (setgid(NOBODY) != 0 || setuid(NOBODY) != 0))
            _exit(99);
        _exit(attempt(path));
    }
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static int says(const char *text, const char *a, const char *b)
{
    if (strstr(text, a) != NULL && strstr(text, b) != NULL)
        return 0;
    fprintf(stderr, "'%s' says not '%s' and '%s'\n", text, a, b);
    return 1;
}

static int cannot_make(const char *path)
{
    Error error = {0};
    return journal_open(path, &error) != NULL || error.kind != ERROR_RECORD ||
           says(error.text, "cannot be made", "must be yours");
}

static int cannot_make_the_way(const char *path)
{
    Error error = {0};
    return journal_open(path, &error) != NULL ||
           says(error.text, "directory", "or set XDG_DATA_HOME");
}

static int reads_as_it_lies(const char *path)
{
    Error error = {0};
    RecordLine *lines;
    size_t count = 0;
    Journal *j = journal_open_reading(path, &error);
    int status = j == NULL || !journal_lines(j, RECORD_BY_DAY, NULL, &lines, &count, &error) ||
                 count != 1 || lines[0].count != 5;
    if (status)
        fprintf(stderr, "%s\n", error.text);
    Journal *writing = journal_open(path, &error);
    return status || writing != NULL || says(error.text, "cannot be", "must be yours");
}

static int cannot_look(const char *path)
{
    Error error = {0};
    return journal_open_reading(path, &error) != NULL || says(error.text, "cannot be read", "");
}

static void a_home_that_is_only_read(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    char home[SHELF_PATH];
    snprintf(home, sizeof home, "%s", path);
    *strrchr(home, '/') = '\0';
    assert_int_equal(chmod(shelf_folder(), 0755), 0);
    assert_int_equal(chmod(home, 0555), 0);
    assert_int_equal(as_a_user(cannot_make, path), 0);
    assert_int_equal(as_a_user(cannot_make_the_way, shelf_path(home, "/evenhand/record.db")), 0);
    assert_int_equal(chmod(home, 0755), 0);
    shelf_make(path, "Bo", 5, TODAY);
    assert_int_equal(chmod(path, 0444), 0);
    assert_int_equal(chmod(home, 0555), 0);
    assert_int_equal(as_a_user(reads_as_it_lies, path), 0);
    assert_int_equal(chmod(home, 0), 0);
    assert_int_equal(as_a_user(cannot_look, path), 0);
    assert_int_equal(chmod(home, 0700), 0);
    assert_int_equal(chmod(shelf_folder(), 0700), 0);
}

static void a_home_that_is_missing_is_made_or_told(void **state)
{
    (void)state;
    const char *path = shelf_new("no/such/home/record.db");
    shelf_make(path, "Bo", 1, TODAY);
    const char *file = shelf_new("file");
    shelf_write(file, "x", 1);
    Error error = {0};
    assert_null(journal_open(shelf_path(file, "/record.db"), &error));
    assert_non_null(strstr(error.text, "cannot be made"));
    assert_null(journal_open(shelf_path(file, "/deeper/record.db"), &error));
    assert_non_null(strstr(error.text, "cannot be made"));
}

static int fills_up(const char *path)
{
    Error error = {0};
    int64_t sitting, id;
    Journal *j = journal_open(path, &error);
    if (j == NULL || !journal_begin(j, "Ada", 0, TODAY, &sitting, &error))
        return 2;
    int i = 0;
    Repetition r = shelf_repetition("Ada", 1, 1, TODAY, true);
    while (i < 100000 && journal_add(j, sitting, &r, &id, &error))
        i++;
    int status = says(error.text, "disk is full", "make room") || journal_stale(j);
    struct rlimit all = {RLIM_INFINITY, RLIM_INFINITY};
    getrlimit(RLIMIT_FSIZE, &all);
    all.rlim_cur = all.rlim_max;
    setrlimit(RLIMIT_FSIZE, &all);
    for (int more = 0; more < 3; more++, i++) /* and goes on where there is room again */
        status = status || !journal_add(j, sitting, &r, &id, &error);
    journal_close(j);
    return status || shelf_count(path) != i || !shelf_whole(path);
}

/* No file may grow beyond a size, which SQLite meets as it meets a full disk. */
static int fills_its_limit(const char *path)
{
    struct rlimit limit;
    getrlimit(RLIMIT_FSIZE, &limit);
    limit.rlim_cur = 200000;
    signal(SIGXFSZ, SIG_IGN);
    setrlimit(RLIMIT_FSIZE, &limit);
    return fills_up(path);
}

static void a_full_disk_is_told_and_what_was_written_stays(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    pid_t child = fork();
    if (child == 0)
        _exit(fills_its_limit(path));
    int status;
    waitpid(child, &status, 0);
    assert_int_equal(status, 0);
}

/* The same on a disk of its own, where this system lets the test have one. */
static void a_small_disk_runs_full(void **state)
{
    (void)state;
    char command[2 * SHELF_PATH], disk[SHELF_PATH];
    snprintf(disk, sizeof disk, "%s", shelf_new(""));
    snprintf(command, sizeof command,
        "mount -t tmpfs -o size=600k,mode=700 evenhand-test '%s' 2>/dev/null", disk);
    if (system(command) != 0) {
        print_message("no disk could be mounted: the limit above stands for it\n");
        skip();
    }
    Error error = {0};
    int64_t sitting, id;
    Journal *j = journal_open(shelf_path(disk, "record.db"), &error);
    bool begun = j != NULL && journal_begin(j, "Ada", 0, TODAY, &sitting, &error);
    Repetition r = shelf_repetition("Ada", 1, 1, TODAY, true);
    int64_t count = 0;
    while (begun && count < 100000 && journal_add(j, sitting, &r, &id, &error))
        count++;
    journal_close(j);
    int64_t found = shelf_count(shelf_path(disk, "record.db"));
    bool whole = shelf_whole(shelf_path(disk, "record.db"));
    snprintf(command, sizeof command, "umount '%s'", disk);
    assert_int_equal(system(command), 0);
    assert_true(begun);
    assert_non_null(strstr(error.text, "disk is full"));
    assert_int_equal(found, count);
    assert_true(whole);
}

static void a_name_too_long_is_refused(void **state)
{
    (void)state;
    assert_null(journal_open("", NULL));
    char longest[JOURNAL_PATH_MAX + 8];
    memset(longest, 'x', sizeof longest);
    longest[sizeof longest - 1] = '\0';
    Error error = {0};
    assert_null(journal_open(longest, &error));
    assert_int_equal(error.kind, ERROR_LIMIT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_file_of_zeros_or_rubbish_is_set_aside),
        cmocka_unit_test(a_record_cut_short_is_set_aside),
        cmocka_unit_test(a_page_of_rubbish_is_set_aside),
        cmocka_unit_test(damaged_twice_in_a_second_is_kept_twice),
        cmocka_unit_test(a_log_whose_file_lost_its_bytes_is_kept),
        cmocka_unit_test(damage_that_shows_later_is_told),
        cmocka_unit_test(a_newer_record_is_not_touched),
        cmocka_unit_test(another_programs_file_is_not_touched),
        cmocka_unit_test(an_older_record_is_brought_up_to_date),
        cmocka_unit_test(a_home_that_is_only_read),
        cmocka_unit_test(a_home_that_is_missing_is_made_or_told),
        cmocka_unit_test(a_full_disk_is_told_and_what_was_written_stays),
        cmocka_unit_test(a_small_disk_runs_full),
        cmocka_unit_test(a_name_too_long_is_refused),
    };
    return cmocka_run_group_tests_name("journal, damage", tests, shelf_begin, shelf_end);
}
