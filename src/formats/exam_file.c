#include "evenhand/formats/exam_file.h"

#include "evenhand/drill/drill.h"

#include <stdlib.h>
#include <string.h>

/* What is known while the entries are read. */
typedef struct {
    ExamFile *file;
    bool exam_seen, date_seen, days_seen, minutes_seen;
    Error *error;
} Reading;

static bool wrong(Reading *r, const IniEntry *e, const char *wanted)
{
    return error_at(
        r->error, ERROR_SYNTAX, e->line, 0, "%s takes %s, not '%.60s'", e->key, wanted, e->value);
}

/* ---- single values ------------------------------------------------------------------------- */

/* Digits only, up to six of them; returns what follows, NULL where there is none. */
static const char *digits(const char *text, int *out)
{
    int value = 0, count = 0;
    for (; text[count] >= '0' && text[count] <= '9'; count++)
        if (count < 6)
            value = value * 10 + (text[count] - '0');
    *out = value;
    return count == 0 || count > 6 ? NULL : text + count;
}

static bool read_int(const char *text, int low, int high, int *out)
{
    const char *end = digits(text, out);
    return end && *end == '\0' && *out >= low && *out <= high;
}

/* "29", "29/2"; returns what follows. */
static const char *fraction(const char *text, Ratio *out)
{
    int num, den = 1;
    const char *end = digits(text, &num);
    if (end && *end == '/')
        end = digits(end + 1, &den);
    if (!end || den == 0)
        return NULL;
    *out = ratio(num, den);
    return end;
}

/* "72", "72.5"; at most three decimals. */
static bool read_number(const char *text, Ratio *out)
{
    int whole, part = 0, scale = 1;
    const char *end = digits(text, &whole);
    if (end && *end == '.') {
        const char *start = end + 1;
        end = digits(start, &part);
        for (const char *c = start; end && c < end; c++)
            scale *= 10;
    }
    if (!end || *end != '\0' || scale > 1000)
        return false;
    *out = ratio_add(ratio_int(whole), ratio(part, scale));
    return true;
}

/* "1/4=72", "1/4 = 72", or "72" alone. */
static bool read_tempo(const char *text, Tempo *out)
{
    const char *equals = strchr(text, '=');
    out->beat = ratio_int(0);
    if (equals) {
        const char *end = fraction(text, &out->beat);
        if (!end || out->beat.num == 0 || end + strspn(end, " ") != equals)
            return false;
        out->beat = ratio_mul(out->beat, ratio_int(4));
        text = equals + 1 + strspn(equals + 1, " ");
    }
    return read_number(text, &out->per_minute) &&
           ratio_cmp(out->per_minute, ratio_int(TEMPO_MIN)) >= 0 &&
           ratio_cmp(out->per_minute, ratio_int(TEMPO_MAX)) <= 0;
}

/* "mon" or "Monday": its first three letters or all of them, whatever the capitals. */
static bool is_day(const char *text, size_t size, const char *name)
{
    if (size != 3 && size != strlen(name))
        return false;
    for (size_t i = 0; i < size; i++) {
        char c = text[i] >= 'A' && text[i] <= 'Z' ? (char)(text[i] - 'A' + 'a') : text[i];
        if (c != name[i])
            return false;
    }
    return true;
}

static bool read_weekdays(const char *text, unsigned *out)
{
    static const char *const names[] = {
        "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"};
    for (*out = 0; *text != '\0'; text += strspn(text, " ,")) {
        size_t size = strcspn(text, " ,");
        size_t day = 0;
        while (day < 7 && !is_day(text, size, names[day]))
            day++;
        if (day == 7)
            return false;
        *out |= 1u << day;
        text += size;
    }
    return *out != 0;
}

/* The next blank-separated word; false where there is none or it is too long. */
static bool next_word(const char **at, char *word, size_t room)
{
    *at += strspn(*at, " ,");
    size_t size = strcspn(*at, " ,");
    if (size == 0 || size >= room)
        return false;
    memcpy(word, *at, size);
    word[size] = '\0';
    *at += size;
    return true;
}

/* ---- sections ------------------------------------------------------------------------------ */

