#include "evenhand/formats/calendar.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SECONDS_A_DAY = 86400 };

/* ---- content lines ------------------------------------------------------------------------- */

static bool continues(char byte)
{
    return ((unsigned char)byte & 0xC0) == 0x80;
}

/* A content line with its end; what goes beyond 75 octets goes on below, behind a blank. */
static bool add_line(Text *out, const char *line)
{
    size_t left = strlen(line), room = CALENDAR_LINE_MAX;
    while (left > room) {
        size_t size = room;
        while (size > 1 && continues(line[size]))
            size--;
        if (!text_add_bytes(out, line, size) || !text_add_bytes(out, "\r\n ", 3))
            return false;
        line += size;
        left -= size;
        room = CALENDAR_LINE_MAX - 1;
    }
    return text_add_bytes(out, line, left) && text_add_bytes(out, "\r\n", 2);
}

static bool add_escaped(Text *line, const char *clean)
{
    for (;;) {
        size_t size = strcspn(clean, "\\;,");
        if (!text_add_bytes(line, clean, size))
            return false;
        clean += size;
        if (*clean == '\0')
            return true;
        if (!text_add(line, "\\%c", *clean++))
            return false;
    }
}

/* The part of a text up to `size`: cleaned (at most twice as long: Latin-1 becomes UTF-8) where it
 * is not plain ASCII, which most are. `room` has twice the whole text's size. */
static bool add_part(Text *line, const char *at, size_t size, char *part, char *clean, size_t room)
{
    bool plain = true;
    memcpy(part, at, size);
    part[size] = '\0';
    for (size_t i = 0; i < size; i++)
        plain = plain && part[i] >= ' ' && part[i] <= '~';
    return add_escaped(line, plain ? part : text_clean(part, clean, room));
}

/* "NAME:text". */
static bool add_text(Text *out, const char *name, const char *text)
{
    size_t room = 2 * strlen(text) + 1;
    Text line = {0};
    char *part = malloc(2 * room);
    bool done = part && text_add(&line, "%s:", name);
    while (done) {
        size_t size = strcspn(text, "\n");
        done = add_part(&line, text, size, part, part + room, room);
        text += size;
        if (*text == '\0')
            break;
        done = done && text_add_bytes(&line, "\\n", 2);
        text++;
    }
    done = done && add_line(out, line.bytes);
    free(part);
    text_free(&line);
    return done;
}

/* ---- events -------------------------------------------------------------------------------- */

static bool add_event(Text *out, const CalendarEvent *e, const char *stamp)
{
    int year, month, day;
    date_parts(e->day, &year, &month, &day);
    return add_line(out, "BEGIN:VEVENT") && add_text(out, "UID", e->uid) &&
           text_add(out, "DTSTAMP:%s\r\n", stamp) &&
           text_add(out, "DTSTART;VALUE=DATE:%04d%02d%02d\r\n", year, month, day) &&
           add_text(out, "SUMMARY", e->summary) &&
           (e->description[0] == '\0' || add_text(out, "DESCRIPTION", e->description)) &&
           add_line(out, "TRANSP:TRANSPARENT") && /* it takes no time off the calendar */
           add_line(out, "END:VEVENT");
}

bool calendar_write(
    const CalendarEvent *events, size_t count, int64_t stamp, Text *out, Error *error)
{
    char made[32];
    int year, month, day;
    int64_t last = ((int64_t)date_day(DATE_YEAR_MAX, 12, 31) + 1) * SECONDS_A_DAY;
    if (stamp < 0 || stamp >= last)
        return error_set(error, ERROR_RANGE, "the clock is not between 1970 and 9999; set it");
    date_parts((Day)(stamp / SECONDS_A_DAY), &year, &month, &day);
    int second = (int)(stamp % SECONDS_A_DAY);
    snprintf(made, sizeof made, "%04d%02d%02dT%02d%02d%02dZ", year, month, day, second / 3600,
        second / 60 % 60, second % 60);
    bool done = add_line(out, "BEGIN:VCALENDAR") && add_line(out, "VERSION:2.0") &&
                add_line(out, "PRODID:-//evenhand//exam plan//EN");
    for (size_t i = 0; done && i < count; i++)
        done = add_event(out, &events[i], made);
    if (!done || !add_line(out, "END:VCALENDAR"))
        return error_set(error, ERROR_MEMORY, "no memory for the calendar");
    return true;
}

