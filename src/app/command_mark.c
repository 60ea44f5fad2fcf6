#include "evenhand/app/command.h"
#include "evenhand/app/load.h"
#include "evenhand/app/report.h"
#include "evenhand/formats/mark.h"
#include "evenhand/sound/track.h"

#include <string.h>

/* What repeats finger in two ways is told: only one finger can stand before a note. */
static bool report_differing(int differing, Error *error)
{
    Text text = {0};
    bool done = differing == 0 ||
                (text_add(&text,
                     "%d note%s a different finger when repeated; the first time's is written\n",
                     differing, differing == 1 ? " has" : "s have") &&
                    report_text(&text, error));
    text_free(&text);
    return done;
}

static bool write_marked(
    const Options *o, const char *source, const Text *text, const Loaded *l, Error *error)
{
    Text marked = {0};
    int differing = 0;
    bool done = mark_fingers(
        text->bytes, text->size, l->passage, &l->fingering, &marked, &differing, error);
    if (!done)
        error_source(error, source);
    done = done && file_write_atomic(o->output, o->force, marked.bytes, marked.size, error) &&
           report_differing(differing, error);
    text_free(&marked);
    return done;
}

bool command_mark(const Options *o, Error *error)
{
    char path[PATHS_MAX];
    int reference;
    Text text = {0};
    Loaded l;
    if (!o->output)
        return error_set(error, ERROR_USAGE, "mark needs a file to write: -o OUT.abc");
    if (!load_split(o->file, path, &reference, error) || !load_bytes(path, &text, error))
        return false;
    const char *source = strcmp(path, "-") == 0 ? "standard input" : path;
    bool done = load_text(text.bytes ? text.bytes : "", text.size, source, reference, o, &l, error);
    if (done) {
        report_notices(l.passage, o->file);
        done = write_marked(o, source, &text, &l, error);
        loaded_free(&l);
    }
    text_free(&text);
    return done;
}
