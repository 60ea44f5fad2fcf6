/* The screen of the record: what was practised, read from the journal when the screen is opened
 * and when the cursor moves, never while it is drawn. */
#include "practice_parts.h"

#include "evenhand/app/exam_load.h"
#include "evenhand/app/paths.h"
#include "evenhand/journal/journal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FINGERS_SHOWN_MS = 10000 };

struct PracticeRecord {
    RecordLine *lines; /* one for each item */
    ModelRecordItem *items;
    ChartPoint *points;
};

static void drop_points(Practice *p)
{
    free(p->record->points);
    p->record->points = NULL;
    p->model.record.points = NULL;
    p->model.record.point_count = 0;
}

static void drop_items(Practice *p)
{
    drop_points(p);
    free(p->record->lines);
    free(p->record->items);
    *p->record = (PracticeRecord){.lines = NULL};
    p->model.record.items = NULL;
    p->model.record.count = 0;
}

void practice_record_drop(Practice *p)
{
    if (p->record == NULL)
        return;
    drop_items(p);
    free(p->record);
    p->record = NULL;
}

static RecordBy by_of(const ModelRecord *m)
{
    return m->drills ? RECORD_BY_DRILL : RECORD_BY_PASSAGE;
}

/* A list of the record; `name`: only of that passage or drill. */
static bool read_lines(const Practice *p, RecordBy by, const char *name, RecordLine **lines,
    size_t *count, Error *error)
{
    char path[PATHS_MAX];
    const char *student = practice_student(p);
    RecordFilter filter = {.student = student[0] != '\0' ? student : NULL};
    if (p->model.record.drills)
        filter.drill = name;
    else
        filter.passage = name;
    Journal *j = paths_record(path, error) ? journal_open_reading(path, error) : NULL;
    bool done = j != NULL && journal_lines(j, by, &filter, lines, count, error);
    journal_close(j);
    return done;
}

/* ---- the list ------------------------------------------------------------------------------ */

static void fill_last(int days, char *out, size_t size)
{
    if (days <= 0)
        snprintf(out, size, "today");
    else if (days == 1)
        snprintf(out, size, "yesterday");
    else
        snprintf(out, size, "%d days ago", days);
}

static void fill_item(const RecordLine *line, Day today, ModelRecordItem *item)
{
    char best[TEMPO_TEXT_MAX] = "";
    text_clean(line->name[0] != '\0' ? line->name : "(no name)", item->title, sizeof item->title);
    item->percent = record_percent(line->clean, line->count);
    if (line->has_best)
        tempo_text(line->best, best);
    snprintf(item->best, sizeof item->best, "%.23s", best);
    fill_last(today - line->day, item->last, sizeof item->last);
    item->stale = today - line->day >= RECORD_STALE_DAYS;
    item->changed = line->changed;
}

/* The cursor begins at what is practised now. */
static void find_cursor(Practice *p)
{
    ModelRecord *m = &p->model.record;
    char word[RECORD_WORD_MAX], title[RECORD_NAME_MAX];
    text_clean(p->piece->loaded.passage->title, title, sizeof title);
    drill_word(&p->piece->loaded.session.steps[p->step].drill, word);
    m->cursor = 0;
    for (int i = 0; i < m->count; i++)
        if (strcmp(p->record->lines[i].name, m->drills ? word : title) == 0)
            m->cursor = i;
}

static bool fill_items(Practice *p, Error *error)
{
    ModelRecord *m = &p->model.record;
    PracticeRecord *r = p->record;
    const Day today = p->options.has_today ? p->options.today : exam_today();
    size_t count = 0;
    if (!read_lines(p, by_of(m), NULL, &r->lines, &count, error))
        return false;
    r->items = calloc(count + 1, sizeof *r->items);
    if (r->items == NULL)
        return error_set(error, ERROR_MEMORY, "out of memory for the record");
    for (size_t i = 0; i < count; i++)
        fill_item(&r->lines[i], today, &r->items[i]);
    m->items = r->items;
    m->count = (int)count;
    return true;
}

/* ---- the points ---------------------------------------------------------------------------- */

static bool fill_points(Practice *p, Error *error)
{
    ModelRecord *m = &p->model.record;
    PracticeRecord *r = p->record;
    RecordLine *days = NULL;
    char unit[RATIO_TEXT_MAX];
    size_t count = 0;
    Ratio beat;
    drop_points(p);
    if (m->count == 0)
        return true;
    if (!read_lines(p, RECORD_BY_DAY, r->lines[m->cursor].name, &days, &count, error))
        return false;
    r->points = calloc(count + 1, sizeof *r->points);
    if (r->points != NULL) {
        chart_points(days, count, r->points, &beat);
        snprintf(m->unit, sizeof m->unit, "%.23s", ratio_text(ratio_div(beat, ratio_int(4)), unit));
        m->points = r->points;
        m->point_count = (int)count;
    }
    free(days);
    return r->points != NULL || error_set(error, ERROR_MEMORY, "out of memory for the record");
}

static void tell(Practice *p, bool done, const Error *error)
{
    ModelRecord *m = &p->model.record;
    m->trouble[0] = '\0';
    if (!done)
        text_clean(error->text, m->trouble, sizeof m->trouble);
}

static void read_all(Practice *p)
{
    Error error = {0};
    drop_items(p);
    bool done = fill_items(p, &error);
    if (done)
        find_cursor(p);
    done = done && fill_points(p, &error);
    tell(p, done, &error);
}

/* ---- fingers ------------------------------------------------------------------------------- */

void practice_note_fingers(Practice *p)
{
    char path[PATHS_MAX];
    Error error = {0}; /* told by who writes the record */
    p->other_fingers = 0;
    if (p->sink.put == NULL || !paths_record(path, &error))
        return;
    Journal *j = journal_open_reading(path, &error);
    if (j != NULL)
        journal_fingers_changed(j, practice_student(p), p->piece->notes_print,
            p->piece->fingers_print, &p->other_fingers, &error);
    journal_close(j);
}

void practice_say_fingers(Practice *p)
{
    char day[DATE_TEXT_MAX];
    if (p->other_fingers == 0)
        return;
    date_text(p->other_fingers, day);
    practice_say(p, p->now_ms, false,
        "Other fingers than on %s, when it was recorded last; f shows them.", day);
    snprintf(p->model.message_brief, sizeof p->model.message_brief, "Other fingers than %s.", day);
    p->message_until = p->now_ms + FINGERS_SHOWN_MS;
    p->other_fingers = 0;
}

/* ---- keys ---------------------------------------------------------------------------------- */

void practice_record_open(Practice *p)
{
    ModelRecord *m = &p->model.record;
    if (p->record == NULL)
        p->record = calloc(1, sizeof *p->record);
    if (p->record == NULL) {
        snprintf(m->trouble, sizeof m->trouble, "out of memory for the record");
        return;
    }
    text_clean(practice_student(p), m->student, sizeof m->student);
    read_all(p);
}

void practice_record_move(Practice *p, int by)
{
    ModelRecord *m = &p->model.record;
    int before = m->cursor;
    Error error = {0};
    if (p->record == NULL || m->count == 0)
        return;
    m->cursor = practice_clamp(m->cursor + by, 0, m->count - 1);
    if (m->cursor != before)
        tell(p, fill_points(p, &error), &error);
}

void practice_record_act(Practice *p, Action action, int64_t now_ms)
{
    (void)now_ms;
    if (p->record == NULL || action != ACTION_RECORD_BY)
        return;
    p->model.record.drills = !p->model.record.drills;
    read_all(p);
}
