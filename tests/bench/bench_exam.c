/* bench_exam.c - how long it takes to plan for an exam, and to write the plan as a calendar.
 *
 *     bench_exam FILE.ics     best times in microseconds: a plan that fits, one that does not, with
 *                             advice, and the calendar, which is left in the file
 *
 * 20 invented passages over a year, each day of the week. */
#include "evenhand/formats/calendar.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { PASSAGES = 20, TIMES = 9, YEAR = 365, STAMP = 1795574399 };

static double microseconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e6 + (double)t.tv_nsec / 1e3;
}

static _Noreturn void fail(const char *what)
{
    fprintf(stderr, "bench_exam: %s\n", what);
    exit(1);
}

static double time_plan(const ExamSpec *spec, bool fits, bool advises)
{
    double least = 1e30;
    for (int i = 0; i < TIMES; i++) {
        ExamPlan plan;
        ExamAdvice advice = {0};
        Error error;
        double start = microseconds();
        if (!exam_plan(spec, &plan, &error) || (advises && !exam_advise(spec, &advice, &error)))
            fail(error.text);
        double took = microseconds() - start;
        if (plan.fits != fits)
            fail(fits ? "the plan does not fit" : "the plan fits");
        least = took < least ? took : least;
        exam_advice_free(&advice);
        exam_plan_free(&plan);
    }
    return least;
}

typedef struct {
    CalendarEvent *events;
    size_t count;
} Days;

/* The texts of each day, ready to be written, as the peer has them. */
static Days days_of(const ExamSpec *spec, const ExamPlan *plan)
{
    Days d = {calloc(plan->count, sizeof *d.events), 0};
    for (size_t i = 0; d.events && i < plan->count;) {
        Text description = {0};
        char *uid = malloc(CALENDAR_UID_MAX), words[EXAM_WORDS_MAX];
        Day day = plan->entries[i].day;
        if (!uid)
            fail("no memory");
        for (; i < plan->count && plan->entries[i].day == day; i++)
            text_add(&description, "%d min: %s: %s\n", plan->entries[i].minutes,
                spec->passages[plan->entries[i].passage].title,
                exam_entry_text(&plan->entries[i], words));
        calendar_uid("A grade, invented", "Ada", spec->exam, day, uid);
        d.events[d.count++] = (CalendarEvent){day, uid, "Harp", description.bytes};
    }
    return d;
}

static double time_calendar(const ExamSpec *spec, const char *path)
{
    double least = 1e30;
    ExamPlan plan;
    Error error;
    Text text = {0};
    if (!exam_plan(spec, &plan, &error))
        fail(error.text);
    Days d = days_of(spec, &plan);
    for (int i = 0; i < TIMES; i++) {
        text_free(&text);
        double start = microseconds();
        if (!calendar_write(d.events, d.count, STAMP, &text, &error))
            fail(error.text);
        double took = microseconds() - start;
        least = took < least ? took : least;
    }
    FILE *file = fopen(path, "wb");
    if (!file || fwrite(text.bytes, 1, text.size, file) != text.size || fclose(file) != 0)
        fail("the calendar cannot be written");
    for (size_t i = 0; i < d.count; i++) {
        free((char *)d.events[i].uid);
        free((char *)d.events[i].description);
    }
    free(d.events);
    text_free(&text);
    exam_plan_free(&plan);
    return least;
}

int main(int argc, char **argv)
{
    static ExamPassage passages[PASSAGES];
    static char titles[PASSAGES][32];
    if (argc != 2) {
        fputs("usage: bench_exam FILE.ics\n", stderr);
        return 2;
    }
    for (int i = 0; i < PASSAGES; i++) {
        snprintf(titles[i], sizeof titles[i], "Passage %d, invented", i + 1);
        passages[i] = (ExamPassage){.title = titles[i],
            .present = tempo(ratio_int(1), ratio_int(50 + i)),
            .goal = tempo(ratio_int(1), ratio_int(100 + 2 * i)),
            .reached = tempo(ratio_int(1), ratio_int(0)),
            .length = ratio_int(16)};
    }
    Day today = date_day(2026, 11, 25);
    ExamSpec spec = {.today = today,
        .exam = today + YEAR,
        .weekdays = 0x7F,
        .minutes = 90,
        .block = 3,
        .passages = passages,
        .passage_count = PASSAGES};
    double fits = time_plan(&spec, true, false);
    double calendar = time_calendar(&spec, argv[1]);
    spec.minutes = 8;
    double misfits = time_plan(&spec, false, false), advised = time_plan(&spec, false, true);
    printf("%.1f %.1f %.1f %.1f\n", fits, misfits, advised, calendar);
    return 0;
}
