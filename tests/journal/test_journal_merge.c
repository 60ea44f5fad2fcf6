/* Records of other machines taken in without doubles. */
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

static void merged(const char *into, const char *from, int64_t new_ones, int64_t old_ones)
{
    Error error = {0};
    int64_t added, known;
    Journal *j = shelf_open(into);
    if (!journal_merge(j, from, &added, &known, &error))
        fail_msg("%s", error.text);
    journal_close(j);
    assert_int_equal(added, new_ones);
    assert_int_equal(known, old_ones);
    assert_true(shelf_whole(into));
    assert_int_equal(
        shelf_ask(into, "SELECT coalesce(sum(count), 0) FROM daily"), shelf_count(into));
}

static void refused(const char *into, const char *from, const char *said)
{
    Error error = {0};
    int64_t added, known, before = shelf_count(into);
    Journal *j = shelf_open(into);
    assert_false(journal_merge(j, from, &added, &known, &error));
    if (strstr(error.text, said) == NULL)
        fail_msg("'%s' does not say '%s'", error.text, said);
    assert_false(journal_stale(j));
    shelf_fill(j, "Ada", 1, TODAY); /* and goes on */
    journal_close(j);
    assert_int_equal(shelf_count(into), before + 1);
}

static void twice_is_once(void **state)
{
    (void)state;
    const char *a = shelf_new("a.db"), *b = shelf_new("b.db");
    shelf_make(a, "Ada", 10, TODAY);
    shelf_make(b, "Bo", 20, TODAY);
    merged(a, b, 20, 0);
    merged(a, b, 0, 20);
    merged(b, a, 10, 20);
    merged(a, b, 0, 30);
    merged(a, a, 0, 30); /* into itself */
}

/* In whatever order three records meet, all hold the same in the end. */
static void the_order_does_not_matter(void **state)
{
    (void)state;
    static const int orders[][3] = {{0, 1, 2}, {2, 1, 0}, {1, 0, 2}};
    const char *parts[3];
    for (int i = 0; i < 3; i++) {
        static char names[3][SHELF_PATH];
        parts[i] = strcpy(names[i], shelf_new("part.db"));
        shelf_make(parts[i], i == 1 ? "Bo" : "Ada", 10 + i, TODAY - i);
    }
    for (int k = 0; k < 3; k++) {
        const char *all = shelf_new("all.db");
        for (int i = 0; i < 3; i++)
            merged(all, parts[orders[k][i]], 10 + orders[k][i], 0);
        assert_int_equal(shelf_ask(all, "SELECT count(*) FROM student"), 2);
        assert_int_equal(shelf_ask(all, "SELECT count(*) FROM daily"), 18);
    }
}

static void a_renamed_student_is_still_the_same(void **state)
{
    (void)state;
    const char *home = shelf_new("home.db"), *away = shelf_new("away.db");
    Error error = {0};
    shelf_make(away, "Ada", 5, TODAY);
    merged(home, away, 5, 0);
    Journal *j = shelf_open(home);
    assert_true(journal_rename(j, "Ada", "Ada L.", &error));
    journal_close(j);
    shelf_make(away, "Ada", 3, TODAY + 1);
    merged(home, away, 3, 5);
    assert_int_equal(shelf_ask(home, "SELECT count(*) FROM student"), 1);
    assert_int_equal(shelf_ask(home, "SELECT name = 'Ada L.' FROM student"), 1);
}

static void those_without_a_name_stay_apart(void **state)
{
    (void)state;
    const char *home = shelf_new("home.db"), *one = shelf_new("one.db"), *two = shelf_new("two.db");
    shelf_make(home, "", 2, TODAY);
    shelf_make(one, "", 3, TODAY);
    shelf_make(two, "", 4, TODAY);
    merged(home, one, 3, 0);
    merged(home, two, 4, 0);
    merged(home, one, 0, 3);
    assert_int_equal(shelf_ask(home, "SELECT count(*) FROM student"), 3);
    assert_int_equal(
        shelf_ask(home, "SELECT count(*) FROM repetition r JOIN student s ON s.id = r.student"
                        " WHERE name = 'unnamed 2'"),
        4);
}

static void an_older_record_is_taken_in_as_it_is(void **state)
{
    (void)state;
    const char *home = shelf_new("home.db"), *old = shelf_new("old.db");
    shelf_make(home, "Ada", 2, TODAY);
    shelf_make(old, "Bo", 30, TODAY);
    shelf_make_older(old, 1);
    ShelfBytes before = shelf_read(old);
    merged(home, old, 30, 0);
    ShelfBytes after = shelf_read(old);
    assert_true(shelf_same(before, after));
    free(before.bytes);
    free(after.bytes);
}

/* As it comes on a stick or a disc: a bare file in the mode that keeps a log, where nothing may be
 * written beside it. */
