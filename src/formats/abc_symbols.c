#include "abc_reader.h"

#include <string.h>

static bool is(const char *name, size_t size, const char *word)
{
    return strlen(word) == size && memcmp(name, word, size) == 0;
}

static bool one_of(const char *name, size_t size, const char *const *words)
{
    for (; *words != NULL; words++)
        if (is(name, size, *words))
            return true;
    return false;
}

/* A decoration of ABC 2.1, section 4.14. Those that change how a hand plays are kept; the rest,
 * known or not, is passed over. */
static void decorate(AbcReader *r, const char *name, size_t size, int line, int column)
{
    static const char *const accents[] = {">", "accent", "emphasis", NULL};
    static const char *const breaths[] = {
        "breath", "shortphrase", "mediumphrase", "longphrase", NULL};
    AbcPending *wait = &r->pending;
    if (size == 1 && *name >= '0' && *name <= '9') {
        if (*name < '1' || *name > '4')
            passage_notice(r->passage, line, column,
                "a harp is played with fingers 1 to 4; other fingers are passed over");
        else if (wait->mark_count < ABC_CHORD_MARKS)
            wait->marks[wait->mark_count++] = (uint8_t)(*name - '0');
    } else if (one_of(name, size, accents)) {
        wait->accent = true;
    } else if (one_of(name, size, breaths)) {
        wait->breath = true;
    }
}

/* The old sign for a line break looks like the start of a decoration; a decoration holds no
 * bar line, and is no run of notes. */
static bool is_line_break(const char *name, size_t size)
{
    bool blank = false, notes = true;
    for (size_t i = 0; i < size; i++) {
        if (name[i] == '|' || name[i] == '[' || name[i] == ']' || name[i] == '"')
            return true;
        blank = blank || name[i] == ' ';
        notes = notes && strchr("ABCDEFGabcdefgz0123456789/,'^_=<>~ ", name[i]) != NULL;
    }
    return size == 0 || (blank && notes);
}

/* "+C2E2+": a chord in the way of ABC before 1.6. */
static bool is_old_chord(const char *name, size_t size)
{
    static const char *const dynamics[] = {"f", "ff", "fff", "ffff", NULL};
    if (size < 2 || one_of(name, size, dynamics))
        return false;
    for (size_t i = 0; i < size; i++)
        if (name[i] == '\0' || strchr("ABCDEFGabcdefgz0123456789/,'^_=", name[i]) == NULL)
            return false;
    return name[0] < '0' || name[0] > '9';
}

void abc_decoration(AbcReader *r, AbcScan *s)
{
    int column = abc_scan_column(s);
    char sign = *s->at++;
    size_t left = (size_t)(s->end - s->at);
    const char *close = left > 0 ? memchr(s->at, sign, left) : NULL;
    if (close == NULL)
        return;
    size_t size = (size_t)(close - s->at);
    if (is_line_break(s->at, size))
        return;
    if (sign == '+' && is_old_chord(s->at, size))
        passage_notice(r->passage, s->line, column,
            "chords like +CEG+ are of an older ABC and passed over; write [CEG]");
    decorate(r, s->at, size, s->line, column);
    s->at = close + 1;
}

bool abc_symbol_letter(char c)
{
    return c == '.' || c == '~' || (c >= 'H' && c <= 'W') || (c >= 'h' && c <= 'w');
}

void abc_symbol(AbcReader *r, AbcScan *s)
{
    int column = abc_scan_column(s);
    unsigned char c = (unsigned char)*s->at++;
    if (c < 128 && r->symbols[c].given)
        decorate(r, r->symbols[c].name, strlen(r->symbols[c].name), s->line, column);
    else if (c == 'L')
        r->pending.accent = true;
}

/* "U: T = !trill!": the letter, and between the signs what it stands for. */
void abc_symbol_define(AbcReader *r, const AbcLine *value)
{
    if (value->size < 3 || !abc_symbol_letter(value->at[0]))
        return;
    const char *end = value->at + value->size;
    const char *at = memchr(value->at, '=', value->size);
    if (at == NULL)
        return;
    for (at++; at < end && (*at == ' ' || *at == '\t' || *at == '!' || *at == '+'); at++)
        ;
    const char *stop = at;
    while (stop < end && *stop != '!' && *stop != '+' && *stop != ' ')
        stop++;
    size_t size = (size_t)(stop - at), most = ABC_SYMBOL_MAX - 1;
    unsigned char letter = (unsigned char)value->at[0];
    char *name = r->symbols[letter].name;
    memset(name, 0, ABC_SYMBOL_MAX);
    memcpy(name, at, size < most ? size : most);
    r->symbols[letter].given = true;
}
