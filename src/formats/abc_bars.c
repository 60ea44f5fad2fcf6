#include "abc_reader.h"

#include <string.h>

enum { ENDINGS_MAX = 31, TIMES_MAX = 9 };

static bool add(AbcReader *r, AbcKind kind, uint32_t value, int line, int column)
{
    AbcEvent *e = abc_score_add(&r->score, kind, line, column);
    if (e == NULL)
        return error_set(r->error, ERROR_MEMORY, "out of memory for bar lines");
    e->value = value;
    return true;
}

static char peek(const AbcScan *s, size_t ahead)
{
    return (size_t)(s->end - s->at) > ahead ? s->at[ahead] : '\0';
}

static uint32_t run(AbcScan *s, char c)
{
    uint32_t n = 0;
    for (; s->at < s->end && *s->at == c; s->at++)
        n++;
    return n;
}

/* Colons, strokes, colons:  :||:  and the thick strokes [| |]. Two colons and more call for
 * three plays and more (ABC 2.1, 4.8); "::|" is "::" where no such section is open. */
static AbcKind read_bar_line(AbcScan *s, uint32_t *times)
{
    uint32_t before = run(s, ':');
    bool thick = s->at < s->end && *s->at == '[';
    s->at += thick ? 1 : 0;
    uint32_t strokes = run(s, '|');
    if (strokes > 0 && peek(s, 0) == ']') {
        s->at++;
        thick = true;
    }
    uint32_t after = strokes > 0 ? run(s, ':') : 0;
    bool often = *times > 2;
    *times = after <= 1 ? 2 : after < TIMES_MAX ? after + 1 : TIMES_MAX;
    if ((before > 0 && after > 0) || (before > 1 && (strokes == 0 || !often)))
        return ABC_REPEAT_BOTH;
    if (after > 0)
        return ABC_REPEAT_START;
    if (before > 0)
        return strokes > 0 ? ABC_REPEAT_END : ABC_BAR;
    return thick || strokes > 1 ? ABC_DOUBLE : ABC_BAR;
}

bool abc_bar_line(AbcReader *r, AbcScan *s)
{
    int line = s->line, column = abc_scan_column(s);
    if (*s->at == ':' && peek(s, 1) != ':' && peek(s, 1) != '|') {
        s->at++; /* a colon alone */
        return true;
    }
    AbcKind kind = read_bar_line(s, &r->times);
    abc_forget_accidentals(r);
    r->breath_next = r->breath_next || r->pending.breath;
    r->pending = (AbcPending){0};
    if (!add(r, kind, r->times, line, column))
        return false;
    char next = peek(s, 0);
    return next >= '1' && next <= '9' ? abc_ending(r, s) : true;
}

bool abc_ending_follows(const AbcScan *s)
{
    char next = peek(s, 1), after = peek(s, 2);
    return (next >= '0' && next <= '9') || (next == '"' && after >= '1' && after <= '9');
}

static unsigned number(AbcScan *s)
{
    unsigned n = 0;
    for (; s->at < s->end && *s->at >= '0' && *s->at <= '9'; s->at++)
        n = n <= ENDINGS_MAX ? n * 10 + (unsigned)(*s->at - '0') : n;
    return n;
}

/* "[1", "[1,3", "[1-3,5": s->at is at the bracket or at the first digit. */
bool abc_ending(AbcReader *r, AbcScan *s)
{
    int line = s->line, column = abc_scan_column(s);
    uint32_t passes = 0;
    s->at += *s->at == '[' ? 1 : 0;
    bool quoted = peek(s, 0) == '"';
    s->at += quoted ? 1 : 0;
    for (;;) {
        unsigned from = number(s), to = from;
        if (peek(s, 0) == '-' && peek(s, 1) >= '1' && peek(s, 1) <= '9') {
            s->at++;
            to = number(s);
        }
        if (from < 1 || to < from || to > ENDINGS_MAX)
            return error_at(r->error, ERROR_SYNTAX, line, column,
                "an ending is numbered from 1 to %d, like [1 or [1,3 or [1-3", ENDINGS_MAX);
        for (unsigned n = from; n <= to; n++)
            passes |= (uint32_t)1 << n;
        if (peek(s, 0) != ',' || peek(s, 1) < '1' || peek(s, 1) > '9')
            break;
        s->at++;
    }
    if (quoted) {
        while (s->at < s->end && *s->at != '"')
            s->at++;
        s->at += s->at < s->end ? 1 : 0;
    }
    return add(r, ABC_ENDING, passes, line, column);
}
