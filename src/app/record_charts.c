#include "record_charts.h"

#include "evenhand/app/paths.h"
#include "evenhand/formats/page_record.h"
#include "evenhand/journal/journal.h"

#include <stdio.h>
#include <stdlib.h>

/* Lines of the record, a chart for each, and all points one after the other. */
typedef struct {
    RecordLine *lines;
    RecordChart *charts;
    size_t count;
} Drawn;

static void drop(Drawn *d)
{
    for (size_t i = 0; d->charts != NULL && i < d->count; i++)
        free((ChartPoint *)d->charts[i].points);
    free(d->charts);
    free(d->lines);
}

static RecordBy by_of(const Options *o)
{
    return o->record.has_by ? o->record.by : RECORD_BY_PASSAGE;
}

static bool no_memory(Error *error)
{
    return error_set(error, ERROR_MEMORY, "out of memory for the record");
}

static bool read_chart(Journal *j, const Options *o, const RecordFilter *all,
    const RecordLine *line, RecordChart *chart, Error *error)
{
    RecordFilter filter = *all;
    RecordLine *days = NULL;
    size_t count = 0;
    switch (by_of(o)) {
    case RECORD_BY_DRILL: filter.drill = line->name; break;
    case RECORD_BY_STUDENT: filter.student = line->name; break;
    default: filter.passage = line->name; break;
    }
    if (!journal_lines(j, RECORD_BY_DAY, &filter, &days, &count, error))
        return false;
    ChartPoint *points = calloc(count + 1, sizeof *points);
    *chart = (RecordChart){.line = line, .points = points, .count = count};
    if (points != NULL)
        chart_points(days, count, points, &chart->unit);
    free(days);
    return points != NULL || no_memory(error);
}

static bool read_all(Journal *j, const Options *o, Drawn *d, Error *error)
{
    const RecordFilter all = {.student = o->student,
        .passage = o->record.passage,
        .from = o->record.since,
        .to = o->record.until};
    if (!journal_lines(j, by_of(o), &all, &d->lines, &d->count, error))
        return false;
    d->charts = calloc(d->count + 1, sizeof *d->charts);
    if (d->charts == NULL)
        return no_memory(error);
    for (size_t i = 0; i < d->count; i++)
        if (!read_chart(j, o, &all, &d->lines[i], &d->charts[i], error))
            return false;
    return true;
}

/* "Practice record by drill: Run in G, Ada" */
static void title_of(const Options *o, char *out, size_t size)
{
    const char *passage = o->record.passage, *student = o->student;
    snprintf(out, size, "Practice record by %s%s%.60s%s%.60s", record_by_word(by_of(o)),
        passage || student ? ": " : "", passage ? passage : "", passage && student ? ", " : "",
        student ? student : "");
}

bool record_charts_draw(
    const Options *o, const PageOptions *wanted, Text *out, int *pages, Error *error)
{
    char path[PATHS_MAX], title[200];
    Drawn drawn = {.lines = NULL};
    Journal *j = paths_record(path, error) ? journal_open_reading(path, error) : NULL;
    if (j == NULL)
        return false;
    title_of(o, title, sizeof title);
    bool done = read_all(j, o, &drawn, error) &&
                page_record(title, drawn.charts, drawn.count, wanted, out, pages, error);
    drop(&drawn);
    journal_close(j);
    return done;
}
