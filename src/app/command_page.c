#include "evenhand/app/command.h"
#include "evenhand/app/load.h"
#include "evenhand/app/report.h"
#include "evenhand/formats/page.h"
#include "evenhand/sound/track.h"

#include "record_charts.h"

#include <string.h>
#include <strings.h>

static bool format_of(const char *path, PageFormat *format, Error *error)
{
    static const char *const endings[] = {".pdf", ".svg", ".png"};
    const char *point = strrchr(path, '.');
    for (int i = 0; point && i < 3; i++)
        if (strcasecmp(point, endings[i]) == 0) {
            *format = (PageFormat)i;
            return true;
        }
    return error_set(error, ERROR_USAGE,
        "'%.100s' has no ending that a page can be written with: .pdf .svg .png", path);
}

/* Words of the record go with --record, and a file without it. */
static bool check_subject(const Options *o, Error *error)
{
    const RecordWishes *r = &o->record;
    if (r->page && o->file)
        return error_set(error, ERROR_USAGE, "page shows a file or the --record, not both");
    if (!r->page && !o->file)
        return error_set(error, ERROR_USAGE, "page needs a file: evenhand page FILE[:X]");
    if (!r->page && (r->has_by || r->passage || r->since != 0 || r->until != 0 || o->student))
        return error_set(
            error, ERROR_USAGE, "--by, --student, --passage, --since and --until go with --record");
    if (r->has_by && r->by == RECORD_BY_DAY)
        return error_set(
            error, ERROR_USAGE, "a page is by passage, drill or student, and shows the days");
    if (r->until != 0 && r->since > r->until)
        return error_set(error, ERROR_USAGE, "--since lies after --until");
    return true;
}

static bool check(const Options *o, PageFormat *format, Error *error)
{
    if (!check_subject(o, error))
        return false;
    if (!o->output)
        return error_set(error, ERROR_USAGE, "page needs a file to write: -o OUT.pdf");
    if (!format_of(o->output, format, error))
        return false;
    if (*format == PAGE_PDF && o->page > 0)
        return error_set(
            error, ERROR_USAGE, "a .pdf holds every page; --page is for .svg and .png");
    return true;
}

/* A picture is one page of several: that is told when none was asked for. */
static bool report_pages(const Options *o, PageFormat format, int pages, Error *error)
{
    Text text = {0};
    bool done = format == PAGE_PDF || o->page > 0 || pages == 1 ||
                (text_add(&text, "page 1 of %d is written; --page 2 writes the next\n", pages) &&
                    report_text(&text, error));
    text_free(&text);
    return done;
}

static bool write_record(const Options *o, PageFormat format, Error *error)
{
    const PageOptions wanted = {.format = format, .paper = o->paper, .page = o->page};
    Text bytes = {0};
    int pages = 0;
    bool done = record_charts_draw(o, &wanted, &bytes, &pages, error) &&
                file_write_atomic(o->output, o->force, bytes.bytes, bytes.size, error) &&
                report_pages(o, format, pages, error);
    text_free(&bytes);
    return done;
}

static bool write_page(const Options *o, PageFormat format, const Loaded *l, Error *error)
{
    const PageOptions wanted = {
        .format = format, .paper = o->paper, .names = o->names, .page = o->page};
    Setting setting;
    Text bytes = {0};
    int pages = 0;
    if (o->has_harp && !setting_make(l->passage, &o->harp, &setting, error))
        return false;
    bool done = page_draw(l->passage, &l->fingering, &l->rotation, o->has_harp ? &setting : NULL,
                    &wanted, &bytes, &pages, error) &&
                file_write_atomic(o->output, o->force, bytes.bytes, bytes.size, error) &&
                report_pages(o, format, pages, error);
    text_free(&bytes);
    if (o->has_harp)
        setting_free(&setting);
    return done;
}

bool command_page(const Options *o, Error *error)
{
    Loaded l;
    PageFormat format = PAGE_PDF;
    if (!check(o, &format, error))
        return false;
    if (o->record.page)
        return write_record(o, format, error);
    if (!load_passage(o->file, o, &l, error))
        return false;
    report_notices(l.passage, o->file);
    bool done = write_page(o, format, &l, error);
    loaded_free(&l);
    return done;
}