static void a_bare_copy_is_read_as_it_lies(void **state)
{
    (void)state;
    const char *home = shelf_new("home.db"), *there = shelf_new("stick/it's 100%? #1.db");
    char command[2 * SHELF_PATH], folder[SHELF_PATH];
    shelf_make(home, "Ada", 2, TODAY);
    shelf_make(there, "Bo", 8, TODAY);
    snprintf(folder, sizeof folder, "%s", there);
    *strrchr(folder, '/') = '\0';
    snprintf(command, sizeof command, "chmod 444 \"%s\"; chmod 555 '%s'", there, folder);
    assert_int_equal(system(command), 0);
    merged(home, there, 8, 0);
    assert_int_equal(shelf_mode(shelf_path(there, "-wal")), -1);
    assert_int_equal(shelf_mode(shelf_path(there, "-shm")), -1);
    assert_int_equal(shelf_mode(there), 0444);
}

/* What is in its log only belongs to it. */
static void a_record_that_is_open_elsewhere_is_taken_whole(void **state)
{
    (void)state;
    const char *home = shelf_new("home.db"), *open = shelf_new("open.db");
    shelf_make(home, "Ada", 2, TODAY);
    Journal *j = shelf_open(open);
    shelf_fill(j, "Bo", 8, TODAY);
    merged(home, open, 8, 0);
    shelf_fill(j, "Bo", 1, TODAY);
    journal_close(j);
    merged(home, open, 1, 8);
}

static void what_is_no_record_is_refused(void **state)
{
    (void)state;
    const char *home = shelf_new("home.db"), *other = shelf_new("other.db"),
               *newer = shelf_new("newer.db"), *bad = shelf_new("bad.db");
    shelf_make(home, "Ada", 2, TODAY);
    refused(home, shelf_path(home, "-none"), "cannot be read");
    shelf_write(other, "hello", 5);
    refused(home, other, "no practice record");
    shelf_write(other, "", 0);
    refused(home, other, "no practice record");
    shelf_tell(other, "CREATE TABLE repetition (x)");
    refused(home, other, "no practice record");
    shelf_make(newer, "Bo", 2, TODAY);
    shelf_tell(newer, "PRAGMA user_version = 99");
    refused(home, newer, "newer evenhand");
    shelf_make(bad, "Bo", 200, TODAY);
    ShelfBytes b = shelf_read(bad);
    memset(b.bytes + b.size / 2, 0xA5, b.size / 4);
    shelf_write(bad, b.bytes, b.size);
    free(b.bytes);
    refused(home, bad, "damaged");
}

/* Rows that no evenhand would write, in a file that says it is ours. */
static void rows_that_cannot_be_are_left_where_they_are(void **state)
{
    (void)state;
    const char *home = shelf_new("home.db"), *odd = shelf_new("odd.db");
    static const char *const spoil[] = {"clean = 7", "day = 'x'", "day = -5", "at = 'soon'",
        "beat_den = 0", "tempo_num = -3", "tempo_num = 9e18", "fingers = x'00'"};
    enum { SPOILT = sizeof spoil / sizeof spoil[0] };
    shelf_make(odd, "Bo", 20, TODAY);
    for (int i = 0; i < SPOILT; i++) {
        char sql[160];
        snprintf(sql, sizeof sql,
            "DROP TRIGGER IF EXISTS repetition_judged;"
            "UPDATE repetition SET %s WHERE id = %d",
            spoil[i], i + 1);
        shelf_tell(odd, sql);
    }
    shelf_tell(odd, "UPDATE passage SET title = 'a' || char(27) || '[2J' WHERE id = 1;"
                    "UPDATE drill SET word = printf('%.5000c', 'x') WHERE id = 1");
    merged(home, odd, 20 - SPOILT, SPOILT);
    assert_int_equal(shelf_ask(home, "SELECT count(*) FROM passage WHERE title = 'a?[2J'"), 1);
    assert_int_equal(shelf_ask(home, "SELECT max(length(word)) FROM drill"), RECORD_WORD_MAX - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(twice_is_once),
        cmocka_unit_test(the_order_does_not_matter),
        cmocka_unit_test(a_renamed_student_is_still_the_same),
        cmocka_unit_test(those_without_a_name_stay_apart),
        cmocka_unit_test(an_older_record_is_taken_in_as_it_is),
        cmocka_unit_test(a_bare_copy_is_read_as_it_lies),
        cmocka_unit_test(a_record_that_is_open_elsewhere_is_taken_whole),
        cmocka_unit_test(what_is_no_record_is_refused),
        cmocka_unit_test(rows_that_cannot_be_are_left_where_they_are),
    };
    return cmocka_run_group_tests_name("journal, merging", tests, shelf_begin, shelf_end);
}
