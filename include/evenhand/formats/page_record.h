/* page_record.h - the practice record on paper: for each passage or drill % clean and best tempo
 * over days, three to a page. Pure but for cairo's own allocations. */
#ifndef EVENHAND_FORMATS_PAGE_RECORD_H
#define EVENHAND_FORMATS_PAGE_RECORD_H

#include "evenhand/formats/page.h"
#include "evenhand/plan/chart.h"

/* Lent. */
typedef struct {
    const RecordLine *line;   /* its name is cleaned here */
    const ChartPoint *points; /* oldest first, at least one */
    size_t count;
    Ratio unit; /* the beat of the points' tempos, in quarters */
} RecordChart;

/* Appends the file's bytes to out, under this title (cleaned here). ERROR_RECORD without a chart,
 * ERROR_RANGE for a page beyond *pages. */
bool page_record(const char *title, const RecordChart *charts, size_t count,
    const PageOptions *options, Text *out, int *pages, Error *error);
/* Where all text is put, for tests; see page_boxes. */
bool page_record_boxes(const char *title, const RecordChart *charts, size_t count,
    const PageOptions *options, PageBox **boxes, size_t *box_count, Error *error);

#endif
