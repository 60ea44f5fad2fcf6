/* Calendars against RFC 5545 (Internet Calendaring and Scheduling, September 2009), and read back
 * by python3-icalendar (Debian), a reader of its own. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/formats/calendar.h"
#include "plan/exam_made.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { ROUNDS = 300, PEER_ROUNDS = 12, EVENTS = 40, STAMP = 1795574399 };

static ExamMade made;

static Text written(const CalendarEvent *events, size_t count)
{
    Text out = {0};
    Error error = {0};
    if (!calendar_write(events, count, STAMP, &out, &error))
        fail_msg("%s", error.text);
    return out;
}

/* ---- the lines ----------------------------------------------------------------------------- */

/* How many bytes the UTF-8 character at `at` has; 0: it is none. */
static size_t character(const char *at, size_t left)
{
    unsigned char c = (unsigned char)at[0];
    size_t size = c < 0x80 ? 1 : c >= 0xF0 ? 4 : c >= 0xE0 ? 3 : c >= 0xC2 ? 2 : 0;
    if (size == 0 || size > left)
        return 0;
    for (size_t i = 1; i < size; i++)
        if (((unsigned char)at[i] & 0xC0) != 0x80)
            return 0;
    return size;
}

/* RFC 5545, 3.1: lines end in CR LF and have at most 75 octets without it; no character is cut,
 * though the standard would allow it. 3.3.11: no control characters in texts. */
static void check_lines(const Text *t, uint32_t seed)
{
    assert_true(t->size > 2);
    assert_int_equal(strlen(t->bytes), t->size);
    for (const char *line = t->bytes; *line != '\0';) {
        const char *end = strstr(line, "\r\n");
        if (!end || end - line > CALENDAR_LINE_MAX || end == line)
            fail_msg("seed %u: a line of %d octets", seed, end ? (int)(end - line) : -1);
        for (const char *c = line; c < end;) {
            size_t size = character(c, (size_t)(end - c));
            if (size == 0 || (unsigned char)*c < 0x20 || *c == 0x7F)
                fail_msg(
                    "seed %u: a cut or bare character in '%.*s'", seed, (int)(end - line), line);
            c += size;
        }
        line = end + 2;
    }
}

static const char *const pieces[] = {"Étude", "音階", "\xF0\x9D\x84\x9E", "e\xCC\x81", ",", ";",
    "\\", "\\n", "\"", ":", " ", "BEGIN:VEVENT", "END:VCALENDAR", "\r\n", "\n", "\t", "\x1B[2J",
    "\xFF", "\xE2\x80\xAE", "\xC3", "scale", "%s%n", "\x7F", "=", "'"};
enum { PIECES = sizeof pieces / sizeof pieces[0] };

/* `peer`: no backslash before n , ; which python3-icalendar 4.0.3 takes to escape them even where
 * it is escaped itself (found by running it); read_value below reads those as the standard says. */
static void hostile(ExamMade *m, char *out, size_t room, bool peer)
{
    size_t used = 0;
    out[0] = '\0';
    for (int count = exam_draw(m, 0, 60); count > 0; count--) {
        const char *piece = pieces[exam_draw(m, 0, PIECES - 1)];
        if (peer && piece[0] == '\\')
            piece = "\\ ";
        if (used + strlen(piece) >= room)
            continue;
        strcpy(out + used, piece);
        used += strlen(piece);
    }
}

/* As calendar_events.py shows a text: cleaned line by line as it was for the file. */
static void shown(const char *text, char *out, size_t room)
{
    size_t used = 0;
    for (const char *at = text;; at++) {
        char part[600], clean[1300];
        size_t size = strcspn(at, "\n");
        snprintf(part, sizeof part, "%.*s", (int)size, at);
        text_clean(part, clean, sizeof clean);
        for (const char *c = clean; *c != '\0'; c++) {
            assert_true(used + 4 < room);
            if (*c == '\\')
                out[used++] = '\\';
            out[used++] = *c;
        }
        at += size;
        if (*at == '\0')
            break;
        out[used++] = '\\';
        out[used++] = 'n';
    }
    out[used] = '\0';
}

/* The value of the line that begins with `name`, unfolded and unescaped by RFC 5545, 3.1 and
 * 3.3.11, shown as `shown` does. */
