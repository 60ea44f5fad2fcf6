/* Days of the calendar. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/plan/date.h"

#include <stdio.h>
#include <string.h>

static void leap_years(void **state)
{
    (void)state;
    /* every fourth year, not the centuries, but every fourth of those: the Gregorian rule */
    const int leap[] = {1972, 2000, 2024, 2028, 2400}, common[] = {1970, 2027, 2100, 2200, 2300};
    for (int i = 0; i < 5; i++) {
        assert_int_equal(date_month_days(leap[i], 2), 29);
        assert_int_equal(date_month_days(common[i], 2), 28);
        assert_true(date_valid(leap[i], 2, 29));
        assert_false(date_valid(common[i], 2, 29));
        assert_int_equal(date_day(leap[i], 3, 1) - date_day(leap[i], 2, 28), 2);
        assert_int_equal(date_day(common[i], 3, 1) - date_day(common[i], 2, 28), 1);
        assert_int_equal(date_day(leap[i] + 1, 1, 1) - date_day(leap[i], 1, 1), 366);
        assert_int_equal(date_day(common[i] + 1, 1, 1) - date_day(common[i], 1, 1), 365);
    }
    assert_int_equal(date_month_days(2027, 4), 30);
    assert_int_equal(date_month_days(2027, 12), 31);
    assert_int_equal(date_month_days(2027, 0), 0);
    assert_int_equal(date_month_days(2027, 13), 0);
}

static void limits(void **state)
{
    (void)state;
    assert_int_equal(date_day(1970, 1, 1), 0);
    assert_int_equal(date_day(1969, 12, 31), -1);
    assert_int_equal(date_day(10000, 1, 1), -1);
    assert_int_equal(date_day(2027, 4, 31), -1);
    assert_int_equal(date_day(2027, 0, 1), -1);
    assert_int_equal(date_day(2027, 13, 1), -1);
    assert_int_equal(date_day(2027, 1, 0), -1);
    assert_int_equal(date_day(2027, -1, 1), -1);
    char text[DATE_TEXT_MAX];
    assert_string_equal(date_text(date_day(9999, 12, 31), text), "9999-12-31");
    /* days before the first one that can be written are still right */
    assert_string_equal(date_text(-1, text), "1969-12-31");
    assert_int_equal(date_weekday(-1), 3);
    int year = 0, month = 0, day = 0;
    date_parts(INT32_MIN, &year, &month, &day);
    assert_true(year < -5000000 && month >= 1 && month <= 12 && day >= 1 && day <= 31);
    assert_in_range(date_weekday(INT32_MIN), 1, 7);
    assert_in_range(date_weekday(INT32_MAX), 1, 7);
    date_parts(0, NULL, NULL, NULL);
}

static void known_weekdays(void **state)
{
    (void)state;
    /* 1970-01-01 Thursday: POSIX, 4.16 with tm_wday; 2000-01-01 Saturday, 2000-02-29 Tuesday and
     * 2100-03-01 Monday: published perpetual calendars, common knowledge */
    assert_int_equal(date_weekday(date_day(1970, 1, 1)), 4);
    assert_int_equal(date_weekday(date_day(2000, 1, 1)), 6);
    assert_int_equal(date_weekday(date_day(2000, 2, 29)), 2);
    assert_int_equal(date_weekday(date_day(2100, 3, 1)), 1);
    /* 946684800 s, 951782400 s and 4107542400 s after the epoch: POSIX, 4.16, its formula */
    assert_int_equal(date_day(2000, 1, 1), 946684800 / 86400);
    assert_int_equal(date_day(2000, 2, 29), 951782400 / 86400);
    assert_int_equal(date_day(2100, 3, 1), 4107542400 / 86400);
}

