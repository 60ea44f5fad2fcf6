/* calendar.h - an exam plan as iCalendar text. Pure. [source: RFC 5545]
 *
 * One all-day event for each day with practice, and one for the exam. Days are dates without a
 * time (VALUE=DATE, 3.3.4), so no time zone moves them. Lines end in CR LF, are folded at 75
 * octets and never inside a UTF-8 character (3.1); texts are escaped (3.3.11). The same student,
 * exam and day always give the same UID: a calendar that reads the file again replaces the day.
 */
#ifndef EVENHAND_FORMATS_CALENDAR_H
#define EVENHAND_FORMATS_CALENDAR_H

#include "evenhand/music/text.h"
#include "evenhand/plan/exam.h"

enum { CALENDAR_LINE_MAX = 75, CALENDAR_UID_MAX = 64 };

typedef struct {
    Day day;
    const char *uid;         /* ASCII */
    const char *summary;     /* any bytes: cleaned here */
    const char *description; /* likewise; lines end in '\n'; "" none */
} CalendarEvent;

/* Appends a whole calendar. `stamp` is when it was made, in seconds since 1970-01-01 00:00 UTC
 * (DTSTAMP), 0 to the end of the year 9999. ERROR_RANGE, ERROR_MEMORY. */
bool calendar_write(
    const CalendarEvent *events, size_t count, int64_t stamp, Text *out, Error *error);

/* The plan's days; `title` names the exam ("" none), `student` whose it is ("" nobody). */
bool calendar_exam(const ExamSpec *spec, const ExamPlan *plan, const char *title,
    const char *student, int64_t stamp, Text *out, Error *error);
/* The event's identity. Returns out. */
char *calendar_uid(
    const char *title, const char *student, Day exam, Day day, char out[CALENDAR_UID_MAX]);

#endif
