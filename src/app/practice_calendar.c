/* The calendar screen: an exam plan by months. */
#include "evenhand/app/exam_load.h"
#include "practice_parts.h"

#include <stdio.h>
#include <stdlib.h>

struct PracticeCalendar {
    Exam exam;
    Day chosen;
    ModelItem *blocks; /* room for each entry of the plan: no day has more */
};

bool practice_calendar_load(Practice *p, Error *error)
{
    const Options *o = &p->options;
    if (o->exam_plan == NULL)
        return true;
    PracticeCalendar *c = calloc(1, sizeof *c);
    if (c == NULL)
        return error_set(error, ERROR_MEMORY, "out of memory");
    if (!exam_load(o->exam_plan, o->has_today ? o->today : exam_today(), &c->exam, error)) {
        free(c);
        return false;
    }
    p->calendar = c;
    c->chosen = c->exam.spec.today;
    c->blocks = calloc(c->exam.plan.count + 1, sizeof *c->blocks);
    return c->blocks != NULL || error_set(error, ERROR_MEMORY, "out of memory");
}

void practice_calendar_drop(Practice *p)
{
    if (p->calendar == NULL)
        return;
    exam_drop(&p->calendar->exam);
    free(p->calendar->blocks);
    free(p->calendar);
    p->calendar = NULL;
}

static const char *title_of(const PracticeCalendar *c, const ExamEntry *e)
{
    return c->exam.spec.passages[e->passage].title;
}

/* The first entry of a day, and its minutes; plan.count and 0 where it has none. */
static size_t entries_of(const PracticeCalendar *c, Day day, int *minutes)
{
    const ExamPlan *plan = &c->exam.plan;
    size_t first = 0;
    while (first < plan->count && plan->entries[first].day != day)
        first++;
    *minutes = 0;
    for (size_t i = first; i < plan->count && plan->entries[i].day == day; i++)
        *minutes += plan->entries[i].minutes;
    return first;
}

static bool is_done(const Exam *exam, Day day)
{
    for (int i = 0; i < exam->done_count; i++)
        if (exam->done[i] == day)
            return true;
    return false;
}

static void fill_day(const PracticeCalendar *c, Day day, int number, ModelDay *d)
{
    const ExamSpec *spec = &c->exam.spec;
    char tempo_word[TEMPO_TEXT_MAX];
    size_t first = entries_of(c, day, &d->minutes);
    d->number = number;
    d->today = day == spec->today;
    d->kind = day == spec->exam        ? MODEL_DAY_EXAM
              : is_done(&c->exam, day) ? MODEL_DAY_DONE
              : exam_misses(spec, day) ? MODEL_DAY_MISSED
              : d->minutes > 0         ? MODEL_DAY_PRACTICE
                                       : MODEL_DAY_FREE;
    if (d->minutes == 0)
        return;
    const ExamEntry *e = &c->exam.plan.entries[first];
    const char *number_word = exam_tempo_number(e->tempo, tempo_word);
    char brief[RECORD_NAME_MAX + TEMPO_TEXT_MAX];
    snprintf(brief, sizeof brief, "%s %s", number_word, title_of(c, e));
    text_clean(brief, d->brief, sizeof d->brief); /* cuts at a character's edge */
}

static void fill_month(const PracticeCalendar *c, ModelCalendar *m)
{
    static const char *const names[] = {"January", "February", "March", "April", "May", "June",
        "July", "August", "September", "October", "November", "December"};
    int year, month, number;
    date_parts(c->chosen, &year, &month, &number);
    Day first = c->chosen - (number - 1);
    int before = date_weekday(first) - 1;
    snprintf(m->month, sizeof m->month, "%s %d", names[month - 1], year);
    for (int i = 0; i < date_month_days(year, month); i++)
        fill_day(c, first + i, i + 1, &m->days[before + i]);
    m->cursor = before + number - 1;
}