static bool read_name(Reading *r, const IniEntry *e, char out[RECORD_NAME_MAX])
{
    if (e->value[0] == '\0')
        return wrong(r, e, "a name");
    if (strlen(e->value) >= RECORD_NAME_MAX)
        return error_at(r->error, ERROR_LIMIT, e->line, 0, "%s takes at most %d bytes", e->key,
            RECORD_NAME_MAX - 1);
    memcpy(out, e->value, strlen(e->value) + 1);
    return true;
}

static bool read_date(Reading *r, const IniEntry *e, const char *text, Day *out)
{
    Error why = {0};
    return date_read(text, out, &why) ||
           error_at(r->error, ERROR_SYNTAX, e->line, 0, "%s: %s", e->key, why.text);
}

static bool read_range(Reading *r, const IniEntry *e, int low, int high, int *out)
{
    return read_int(e->value, low, high, out) ||
           error_at(r->error, ERROR_SYNTAX, e->line, 0,
               "%s takes a whole number from %d to %d, not '%.60s'", e->key, low, high, e->value);
}

static bool read_exam(Reading *r, const IniEntry *e)
{
    ExamFile *f = r->file;
    if (strcmp(e->key, "title") == 0)
        return read_name(r, e, f->title);
    if (strcmp(e->key, "student") == 0)
        return read_name(r, e, f->student);
    if (strcmp(e->key, "block") == 0)
        return read_range(r, e, 0, EXAM_BLOCK_MAX, &f->block);
    if (strcmp(e->key, "repetitions") == 0)
        return read_range(r, e, 1, EXAM_REPETITIONS_MAX, &f->repetitions);
    if (strcmp(e->key, "date") == 0) {
        r->date_seen = true;
        f->exam_line = e->line;
        return read_date(r, e, e->value, &f->exam);
    }
    if (strcmp(e->key, "days") == 0) {
        r->days_seen = true;
        return read_weekdays(e->value, &f->weekdays) ||
               wrong(r, e, "days of the week such as mon tue thu sat");
    }
    if (strcmp(e->key, "minutes") == 0) {
        r->minutes_seen = true;
        return read_range(r, e, EXAM_MINUTES_MIN, EXAM_MINUTES_MAX, &f->minutes);
    }
    return error_at(r->error, ERROR_SYNTAX, e->line, 0,
        "[exam] does not know '%.40s'; it takes date, days, minutes, title, student, block, "
        "repetitions",
        e->key);
}

static bool read_drills(Reading *r, const IniEntry *e, ExamFilePassage *p)
{
    const char *at = e->value;
    p->drill_count = 0;
    while (at[strspn(at, " ,")] != '\0') {
        DrillSpec spec = drill_plain();
        Error why = {0};
        if (p->drill_count == EXAM_DRILLS_MAX)
            return error_at(
                r->error, ERROR_LIMIT, e->line, 0, "drills takes at most %d", EXAM_DRILLS_MAX);
        char *word = p->words[p->drill_count];
        if (!next_word(&at, word, EXAM_DRILL_MAX))
            return wrong(r, e, "words such as finger-3 long-short");
        if (!drill_parse(word, &spec, &why))
            return error_at(r->error, ERROR_SYNTAX, e->line, 0, "%s", why.text);
        p->drill_count++;
    }
    return p->drill_count > 0 || wrong(r, e, "words such as finger-3 long-short");
}

static bool read_tempo_of(Reading *r, const IniEntry *e, Tempo *out)
{
    return read_tempo(e->value, out) || wrong(r, e, "a tempo from 10 to 400 such as 1/4=72");
}

static bool read_length(Reading *r, const IniEntry *e, Ratio *out)
{
    const char *end = fraction(e->value, out);
    bool good =
        end && *end == '\0' && out->num > 0 && ratio_cmp(*out, ratio_int(EXAM_LENGTH_MAX)) <= 0;
    return good || wrong(r, e, "quarters such as 16 or 29/2");
}

