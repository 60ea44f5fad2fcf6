#include "abc_reader.h"

#include <string.h>

static bool digit(const AbcScan *s)
{
    return s->at < s->end && *s->at >= '0' && *s->at <= '9';
}

static bool number(AbcReader *r, AbcScan *s, int64_t *n)
{
    enum { DIGITS = 6 };
    int column = abc_scan_column(s), digits = 0;
    for (*n = 0; digit(s); s->at++) {
        *n = *n * 10 + (*s->at - '0');
        if (*n > 0 && ++digits > DIGITS)
            return error_at(r->error, ERROR_LIMIT, s->line, column,
                "this number has more than %d digits", DIGITS);
    }
    return true;
}

/* A zero is no length: abc2midi takes it as if it were not there, and so do we. */
bool abc_length_written(AbcReader *r, AbcScan *s, Ratio *times)
{
    int64_t num = 1, den = 1;
    int slashes = 0;
    if (digit(s) && !number(r, s, &num))
        return false;
    int column = abc_scan_column(s);
    while (s->at < s->end && *s->at == '/') {
        s->at++;
        slashes++;
    }
    if (slashes == 1 && digit(s)) {
        if (!number(r, s, &den))
            return false;
        den = den == 0 ? 2 : den;
    } else if (slashes > 20) {
        return error_at(r->error, ERROR_LIMIT, s->line, column, "this length is too short");
    } else {
        den = (int64_t)1 << slashes;
    }
    num = num == 0 ? 1 : num;
    *times = den == 1 ? ratio_int(num) : ratio(num, den);
    return true;
}

/* Compound enough for tuplets: 6/8, 9/8, 12/8 by ABC 2.1; 3/4 and 3/8 too for abc2midi. */
static bool by_three(const Metre *m)
{
    return m->num > 0 && m->num % 3 == 0;
}

static int64_t time_of(const Metre *m, int64_t p)
{
    switch (p) {
    case 2:
    case 4:
    case 8: return 3;
    case 3:
    case 6: return 2;
    default: return by_three(m) ? 3 : 2;
    }
}

/* ":4" of "(3:4:5"; leaves *n where there is no number. */
static bool tuplet_part(AbcReader *r, AbcScan *s, int64_t *n)
{
    if (s->at >= s->end || *s->at != ':')
        return true;
    s->at++;
    int64_t given = 0;
    if (digit(s) && !number(r, s, &given))
        return false;
    if (given > 0)
        *n = given;
    return true;
}

bool abc_tuplet(AbcReader *r, AbcScan *s)
{
    int line = s->line, column = abc_scan_column(s);
    s->at++;
    int64_t p, q = 0, count = 0;
    if (!number(r, s, &p))
        return false;
    bool plain = s->at >= s->end || *s->at != ':';
    if (!tuplet_part(r, s, &q) || !tuplet_part(r, s, &count))
        return false;
    if (p < 2 || (p > 9 && (plain || q == 0))) {
        passage_notice(r->passage, line, column,
            "only tuplets (2 to (9 have a meaning of their own; others are passed over unless "
            "written like (11:8");
        return true;
    }
    q = q > 0 ? q : time_of(&r->metre, p);
    count = count > 0 ? count : p;
    if (p > 99 || q > 99 || count > 999)
        return error_at(r->error, ERROR_LIMIT, line, column, "a tuplet is at most (99:99:999");
    if (r->tuplet_left > 0) {
        passage_notice(r->passage, line, column, "a tuplet inside a tuplet is passed over");
        return true;
    }
    r->tuplet = ratio(q, p);
    r->tuplet_left = (int)count;
    return true;
}

static bool scale(AbcReader *r, size_t first, size_t end, Ratio by)
{
    AbcScore *score = &r->score;
    for (size_t i = first; i < end; i++) {
        uint32_t *length = &score->events[i].value;
        if (!abc_score_length(score, ratio_mul(score->lengths[*length].exact, by), length))
            return error_set(r->error, ERROR_MEMORY, "out of memory for lengths");
    }
    return true;
}

bool abc_broken(AbcReader *r, AbcScan *s)
{
    enum { MOST = 3 }; /* > >> >>> */
    char sign = *s->at;
    int line = s->line, column = abc_scan_column(s), n = 0;
    while (s->at < s->end && *s->at == sign) {
        s->at++;
        n++;
    }
    if (n > MOST)
        return error_at(r->error, ERROR_SYNTAX, line, column,
            "broken rhythm goes no further than %c%c%c", sign, sign, sign);
    if (r->last == r->last_end) {
        passage_notice(
            r->passage, line, column, "a broken rhythm sign with no note before is passed over");
        return true;
    }
    r->broken = sign == '>' ? n : -n;
    return true;
}

/* a>b: with k = 1/2^n, a lasts 2 - k and b lasts k; a<b the other way round. Only for equal
 * lengths, as abc2midi has it: anything else has no agreed meaning. */
static bool break_rhythm(AbcReader *r, size_t first)
{
    const AbcEvent *events = r->score.events;
    const AbcLength *lengths = r->score.lengths;
    int n = r->broken > 0 ? r->broken : -r->broken;
    Ratio small = ratio(1, (int64_t)1 << n), large = ratio_sub(ratio_int(2), small);
    bool dotted_first = r->broken > 0;
    r->broken = 0;
    if (!ratio_equal(lengths[events[r->last].value].exact, lengths[events[first].value].exact)) {
        passage_notice(r->passage, events[first].line, events[first].column,
            "broken rhythm between notes of different length is passed over");
        return true;
    }
    return scale(r, r->last, r->last_end, dotted_first ? large : small) &&
           scale(r, first, r->score.count, dotted_first ? small : large);
}

bool abc_rhythm_changed(AbcReader *r, size_t first)
{
    if (r->tuplet_left > 0) {
        r->tuplet_left--;
        if (!scale(r, first, r->score.count, r->tuplet))
            return false;
    }
    return r->broken == 0 || r->last == r->last_end || break_rhythm(r, first);
}

void abc_tie(AbcReader *r, const AbcScan *s)
{
    bool any = false;
    for (size_t i = r->last; i < r->last_end; i++)
        if (r->score.events[i].kind == ABC_NOTE)
            any = r->score.events[i].tie = true;
    if (!any)
        passage_notice(r->passage, s->line, abc_scan_column(s),
            "a tie sign with no note before it is passed over");
}