static void fill_blocks(PracticeCalendar *c, ModelCalendar *m)
{
    int minutes;
    const ExamPlan *plan = &c->exam.plan;
    m->blocks = c->blocks;
    for (size_t i = entries_of(c, c->chosen, &minutes);
         i < plan->count && plan->entries[i].day == c->chosen; i++) {
        const ExamEntry *e = &plan->entries[i];
        ModelItem *item = &c->blocks[m->block_count++];
        char words[EXAM_WORDS_MAX];
        text_clean(title_of(c, e), item->title, sizeof item->title);
        snprintf(item->detail, sizeof item->detail, "%d min, %.160s", e->minutes,
            exam_entry_text(e, words));
        snprintf(item->brief, sizeof item->brief, "%d min, %.36s", e->minutes,
            exam_entry_brief(e, words));
    }
}

/* "Tuesday 2026-12-15, 35 min, today". */
static void fill_words(const PracticeCalendar *c, ModelCalendar *m)
{
    const ExamSpec *spec = &c->exam.spec;
    const ModelDay *d = &m->days[m->cursor];
    char on[DATE_TEXT_MAX], what[40] = ", no practice";
    if (d->minutes > 0)
        snprintf(what, sizeof what, ", %d min", d->minutes);
    else if (d->kind == MODEL_DAY_EXAM)
        snprintf(what, sizeof what, ", the exam");
    else if (d->kind == MODEL_DAY_DONE)
        snprintf(what, sizeof what, ", practised");
    else if (c->chosen < spec->today)
        what[0] = '\0'; /* what was planned then is not known */
    snprintf(m->day, sizeof m->day, "%s %s%s%s", exam_weekday(date_weekday(c->chosen)),
        date_text(c->chosen, on), what, d->today ? ", today" : "");
    snprintf(m->title, sizeof m->title, "Exam %s%s%.120s%s", date_text(spec->exam, on),
        c->exam.file.title[0] != '\0' ? ": " : "", c->exam.file.title,
        c->exam.plan.fits ? "" : " (goals not reached)");
}

void practice_calendar_fill(Practice *p)
{
    ModelCalendar *m = &p->model.calendar;
    *m = (ModelCalendar){.cursor = 0};
    if (p->calendar == NULL)
        return;
    fill_month(p->calendar, m);
    fill_blocks(p->calendar, m);
    fill_words(p->calendar, m);
}

/* What would make the plan fit, said when it is opened. */
static void say_advice(Practice *p, int64_t now_ms)
{
    const Exam *exam = &p->calendar->exam;
    char part[EXAM_WORDS_MAX], all[MODEL_TEXT_MAX] = "";
    size_t used = 0;
    for (int at = 0; exam_advice_next(&exam->spec, &exam->advice, &at, part);) {
        int more = snprintf(all + used, sizeof all - used, "%s%s", used > 0 ? ", or " : "", part);
        used += more > 0 ? (size_t)more : 0;
        if (used >= sizeof all)
            break;
    }
    practice_say(p, now_ms, true, "What would do: %.150s", all);
}

void practice_calendar_open(Practice *p, int64_t now_ms)
{
    if (p->calendar == NULL)
        return;
    p->calendar->chosen = p->calendar->exam.spec.today;
    practice_calendar_fill(p);
    if (!p->calendar->exam.plan.fits)
        say_advice(p, now_ms);
}

/* From the first day of today's month to the last of the exam's. */
static Day clamp_day(const ExamSpec *spec, Day day)
{
    int year, month, number, of_today;
    date_parts(spec->exam, &year, &month, &number);
    date_parts(spec->today, NULL, NULL, &of_today);
    Day last = spec->exam + date_month_days(year, month) - number;
    Day first = spec->today - (of_today - 1);
    return day < first ? first : day > last ? last : day;
}

void practice_calendar_move(Practice *p, Action action, int64_t now_ms)
{
    int by = action == ACTION_DAY_BEFORE    ? -1
             : action == ACTION_DAY_AFTER   ? 1
             : action == ACTION_WEEK_BEFORE ? -7
                                            : 7;
    (void)now_ms;
    if (p->calendar == NULL)
        return;
    p->calendar->chosen = clamp_day(&p->calendar->exam.spec, p->calendar->chosen + by);
    practice_calendar_fill(p);
}
