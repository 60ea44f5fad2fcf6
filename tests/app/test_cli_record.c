/* The command record from outside. The record is invented; the day is told by --today. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/exam_load.h"

#include "cli.h"
#include "kept.h"
#include "tools/golden.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { TODAY = 20782 /* 2026-11-25 */ };
#define NOW " --today 2026-11-25"

static const Kept kept[] = {
    {"Ada", "Run in G", "plain", 60, TODAY - 30, 10, 4, 1},
    {"Ada", "Run in G", "finger-4", 66, TODAY - 9, 8, 6, 1},
    {"Ada", "Run in G", "plain", 72, TODAY, 12, 11, 2},
    {"Ada", "Broken \"chords\", slow", "links+finger-4", 48, TODAY - 12, 5, 0, 1},
    {"Ben", "Scale of C", "long-short", 92, TODAY - 6, 3, 3, 1},
    {"Ben", "A \x1b[31mred\x07 title", "plain", 50, TODAY - 7, 4, 1, 1},
    {"", "Scale of C", "plain", 80, TODAY, 4, 3, 1},
};
enum { KEPT = sizeof kept / sizeof kept[0] };

/* An empty directory and a record as above. */
static int begin(void **state)
{
    if (set_up(state) != 0 || kept_enter(state) != 0)
        return -1;
    kept_write(NULL, kept, KEPT);
    return 0;
}

static void golden(const char *name, const char *words)
{
    Run r = run(words);
    if (r.code != 0)
        fail_msg("evenhand %s: %s", words, r.err);
    assert_string_equal(r.err, "");
    golden_check_from(cli_root(), name, r.out);
    run_free(&r);
}

static void as_it_is_printed(void **state)
{
    (void)state;
    golden("record-today.txt", "record" NOW);
    golden("record-rest-day.txt", "record --today 2026-12-01 --student Ben --stale 12");
    golden("record-passages.txt", "record --by passage" NOW);
    golden("record-drills.txt", "record --by drill --student Ada" NOW);
    golden("record-students.txt", "record --by student" NOW);
    golden("record-days.txt",
        "record --by day --passage 'Run in G' --since 2026-11-01 --until 2026-11-24" NOW);
    golden("record-csv.txt", "record --csv" NOW);
    golden("record-json.txt", "record --json --by student" NOW);
}

static void says(const char *words, const char *wanted)
{
    Run r = run(words);
    if (r.code != 0 || strstr(r.out, wanted) == NULL)
        fail_msg("evenhand %s: no '%s' in\n%s%s", words, wanted, r.out, r.err);
    run_free(&r);
}

/* Without --today it is the day of the player's own zone. */
static void today_is_the_clock_s(void **state)
{
    static const char *const zones[] = {"Pacific/Kiritimati", "Etc/GMT+12"}; /* 26 hours apart */
    (void)state;
    for (int i = 0; i < 2; i++) {
        char day[DATE_TEXT_MAX], wanted[60];
        setenv("TZ", zones[i], 1);
        tzset();
        Day before = exam_today();
        Run r = run("record");
        Day after = exam_today(); /* midnight may pass */
        snprintf(wanted, sizeof wanted, "Today, %s: ", date_text(before, day));
        bool told = strstr(r.out, wanted) != NULL;
        snprintf(wanted, sizeof wanted, "Today, %s: ", date_text(after, day));
        if (!told && strstr(r.out, wanted) == NULL)
            fail_msg("%s: no '%s' in\n%s", zones[i], wanted, r.out);
        run_free(&r);
    }
    setenv("TZ", "UTC", 1);
    tzset();
}

static void nothing_is_made_by_looking(void **state)
{
    (void)state;
    setenv("XDG_DATA_HOME", kept_path("nowhere"), 1);
    says("record", "There is no practice record yet");
    says("record --by day", "Nothing is recorded.");
    says("record --csv", "passage,percent_clean");
    expect("record --rename Ada=Eve", 1, "has no student 'Ada'");
    expect("record --delete-student Ada --force", 1, "has no student 'Ada'");
    expect("record --delete-student Ada", 1, "nothing of a student 'Ada'");
    expect("record --backup copy.db", 1, "there is no record to copy");
    assert_int_equal(access(kept_path("nowhere"), F_OK), -1);
    assert_int_equal(size_of("copy.db"), -1);
}

