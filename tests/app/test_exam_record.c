/* Plans from the practice record: what was really reached, which days were used. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/exam_load.h"
#include "evenhand/app/paths.h"
#include "evenhand/app/practice.h"
#include "evenhand/formats/exam_sheet.h"
#include "evenhand/journal/journal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char folder[] = "/tmp/evenhand-exam-XXXXXX";
static char plan[PATHS_MAX];
enum { DAY_MS = 86400000 };

static int make_folder(void **state)
{
    (void)state;
    if (!mkdtemp(folder) || setenv("XDG_DATA_HOME", folder, 1) != 0)
        return -1;
    snprintf(plan, sizeof plan, "%s/plan.ini", folder);
    FILE *file = fopen(plan, "w");
    if (!file)
        return -1;
    fputs("[exam]\nstudent=Ada\ndate=2027-03-01\ndays=mon tue wed thu fri\nminutes=30\n"
          "[passage]\ntitle=Scale, invented\nfrom=1/4=60\ngoal=1/4=120\n"
          "[passage]\ntitle=Run, invented\nfrom=1/4=60\ngoal=1/4=90\n",
        file);
    return fclose(file);
}

static int drop_folder(void **state)
{
    char command[100];
    (void)state;
    snprintf(command, sizeof command, "rm -r %s", folder);
    return system(command);
}

static void add(
    const char *student, const char *title, const char *drill, int number, bool clean, Day day)
{
    Error error = {0};
    char path[PATHS_MAX];
    int64_t sitting, id;
    Repetition r = {.notes = (unsigned char)title[0], /* another passage, other notes */
        .fingers = 1,
        .tempo = tempo(ratio_int(1), ratio_int(number)),
        .clean = clean,
        .at = (int64_t)day * DAY_MS,
        .day = day};
    snprintf(r.student, sizeof r.student, "%s", student);
    snprintf(r.passage, sizeof r.passage, "%s", title);
    snprintf(r.drill, sizeof r.drill, "%s", drill);
    assert_true(paths_record(path, &error));
    Journal *j = journal_open(path, &error);
    if (!j)
        fail_msg("%s", error.text);
    assert_true(journal_begin(j, student, r.at, day, &sitting, &error));
    assert_true(journal_add(j, sitting, &r, &id, &error));
    journal_close(j);
}

static Exam loaded(Day today)
{
    Exam exam;
    Error error = {0};
    if (!exam_load(plan, today, &exam, &error))
        fail_msg("%s", error.text);
    assert_int_equal(exam.left_out.kind, ERROR_NONE);
    return exam;
}

static void expect_start(const Exam *exam, int passage, int number)
{
    char text[TEMPO_TEXT_MAX], wanted[TEMPO_TEXT_MAX];
    tempo_text(tempo(ratio_int(1), ratio_int(number)), wanted);
    assert_string_equal(tempo_text(exam->plan.outcomes[passage].start, text), wanted);
}

static void plans_from_what_was_reached(void **state)
{
    Day first = date_day(2026, 11, 25), today = first + 7;
    (void)state;
    Exam exam = loaded(first); /* no record yet */
    expect_start(&exam, 0, 60);
    assert_int_equal(exam.done_count, 0);
    exam_drop(&exam);

    add("Ada", "Scale, invented", "plain", 76, true, first);
    add("Ada", "Scale, invented", "finger-3", 80, true, first + 1);
    add("Ada", "Scale, invented", "plain", 92, false, first + 1);        /* missed */
    add("Ada", "Scale, invented", "long-short", 96, true, first + 1);    /* a rhythm */
    add("Ada", "Scale, invented", "links+beat-2", 100, true, first + 2); /* places the hand */
    add("Bea", "Scale, invented", "plain", 104, true, first + 3);        /* somebody else */
    add("Ada", "Another, invented", "plain", 108, true, first + 5);
    exam = loaded(today);
    expect_start(&exam, 0, 80);
    expect_start(&exam, 1, 60);
    assert_int_equal(exam.done_count, 4);
    for (int i = 0; i < exam.done_count; i++)
        assert_true(exam.done[i] == first + i || exam.done[i] == first + 5);
    for (size_t i = 0; i < exam.plan.count; i++)
        assert_true(exam.plan.entries[i].day >= today);
    Text head = {0};
    assert_true(exam_sheet_head(&exam.spec, &exam.plan, NULL, "", "", &head));
    assert_non_null(strstr(head.bytes, "1/4 = 80 by the record, goal 1/4 = 120"));
    assert_non_null(strstr(head.bytes, "1/4 = 60, goal 1/4 = 90"));
    text_free(&head);
    exam_drop(&exam);
}

/* The days of the record stand on the calendar. */
static void the_calendar_shows_days_done(void **state)
{
    Options o = options_default();
    Error error = {0};
    (void)state;
    o.file = "presets/02-one-octave-up.abc";
    o.exam_plan = plan;
    o.has_today = true;
    o.today = date_day(2026, 11, 30);
    Practice *p = practice_new(&o, true, &error);
    assert_non_null(p);
    assert_true(practice_act(p, ACTION_CALENDAR, 0));
    const ModelCalendar *c = &practice_model(p)->calendar;
    for (int i = 0; i < MODEL_DAYS; i++) {
        int number = c->days[i].number;
        bool done = (number >= 25 && number <= 27) || number == 30;
        assert_int_equal(c->days[i].kind == MODEL_DAY_DONE, done);
    }
    practice_free(p);
}

/* A record that cannot be read does not keep anyone from planning, and is not touched. */
static void a_damaged_record_is_left_out(void **state)
{
    char path[PATHS_MAX], line[40] = "";
    Error error = {0};
    Exam exam;
    (void)state;
    assert_true(paths_record(path, &error));
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs("this is no record\n", file);
    fclose(file);
    assert_true(exam_load(plan, date_day(2026, 11, 25), &exam, &error));
    assert_int_not_equal(exam.left_out.kind, ERROR_NONE);
    assert_true(exam.left_out.text[0] != '\0');
    expect_start(&exam, 0, 60);
    exam_drop(&exam);
    file = fopen(path, "r");
    assert_non_null(file);
    assert_non_null(fgets(line, sizeof line, file));
    fclose(file);
    assert_string_equal(line, "this is no record\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plans_from_what_was_reached),
        cmocka_unit_test(the_calendar_shows_days_done),
        cmocka_unit_test(a_damaged_record_is_left_out),
    };
    return cmocka_run_group_tests_name("plans from the record", tests, make_folder, drop_folder);
}
