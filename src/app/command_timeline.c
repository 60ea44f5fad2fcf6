#include "evenhand/app/command.h"
#include "evenhand/app/load.h"
#include "evenhand/app/report.h"
#include "evenhand/formats/sheet.h"

enum { RATE_DEFAULT = 48000, ROWS_AT_ONCE = 4096 };

/* Rows are printed a stretch at a time, so that a long session is never in memory as text. */
static bool print_step(const Timeline *t, int64_t start, Error *error)
{
    bool done = true;
    size_t count = timeline_count(t);
    for (size_t first = 0; done && first < count; first += ROWS_AT_ONCE) {
        Text text = {0};
        size_t rows = count - first < ROWS_AT_ONCE ? count - first : ROWS_AT_ONCE;
        done = sheet_timeline(&text, t, start, first, rows, error) && report_text(&text, error);
        text_free(&text);
    }
    return done;
}

static bool print_header(Error *error)
{
    Text text = {0};
    bool done = sheet_timeline_header(&text, error) && report_text(&text, error);
    text_free(&text);
    return done;
}

static bool print_steps(const Loaded *l, int rate, Error *error)
{
    int64_t start = 0;
    size_t count = l->session.count;
    bool done = print_header(error);
    for (size_t i = 0; done && i < count; i++) {
        const DrillSpec *next = i + 1 < count ? &l->session.steps[i + 1].drill : NULL;
        Timeline *t = loaded_timeline(l, i, next, rate, error);
        done = t && print_step(t, start, error);
        start += t ? timeline_frames(t) : 0;
        timeline_free(t);
    }
    return done;
}

bool command_timeline(const Options *o, Error *error)
{
    Loaded l;
    if (!load_passage(o->file, o, &l, error))
        return false;
    report_notices(l.passage, o->file);
    bool done = print_steps(&l, o->rate > 0 ? o->rate : RATE_DEFAULT, error);
    loaded_free(&l);
    return done;
}
