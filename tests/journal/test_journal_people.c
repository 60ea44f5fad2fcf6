/* Students renamed, deleted whole, exported; copies of the whole record. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "shelf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TODAY = 20700 };

static void a_student_is_renamed(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Journal *j = shelf_open(path);
    Error error = {0};
    shelf_fill(j, "Ada", 4, TODAY);
    shelf_fill(j, "Bo", 4, TODAY);
    assert_false(journal_rename(j, "Ada", "Bo", &error));
    assert_non_null(strstr(error.text, "already"));
    assert_false(journal_rename(j, "Nobody", "Cy", &error));
    assert_non_null(strstr(error.text, "no student 'Nobody'"));
    assert_true(journal_rename(j, "Ada", "Ada", &error));
    assert_true(journal_rename(j, "Ada", "Zoe", &error));
    assert_string_equal(journal_news(j), "");
    journal_close(j);
    assert_int_equal(
        shelf_ask(path, "SELECT count(*) FROM repetition r JOIN student s ON s.id = r.student"
                        " WHERE name = 'Zoe'"),
        4);
    assert_false(shelf_holds(path, "Ada"));
}

/* Among many whose names fill pages that are split and joined, with long names and short. */
static void a_deleted_student_leaves_no_trace(void **state)
{
    (void)state;
    enum { STUDENTS = 300, EVERY = 75 };
    const char *path = shelf_new("record.db"), *log = shelf_path(path, "-wal");
    Journal *j = shelf_open(path);
    Error error = {0};
    char name[RECORD_NAME_MAX];
    for (int i = 0; i < STUDENTS; i++) {
        snprintf(name, sizeof name, "<%d-Student%0*d>", i * 7919 % STUDENTS, i % 40, i);
        shelf_fill(j, name, 1, TODAY);
    }
    int64_t gone;
    for (int i = 0; i < STUDENTS; i += STUDENTS / EVERY) {
        snprintf(name, sizeof name, "<%d-Student%0*d>", i * 7919 % STUDENTS, i % 40, i);
        assert_true(shelf_holds(path, name) || shelf_holds(log, name));
        assert_true(journal_delete(j, name, &gone, &error));
        assert_int_equal(gone, 1);
        assert_string_equal(journal_news(j), "");
        assert_false(shelf_holds(path, name));
        assert_false(shelf_holds(log, name));
    }
    journal_close(j);
    assert_true(shelf_whole(path));
    assert_int_equal(shelf_count(path), STUDENTS - EVERY);
}

static void deleting_takes_all_of_one_and_nothing_of_others(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Journal *j = shelf_open(path);
    Error error = {0};
    shelf_fill(j, "Ada", 40, TODAY);
    shelf_fill(j, "Bo", 9, TODAY);
    int64_t sitting, id, gone;
    Repetition own = shelf_repetition("Ada", 9, 9, TODAY, true);
    assert_true(journal_begin(j, "Ada", 0, TODAY, &sitting, &error));
    assert_true(journal_add(j, sitting, &own, &id, &error));
    assert_true(journal_delete(j, "Ada", &gone, &error));
    assert_int_equal(gone, 41);
    assert_false(journal_delete(j, "Ada", &gone, &error));
    assert_true(journal_judge(j, id, false, &error)); /* of one that is no more: nothing */
    journal_close(j);
    static const char *const left[] = {"repetition", "daily WHERE count > 0", "student", "uid",
        "sitting", "passage WHERE title = 'Passage 9'", "drill WHERE word = 'drill-9'",
        "fingering WHERE student <> (SELECT id FROM student)"};
    const int64_t expected[] = {9, 6, 1, 1, 1, 0, 0, 0};
    for (int i = 0; i < 8; i++) {
        char sql[128];
        snprintf(sql, sizeof sql, "SELECT count(*) FROM %s", left[i]);
        assert_int_equal(shelf_ask(path, sql), expected[i]);
    }
    assert_false(shelf_holds(path, "Passage 9"));
    assert_true(shelf_whole(path));
}

