#include "evenhand/app/command.h"
#include "evenhand/app/export.h"
#include "evenhand/app/ladder_wishes.h"
#include "evenhand/app/report.h"
#include "evenhand/formats/sheet.h"

#include <langinfo.h>
#include <string.h>
#include <unistd.h>

enum { NAMES_MAX = 1000, RATE_FOR_LENGTH = 48000 };

/* The passage's file name without directory and ending; "passage" where it has none. */
static void stem(const char *given, char out[PATHS_MAX])
{
    int reference = 0;
    char path[PATHS_MAX];
    strcpy(out, "passage");
    if (!given || strcmp(given, "-") == 0 || !load_split(given, path, &reference, NULL))
        return;
    const char *slash = strrchr(path, '/');
    const char *name = slash ? slash + 1 : path;
    const char *point = strrchr(name, '.');
    size_t size = point && point != name ? (size_t)(point - name) : strlen(name);
    if (size == 0)
        return;
    memcpy(out, name, size);
    out[size] = '\0';
}

/* NAME-practice.wav, or NAME-practice-2.wav and on where files are in the way. */
static bool write_track(const Loaded *l, const Options *o, Text *name, Error *error)
{
    char base[PATHS_MAX];
    if (o->output)
        return text_add(name, "%s", o->output) && export_write(l, o, o->output, o->force, error);
    stem(o->file, base);
    for (int k = 1; k <= NAMES_MAX; k++) {
        name->size = 0;
        bool named = k == 1 ? text_add(name, "%s-practice.wav", base)
                            : text_add(name, "%s-practice-%d.wav", base, k);
        if (!named)
            return error_set(error, ERROR_MEMORY, "there is no memory for a name");
        if (export_write(l, o, name->bytes, o->force, error))
            return true;
        if (error->kind != ERROR_EXISTS)
            return false;
    }
    return error_set(error, ERROR_EXISTS, "there are %d practice tracks here already", NAMES_MAX);
}

static bool print_sheet(const Loaded *l, const Options *o, Error *error)
{
    Text text = {0};
    Instrument harp;
    Setting setting;
    if (!instrument_parse(HARP_UNASKED, &harp, error) ||
        !setting_make(l->passage, &harp, &setting, error))
        return false;
    SheetStyle style = {.utf8 = !o->ascii && strcmp(nl_langinfo(CODESET), "UTF-8") == 0,
        .setting = &setting,
        .brief = true};
    bool done =
        sheet_show(&text, l->passage, &l->fingering, &l->rotation, &l->session, &style, error) &&
        report_text(&text, error);
    text_free(&text);
    setting_free(&setting);
    return done;
}

/* Where the track is, how long it lasts, and how to name it oneself. */
static bool say_track(const Loaded *l, const Options *o, const char *name, Error *error)
{
    Text said = {0};
    int64_t frames = session_frames(
        l->passage, &l->fingering, &l->rotation, &l->session, RATE_FOR_LENGTH, error);
    if (frames < 0)
        return false;
    long seconds = (long)((frames + RATE_FOR_LENGTH / 2) / RATE_FOR_LENGTH);
    bool done =
        text_add(&said,
            "\nThere is no terminal here: this is the drill sheet, and the practice track, "
            "%ld:%02ld\nminutes long, is in\n%s\n",
            seconds / 60, seconds % 60, name) &&
        (o->output || text_add(&said, "-o FILE names it otherwise; with --force it replaces "
                                      "the file of that name.\n"));
    done = (done || error_set(error, ERROR_MEMORY, "there is no memory for the report")) &&
           report_text(&said, error);
    text_free(&said);
    return done;
}

bool command_unattended(const Options *o, Error *error)
{
    Loaded l;
    Text name = {0};
    if (ladder_wished(&o->ladder))
        return error_set(error, ERROR_USAGE,
            "a ladder is practised in a terminal; evenhand ladder FILE prints it");
    if (o->output && !export_can(o->output, error))
        return false;
    if (!load_passage(o->file, o, &l, error))
        return false;
    report_notices(l.passage, o->file);
    bool done = print_sheet(&l, o, error) && write_track(&l, o, &name, error) &&
                say_track(&l, o, name.bytes, error);
    text_free(&name);
    loaded_free(&l);
    return done;
}
