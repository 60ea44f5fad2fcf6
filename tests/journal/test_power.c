/* What a power cut leaves: every change that was told as done is there, when of each file only that
 * survives which was synced. And a disk that hangs: nobody at the harp waits for it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "disk.h"
#include "shelf.h"

#include <sched.h>
#include <stdio.h>
#include <unistd.h>

/* Enough for SQLite to move its log into the file several times on the way. */
enum { TODAY = 20700, WRITTEN = 240, PATIENCE_MS = 50, STUCK_SECONDS = 60 };

/* The record as the power's going would leave it now. */
static const char *left_now(void)
{
    const char *left = shelf_new("record.db");
    disk_cut(left);
    Journal *j = shelf_open(left);
    assert_string_equal("", journal_news(j)); /* nothing is damaged */
    journal_close(j);
    assert_true(shelf_whole(left));
    return left;
}

static Journal *remembered(const char *path)
{
    disk_insert();
    disk_remember(path);
    return shelf_open(path);
}

static void every_repetition_told_as_written_survives(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    char kept[SHELF_PATH];
    Error error = {0};
    int64_t sitting, id;
    snprintf(kept, sizeof kept, "%s", path);
    Journal *j = remembered(kept);
    assert_true(journal_begin(j, "Ada", 0, TODAY, &sitting, &error));
    for (int i = 1; i <= WRITTEN; i++) {
        Repetition r = shelf_repetition("Ada", i % 3, i % 2, TODAY, true);
        assert_true(journal_add(j, sitting, &r, &id, &error));
        if (i % 4 == 0)
            assert_true(journal_judge(j, id, false, &error));
        const char *left = left_now();
        assert_int_equal(shelf_count(left), i);
        assert_int_equal(shelf_ask(left, "SELECT count(*) FROM repetition WHERE NOT clean"), i / 4);
    }
    assert_true(disk_moved() > 1); /* else this met no move of the log into the file */
    journal_close(j);
    disk_forget();
}

static void changes_of_students_survive(void **state)
{
    (void)state;
    char kept[SHELF_PATH], theirs[SHELF_PATH];
    Error error = {0};
    int64_t gone, added, known;
    snprintf(kept, sizeof kept, "%s", shelf_new("record.db"));
    snprintf(theirs, sizeof theirs, "%s", shelf_new("theirs.db"));
    shelf_make(theirs, "Cy", 30, TODAY);
    Journal *j = remembered(kept);
    shelf_fill(j, "Ada", 20, TODAY);
    shelf_fill(j, "Bo", 10, TODAY);
    assert_true(journal_rename(j, "Ada", "Dee", &error));
    assert_int_equal(
        shelf_ask(left_now(), "SELECT count(*) FROM student WHERE name IN ('Dee', 'Bo')"), 2);
    assert_true(journal_merge(j, theirs, &added, &known, &error));
    assert_int_equal(shelf_count(left_now()), 60);
    assert_true(journal_delete(j, "Dee", &gone, &error));
    assert_int_equal(gone, 20);
    assert_int_equal(shelf_count(left_now()), 40);
    journal_close(j);
    disk_forget();
}

static void an_older_record_brought_up_to_date_survives(void **state)
{
    (void)state;
    char kept[SHELF_PATH];
    for (int version = 1; version < JOURNAL_SCHEMA; version++) {
        snprintf(kept, sizeof kept, "%s", shelf_new("record.db"));
        shelf_make(kept, "Ada", 30, TODAY);
        shelf_make_older(kept, version);
        Journal *j = remembered(kept);
        shelf_fill(j, "Ada", 1, TODAY);
        const char *left = left_now();
        assert_int_equal(shelf_count(left), 31);
        assert_int_equal(shelf_ask(left, "SELECT sum(count) FROM daily"), 31);
        journal_close(j);
        disk_forget();
    }
}

/* None of these calls waits: if one did, the alarm would end the test. */
static void a_disk_that_hangs_is_waited_for_by_nobody(void **state)
{
    (void)state;
    char kept[SHELF_PATH];
    ScribeStatus status;
    Repetition r = shelf_repetition("Ada", 1, 1, TODAY, true);
    snprintf(kept, sizeof kept, "%s", shelf_new("record.db"));
    disk_insert();
    shelf_make(kept, "Ada", 1, TODAY);
    alarm(STUCK_SECONDS);
    Scribe *s = scribe_start(kept, "Ada", r.at, TODAY);
    assert_non_null(s);
    assert_int_equal(scribe_put(s, &r), 1);
    assert_true(shelf_written(s, 1));
    disk_hang(true);
    for (uint64_t ticket = 2; ticket <= SCRIBE_ROOM; ticket++) {
        assert_int_equal(scribe_put(s, &r), ticket);
        while (ticket == 2 && disk_waiting() == 0)
            sched_yield();
        assert_true(scribe_judge(s, ticket, false));
        scribe_poll(s, &status);
        assert_int_equal(status.written, 1);
        assert_int_equal(status.lost, 0);
    }
    scribe_stop(s, PATIENCE_MS);
    assert_int_equal(disk_waiting(), 1);
    disk_hang(false); /* what was handed in is written when the disk goes on */
    while (shelf_count(kept) < 1 + SCRIBE_ROOM)
        sched_yield();
    while (shelf_ask(kept, "SELECT count(*) FROM repetition WHERE NOT clean") < SCRIBE_ROOM - 1)
        sched_yield();
    alarm(0);
    assert_true(shelf_whole(kept));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_repetition_told_as_written_survives),
        cmocka_unit_test(changes_of_students_survive),
        cmocka_unit_test(an_older_record_brought_up_to_date_survives),
        cmocka_unit_test(a_disk_that_hangs_is_waited_for_by_nobody),
    };
    return cmocka_run_group_tests_name("power", tests, shelf_begin, shelf_end);
}