/* Somebody reads at that moment: it is deleted, and said that the bytes may be there for now. */
static void traces_that_must_stay_are_told(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Journal *j = shelf_open(path), *reader = shelf_open(path);
    Error error = {0};
    RecordLine *lines;
    size_t count;
    int64_t gone;
    shelf_fill(j, "Ada", 3, TODAY);
    shelf_fill(j, "Bo", 3, TODAY);
    Journal *held = journal_open_reading(path, &error);
    assert_true(journal_lines(held, RECORD_BY_DAY, NULL, &lines, &count, &error));
    free(lines);
    assert_true(journal_delete(j, "Ada", &gone, &error)); /* open, but reading nothing now */
    assert_string_equal(journal_news(j), "");
    journal_close(held);
    journal_close(reader);
    journal_close(j);
    assert_int_equal(shelf_count(path), 3);
}

static void a_student_goes_to_another_machine_and_back(void **state)
{
    (void)state;
    const char *home = shelf_new("record.db"), *carried = shelf_new("ada.db"),
               *away = shelf_new("away/record.db");
    Journal *j = shelf_open(home);
    Error error = {0};
    int64_t added, known;
    shelf_fill(j, "Ada", 30, TODAY - 1);
    shelf_fill(j, "Bo", 5, TODAY - 1);
    shelf_fill(j, "Ada", 20, TODAY);
    assert_true(journal_export(j, "Ada", carried, &error));
    assert_false(journal_export(j, "Ada", carried, &error));
    assert_int_equal(error.kind, ERROR_EXISTS);
    assert_false(journal_export(j, "Nobody", shelf_new("x.db"), &error));
    assert_int_equal(shelf_count(carried), 50);
    assert_int_equal(shelf_ask(carried, "SELECT count(*) FROM sitting"), 2);
    assert_int_equal(shelf_mode(carried), 0600);
    assert_int_equal(shelf_mode(shelf_path(carried, "-wal")), -1);
    assert_false(shelf_holds(carried, "Bo"));
    assert_true(shelf_whole(carried));
    Journal *other = shelf_open(away);
    assert_true(journal_merge(other, carried, &added, &known, &error));
    assert_true(added == 50 && known == 0);
    shelf_fill(other, "Ada", 7, TODAY + 1);
    assert_true(journal_export(other, "Ada", shelf_path(carried, "-back"), &error));
    journal_close(other);
    assert_true(journal_merge(j, shelf_path(carried, "-back"), &added, &known, &error));
    assert_true(added == 7 && known == 50);
    journal_close(j);
    assert_int_equal(shelf_count(home), 62);
    assert_int_equal(shelf_ask(home, "SELECT count(*) FROM student"), 2);
}

/* While another Journal has it open and writes on. */
static void a_backup_is_the_whole_record(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db"), *copy = shelf_new("copy.db");
    Journal *j = shelf_open(path), *writer = shelf_open(path);
    Error error = {0};
    shelf_fill(writer, "Ada", 25, TODAY);
    assert_true(journal_backup(j, copy, &error));
    assert_false(journal_backup(j, copy, &error));
    assert_int_equal(error.kind, ERROR_EXISTS);
    shelf_fill(writer, "Ada", 5, TODAY);
    assert_false(journal_backup(j, shelf_path(shelf_new("no"), "/where/copy.db"), &error));
    assert_int_equal(error.kind, ERROR_WRITE);
    journal_close(writer);
    journal_close(j);
    assert_int_equal(shelf_count(copy), 25);
    assert_int_equal(shelf_mode(copy), 0600);
    assert_int_equal(shelf_mode(shelf_path(copy, "-wal")), -1);
    assert_true(shelf_whole(copy));
    j = shelf_open(copy); /* and is a record */
    shelf_fill(j, "Ada", 1, TODAY);
    journal_close(j);
    assert_int_equal(shelf_count(copy), 26);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_student_is_renamed),
        cmocka_unit_test(a_deleted_student_leaves_no_trace),
        cmocka_unit_test(deleting_takes_all_of_one_and_nothing_of_others),
        cmocka_unit_test(traces_that_must_stay_are_told),
        cmocka_unit_test(a_student_goes_to_another_machine_and_back),
        cmocka_unit_test(a_backup_is_the_whole_record),
    };
    return cmocka_run_group_tests_name("journal, people", tests, shelf_begin, shelf_end);
}
