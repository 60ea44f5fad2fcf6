/* date.h - days of the calendar, without a clock or a time zone. Pure.
 *
 * A Day is a date and nothing more: whoever asks a clock turns the moment into the day that the
 * player's own calendar shows, once, and hands that in. So no sum of days ever meets a change to
 * summer time. [proleptic Gregorian calendar, weekdays as ISO 8601]
 */
#ifndef EVENHAND_PLAN_DATE_H
#define EVENHAND_PLAN_DATE_H

#include "evenhand/music/error.h"

#include <stdint.h>

typedef int32_t Day; /* days since 1970-01-01 */

enum { DATE_YEAR_MIN = 1970, DATE_YEAR_MAX = 9999, DATE_TEXT_MAX = 16 };

bool date_valid(int year, int month, int day); /* within the years above */
Day date_day(int year, int month, int day);    /* a valid date, or -1 */
/* The date of a day; 1 .. 12, 1 .. 31. Pointers may be NULL. */
void date_parts(Day day, int *year, int *month, int *day_of_month);
int date_weekday(Day day); /* 1 Monday .. 7 Sunday */
int date_month_days(int year, int month);
/* Reads "2027-03-14" and nothing else. ERROR_RANGE or ERROR_SYNTAX says what to write. */
bool date_read(const char *text, Day *out, Error *error);
char *date_text(Day day, char out[DATE_TEXT_MAX]); /* "2027-03-14"; returns out */

#endif
