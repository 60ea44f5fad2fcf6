#include "page_pen.h"

/* Passages longer than this are not tried large: they have several pages anyway. */
enum { LARGE_NOTES_MAX = 160 };

static void draw_passage(PagePen *pen)
{
    page_title(pen);
    page_systems(pen);
    page_legend(pen);
    page_table(pen);
}

static bool same_shape(const Passage *p, const Fingering *f, const Rotation *r, Error *error)
{
    if (p->note_count > 0 && f->note_count == p->note_count && r->note_count == p->note_count)
        return true;
    return error_set(error, ERROR_RANGE, "fingers and accents are of another passage");
}

static PagePen pen_for(
    const Passage *p, const Fingering *f, const Rotation *r, const Setting *setting)
{
    static const double scales[] = {1.6, 1.45, 1.3, 1.15, 1};
    const int count = sizeof scales / sizeof scales[0];
    bool large = p->note_count <= LARGE_NOTES_MAX;
    return (PagePen){.p = p,
        .f = f,
        .r = r,
        .setting = setting,
        .title = p->title,
        .draw = draw_passage,
        .scales = large ? scales : scales + count - 1,
        .scale_count = large ? count : 1};
}

bool page_draw(const Passage *p, const Fingering *f, const Rotation *r, const Setting *setting,
    const PageOptions *options, Text *out, int *pages, Error *error)
{
    PagePen pen = pen_for(p, f, r, setting);
    *pages = 0;
    return same_shape(p, f, r, error) && page_print(&pen, options, out, pages, error);
}

bool page_boxes(const Passage *p, const Fingering *f, const Rotation *r, const Setting *setting,
    const PageOptions *options, PageBox **boxes, size_t *count, Error *error)
{
    PagePen pen = pen_for(p, f, r, setting);
    *boxes = NULL;
    *count = 0;
    pen.options = options;
    return same_shape(p, f, r, error) && page_print_boxes(&pen, boxes, count, error);
}