static bool read_passage(Reading *r, const IniEntry *e)
{
    ExamFilePassage *p = &r->file->passages[r->file->passage_count - 1];
    if (strcmp(e->key, "title") == 0)
        return read_name(r, e, p->title);
    if (strcmp(e->key, "from") == 0)
        return read_tempo_of(r, e, &p->from);
    if (strcmp(e->key, "goal") == 0)
        return read_tempo_of(r, e, &p->goal);
    if (strcmp(e->key, "length") == 0)
        return read_length(r, e, &p->length);
    if (strcmp(e->key, "drills") == 0)
        return read_drills(r, e, p);
    if (strcmp(e->key, "file") == 0) {
        memcpy(p->file, e->value, sizeof p->file);
        p->file_line = e->line;
        return p->file[0] != '\0' || wrong(r, e, "a file such as scales.abc:2");
    }
    return error_at(r->error, ERROR_SYNTAX, e->line, 0,
        "[passage] does not know '%.40s'; it takes title, file, from, goal, length, drills",
        e->key);
}

/* "2026-12-24", or "2026-12-24 to 2027-01-02". */
static bool read_missed(Reading *r, const IniEntry *e)
{
    ExamFile *f = r->file;
    const char *at = e->value;
    char word[DATE_TEXT_MAX] = "";
    Day first, last;
    if (strcmp(e->key, "day") != 0)
        return error_at(r->error, ERROR_SYNTAX, e->line, 0,
            "[missed] does not know '%.40s'; it takes day", e->key);
    if (!next_word(&at, word, sizeof word))
        return wrong(r, e, "a date such as 2026-12-24, or 2026-12-24 to 2027-01-02");
    if (!read_date(r, e, word, &first))
        return false;
    last = first;
    if (at[strspn(at, " ")] != '\0') {
        bool good = next_word(&at, word, sizeof word) && strcmp(word, "to") == 0 &&
                    next_word(&at, word, sizeof word) && at[strspn(at, " ")] == '\0';
        if (!good)
            return wrong(r, e, "a date such as 2026-12-24, or 2026-12-24 to 2027-01-02");
        if (!read_date(r, e, word, &last))
            return false;
    }
    if (last < first)
        return wrong(r, e, "the earlier day first");
    if (last - first >= EXAM_MISSED_MAX - f->missed_count)
        return error_at(
            r->error, ERROR_LIMIT, e->line, 0, "at most %d missed days", EXAM_MISSED_MAX);
    for (Day day = first; day <= last; day++)
        f->missed[f->missed_count++] = day;
    return true;
}

static bool open_section(Reading *r, const IniEntry *e)
{
    ExamFile *f = r->file;
    if (strcmp(e->section, "missed") == 0)
        return true;
    if (strcmp(e->section, "exam") == 0) {
        bool again = r->exam_seen;
        r->exam_seen = true;
        return !again || error_at(r->error, ERROR_SYNTAX, e->line, 0,
                             "[exam] comes once; write a file for each exam");
    }
    if (strcmp(e->section, "routine") == 0 || strcmp(e->section, "block") == 0)
        return error_at(r->error, ERROR_USAGE, e->line, 0,
            "this is no exam plan, it is a routine: play it with evenhand routine FILE");
    if (strcmp(e->section, "passage") != 0)
        return error_at(r->error, ERROR_SYNTAX, e->line, 0,
            "there is no section [%.40s]; there are [exam], [passage] and [missed]", e->section);
    if (f->passage_count == EXAM_PASSAGES_MAX)
        return error_at(r->error, ERROR_LIMIT, e->line, 0, "a plan is for at most %d passages",
            EXAM_PASSAGES_MAX);
    f->passages[f->passage_count++] = (ExamFilePassage){.line = e->line,
        .from = {ratio_int(0), ratio_int(0)},
        .goal = {ratio_int(0), ratio_int(0)},
        .length = ratio_int(0)};
    return true;
}

static bool read_entry(Reading *r, const IniEntry *e)
{
    if (e->key[0] == '\0')
        return open_section(r, e);
    if (strcmp(e->section, "exam") == 0)
        return read_exam(r, e);
    if (strcmp(e->section, "passage") == 0)
        return read_passage(r, e);
    if (strcmp(e->section, "missed") == 0)
        return read_missed(r, e);
    return error_at(r->error, ERROR_SYNTAX, e->line, 0,
        "'%.40s' stands before the first section; begin with [exam]", e->key);
}

/* ---- the whole ----------------------------------------------------------------------------- */