static void students_are_renamed_and_deleted(void **state)
{
    (void)state;
    says("record --rename 'Ada=Ada B.'", "Ada is now called Ada B..\n");
    expect("record --rename 'Ada B.=Ben'", 1, "has a student 'Ben' already");
    expect("record --rename Eve=Ida", 1, "has no student 'Eve'");
    says("record --rename '=Cy'", "(no name) is now called Cy.\n");
    expect("record --delete-student 'Ada B.'", 2,
        "nothing is deleted yet: 35 repetitions of 2 passages by Ada B., 2026-10-26 to 2026-11-25, would go for good; "
        "--export-student keeps a copy, --force deletes");
    says("record --by student" NOW, "\nAda B. ");
    says("record --delete-student 'Ada B.' --force", "35 repetitions by Ada B. deleted.\n");
    Run r = run("record --by passage" NOW);
    assert_null(strstr(r.out, "Run in G")); /* whole: her passages, too */
    assert_non_null(strstr(r.out, "Scale of C"));
    run_free(&r);
}

/* A teacher takes in what a student brings, again, and more of it. */
static void records_are_collected(void **state)
{
    (void)state;
    says("record --export-student Ada -o ada.db", "What is recorded of Ada is copied to ada.db.\n");
    expect("record --export-student Ada -o ada.db", 1, "ada.db is there already");
    expect("record --export-student Eve -o eve.db", 1, "has no student 'Eve'");
    assert_int_equal(size_of("eve.db"), -1);
    says("record --export-student Ada -o ada.db --force", "copied");
    assert_int_equal(file_count(), 2); /* tunes.abc and that */
    setenv("XDG_DATA_HOME", kept_path("teacher"), 1);
    says("record --import ada.db", "35 repetitions new, 0 known already.\n");
    says("record --import ada.db", "0 repetitions new, 35 known already.\n");
    says("record --by student" NOW, "\nAda                              60 %  1/4 = 72"
                                    "                   35  2026-11-25\n");
    struct stat s;
    assert_int_equal(stat(kept_path("teacher/evenhand/record.db"), &s), 0);
    assert_int_equal(s.st_mode & 0777, 0600);
    expect("record --import tunes.abc", 1, "tunes.abc is no practice record");
    expect("record --import none.db", 1, "none.db cannot be read");
}

static void a_backup_is_the_whole_record(void **state)
{
    (void)state;
    Run before = run("record --by passage" NOW);
    says("record --backup copy.db", "The whole record is copied to copy.db.\n");
    expect("record --backup copy.db", 1, "copy.db is there already");
    setenv("XDG_DATA_HOME", kept_path("restored"), 1);
    says("record --import copy.db", "46 repetitions new, 0 known already.\n");
    Run after = run("record --by passage" NOW);
    assert_string_equal(before.out, after.out);
    run_free(&before);
    run_free(&after);
}

/* Under whatever name: it would be replaced by what is left of it. */
static void the_record_is_no_copy_of_itself(void **state)
{
    (void)state;
    char words[KEPT_PATH + 100];
    Run before = run("record --by passage" NOW);
    assert_int_equal(symlink(kept_path("evenhand/record.db"), "link.db"), 0);
    expect("record --export-student Ada -o link.db --force", 1, "is the record itself");
    snprintf(words, sizeof words, "record --backup %s --force",
        kept_path("evenhand/../evenhand/record.db"));
    expect(words, 1, "is the record itself; write another file");
    Run after = run("record --by passage" NOW);
    assert_string_equal(before.out, after.out);
    run_free(&before);
    run_free(&after);
}

static void what_is_no_record_is_told(void **state)
{
    (void)state;
    FILE *file = fopen(kept_path("evenhand/record.db"), "wb");
    assert_non_null(file);
    for (int i = 0; i < 3000; i++)
        fputs("not a record ", file);
    assert_int_equal(fclose(file), 0);
    Run r = run("record");
    assert_int_equal(r.code, 1);
    assert_string_equal(r.out, "");
    assert_non_null(strstr(r.err, "record"));
    run_free(&r);
}

