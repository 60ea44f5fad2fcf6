#include "evenhand/formats/ini.h"

#include "evenhand/music/text.h"

#include <ini.h>
#include <stdlib.h>
#include <string.h>

/* inih tells its caller neither the line of an entry nor that a section opened. So it is handed
 * the text line by line, and after each line that opens a section one more line "=": an entry
 * with neither key nor value, which comes back with the section's name.
 *
 *      file            inih sees        comes back as
 *      1 [block]       1 [block]        -
 *                      2 =              {"block", "", "", 1}
 *      2 title = Up    3 title = Up     {"block", "title", "Up", 2}
 */
typedef struct {
    const char *at, *end;
    int line;     /* of the file, last handed over */
    bool opens;   /* that line opens a section: "=" comes next */
    bool probing; /* "=" was handed over last */
    bool failed;
    Ini *ini;
    size_t room;
    Error *error;
} Reading;

static bool grow(Reading *r)
{
    if (r->ini->count < r->room)
        return true;
    size_t room = r->room == 0 ? 32 : r->room * 2;
    IniEntry *entries = realloc(r->ini->entries, room * sizeof *entries);
    if (entries == NULL)
        return error_set(r->error, ERROR_MEMORY, "out of memory for the file");
    r->ini->entries = entries;
    r->room = room;
    return true;
}

/* Cleaned for the terminal; Latin-1 becomes UTF-8 and may outgrow its place. */
static bool keep(Reading *r, const char *what, const char *from, char *to, size_t size)
{
    char clean[2 * INI_VALUE_MAX + 2];
    text_clean(from, clean, sizeof clean);
    if (strlen(clean) >= size)
        return error_at(
            r->error, ERROR_LIMIT, r->line, 0, "%s has at most %d bytes", what, (int)size - 1);
    memcpy(to, clean, strlen(clean) + 1);
    return true;
}

static bool add_entry(Reading *r, const char *section, const char *key, const char *value)
{
    IniEntry entry = {.line = r->line};
    if (r->ini->count >= INI_ENTRIES_MAX)
        return error_at(
            r->error, ERROR_LIMIT, r->line, 0, "a file has at most %d entries", INI_ENTRIES_MAX);
    if (key[0] == '\0' && !r->probing)
        return error_at(
            r->error, ERROR_SYNTAX, r->line, 0, "a name is missing before the equals sign");
    if (!keep(r, "a section's name", section, entry.section, sizeof entry.section) ||
        !keep(r, "a name", key, entry.key, sizeof entry.key) ||
        !keep(r, "a value", value, entry.value, sizeof entry.value) || !grow(r))
        return false;
    for (char *c = entry.key; *c != '\0'; c++)
        if (*c >= 'A' && *c <= 'Z')
            *c = (char)(*c - 'A' + 'a');
    r->ini->entries[r->ini->count++] = entry;
    return true;
}

/* What inih calls with each entry. */
static int take_entry(void *context, const char *section, const char *key, const char *value)
{
    Reading *r = context;
    r->failed = r->failed || !add_entry(r, section, key, value);
    return !r->failed;
}

/* A line of the file without the blanks before it, which to inih would mean that the value of the
 * line above goes on. */
static bool next_line(Reading *r, char *out, size_t room)
{
    const char *line = r->at, *end = line;
    while (end < r->end && *end != '\n' && *end != '\r')
        end++;
    r->at = end;
    if (r->at < r->end)
        r->at += r->end - end > 1 && end[0] == '\r' && end[1] == '\n' ? 2 : 1;
    r->line++;
    while (line < end && strchr(" \t\v\f", *line) != NULL)
        line++;
    size_t length = (size_t)(end - line);
    if (length >= room)
        return error_at(
            r->error, ERROR_LIMIT, r->line, 0, "a line has at most %d bytes", (int)room - 1);
    memcpy(out, line, length);
    out[length] = '\0';
    return true;
}

/* What inih calls for each line, as it would fgets: with `size` for the line, its end and NUL. */
static char *hand_over(char *out, int size, void *context)
{
    Reading *r = context;
    if (r->failed || size < 4)
        return NULL;
    r->probing = r->opens;
    r->opens = false;
    if (r->probing)
        return strcpy(out, "=");
    if (r->at >= r->end)
        return NULL;
    r->failed = !next_line(r, out, (size_t)size - 2);
    r->opens = out[0] == '[';
    return r->failed ? NULL : out;
}

/* The line of the file that inih counts as its n-th. */
static int line_of_file(const Ini *ini, int n)
{
    int added = 0;
    for (size_t i = 0; i < ini->count; i++)
        if (ini->entries[i].key[0] == '\0' && ini->entries[i].line + added < n)
            added++;
    return n - added;
}

bool ini_read(const char *text, size_t size, Ini *out, Error *error)
{
    static const char mark[] = "\xEF\xBB\xBF"; /* of UTF-8, as some editors write it */
    Reading r = {.at = text, .end = text + size, .ini = out, .error = error};
    *out = (Ini){0};
    if (size > INI_BYTES_MAX)
        return error_set(error, ERROR_LIMIT, "such a file has at most %d bytes", INI_BYTES_MAX);
    if (size > 0 && memchr(text, '\0', size) != NULL)
        return error_set(error, ERROR_LIMIT, "this is no text: it has NUL bytes");
    if (size >= 3 && memcmp(text, mark, 3) == 0)
        r.at += 3;
    int failed = ini_parse_stream(hand_over, &r, take_entry, &r);
    int line = failed > 0 ? line_of_file(out, failed) : 0;
    if (failed < 0)
        error_set(error, ERROR_MEMORY, "out of memory for the file");
    else if (failed > 0 && (!r.failed || line < r.line))
        error_at(error, ERROR_SYNTAX, line, 0,
            "this is neither [section] nor name = value; a comment begins with ; or #");
    if (failed == 0 && !r.failed)
        return true;
    ini_free(out);
    return false;
}

void ini_free(Ini *ini)
{
    free(ini->entries);
    *ini = (Ini){0};
}
