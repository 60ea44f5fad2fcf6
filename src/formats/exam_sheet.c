#include "evenhand/formats/exam_sheet.h"

#include <stdio.h>
#include <string.h>

enum { TITLE_MAX = 120, TITLE_COLUMNS = 34, WEEK = 7 };

/* ---- the head ------------------------------------------------------------------------------ */

static bool add_exam(
    const ExamSpec *spec, const ExamPlan *plan, const char *title, const char *student, Text *out)
{
    char day[DATE_TEXT_MAX];
    const char *colon = title[0] != '\0' ? ": " : "", *comma = student[0] != '\0' ? ", " : "";
    int days = plan->learning_days + plan->easy_days;
    return text_add(out, "Exam%s%s%s%s on %s %s\n", colon, title, comma, student,
               exam_weekday(date_weekday(spec->exam)), date_text(spec->exam, day)) &&
           text_add(out, "%d day%s from today, %d of them with practice, %d minutes at most\n",
               spec->exam - spec->today, spec->exam - spec->today == 1 ? "" : "s", days,
               spec->minutes);
}

/* The title in TITLE_COLUMNS, what is left over as blanks. */
static bool add_title(const char *given, Text *out)
{
    char title[TITLE_MAX];
    text_clean(given, title, sizeof title);
    int pad = TITLE_COLUMNS - text_columns(title);
    return text_add(out, "%s%*s", title, pad > 1 ? pad : 1, "");
}

static bool add_outcome(const ExamSpec *spec, const ExamPlan *plan, int i, Text *out)
{
    const ExamOutcome *o = &plan->outcomes[i];
    char start[TEMPO_TEXT_MAX], goal[TEMPO_TEXT_MAX], end[TEMPO_TEXT_MAX], day[DATE_TEXT_MAX];
    bool further = ratio_cmp(o->start.per_minute, spec->passages[i].present.per_minute) > 0;
    const char *reached = further ? " by the record" : "";
    if (!text_add(out, "  ") || !add_title(spec->passages[i].title, out) ||
        !text_add(out, "%s%s, goal %s: ", tempo_text(o->start, start), reached,
            tempo_text(o->goal, goal)))
        return false;
    if (o->stands < 0)
        return text_add(out, "comes to %s\n", tempo_text(o->end, end));
    if (ratio_cmp(o->start.per_minute, o->goal.per_minute) >= 0)
        return text_add(out, "stands\n");
    return text_add(out, "stands on %s\n", date_text(o->stands, day));
}

static bool add_goals(const ExamSpec *spec, const ExamAdvice *advice, Text *out)
{
    for (int i = 0; i < advice->goal_count; i++) {
        char goal[TEMPO_TEXT_MAX];
        if (ratio_equal(advice->goals[i].per_minute, spec->passages[i].goal.per_minute))
            continue;
        if (!text_add(out, "      ") || !add_title(spec->passages[i].title, out) ||
            !text_add(out, "%s\n", tempo_text(advice->goals[i], goal)))
            return false;
    }
    return true;
}

static bool add_advice(const ExamSpec *spec, const ExamAdvice *advice, Text *out)
{
    if (!text_add(out, "\nThe goals are not reached in this time. Each of these alone would do:\n"))
        return false;
    if (advice->minutes > 0 && !text_add(out, "  - %d minutes a day\n", advice->minutes))
        return false;
    if (advice->weekday > 0 &&
        !text_add(out, "  - practice on each %s as well\n", exam_weekday(advice->weekday)))
        return false;
    return text_add(out, "  - lower goals:\n") && add_goals(spec, advice, out);
}

bool exam_sheet_head(const ExamSpec *spec, const ExamPlan *plan, const ExamAdvice *advice,
    const char *title, const char *student, Text *out)
{
    if (!add_exam(spec, plan, title, student, out) || !text_add(out, "\n"))
        return false;
    for (int i = 0; i < plan->outcome_count; i++)
        if (!add_outcome(spec, plan, i, out))
            return false;
    return !advice || add_advice(spec, advice, out);
}

