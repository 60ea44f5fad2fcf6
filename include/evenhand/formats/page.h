/* page.h - a page for the music stand, drawn with cairo into memory: the passage large, finger
 * numbers at least 5 mm tall, groups, links, turns, strong beats, pedals or levers, and the
 * accent table. Pure but for cairo's own allocations. */
#ifndef EVENHAND_FORMATS_PAGE_H
#define EVENHAND_FORMATS_PAGE_H

#include "evenhand/drill/rotation.h"
#include "evenhand/harp/instrument.h"
#include "evenhand/music/text.h"

typedef enum { PAGE_PDF, PAGE_SVG, PAGE_PNG } PageFormat;
typedef enum { PAPER_A4, PAPER_LETTER } Paper;

typedef struct {
    PageFormat format;
    Paper paper;
    Names names;
    int page;   /* PNG and SVG hold one page: which, 1-based; PDF: all */
    double dpi; /* PNG; 0: 150 */
} PageOptions;

/* Appends the file's bytes to out. `setting` may be NULL. *pages: how many there are.
 * ERROR_RANGE for a page beyond them. */
bool page_draw(const Passage *p, const Fingering *f, const Rotation *r, const Setting *setting,
    const PageOptions *options, Text *out, int *pages, Error *error);

/* Where every text and box was put, for tests: millimetres from the page's top left. */
typedef struct {
    int page;
    double x, y, width, height;
    char what[24]; /* "finger", "name", "title", "table" ... */
} PageBox;
bool page_boxes(const Passage *p, const Fingering *f, const Rotation *r, const Setting *setting,
    const PageOptions *options, PageBox **boxes, size_t *count, Error *error);

#endif
