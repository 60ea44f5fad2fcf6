#include "evenhand/plan/date.h"

#include <stdio.h>

/* The calendar repeats after 400 years. Years are counted from the first of March, so that the
 * leap day is the last of its year and no month before it depends on it. */
enum {
    DAYS_OF_CYCLE = 146097,
    DAYS_OF_CENTURY = 36524,
    DAYS_OF_FOUR = 1461,
    DAYS_OF_YEAR = 365,
    EPOCH = 719468 /* days from 0000-03-01 to 1970-01-01 */
};

static bool leap(int year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

int date_month_days(int year, int month)
{
    static const int8_t days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    if (month < 1 || month > 12)
        return 0;
    return days[month - 1] + (month == 2 && leap(year) ? 1 : 0);
}

bool date_valid(int year, int month, int day)
{
    return year >= DATE_YEAR_MIN && year <= DATE_YEAR_MAX && day >= 1 &&
           day <= date_month_days(year, month);
}

/* Days before month m of a year that begins in March (0 March .. 11 February): 0 31 61 92 122
 * 153 ... 337. Five months always hold 153 days. */
static int days_before(int m)
{
    return (153 * m + 2) / 5;
}

Day date_day(int year, int month, int day)
{
    if (!date_valid(year, month, day))
        return -1;
    int y = month > 2 ? year : year - 1, m = (month + 9) % 12;
    return DAYS_OF_YEAR * y + y / 4 - y / 100 + y / 400 + days_before(m) + day - 1 - EPOCH;
}

void date_parts(Day day, int *year, int *month, int *day_of_month)
{
    int64_t since = (int64_t)day + EPOCH;
    int64_t cycle = (since >= 0 ? since : since - (DAYS_OF_CYCLE - 1)) / DAYS_OF_CYCLE;
    int rest = (int)(since - cycle * DAYS_OF_CYCLE);
    /* The last century of a cycle, and the last year of four, are a day longer than the others. */
    int century = rest / DAYS_OF_CENTURY;
    century = century > 3 ? 3 : century;
    rest -= century * DAYS_OF_CENTURY;
    int four = rest / DAYS_OF_FOUR;
    rest -= four * DAYS_OF_FOUR;
    int one = rest / DAYS_OF_YEAR;
    one = one > 3 ? 3 : one;
    rest -= one * DAYS_OF_YEAR;
    int m = (5 * rest + 2) / 153;
    if (year != NULL)
        *year = (int)(cycle * 400) + century * 100 + four * 4 + one + (m >= 10 ? 1 : 0);
    if (month != NULL)
        *month = m < 10 ? m + 3 : m - 9;
    if (day_of_month != NULL)
        *day_of_month = rest - days_before(m) + 1;
}

int date_weekday(Day day)
{
    int since_monday = (int)(((int64_t)day + 3) % 7); /* 1970-01-01 was a Thursday */
    return (since_monday < 0 ? since_monday + 7 : since_monday) + 1;
}

static int digits(const char *text, int count)
{
    int value = 0;
    for (int i = 0; i < count; i++) {
        if (text[i] < '0' || text[i] > '9')
            return -1;
        value = value * 10 + (text[i] - '0');
    }
    return value;
}

bool date_read(const char *text, Day *out, Error *error)
{
    /* Read from the left: the first strange byte, which may be the end, ends it. */
    int year = digits(text, 4), month = -1, day = -1;
    if (year >= 0 && text[4] == '-')
        month = digits(text + 5, 2);
    if (month >= 0 && text[7] == '-')
        day = digits(text + 8, 2);
    if (day < 0 || text[10] != '\0')
        return error_set(error, ERROR_SYNTAX,
            "'%.40s' is no date; write year, month and day as in 2027-03-14", text);
    if (year < DATE_YEAR_MIN || year > DATE_YEAR_MAX)
        return error_set(error, ERROR_RANGE, "the year of %.10s lies outside %d to %d", text,
            DATE_YEAR_MIN, DATE_YEAR_MAX);
    if (month < 1 || month > 12)
        return error_set(error, ERROR_RANGE,
            "%.10s has no month between 01 and 12; write year, month and day as in 2027-03-14",
            text);
    if (!date_valid(year, month, day))
        return error_set(error, ERROR_RANGE,
            "%.10s does not exist: that month has the days 01 to %d", text,
            date_month_days(year, month));
    *out = date_day(year, month, day);
    return true;
}

char *date_text(Day day, char out[DATE_TEXT_MAX])
{
    int year, month, day_of_month;
    date_parts(day, &year, &month, &day_of_month);
    snprintf(out, DATE_TEXT_MAX, "%04d-%02d-%02d", year, month, day_of_month);
    return out;
}
