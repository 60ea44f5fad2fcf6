#include "abc_reader.h"

#include <string.h>

static char peek(const AbcScan *s, size_t ahead)
{
    return (size_t)(s->end - s->at) > ahead ? s->at[ahead] : '\0';
}

/* Passes over everything up to `close`, or to the end of the line. */
static void skip_to(AbcScan *s, char close)
{
    size_t left = (size_t)(s->end - s->at) - 1;
    const char *found = left > 0 ? memchr(s->at + 1, close, left) : NULL;
    s->at = found != NULL ? found + 1 : s->end;
}

static bool letter(char c)
{
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

/* "[K:G]" */
static bool inline_field(AbcReader *r, AbcScan *s)
{
    int line = s->line, column = abc_scan_column(s);
    const char *close = memchr(s->at, ']', (size_t)(s->end - s->at));
    if (close == NULL)
        return error_at(
            r->error, ERROR_SYNTAX, line, column, "the field is not closed with ] on its line");
    AbcLine value = {.at = s->at + 3, .size = (size_t)(close - s->at) - 3, .number = line};
    char name = s->at[1];
    abc_line_trim(&value);
    s->at = close + 1;
    return abc_field(r, name, &value, column + 3);
}

static bool bracket(AbcReader *r, AbcScan *s)
{
    if (peek(s, 1) == '|')
        return abc_bar_line(r, s);
    if (letter(peek(s, 1)) && peek(s, 2) == ':' && peek(s, 3) != '|' && peek(s, 3) != ':')
        return inline_field(r, s);
    if (abc_ending_follows(s))
        return abc_ending(r, s);
    return abc_chord(r, s);
}

static bool grace(AbcReader *r, AbcScan *s)
{
    passage_notice(r->passage, s->line, abc_scan_column(s),
        "grace notes are left out: they take no time in a drill");
    skip_to(s, '}');
    return true;
}

static bool tuplet_or_slur(AbcReader *r, AbcScan *s)
{
    if (peek(s, 1) >= '0' && peek(s, 1) <= '9')
        return abc_tuplet(r, s);
    s->at++;
    return true;
}

static bool overlay(AbcReader *r, const AbcScan *s)
{
    return error_at(r->error, ERROR_UNSUPPORTED, s->line, abc_scan_column(s),
        "an overlay (&) is a second voice; only one voice is read");
}

/* y4 makes room on paper, nothing else. */
static bool spacer(AbcReader *r, AbcScan *s)
{
    Ratio ignored;
    s->at++;
    return abc_length(r, s, &ignored);
}

/* Blanks, beam and line break signs have no sound; other bytes have no meaning here. */
static bool pass_over(AbcReader *r, AbcScan *s)
{
    static const char silent[] = "\t`$*\\)]}";
    char c = *s->at;
    if (c == '\0' || strchr(silent, c) == NULL)
        passage_notice(r->passage, s->line, abc_scan_column(s),
            "a sign that has no meaning in ABC 2.1 is passed over");
    s->at++;
    return true;
}

static bool one(AbcReader *r, AbcScan *s)
{
    char c = *s->at;
    if (abc_note_letter(c) >= 0)
        return abc_note(r, s);
    switch (c) {
    case ' ': s->at++; return true;
    case '^':
    case '_':
    case '=': return abc_note(r, s);
    case 'x':
    case 'z': return abc_rest(r, s);
    case 'X':
    case 'Z': return abc_bars_rest(r, s);
    case 'y': return spacer(r, s);
    case '|':
    case ':': return abc_bar_line(r, s);
    case '[': return bracket(r, s);
    case '(': return tuplet_or_slur(r, s);
    case '{': return grace(r, s);
    case '"': skip_to(s, '"'); return true;
    case '!':
    case '+': abc_decoration(r, s); return true;
    case '<':
    case '>': return abc_broken(r, s);
    case '-':
        abc_tie(r, s);
        s->at++;
        return true;
    case '&': return overlay(r, s);
    default: break;
    }
    if (abc_symbol_letter(c)) {
        abc_symbol(r, s);
        return true;
    }
    return pass_over(r, s);
}

bool abc_music(AbcReader *r, AbcScan *s)
{
    while (s->at < s->end)
        if (!one(r, s))
            return false;
    return true;
}
