#include "page_pen.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>

#include <math.h>
#include <stdlib.h>

/* The layout is made twice: once on paper that takes no ink, to find the scale and how many
 * pages there are, then with ink. The font is unhinted, so that both come out the same. */

static const double points = 72 / 25.4; /* to the millimetre */

static void lay_out(PagePen *pen, double scale)
{
    pen->scale = scale;
    pen->page = 0;
    pen->box_count = 0;
    page_turn(pen);
    pen->draw(pen);
}

/* The largest scale at which all is on one page, else the last. Pages are then known. */
static void find_scale(PagePen *pen)
{
    for (int i = 0; i < pen->scale_count; i++) {
        lay_out(pen, pen->scales[i]);
        if (pen->page == 1)
            break;
    }
}

static bool no_memory(Error *error)
{
    return error_set(error, ERROR_MEMORY, "out of memory for a page");
}

/* Measures on a surface of one dot. */
static bool measure(PagePen *pen, Error *error)
{
    cairo_surface_t *dot = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    pen->cr = cairo_create(dot);
    page_pen_start(pen);
    find_scale(pen);
    bool done = cairo_status(pen->cr) == CAIRO_STATUS_SUCCESS && !pen->failed;
    cairo_destroy(pen->cr);
    cairo_surface_destroy(dot);
    pen->cr = NULL;
    return done || no_memory(error);
}

static cairo_status_t write_bytes(void *out, const unsigned char *bytes, unsigned size)
{
    return text_add_bytes(out, (const char *)bytes, size) ? CAIRO_STATUS_SUCCESS
                                                          : CAIRO_STATUS_NO_MEMORY;
}

static cairo_surface_t *pdf_surface(const PagePen *pen, Text *out)
{
    char title[PASSAGE_TITLE_MAX];
    cairo_surface_t *s = cairo_pdf_surface_create_for_stream(
        write_bytes, out, pen->width * points, pen->height * points);
    cairo_pdf_surface_set_metadata(
        s, CAIRO_PDF_METADATA_TITLE, text_clean(pen->title, title, sizeof title));
    cairo_pdf_surface_set_metadata(s, CAIRO_PDF_METADATA_CREATOR, "evenhand");
    /* The same passage makes the same bytes, whatever the day. */
    cairo_pdf_surface_set_metadata(s, CAIRO_PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z");
    return s;
}

static cairo_surface_t *image_surface(const PagePen *pen, double dots)
{
    return cairo_image_surface_create(
        CAIRO_FORMAT_RGB24, (int)lround(pen->width * dots), (int)lround(pen->height * dots));
}

/* `dots` to the millimetre. */
static cairo_surface_t *surface_for(const PagePen *pen, double dots, Text *out)
{
    switch (pen->options->format) {
    case PAGE_PDF: return pdf_surface(pen, out);
    case PAGE_SVG:
        return cairo_svg_surface_create_for_stream(
            write_bytes, out, pen->width * dots, pen->height * dots);
    default: return image_surface(pen, dots);
    }
}

static bool draw(PagePen *pen, Text *out, Error *error)
{
    bool png = pen->options->format == PAGE_PNG;
    double dots = png ? (pen->options->dpi > 0 ? pen->options->dpi : 150) / 25.4 : points;
    cairo_surface_t *surface = surface_for(pen, dots, out);
    pen->cr = cairo_create(surface);
    cairo_scale(pen->cr, dots, dots);
    if (png) {
        cairo_set_source_rgb(pen->cr, 1, 1, 1);
        cairo_paint(pen->cr);
    }
    page_pen_start(pen);
    lay_out(pen, pen->scale);
    cairo_status_t status = cairo_status(pen->cr);
    cairo_destroy(pen->cr);
    if (status == CAIRO_STATUS_SUCCESS && png)
        status = cairo_surface_write_to_png_stream(surface, write_bytes, out);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    if (status == CAIRO_STATUS_SUCCESS && !pen->failed)
        return true;
    return error_set(error, ERROR_MEMORY, "the page cannot be drawn: %s",
        cairo_status_to_string(status != CAIRO_STATUS_SUCCESS ? status : CAIRO_STATUS_NO_MEMORY));
}

static bool check_options(const PageOptions *o, Error *error)
{
    if (o->format == PAGE_PNG && o->dpi != 0 && !(o->dpi >= 20 && o->dpi <= 1200))
        return error_set(error, ERROR_RANGE, "a picture has 20 to 1200 dots an inch");
    return true;
}

bool page_print(PagePen *pen, const PageOptions *options, Text *out, int *pages, Error *error)
{
    PageOptions o = *options;
    o.page = o.page > 0 ? o.page : 1;
    pen->options = &o;
    *pages = 0;
    bool done = check_options(&o, error) && measure(pen, error);
    if (done) {
        *pages = pen->pages = pen->page;
        done = o.page <= pen->pages ||
               error_set(error, ERROR_RANGE, "there is no page %d; this takes %d page%s", o.page,
                   pen->pages, pen->pages == 1 ? "" : "s");
    }
    done = done && draw(pen, out, error);
    pen->options = options;
    return done;
}

bool page_print_boxes(PagePen *pen, PageBox **boxes, size_t *count, Error *error)
{
    *boxes = NULL;
    *count = 0;
    pen->keep_boxes = true;
    if (!measure(pen, error)) {
        free(pen->boxes);
        return false;
    }
    *boxes = pen->boxes;
    *count = pen->box_count;
    return true;
}
