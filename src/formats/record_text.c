#include "evenhand/formats/record_text.h"

#include "sheet_pen.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* 30 + 5 + 16 + 11 + 10 columns and the blanks between them */
enum { WIDTH = 80, NAME_COLUMNS = 30, BEST_COLUMNS = 16, PERCENT_MAX = 16 };

bool record_stale(const RecordList *list, const RecordLine *line)
{
    return (list->by == RECORD_BY_PASSAGE || list->by == RECORD_BY_DRILL) &&
           list->today - line->day >= list->stale_days;
}

static const char *plural(int64_t count)
{
    return count == 1 ? "" : "s";
}

/* "83 %", "-" of none. */
static const char *percent_words(int64_t clean, int64_t count, char out[PERCENT_MAX])
{
    int percent = record_percent(clean, count);
    snprintf(out, PERCENT_MAX, percent < 0 ? "-" : "%d %%", percent);
    return out;
}

/* The name as a terminal may have it. */
static const char *shown(const char *name, char out[RECORD_NAME_MAX])
{
    text_clean(name, out, RECORD_NAME_MAX);
    return out[0] != '\0' ? out : "(no name)";
}

/* ---- one table ----------------------------------------------------------------------------- */

static void put_head(Pen *pen, RecordBy by)
{
    pen_field(pen, record_by_word(by), NAME_COLUMNS);
    pen_put(pen, "  %5s  %-*s  %11s%s\n", "clean", BEST_COLUMNS, "best clean", "repetitions",
        by == RECORD_BY_DAY ? "" : "  last");
}

static void put_line(Pen *pen, RecordBy by, const RecordLine *line)
{
    char name[RECORD_NAME_MAX], best[TEMPO_TEXT_MAX] = "-", percent[PERCENT_MAX];
    char day[DATE_TEXT_MAX];
    if (line->has_best)
        tempo_text(line->best, best);
    pen_field(pen, shown(line->name, name), NAME_COLUMNS);
    pen_put(pen, "  %5s  %-*s  %11" PRId64, percent_words(line->clean, line->count, percent),
        BEST_COLUMNS, best, line->count);
    if (by != RECORD_BY_DAY)
        pen_put(pen, "  %s", date_text(line->day, day));
    pen_put(pen, "\n");
}

/* "Its fingering changed since it was first recorded: Run in G; Broken chords." */
static bool put_changed(Pen *pen, const RecordList *list)
{
    Text words = {0};
    char name[RECORD_NAME_MAX];
    bool done = true;
    for (size_t i = 0; done && i < list->count; i++)
        if (list->lines[i].changed)
            done = text_add(&words, "%s%s",
                words.size == 0 ? "Its fingering changed since it was first recorded: " : "; ",
                shown(list->lines[i].name, name));
    if (words.size > 0 && done) {
        pen_put(pen, "\n");
        done = text_add(&words, ".");
        pen_wrap(pen, words.bytes, 0);
    }
    text_free(&words);
    return done;
}

static bool ended(const Pen *pen, bool done, Error *error)
{
    return (done && !pen->failed) ||
           error_set(error, ERROR_MEMORY, "there is no memory for the list");
}

static void put_lines(Pen *pen, const RecordList *list)
{
    put_head(pen, list->by);
    for (size_t i = 0; i < list->count; i++)
        put_line(pen, list->by, &list->lines[i]);
}

bool record_text(Text *out, const RecordList *list, Error *error)
{
    Pen pen = {.out = out, .width = WIDTH};
    if (list->count == 0) {
        pen_put(&pen, "Nothing is recorded.\n");
        return ended(&pen, true, error);
    }
    put_lines(&pen, list);
    return ended(&pen, put_changed(&pen, list), error);
}

/* ---- what is stale ------------------------------------------------------------------------- */

static int longest_ago(const void *a, const void *b)
{
    const RecordLine *one = *(const RecordLine *const *)a, *other = *(const RecordLine *const *)b;
    if (one->day != other->day)
        return one->day < other->day ? -1 : 1;
    return strcmp(one->name, other->name);
}

bool record_text_stale(Text *out, const RecordList *list, Error *error)
{
    Pen pen = {.out = out, .width = WIDTH};
    const RecordLine **stale = calloc(list->count + 1, sizeof *stale);
    size_t count = 0;
    if (stale == NULL)
        return ended(&pen, false, error);
    for (size_t i = 0; i < list->count; i++)
        if (record_stale(list, &list->lines[i]))
            stale[count++] = &list->lines[i];
    if (count > 0) {
        qsort(stale, count, sizeof *stale, longest_ago);
        pen_put(&pen, "\nGone stale, not practised for %d day%s or more:\n\n", list->stale_days,
            plural(list->stale_days));
        put_head(&pen, list->by);
    }
    for (size_t i = 0; i < count; i++)
        put_line(&pen, list->by, stale[i]);
    free(stale);
    return ended(&pen, true, error);
}

/* ---- today --------------------------------------------------------------------------------- */

static const RecordLine *latest(const RecordList *list)
{
    const RecordLine *last = NULL;
    for (size_t i = 0; i < list->count; i++)
        if (last == NULL || list->lines[i].last > last->last)
            last = &list->lines[i];
    return last;
}

/* What was last: of today passage and drill; of an earlier day the passage and how long ago. */
static void put_last(Pen *pen, const RecordList *drills, const RecordList *all)
{
    char words[2 * RECORD_NAME_MAX + 80], name[RECORD_NAME_MAX], drill[RECORD_NAME_MAX];
    char day[DATE_TEXT_MAX];
    const RecordLine *last = latest(all), *last_drill = latest(drills);
    if (last == NULL)
        return;
    int days = all->today - last->day;
    if (last_drill != NULL && last_drill->last == last->last)
        snprintf(words, sizeof words, "Last: %s, %s.", shown(last->name, name),
            shown(last_drill->name, drill));
    else if (days > 0)
        snprintf(words, sizeof words, "Last: %s, %d day%s ago on %s.", shown(last->name, name),
            days, plural(days), date_text(last->day, day));
    else
        snprintf(words, sizeof words, "Last: %s, on %s.", shown(last->name, name),
            date_text(last->day, day));
    pen_put(pen, "\n");
    pen_wrap(pen, words, 0);
}

static void put_today(Pen *pen, const RecordList *passages, const RecordList *drills)
{
    char day[DATE_TEXT_MAX], percent[PERCENT_MAX];
    int64_t clean = 0, count = 0;
    for (size_t i = 0; i < passages->count; i++) {
        clean += passages->lines[i].clean;
        count += passages->lines[i].count;
    }
    date_text(passages->today, day);
    if (count == 0) {
        pen_put(pen, "Today, %s: nothing is recorded.\n", day);
        return;
    }
    pen_put(pen, "Today, %s: %s clean of %" PRId64 " repetition%s.\n\n", day,
        percent_words(clean, count, percent), count, plural(count));
    put_lines(pen, passages);
    pen_put(pen, "\n");
    put_lines(pen, drills);
}

bool record_text_today(Text *out, const RecordList *passages, const RecordList *drills,
    const RecordList *all, Error *error)
{
    Pen pen = {.out = out, .width = WIDTH};
    put_today(&pen, passages, drills);
    put_last(&pen, drills, all);
    return ended(&pen, true, error) && record_text_stale(out, all, error) &&
           ended(&pen, put_changed(&pen, all), error);
}