static void read_value(const Text *t, const char *name, char *out)
{
    const char *at = strstr(t->bytes, name);
    assert_non_null(at);
    for (at += strlen(name);; at++) {
        if (strncmp(at, "\r\n ", 3) == 0)
            at += 3;
        if (strncmp(at, "\r\n", 2) == 0)
            break;
        bool escaped = *at == '\\';
        if (escaped && strncmp(++at, "\r\n ", 3) == 0)
            at += 3;
        assert_true(!escaped || strchr("\\;,n", *at) != NULL);
        if (*at == '\\' || (escaped && *at == 'n'))
            *out++ = '\\';
        *out++ = *at;
    }
    *out = '\0';
}

static void test_hostile_lines(void **state)
{
    (void)state;
    for (uint32_t seed = 1; seed <= ROUNDS; seed++) {
        char summary[600], description[600];
        made.seed = seed;
        hostile(&made, summary, sizeof summary, false);
        hostile(&made, description, sizeof description, false);
        CalendarEvent e = {.day = exam_draw(&made, 0, 2900000),
            .uid = "a@evenhand",
            .summary = summary,
            .description = description};
        Text t = written(&e, 1);
        check_lines(&t, seed);
        int begins = 0;
        for (const char *at = t.bytes; (at = strstr(at, "\r\nBEGIN:VEVENT")) != NULL; at++)
            begins++;
        assert_int_equal(begins, 1); /* no title opens another event */
        static char wanted[3000], got[3000];
        shown(summary, wanted, sizeof wanted);
        read_value(&t, "\r\nSUMMARY:", got);
        assert_string_equal(got, wanted);
        shown(description, wanted, sizeof wanted);
        if (description[0] != '\0') {
            read_value(&t, "\r\nDESCRIPTION:", got);
            assert_string_equal(got, wanted);
        }
        text_free(&t);
    }
}

static void test_by_hand(void **state)
{
    const CalendarEvent e = {.day = date_day(2028, 2, 29),
        .uid = "x@evenhand",
        .summary = "a,b;c\\d",
        .description = "one\ntwo"};
    (void)state;
    Text t = written(&e, 1);
    assert_string_equal(t.bytes,
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//evenhand//exam plan//EN\r\n"
        "BEGIN:VEVENT\r\nUID:x@evenhand\r\nDTSTAMP:20261125T023959Z\r\n"
        "DTSTART;VALUE=DATE:20280229\r\nSUMMARY:a\\,b\\;c\\\\d\r\nDESCRIPTION:one\\ntwo\r\n"
        "TRANSP:TRANSPARENT\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n");
    text_free(&t);
}

/* SUMMARY: and 67 octets fill a line; one more, and a character of two octets over the edge. */
static void test_folded_at_75(void **state)
{
    char summary[80];
    (void)state;
    for (int length = 66; length <= 69; length++) {
        memset(summary, 'a', sizeof summary);
        strcpy(summary + length - 2, "é");
        const CalendarEvent e = {.uid = "x", .summary = summary, .description = ""};
        Text t = written(&e, 1);
        check_lines(&t, (uint32_t)length);
        assert_int_equal(strstr(t.bytes, "\r\n é") != NULL, length >= 68);
        assert_int_equal(strstr(t.bytes, "aé\r\n") != NULL, length <= 67);
        text_free(&t);
    }
}

