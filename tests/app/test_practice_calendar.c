/* The calendar screen: an exam plan by months, moved over by days and weeks. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/exam_load.h"
#include "evenhand/app/practice.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char path[64];

static void put(const char *text)
{
    snprintf(path, sizeof path, "/tmp/evenhand-calendar-%ld.ini", (long)getpid());
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

static Practice *practice(const char *plan, Day today, Error *error)
{
    Options o = options_default();
    o.file = "presets/02-one-octave-up.abc";
    o.exam_plan = plan;
    o.has_today = true;
    o.today = today;
    return practice_new(&o, true, error);
}

static const ModelCalendar *press(Practice *p, Action action)
{
    assert_true(practice_act(p, action, 0));
    return &practice_model(p)->calendar;
}

static const ModelDay *chosen(const ModelCalendar *c)
{
    assert_in_range(c->cursor, 0, MODEL_DAYS - 1);
    return &c->days[c->cursor];
}

/* Every day from today to the exam against the plan itself, over a year's end. */
static void shows_the_plan(void **state)
{
    Error error = {0};
    Exam exam;
    Day today = date_day(2026, 11, 25);
    (void)state;
    Practice *p = practice("presets/exam-plan.ini", today, &error);
    if (!p)
        fail_msg("%s", error.text);
    assert_true(exam_load("presets/exam-plan.ini", today, &exam, &error));
    const ModelCalendar *c = press(p, ACTION_CALENDAR);
    assert_int_equal(practice_model(p)->screen, SCREEN_CALENDAR);
    assert_true(chosen(c)->today);
    size_t at = 0;
    for (Day day = today; day <= exam.spec.exam; day++, c = press(p, ACTION_DAY_AFTER)) {
        char on[DATE_TEXT_MAX];
        int number, year, minutes = 0, blocks = 0;
        date_parts(day, &year, NULL, &number);
        for (; at < exam.plan.count && exam.plan.entries[at].day == day; at++, blocks++)
            minutes += exam.plan.entries[at].minutes;
        assert_int_equal(chosen(c)->number, number);
        assert_int_equal(chosen(c)->minutes, minutes);
        assert_int_equal(c->block_count, blocks);
        assert_int_equal(c->cursor % 7 + 1, date_weekday(day));
        assert_int_equal(chosen(c)->today, day == today);
        assert_non_null(strstr(c->day, date_text(day, on)));
        assert_non_null(strstr(c->month, year == 2026 ? "2026" : "2027"));
        ModelDayKind kind =
            day == exam.spec.exam ? MODEL_DAY_EXAM
            : minutes > 0         ? MODEL_DAY_PRACTICE
            : number >= 24 && number <= 26 && year == 2026 && strstr(c->month, "December")
                ? MODEL_DAY_MISSED
            : number == 1 && strstr(c->month, "January") ? MODEL_DAY_MISSED
                                                         : MODEL_DAY_FREE;
        assert_int_equal(chosen(c)->kind, kind);
    }
    assert_int_equal(at, exam.plan.count);
    exam_drop(&exam);
    press(p, ACTION_BACK);
    assert_int_equal(practice_model(p)->screen, SCREEN_PRACTICE);
    practice_free(p);
}

static void moves_within_the_plan(void **state)
{
    Error error = {0};
    (void)state;
    Practice *p = practice("presets/exam-plan.ini", date_day(2026, 11, 25), &error);
    assert_non_null(p);
    const ModelCalendar *c = press(p, ACTION_CALENDAR);
    assert_int_equal(chosen(press(p, ACTION_WEEK_AFTER))->number, 2);
    assert_int_equal(chosen(press(p, ACTION_WEEK_BEFORE))->number, 25);
    assert_int_equal(chosen(press(p, ACTION_DAY_BEFORE))->number, 24);
    for (int i = 0; i < 10; i++)
        c = press(p, ACTION_WEEK_BEFORE);
    assert_string_equal(c->month, "November 2026");
    assert_int_equal(chosen(c)->number, 1);
    for (int i = 0; i < 40; i++)
        c = press(p, ACTION_WEEK_AFTER);
    assert_string_equal(c->month, "March 2027");
    assert_int_equal(chosen(c)->number, 31);
    press(p, ACTION_CALENDAR);
    assert_true(chosen(press(p, ACTION_CALENDAR))->today); /* opened anew at today */
    practice_free(p);
}

static void without_a_plan(void **state)
{
    Error error = {0};
    (void)state;
    Practice *p = practice(NULL, 0, &error);
    assert_non_null(p);
    assert_string_equal(press(p, ACTION_CALENDAR)->month, "");
    assert_string_equal(press(p, ACTION_DAY_AFTER)->month, "");
    practice_free(p);
    assert_null(practice("gone.ini", 0, &error));
    assert_string_equal(error.source, "gone.ini");
}

/* A plan that does not fit says so, and what would do. */
static void says_what_would_do(void **state)
{
    Error error = {0};
    (void)state;
    put("[exam]\ndate=2026-12-08\ndays=mon wed\nminutes=10\n"
        "[passage]\ntitle=A\nfrom=1/4=60\ngoal=1/4=120\n");
    Practice *p = practice(path, date_day(2026, 11, 25), &error);
    remove(path);
    assert_non_null(p);
    const ModelCalendar *c = press(p, ACTION_CALENDAR);
    assert_non_null(strstr(c->title, "goals not reached"));
    assert_non_null(strstr(practice_model(p)->message, "a goal of 1/4 = "));
    practice_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shows_the_plan),
        cmocka_unit_test(moves_within_the_plan),
        cmocka_unit_test(without_a_plan),
        cmocka_unit_test(says_what_would_do),
    };
    setenv("XDG_DATA_HOME", "/tmp/evenhand-no-record", 1); /* not the developer's own record */
    return cmocka_run_group_tests_name("calendar screen", tests, NULL, NULL);
}