/* Python's datetime is a calendar of its own: it writes each day, we compare. */
static void every_day_as_python_has_it(void **state)
{
    (void)state;
    FILE *python = popen("/usr/bin/python3 -c '\n"
                         "import datetime as d\n"
                         "day = d.date(1970, 1, 1)\n"
                         "while day.year <= 2200:\n"
                         "    print(day, day.isoweekday())\n"
                         "    day += d.timedelta(1)\n"
                         "'",
        "r");
    assert_non_null(python);
    char line[64], ours[64], text[DATE_TEXT_MAX];
    Day day = 0;
    for (; fgets(line, sizeof line, python) != NULL; day++) {
        snprintf(ours, sizeof ours, "%s %d\n", date_text(day, text), date_weekday(day));
        assert_string_equal(ours, line);
    }
    assert_int_equal(pclose(python), 0);
    assert_int_equal(day, date_day(2201, 1, 1)); /* a failure here: is python3 installed? */
}

static void round_trips(void **state)
{
    (void)state;
    int before_year = 1969, before_month = 12, before_day = 31;
    for (Day d = 0; d <= date_day(9999, 12, 31); d++) {
        int year, month, day;
        date_parts(d, &year, &month, &day);
        assert_int_equal(date_day(year, month, day), d);
        /* the day before was the one before in its month, or the last of the month before */
        bool next = year == before_year && month == before_month && day == before_day + 1;
        bool first = day == 1 && before_day == date_month_days(before_year, before_month) &&
                     (month == 1 ? year == before_year + 1 && before_month == 12
                                 : year == before_year && month == before_month + 1);
        assert_true(next || first);
        before_year = year, before_month = month, before_day = day;
    }
    assert_int_equal(before_year, 9999);
    for (Day d = 0; d <= date_day(9999, 12, 31); d += 97) {
        char text[DATE_TEXT_MAX];
        Day again = -1;
        assert_true(date_read(date_text(d, text), &again, NULL));
        assert_int_equal(again, d);
    }
}

static void bad_texts(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        ErrorKind kind;
        const char *says;
    } bad[] = {
        {"", ERROR_SYNTAX, "as in 2027-03-14"},
        {"2027", ERROR_SYNTAX, "'2027' is no date"},
        {"2027-", ERROR_SYNTAX, "is no date"},
        {"2027-3-14", ERROR_SYNTAX, "is no date"},
        {"2027-03", ERROR_SYNTAX, "is no date"},
        {"2027-03-1", ERROR_SYNTAX, "is no date"},
        {"2027-03-14 ", ERROR_SYNTAX, "is no date"},
        {" 2027-03-14", ERROR_SYNTAX, "is no date"},
        {"2027-03-14T10:00", ERROR_SYNTAX, "is no date"},
        {"2027/03/14", ERROR_SYNTAX, "is no date"},
        {"14.03.2027", ERROR_SYNTAX, "is no date"},
        {"-027-03-14", ERROR_SYNTAX, "is no date"},
        {"20270314", ERROR_SYNTAX, "is no date"},
        {"2027-+3-14", ERROR_SYNTAX, "is no date"},
        {"2027-02-29", ERROR_RANGE, "does not exist: that month has the days 01 to 28"},
        {"2100-02-29", ERROR_RANGE, "does not exist: that month has the days 01 to 28"},
        {"2027-04-31", ERROR_RANGE, "01 to 30"},
        {"2027-01-00", ERROR_RANGE, "01 to 31"},
        {"2027-13-01", ERROR_RANGE, "no month between 01 and 12"},
        {"2027-00-01", ERROR_RANGE, "no month between 01 and 12"},
        {"1969-12-31", ERROR_RANGE, "outside 1970 to 9999"},
        {"0000-01-01", ERROR_RANGE, "outside 1970 to 9999"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        Day day = 77;
        Error error = {0};
        assert_false(date_read(bad[i].text, &day, &error));
        assert_int_equal(day, 77);
        assert_int_equal(error.kind, bad[i].kind);
        if (strstr(error.text, bad[i].says) == NULL)
            fail_msg("'%s': %s", bad[i].text, error.text);
        assert_false(date_read(bad[i].text, &day, NULL));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(leap_years),
        cmocka_unit_test(limits),
        cmocka_unit_test(known_weekdays),
        cmocka_unit_test(every_day_as_python_has_it),
        cmocka_unit_test(round_trips),
        cmocka_unit_test(bad_texts),
    };
    return cmocka_run_group_tests_name("date", tests, NULL, NULL);
}