static void test_clock_out_of_range(void **state)
{
    Text t = {0};
    Error error = {0};
    (void)state;
    assert_false(calendar_write(NULL, 0, -1, &t, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    text_free(&t);
}

/* ---- read back ----------------------------------------------------------------------------- */

static char path[64];

static FILE *read_back(const Text *t)
{
    char command[200];
    snprintf(path, sizeof path, "/tmp/evenhand-calendar-%ld.ics", (long)getpid());
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(t->bytes, 1, t->size, file), t->size);
    assert_int_equal(fclose(file), 0);
    snprintf(command, sizeof command, "/usr/bin/python3 tests/tools/calendar_events.py %s", path);
    FILE *said = popen(command, "r");
    assert_non_null(said);
    return said;
}

static void read_end(FILE *said)
{
    int left = fgetc(said);
    int status = pclose(said);
    remove(path);
    if (status != 0)
        fail_msg("tests/tools/calendar_events.py failed (Debian: python3-icalendar)");
    assert_int_equal(left, EOF);
}

static void expect(FILE *said, const char *wanted, uint32_t seed)
{
    static char line[1 << 16];
    if (!fgets(line, sizeof line, said))
        fail_msg("seed %u: nothing read back for '%s'", seed, wanted);
    line[strcspn(line, "\n")] = '\0';
    if (strcmp(line, wanted) != 0)
        fail_msg("seed %u:\n  wanted %s\n  read   %s", seed, wanted, line);
}

static void test_read_back_hostile(void **state)
{
    static char summary[EVENTS][600], description[EVENTS][600], uid[EVENTS][32];
    static CalendarEvent events[EVENTS];
    (void)state;
    for (uint32_t seed = 1; seed <= PEER_ROUNDS; seed++) {
        made.seed = seed;
        for (int i = 0; i < EVENTS; i++) {
            hostile(&made, summary[i], sizeof summary[i], true);
            hostile(&made, description[i], sizeof description[i], true);
            snprintf(uid[i], sizeof uid[i], "%d@evenhand", i);
            events[i] =
                (CalendarEvent){exam_draw(&made, 0, 2900000), uid[i], summary[i], description[i]};
        }
        Text t = written(events, EVENTS);
        FILE *said = read_back(&t);
        expect(said, "stamp 2026-11-25 02:39:59", seed);
        for (int i = 0; i < EVENTS; i++) {
            char line[3000], day[DATE_TEXT_MAX];
            expect(said, uid[i], seed);
            expect(said, date_text(events[i].day, day), seed);
            shown(summary[i], line, sizeof line);
            expect(said, line, seed);
            shown(description[i], line, sizeof line);
            expect(said, line, seed);
        }
        read_end(said);
        text_free(&t);
    }
}

/* A plan's own calendar: a day for each day of the plan, and the exam. */
static void test_read_back_plan(void **state)
{
    (void)state;
    for (uint32_t seed = 1; seed <= PEER_ROUNDS; seed++) {
        ExamPlan plan;
        Text t = {0};
        Error error = {0};
        exam_random(&made, seed);
        const ExamSpec *s = &made.spec;
        assert_true(exam_plan(s, &plan, &error));
        assert_true(calendar_exam(s, &plan, "Grade, invented", "Ada", STAMP, &t, &error));
        FILE *said = read_back(&t);
        expect(said, "stamp 2026-11-25 02:39:59", seed);
        for (size_t i = 0; i < plan.count;) {
            static char lines[20000];
            char uid[CALENDAR_UID_MAX], on[DATE_TEXT_MAX], summary[64], words[EXAM_WORDS_MAX];
            Day day = plan.entries[i].day;
            int minutes = 0;
            size_t used = 0;
            for (; i < plan.count && plan.entries[i].day == day; i++) {
                const ExamEntry *e = &plan.entries[i];
                used += (size_t)snprintf(lines + used, sizeof lines - used, "%s%d min: %s: %s",
                    minutes > 0 ? "\\n" : "", e->minutes, s->passages[e->passage].title,
                    exam_entry_text(e, words));
                minutes += e->minutes;
            }
            snprintf(summary, sizeof summary, "Harp: %d min, Ada", minutes);
            expect(said, calendar_uid("Grade, invented", "Ada", s->exam, day, uid), seed);
            expect(said, date_text(day, on), seed);
            expect(said, summary, seed);
            expect(said, lines, seed);
        }
        char uid[CALENDAR_UID_MAX], on[DATE_TEXT_MAX];
        expect(said, calendar_uid("Grade, invented", "Ada", s->exam, s->exam, uid), seed);
        expect(said, date_text(s->exam, on), seed);
        expect(said, "Exam: Grade, invented, Ada", seed);
        expect(said, "", seed);
        read_end(said);
        text_free(&t);
        exam_plan_free(&plan);
    }
}

/* The same plan and day: the same UID, whatever else is planned anew; else another one. */
static void test_uid(void **state)
{
    char a[CALENDAR_UID_MAX], b[CALENDAR_UID_MAX];
    (void)state;
    calendar_uid("One", "Ada", 20000, 19000, a);
    assert_string_equal(a, calendar_uid("One", "Ada", 20000, 19000, b));
    assert_string_not_equal(a, calendar_uid("One", "Ada", 20000, 19001, b));
    assert_string_not_equal(a, calendar_uid("One", "Ada", 20001, 19000, b));
    assert_string_not_equal(a, calendar_uid("One", "Bea", 20000, 19000, b));
    assert_string_not_equal(a, calendar_uid("OneA", "da", 20000, 19000, b));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),
        cmocka_unit_test(test_folded_at_75),
        cmocka_unit_test(test_hostile_lines),
        cmocka_unit_test(test_clock_out_of_range),
        cmocka_unit_test(test_uid),
        cmocka_unit_test(test_read_back_hostile),
        cmocka_unit_test(test_read_back_plan),
    };
    return cmocka_run_group_tests_name("calendar", tests, NULL, NULL);
}
