#include "abc_values.h"

#include <string.h>

typedef struct {
    const char *at, *end;
} Cursor;

static void blanks(Cursor *c)
{
    while (c->at < c->end && (*c->at == ' ' || *c->at == '\t'))
        c->at++;
}

static bool next_is(Cursor *c, char sign)
{
    blanks(c);
    if (c->at >= c->end || *c->at != sign)
        return false;
    c->at++;
    return true;
}

/* A number of at most six digits; false if there is none. */
static bool whole(Cursor *c, int *n)
{
    enum { DIGITS = 6 };
    blanks(c);
    const char *start = c->at;
    for (*n = 0; c->at < c->end && *c->at >= '0' && *c->at <= '9' && c->at - start < DIGITS;
         c->at++)
        *n = *n * 10 + (*c->at - '0');
    return c->at > start;
}

static bool power_of_two(int n)
{
    return n > 0 && (n & (n - 1)) == 0;
}

bool abc_value_metre(const AbcLine *value, Metre *m)
{
    Cursor c = {value->at, value->at + value->size};
    blanks(&c);
    if (c.at < c.end && (*c.at == 'C' || *c.at == 'c')) {
        c.at++;
        *m = next_is(&c, '|') ? metre(2, 2) : metre(4, 4);
        return true;
    }
    if (c.end - c.at >= 4 && (memcmp(c.at, "none", 4) == 0 || memcmp(c.at, "None", 4) == 0)) {
        *m = metre(0, 4);
        return true;
    }
    Metre read = metre(0, 1);
    next_is(&c, '(');
    do {
        int part;
        if (read.part_count == METRE_PARTS_MAX || !whole(&c, &part))
            return false;
        read.parts[read.part_count++] = part;
        read.num += part;
    } while (next_is(&c, '+'));
    next_is(&c, ')');
    if (next_is(&c, '/') && !whole(&c, &read.den))
        return false;
    if (read.num < 1 || read.num > METRE_NUM_MAX || !power_of_two(read.den) || read.den > 64)
        return false;
    if (read.part_count == 1) {
        read.parts[0] = 0;
        read.part_count = 0;
    }
    *m = read;
    return true;
}

static bool read_length(Cursor *c, Ratio *quarters)
{
    int num, den = 1;
    if (!whole(c, &num) || num == 0)
        return false;
    if (next_is(c, '/') && !whole(c, &den))
        return false;
    *quarters = ratio(4 * (int64_t)num, den);
    return power_of_two(den) && den <= 1024;
}

bool abc_value_length(const AbcLine *value, Ratio *quarters)
{
    Cursor c = {value->at, value->at + value->size};
    return read_length(&c, quarters);
}

static bool read_decimal(Cursor *c, Ratio *n)
{
    int before, after;
    if (!whole(c, &before))
        return false;
    *n = ratio_int(before);
    if (c->at >= c->end || *c->at != '.')
        return true;
    c->at++;
    const char *start = c->at;
    if (start >= c->end || *start < '0' || *start > '9' || !whole(c, &after))
        return true;
    int64_t scale = 1;
    for (ptrdiff_t i = c->at - start; i > 0; i--)
        scale *= 10;
    *n = ratio_add(*n, ratio(after, scale));
    return true;
}

bool abc_value_tempo(const AbcLine *value, Ratio unit, Tempo *t)
{
    char clean[128];
    size_t n = 0;
    bool quoted = false;
    for (size_t i = 0; i < value->size && n < sizeof clean; i++) {
        quoted = value->at[i] == '"' ? !quoted : quoted;
        if (!quoted && value->at[i] != '"')
            clean[n++] = value->at[i];
    }
    Cursor c = {clean, clean + n};
    Ratio beat = ratio_int(0), rate;
    if (next_is(&c, 'C')) {
        int units;
        beat = ratio_mul(unit, ratio_int(whole(&c, &units) && units > 0 ? units : 1));
    } else if (memchr(clean, '=', n) != NULL) {
        Ratio part;
        while (read_length(&c, &part)) {
            beat = ratio_add(beat, part);
            blanks(&c);
        }
    } else {
        beat = ratio_int(1);
        if (!read_decimal(&c, &rate))
            return false;
        *t = tempo(beat, rate);
        return true;
    }
    if (!next_is(&c, '=') || (blanks(&c), !read_decimal(&c, &rate)))
        return false;
    *t = tempo(beat, rate);
    return true;
}