static bool check_passage(const ExamFilePassage *p, Error *error)
{
    const char *lacks = p->title[0] == '\0' && p->file[0] == '\0' ? "title = its name"
                        : p->from.per_minute.num == 0             ? "from = 1/4=72"
                        : p->goal.per_minute.num == 0             ? "goal = 1/4=104"
                                                                  : NULL;
    if (lacks)
        return error_at(error, ERROR_SYNTAX, p->line, 0, "this [passage] lacks %s", lacks);
    if (!ratio_equal(p->from.beat, p->goal.beat))
        return error_at(error, ERROR_SYNTAX, p->line, 0,
            "from and goal count different beats; write both with the same, such as 1/4=");
    if (ratio_cmp(p->from.per_minute, p->goal.per_minute) > 0)
        return error_at(error, ERROR_SYNTAX, p->line, 0,
            "from is faster than goal; write the slower one as from, the one wanted as goal");
    return true;
}

static bool check(const Reading *r, Error *error)
{
    const ExamFile *f = r->file;
    const char *lacks = !r->date_seen      ? "date = 2027-03-13"
                        : !r->days_seen    ? "days = mon tue thu sat"
                        : !r->minutes_seen ? "minutes = 30"
                                           : NULL;
    if (lacks)
        return error_set(error, ERROR_SYNTAX, "the file lacks, below [exam], %s", lacks);
    if (f->passage_count == 0)
        return error_set(error, ERROR_SYNTAX,
            "the file has no [passage]; write one for each, with title, from and goal");
    for (int i = 0; i < f->passage_count; i++)
        if (!check_passage(&f->passages[i], error))
            return false;
    return true;
}

/* Only days without practice come as often as one likes. */
static bool stands_once(const Ini *ini, size_t i, Error *error)
{
    const IniEntry *e = &ini->entries[i];
    if (e->key[0] == '\0' || strcmp(e->section, "missed") == 0)
        return true;
    for (size_t k = i; k > 0 && ini->entries[k - 1].key[0] != '\0'; k--)
        if (strcmp(ini->entries[k - 1].key, e->key) == 0)
            return error_at(error, ERROR_SYNTAX, e->line, 0,
                "%s stands twice in this section; leave one of them out", e->key);
    return true;
}

bool exam_file_read(const char *text, size_t size, ExamFile *out, Error *error)
{
    Ini ini;
    Reading r = {.file = out, .error = error};
    memset(out, 0, sizeof *out);
    out->passages = calloc(EXAM_PASSAGES_MAX, sizeof *out->passages);
    if (!out->passages)
        return error_set(error, ERROR_MEMORY, "no memory for the plan's file");
    bool done = ini_read(text, size, &ini, error);
    for (size_t i = 0; done && i < ini.count; i++)
        done = stands_once(&ini, i, error) && read_entry(&r, &ini.entries[i]);
    done = done && check(&r, error);
    for (int i = 0; done && i < out->passage_count; i++)
        for (int k = 0; k < out->passages[i].drill_count; k++)
            out->passages[i].drills[k] = out->passages[i].words[k];
    ini_free(&ini); /* zeroed where it could not be read */
    if (!done)
        exam_file_free(out);
    return done;
}

void exam_file_free(ExamFile *file)
{
    free(file->passages);
    memset(file, 0, sizeof *file);
}

void exam_file_spec(const ExamFile *f, Day today, ExamPassage *passages, ExamSpec *out)
{
    for (int i = 0; i < f->passage_count; i++) {
        const ExamFilePassage *p = &f->passages[i];
        Ratio beat = p->goal.beat.num == 0 ? ratio_int(1) : p->goal.beat;
        passages[i] = (ExamPassage){.title = p->title,
            .present = tempo(beat, p->from.per_minute),
            .goal = tempo(beat, p->goal.per_minute),
            .reached = tempo(beat, ratio_int(0)),
            .length = p->length.num == 0 ? ratio_int(EXAM_FILE_LENGTH) : p->length,
            .drills = p->drills,
            .drill_count = p->drill_count};
    }
    *out = (ExamSpec){.today = today,
        .exam = f->exam,
        .weekdays = f->weekdays,
        .minutes = f->minutes,
        .block = f->block,
        .repetitions = f->repetitions,
        .passages = passages,
        .passage_count = f->passage_count,
        .missed = f->missed,
        .missed_count = f->missed_count};
}
