#include "abc_reader.h"

#include <stdlib.h>
#include <string.h>

/* Macros (ABC 2.1, section 9): "m: ~G3 = G{A}G{F}G" puts text in place of text; with an n in the
 * target any note fits, and the letters h to z in the text are notes counted from it (n itself
 * is the note, o one step up, m one step down). */

enum { EXPANDED_MAX = 1 << 20 };

typedef struct {
    char *bytes;
    int *columns;
    size_t size, room;
} Expanded;

bool abc_macro_define(AbcReader *r, const AbcLine *value, int column)
{
    const char *equals = value->size > 0 ? memchr(value->at, '=', value->size) : NULL;
    if (equals == NULL)
        return true;
    AbcLine target = {.at = value->at, .size = (size_t)(equals - value->at)};
    abc_line_trim(&target);
    if (target.size == 0)
        return true;
    if (target.size >= sizeof r->macros[0].target || r->macro_count == ABC_MACROS_MAX)
        return error_at(r->error, ERROR_LIMIT, value->number, column,
            "a tune has at most %d macros, each for at most %d signs", ABC_MACROS_MAX,
            (int)sizeof r->macros[0].target - 1);
    AbcLine text = {.at = equals + 1, .size = (size_t)(value->at + value->size - equals) - 1};
    abc_line_trim(&text);
    AbcMacro *m = &r->macros[r->macro_count];
    m->text = malloc(text.size + 1);
    if (m->text == NULL)
        return error_set(r->error, ERROR_MEMORY, "out of memory for macros");
    r->macro_count++;
    memcpy(m->text, text.at, text.size);
    m->size = text.size;
    m->line = value->number;
    memcpy(m->target, target.at, target.size);
    m->target[target.size] = '\0';
    return true;
}

void abc_macros_free(AbcReader *r)
{
    for (int i = 0; i < r->macro_count; i++)
        free(r->macros[i].text);
    r->macro_count = 0;
}

static bool put(AbcReader *r, Expanded *out, char c, int column)
{
    if (out->size == out->room) {
        size_t room = out->room == 0 ? 256 : out->room * 2;
        char *bytes = realloc(out->bytes, room);
        if (bytes != NULL)
            out->bytes = bytes;
        int *columns = realloc(out->columns, room * sizeof *columns);
        if (columns != NULL)
            out->columns = columns;
        if (bytes == NULL || columns == NULL)
            return error_set(r->error, ERROR_MEMORY, "out of memory for macros");
        out->room = room;
    }
    out->bytes[out->size] = c;
    out->columns[out->size++] = column;
    return true;
}

static const char notes[] = "CDEFGABcdefgab";

/* Bytes of `at` that the target fits, 0 if it does not; *note: which note stands for its n. */
static size_t fits(const AbcMacro *m, const char *at, size_t size, int *note)
{
    size_t n = strlen(m->target);
    if (n > size)
        return 0;
    for (size_t i = 0; i < n; i++) {
        if (m->target[i] == at[i])
            continue;
        const char *found = m->target[i] == 'n' && at[i] != '\0' ? strchr(notes, at[i]) : NULL;
        if (found == NULL)
            return 0;
        *note = (int)(found - notes);
    }
    return n;
}

/* A letter of the replacement, counted in steps from the note; octave marks where it leaves the
 * two octaves that have letters. */
static bool put_step(AbcReader *r, Expanded *out, int note, int column)
{
    int marks = 0;
    for (; note < 0; marks--)
        note += 7;
    for (; note >= 14; marks++)
        note -= 7;
    if (!put(r, out, notes[note], column))
        return false;
    for (; marks < 0; marks++)
        if (!put(r, out, ',', column))
            return false;
    for (; marks > 0; marks--)
        if (!put(r, out, '\'', column))
            return false;
    return true;
}

static bool put_macro(AbcReader *r, Expanded *out, const AbcMacro *m, int note, int column)
{
    r->expanded += m->size;
    if (r->expanded > EXPANDED_MAX)
        return error_at(
            r->error, ERROR_LIMIT, m->line, 1, "this macro makes more text than a tune may have");
    for (size_t i = 0; i < m->size; i++) {
        char c = m->text[i];
        bool step = note >= 0 && c >= 'h' && c <= 'w';
        if (!(step ? put_step(r, out, note + (c - 'n'), column) : put(r, out, c, column)))
            return false;
    }
    return true;
}

static bool expand(AbcReader *r, const AbcLine *line, Expanded *out)
{
    for (size_t i = 0; i < line->size;) {
        size_t used = 0;
        int note = -1, k = 0;
        for (; k < r->macro_count && used == 0; k++) {
            note = -1;
            used = fits(&r->macros[k], line->at + i, line->size - i, &note);
        }
        int column = (int)i + 1;
        if (!(used > 0 ? put_macro(r, out, &r->macros[k - 1], note, column)
                       : put(r, out, line->at[i], column)))
            return false;
        i += used > 0 ? used : 1;
    }
    return true;
}

bool abc_music_line(AbcReader *r, const AbcLine *line)
{
    AbcScan s = {
        .start = line->at, .at = line->at, .end = line->at + line->size, .line = line->number};
    if (r->macro_count == 0)
        return abc_music(r, &s);
    Expanded out = {0};
    bool ok = expand(r, line, &out);
    if (ok && out.size > 0) {
        s.start = s.at = out.bytes;
        s.end = out.bytes + out.size;
        s.columns = out.columns;
        ok = abc_music(r, &s);
    }
    free(out.bytes);
    free(out.columns);
    return ok;
}