static void as_a_page(void **state)
{
    (void)state;
    Run r = run("page --record -o record.svg");
    assert_int_equal(r.code, 0);
    assert_string_equal(r.out, "page 1 of 2 is written; --page 2 writes the next\n"); /* 4 charts */
    run_free(&r);
    expect("page --record --by drill --student Ada --since 2026-11-10 -o ada.pdf", 0, "");
    expect("page --record --passage 'Run in G' -o run.png --paper letter", 0, "");
    assert_true(size_of("record.svg") > 1000 && size_of("ada.pdf") > 1000);
    assert_true(size_of("run.png") > 1000);
    expect("page --record -o record.svg", 1, "is there already");
    expect("page --record --passage Nothing -o none.svg", 1, "nothing is recorded");
    assert_int_equal(size_of("none.svg"), -1);
    static const char *const wrong[][2] = {{"page -o x.pdf", "page needs a file"},
        {"page --record", "needs a file to write"},
        {"page --record tunes.abc -o x.pdf", "not both"},
        {"page tunes.abc --passage Steps -o x.pdf", "go with --record"},
        {"page --record --by day -o x.pdf", "by passage, drill or student"},
        {"page --record --by 2 -o x.pdf", "--by takes"},
        {"page --record --since 2026-11-02 --until 2026-11-01 -o x.pdf", "lies after"}};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        expect(wrong[i][0], 2, wrong[i][1]);
    assert_int_equal(size_of("x.pdf"), -1);
}

/* Not as if there were no record at all. */
static void who_is_not_there(void **state)
{
    (void)state;
    says("record --student Eve" NOW, "Nothing is recorded of that student or passage.\n");
    says("record --student Eve" NOW, "There is (no name), Ada, ");
    says("record --passage Nothing" NOW, "There is ");
    says("record --passage Nothing" NOW, "Nothing is recorded of that student or passage.\n");
    says("record --by drill --student Eve" NOW, "Nothing is recorded.\n");
}

static void wrong_words(void **state)
{
    static const struct {
        const char *words, *says;
    } cases[] = {{"record tunes.abc", "record takes no file"},
        {"record --by 2", "--by takes passage, drill, student or day"},
        {"record --by week", "--by takes"}, {"ladder --from 60 --to 80 --by day", "--by takes"},
        {"record --since 2026-02-29", "--since takes a date"},
        {"record --until yesterday", "--until takes a date"},
        {"record --since 2026-11-02 --until 2026-11-01", "--since lies after --until"},
        {"record --stale 0", "--stale"}, {"record --stale 3651", "--stale"},
        {"record --csv --json", "not both"}, {"record --rename Ada", "--rename takes"},
        {"record --rename Ada=", "--rename takes"}, {"record --rename a=b=c", "--rename takes"},
        {"record --rename a=b --delete-student a", "one thing at a time"},
        {"record --backup x.db --csv", "goes without the words"},
        {"record --import ''", "--import needs a value"},
        {"record --export-student Ada", "needs a file to write"},
        {"record --by day -o days.csv", "lists are printed"},
        {"record --passage ''", "--passage takes"}, {"show tunes.abc --csv", "has no meaning"}};
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        expect(cases[i].words, 2, cases[i].says);
}

static int enter(void **state)
{
    (void)state;
    return cli_enter() && setenv("TZ", "UTC", 1) == 0 ? 0 : -1;
}

static int leave(void **state)
{
    (void)state;
    return cli_leave() ? 0 : -1;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(as_it_is_printed, begin, kept_leave),
        cmocka_unit_test_setup_teardown(today_is_the_clock_s, begin, kept_leave),
        cmocka_unit_test_setup_teardown(nothing_is_made_by_looking, begin, kept_leave),
        cmocka_unit_test_setup_teardown(students_are_renamed_and_deleted, begin, kept_leave),
        cmocka_unit_test_setup_teardown(records_are_collected, begin, kept_leave),
        cmocka_unit_test_setup_teardown(a_backup_is_the_whole_record, begin, kept_leave),
        cmocka_unit_test_setup_teardown(the_record_is_no_copy_of_itself, begin, kept_leave),
        cmocka_unit_test_setup_teardown(what_is_no_record_is_told, begin, kept_leave),
        cmocka_unit_test_setup_teardown(as_a_page, begin, kept_leave),
        cmocka_unit_test_setup_teardown(who_is_not_there, begin, kept_leave),
        cmocka_unit_test_setup_teardown(wrong_words, begin, kept_leave),
    };
    return cmocka_run_group_tests_name("cli_record", tests, enter, leave);
}