/* ---- day by day ---------------------------------------------------------------------------- */

/* Minutes of the day that begins at entry i; *end is the first of the next day. */
static int day_minutes(const ExamPlan *plan, size_t i, size_t *end)
{
    int minutes = 0;
    Day day = plan->entries[i].day;
    for (; i < plan->count && plan->entries[i].day == day; i++)
        minutes += plan->entries[i].minutes;
    *end = i;
    return minutes;
}

bool exam_sheet_days(const ExamSpec *spec, const ExamPlan *plan, Text *out)
{
    for (size_t i = 0; i < plan->count;) {
        size_t end;
        char on[DATE_TEXT_MAX], words[EXAM_WORDS_MAX];
        Day day = plan->entries[i].day;
        int minutes = day_minutes(plan, i, &end);
        if (!text_add(out, "\n%s %s, %d min\n", date_text(day, on), exam_weekday(date_weekday(day)),
                minutes))
            return false;
        for (; i < end; i++) {
            const ExamEntry *e = &plan->entries[i];
            if (!text_add(out, "  %3d min  ", e->minutes) ||
                !add_title(spec->passages[e->passage].title, out) ||
                !text_add(out, "%s\n", exam_entry_text(e, words)))
                return false;
        }
    }
    char on[DATE_TEXT_MAX];
    return text_add(
        out, "\n%s %s, exam\n", date_text(spec->exam, on), exam_weekday(date_weekday(spec->exam)));
}

/* ---- months -------------------------------------------------------------------------------- */

/* Minutes of a day; *at goes over the entries as the days do. */
static int minutes_on(const ExamPlan *plan, Day day, size_t *at)
{
    while (*at < plan->count && plan->entries[*at].day < day)
        ++*at;
    return *at < plan->count && plan->entries[*at].day == day ? day_minutes(plan, *at, at) : 0;
}

static bool add_cell(const ExamSpec *spec, const ExamPlan *plan, Day day, size_t *at, Text *out)
{
    int number, minutes = minutes_on(plan, day, at);
    char what[16] = "";
    date_parts(day, NULL, NULL, &number);
    if (day == spec->exam)
        snprintf(what, sizeof what, "*");
    else if (exam_misses(spec, day))
        snprintf(what, sizeof what, "-");
    else if (minutes > 0)
        snprintf(what, sizeof what, "%d'", minutes);
    return text_add(out, " %3d %-5s", number, what);
}

static bool add_month(
    const ExamSpec *spec, const ExamPlan *plan, int year, int month, size_t *at, Text *out)
{
    static const char *const names[] = {"January", "February", "March", "April", "May", "June",
        "July", "August", "September", "October", "November", "December"};
    Day first = date_day(year, month, 1);
    int before = date_weekday(first) - 1, days = date_month_days(year, month);
    if (!text_add(out,
            "\n%s %d\n  Mon       Tue       Wed       Thu       Fri       Sat       Sun\n",
            names[month - 1], year) ||
        !text_add(out, "%*s", 10 * before, ""))
        return false;
    for (int i = 0; i < days; i++) {
        if (!add_cell(spec, plan, first + i, at, out))
            return false;
        bool row_ends = (before + i + 1) % WEEK == 0 || i + 1 == days;
        while (row_ends && out->size > 0 && out->bytes[out->size - 1] == ' ')
            out->bytes[--out->size] = '\0';
        if (row_ends && !text_add(out, "\n"))
            return false;
    }
    return true;
}

bool exam_sheet_months(const ExamSpec *spec, const ExamPlan *plan, Text *out)
{
    int year, month, last_year, last_month;
    size_t at = 0;
    date_parts(spec->today, &year, &month, NULL);
    date_parts(spec->exam, &last_year, &last_month, NULL);
    while (year < last_year || (year == last_year && month <= last_month)) {
        if (!add_month(spec, plan, year, month, &at, out))
            return false;
        year += month == 12;
        month = month == 12 ? 1 : month + 1;
    }
    return text_add(out, "\n%s", "Minutes of each day (24'); - no practice, * the exam.\n");
}