/* ---- the plan's days ----------------------------------------------------------------------- */

/* 64-bit FNV-1a; a zero byte closes each text. [constants: IETF draft-eastlake-fnv] */
static uint64_t hash(uint64_t seed, const char *text)
{
    do {
        seed ^= (unsigned char)*text;
        seed *= 1099511628211u;
    } while (*text++ != '\0');
    return seed;
}

char *calendar_uid(
    const char *title, const char *student, Day exam, Day day, char out[CALENDAR_UID_MAX])
{
    char on[DATE_TEXT_MAX];
    uint64_t plan = hash(14695981039346656037u, title);
    plan = hash(hash(plan, student), date_text(exam, on));
    snprintf(out, CALENDAR_UID_MAX, "%016" PRIx64 "-%s@evenhand", plan, date_text(day, on));
    return out;
}

/* A line for each block of the day that begins at entry i; *end is the first of the next day. */
static bool add_blocks(
    const ExamSpec *spec, const ExamPlan *plan, size_t i, size_t *end, int *minutes, Text *out)
{
    Day day = plan->entries[i].day;
    *minutes = 0;
    for (; i < plan->count && plan->entries[i].day == day; i++) {
        const ExamEntry *e = &plan->entries[i];
        char words[EXAM_WORDS_MAX];
        if (!text_add(out, "%s%d min: ", *minutes > 0 ? "\n" : "", e->minutes) ||
            !text_add(out, "%s: %s", spec->passages[e->passage].title, exam_entry_text(e, words)))
            return false;
        *minutes += e->minutes;
    }
    *end = i;
    return true;
}

typedef struct {
    const ExamSpec *spec;
    const char *title, *student;
    CalendarEvent *events;
    size_t count;
} Days;

/* Gives the event its strings, which free_days frees. */
static bool add_day(Days *d, Day day, Text *summary, Text *description)
{
    char *uid = malloc(CALENDAR_UID_MAX);
    if (!uid)
        return false;
    calendar_uid(d->title, d->student, d->spec->exam, day, uid);
    d->events[d->count++] = (CalendarEvent){
        .day = day, .uid = uid, .summary = summary->bytes, .description = description->bytes};
    *summary = *description = (Text){0};
    return true;
}

static void free_days(Days *d)
{
    for (size_t i = 0; i < d->count; i++) {
        free((char *)d->events[i].uid);
        free((char *)d->events[i].summary);
        free((char *)d->events[i].description);
    }
    free(d->events);
}

static bool make_days(Days *d, const ExamPlan *plan, Text *summary, Text *description)
{
    const char *whose = d->student[0] != '\0' ? ", " : "";
    for (size_t i = 0; i < plan->count;) {
        Day day = plan->entries[i].day;
        int minutes;
        if (!add_blocks(d->spec, plan, i, &i, &minutes, description) ||
            !text_add(summary, "Harp: %d min%s%s", minutes, whose, d->student) ||
            !add_day(d, day, summary, description))
            return false;
    }
    return text_add(summary, "Exam%s%s%s%s", d->title[0] != '\0' ? ": " : "", d->title, whose,
               d->student) &&
           text_add(description, "%s", "") && add_day(d, d->spec->exam, summary, description);
}

bool calendar_exam(const ExamSpec *spec, const ExamPlan *plan, const char *title,
    const char *student, int64_t stamp, Text *out, Error *error)
{
    Text summary = {0}, description = {0};
    Days d = {.spec = spec, .title = title, .student = student};
    d.events = calloc(plan->count + 1, sizeof *d.events);
    bool made = d.events && make_days(&d, plan, &summary, &description);
    bool done = made ? calendar_write(d.events, d.count, stamp, out, error)
                     : error_set(error, ERROR_MEMORY, "no memory for the calendar");
    text_free(&summary);
    text_free(&description);
    free_days(&d);
    return done;
}
