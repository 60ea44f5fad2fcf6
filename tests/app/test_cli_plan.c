/* The program from outside: exam plans as text and as calendars. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cli.h"
#include "tools/golden.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char plan[] = "[exam]\n"
                           "title = A grade, invented\n"
                           "date = 2026-12-19\n"
                           "days = mon tue wed thu fri\n"
                           "minutes = 20\n"
                           "[passage]\n"
                           "file = tunes.abc:1\n"
                           "from = 80\n"
                           "goal = 96\n"
                           "[passage]\n"
                           "title = Arpeggio, invented\n"
                           "from = 1/4=60\n"
                           "goal = 1/4=72\n"
                           "[missed]\n"
                           "day = 2026-12-02\n";

static void prints_the_plan(void **state)
{
    (void)state;
    put_file("plan.ini", plan);
    Run days = run("plan plan.ini --today 2026-11-25");
    assert_string_equal(days.err, "");
    assert_int_equal(days.code, 0);
    golden_check_from(cli_root(), "plan-days.txt", days.out);
    run_free(&days);
    Run months = run("plan plan.ini --months --today 2026-11-25");
    golden_check_from(cli_root(), "plan-months.txt", months.out);
    run_free(&months);
}

/* Without --today the calendar of this machine counts, in whatever zone it stands. */
static void today_is_the_players_own(void **state)
{
    (void)state;
    put_file("plan.ini", "[exam]\ndate = 2026-12-19\ndays = mon\nminutes = 20\n"
                         "[passage]\ntitle = A\nfrom = 1/4=60\ngoal = 1/4=62\n");
    for (int east = 0; east < 2; east++) {
        char day[32] = "", file[200];
        /* 26 hours apart: never the same day in both */
        const char *zone = east ? "TZ=ZZZ-14" : "TZ=ZZZ+12";
        snprintf(file, sizeof file, "%s date +%%F", zone);
        FILE *told = popen(file, "r");
        assert_non_null(told);
        assert_non_null(fgets(day, sizeof day, told));
        pclose(told);
        day[strcspn(day, "\n")] = '\0';
        char text[300];
        snprintf(text, sizeof text,
            "[exam]\ndate = %s\ndays = mon\nminutes = 20\n"
            "[passage]\ntitle = A\nfrom = 1/4=60\ngoal = 1/4=62\n",
            day);
        put_file("today.ini", text);
        Run r = run_after(zone, "plan today.ini");
        assert_int_equal(r.code, 1);
        assert_non_null(strstr(r.err, "not after today"));
        run_free(&r);
        Run other = run_after(east ? "TZ=ZZZ+12" : "TZ=ZZZ-14", "plan today.ini");
        assert_int_equal(other.code, east ? 0 : 1);
        run_free(&other);
    }
}

static void writes_a_calendar(void **state)
{
    (void)state;
    put_file("plan.ini", plan);
    expect("plan plan.ini --today 2026-11-25 -o plan.ics", 0, "");
    char *text = slurp("plan.ics");
    assert_non_null(strstr(text, "DTSTART;VALUE=DATE:20261125\r\n"));
    assert_null(strstr(text, "DTSTART;VALUE=DATE:20261202\r\n")); /* missed */
    assert_non_null(strstr(text, "DTSTART;VALUE=DATE:20261219\r\nSUMMARY:Exam: A grade"));
    free(text);
    expect("plan plan.ini --today 2026-11-25 -o plan.ics", 1, "--force");
    expect("plan plan.ini --today 2026-11-25 -o plan.ics --force", 0, "");
    expect("plan plan.ini -o plan.pdf", 2, ".ics");
    assert_int_equal(file_count(), 3);

    char command[1400];
    snprintf(command, sizeof command, "/usr/bin/python3 %s/tests/tools/calendar_events.py plan.ics",
        cli_root());
    FILE *said = popen(command, "r");
    assert_non_null(said);
    int lines = 0;
    for (int c; (c = fgetc(said)) != EOF;)
        lines += c == '\n';
    assert_int_equal(pclose(said), 0);         /* Debian: python3-icalendar */
    assert_int_equal(lines, 1 + 4 * (17 + 1)); /* practice days of the golden text, and the exam */
}

static void says_what_is_wrong(void **state)
{
    (void)state;
    expect("plan", 2, "plan needs a file");
    expect("plan gone.ini", 1, "gone.ini");
    expect("plan -", 1, "standard input: the file lacks, below [exam], date = "); /* it is empty */
    put_file("plan.ini", "[exam]\ndate = 2026-02-30\n");
    expect("plan plan.ini", 1, "plan.ini:2: date");
    expect("plan plan.ini --today soon", 2, "--today takes a date such as 2026-11-25");
    put_file("plan.ini", plan);
    expect("plan plan.ini --today 2026-12-19", 1,
        "plan.ini:3: the exam is on 2026-12-19, which is not after today");
    put_file("plan.ini", "[exam]\ndate = 2027-01-01\ndays = mon\nminutes = 20\n"
                         "[passage]\nfile = gone.abc\nfrom = 60\ngoal = 90\n");
    expect("plan plan.ini --today 2026-11-25", 1, "plan.ini:6: there is no passage 'gone.abc'");
    put_file("plan.ini", "[exam]\ndate = 2027-01-01\ndays = mon\nminutes = 20\n"
                         "[passage]\nfile = 04-up-and-turn.abc\nfrom = 60\ngoal = 90\n");
    Run bundled = run("plan plan.ini --today 2026-11-25");
    assert_int_equal(bundled.code, 0);
    assert_non_null(strstr(bundled.out, "One octave up and back"));
    run_free(&bundled);
    expect(
        "show plan.ini", 2, "plan.ini: there is no tune in it: a routine is played with evenhand");
    expect("show tunes.abc --months", 2, "--months has no meaning for show");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(prints_the_plan, set_up),
        cmocka_unit_test_setup(today_is_the_players_own, set_up),
        cmocka_unit_test_setup(writes_a_calendar, set_up),
        cmocka_unit_test_setup(says_what_is_wrong, set_up),
    };
    setenv("XDG_DATA_HOME", "/tmp/evenhand-no-record", 1); /* not the developer's own record */
    if (!cli_enter())
        return 1;
    int failed = cmocka_run_group_tests_name("plans from outside", tests, NULL, NULL);
    return cli_leave() ? failed : 1;
}
