#include "evenhand/app/command.h"
#include "evenhand/app/exam_load.h"
#include "evenhand/app/paths.h"
#include "evenhand/app/report.h"
#include "evenhand/formats/record_text.h"
#include "evenhand/journal/journal.h"
#include "evenhand/music/rune.h"

#include "record_deeds.h"

#include <stdlib.h>
#include <unistd.h>

static Day today(const Options *o)
{
    return o->has_today ? o->today : exam_today();
}

static int stale_days(const Options *o)
{
    return o->record.stale > 0 ? o->record.stale : RECORD_STALE_DAYS;
}

static RecordFilter filter_of(const Options *o)
{
    return (RecordFilter){.student = o->student,
        .passage = o->record.passage,
        .from = o->record.since,
        .to = o->record.until};
}

/* A list out of the record; list->lines is to be freed. */
static bool fetch(Journal *j, const Options *o, RecordBy by, const RecordFilter *filter,
    RecordList *list, Error *error)
{
    RecordLine *lines = NULL;
    *list = (RecordList){.by = by, .today = today(o), .stale_days = stale_days(o)};
    bool done = journal_lines(j, by, filter, &lines, &list->count, error);
    list->lines = lines;
    return done;
}

static void drop(RecordList *list)
{
    free((RecordLine *)list->lines);
    list->lines = NULL;
}

/* Names are whole in CSV: on a terminal they are cleaned, as everywhere. */
static bool clean_csv(const Text *csv, Text *out)
{
    bool done = true;
    for (const char *at = csv->bytes; done && at != NULL && *at != '\0';) {
        uint32_t rune;
        char bytes[RUNE_BYTES_MAX];
        int size = rune_decode(at, &rune);
        if (rune != '\r' && rune != '\n')
            rune = rune_clean(rune);
        done = text_add_bytes(out, bytes, (size_t)rune_encode(rune, bytes));
        at += size > 0 ? size : 1;
    }
    return done;
}

static bool print(const Options *o, const Text *text, Error *error)
{
    Text clean = {0};
    if (!o->record.csv || !isatty(STDOUT_FILENO))
        return report_text(text, error);
    bool done = clean_csv(text, &clean)
                    ? report_text(&clean, error)
                    : error_set(error, ERROR_MEMORY, "there is no memory for the list");
    text_free(&clean);
    return done;
}

static bool write_list(const Options *o, const RecordList *list, Text *out, Error *error)
{
    if (o->record.csv)
        return record_csv(out, list, error);
    if (o->record.json)
        return record_json(out, list, error);
    return record_text(out, list, error) && record_text_stale(out, list, error);
}

static bool print_list(Journal *j, const Options *o, Error *error)
{
    const RecordFilter filter = filter_of(o);
    RecordBy by = o->record.has_by ? o->record.by : RECORD_BY_PASSAGE;
    RecordList list;
    Text text = {0};
    bool done = fetch(j, o, by, &filter, &list, error) && write_list(o, &list, &text, error) &&
                print(o, &text, error);
    text_free(&text);
    drop(&list);
    return done;
}

enum { NAMES_TOLD = 12 };

/* Whom, or what, the record has instead: "There is Ada, Ben." */
static bool add_names(Text *out, const RecordList *there)
{
    bool done = true;
    for (size_t i = 0; done && i < there->count && i < NAMES_TOLD; i++) {
        const char *name = there->lines[i].name;
        done = text_add(out, "%s%s", i == 0 ? "There is " : ", ", name[0] ? name : "(no name)");
    }
    const char *end = there->count > NAMES_TOLD ? ", and others.\n" : ".\n";
    return done && (there->count == 0 || text_add(out, "%s", end));
}

/* The filter lets nothing through: a name in other letters, or a record that is empty. */
static bool write_nothing(Journal *j, const Options *o, Text *out, Error *error)
{
    const RecordFilter all = {.student = NULL};
    RecordBy by = o->student != NULL ? RECORD_BY_STUDENT : RECORD_BY_PASSAGE;
    RecordList there;
    if (o->student == NULL && o->record.passage == NULL)
        return text_add(out,
                   "There is no practice record yet: each repetition that is judged while "
                   "you practise\ngoes into it.\n") ||
               error_set(error, ERROR_MEMORY, "there is no memory for the list");
    if (!fetch(j, o, by, &all, &there, error))
        return false;
    bool done = text_add(out, "Nothing is recorded of that student or passage.\n") &&
                add_names(out, &there);
    drop(&there);
    return done || error_set(error, ERROR_MEMORY, "there is no memory for the list");
}

static bool print_today(Journal *j, const Options *o, Error *error)
{
    const RecordFilter all = filter_of(o);
    RecordFilter day = all;
    RecordList lists[3] = {{.lines = NULL}, {.lines = NULL}, {.lines = NULL}};
    Text text = {0};
    day.from = day.to = today(o);
    bool done =
        fetch(j, o, RECORD_BY_PASSAGE, &day, &lists[0], error) &&
        fetch(j, o, RECORD_BY_DRILL, &day, &lists[1], error) &&
        fetch(j, o, RECORD_BY_PASSAGE, &all, &lists[2], error) &&
        (lists[2].count > 0 ? record_text_today(&text, &lists[0], &lists[1], &lists[2], error)
                            : write_nothing(j, o, &text, error)) &&
        report_text(&text, error);
    text_free(&text);
    for (int i = 0; i < 3; i++)
        drop(&lists[i]);
    return done;
}

static bool wants_list(const RecordWishes *r)
{
    return r->has_by || r->csv || r->json || r->since != 0 || r->until != 0;
}

static bool check(const Options *o, Error *error)
{
    const RecordWishes *r = &o->record;
    bool lists = wants_list(r) || r->passage != NULL || o->student != NULL || r->stale > 0;
    if (r->csv && r->json)
        return error_set(error, ERROR_USAGE, "--csv or --json, not both");
    if (r->until != 0 && r->since > r->until)
        return error_set(error, ERROR_USAGE, "--since lies after --until");
    if (r->deed != RECORD_LIST && lists)
        return error_set(error, ERROR_USAGE,
            "what changes or copies the record goes without the words that choose a list");
    if (o->output != NULL && r->deed != RECORD_EXPORT)
        return error_set(error, ERROR_USAGE, "-o goes with --export-student; lists are printed");
    return true;
}

bool command_record(const Options *o, Error *error)
{
    char path[PATHS_MAX];
    if (!check(o, error) || !paths_record(path, error))
        return false;
    if (o->record.deed != RECORD_LIST)
        return record_deed(o, path, error);
    Journal *j = journal_open_reading(path, error);
    if (j == NULL)
        return false;
    bool done = wants_list(&o->record) ? print_list(j, o, error) : print_today(j, o, error);
    journal_close(j);
    return done;
}
