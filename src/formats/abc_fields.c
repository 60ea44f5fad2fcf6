#include "abc_reader.h"
#include "abc_text.h"

#include <stdio.h>
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

/* "C", "C|", "none", "6/8", "(2+3)/8", "2+3/8"; false if it is none of these. */
static bool read_metre(const AbcLine *value, Metre *m)
{
    Cursor c = {value->at, value->at + value->size};
    blanks(&c);
    if (c.at < c.end && (*c.at == 'C' || *c.at == 'c')) {
        c.at++;
        *m = next_is(&c, '|') ? metre(2, 2) : metre(4, 4);
        return true;
    }
    if (value->size >= 4 && (memcmp(c.at, "none", 4) == 0 || memcmp(c.at, "None", 4) == 0)) {
        *m = metre(0, 4);
        return true;
    }
    Metre read = metre(0, 1);
    int n;
    next_is(&c, '(');
    do {
        if (!whole(&c, &n) || read.part_count == METRE_PARTS_MAX)
            return false;
        read.parts[read.part_count++] = n;
        read.num += n;
    } while (next_is(&c, '+'));
    next_is(&c, ')');
    if (next_is(&c, '/') && (!whole(&c, &n) || !power_of_two(n) || n > 64))
        return false;
    read.den = c.at > value->at && read.part_count > 0 ? n : 1;
    if (read.part_count == 1) {
        read.parts[0] = 0;
        read.part_count = 0;
    }
    if (read.num < 1 || read.num > METRE_NUM_MAX)
        return false;
    *m = read;
    return true;
}

static bool set_metre(AbcReader *r, const AbcLine *value, int column)
{
    Metre m;
    if (!read_metre(value, &m)) {
        passage_notice(r->passage, value->number, column,
            "a metre that cannot be read is passed over; write it like M:6/8");
        return true;
    }
    r->metre = m;
    if (!r->in_body)
        r->metre_given = true;
    return true;
}

/* "1/8": a length as a fraction of a whole note, in quarters. */
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

static void set_unit(AbcReader *r, const AbcLine *value, int column)
{
    Cursor c = {value->at, value->at + value->size};
    Ratio unit;
    if (!read_length(&c, &unit)) {
        passage_notice(r->passage, value->number, column,
            "a unit length that cannot be read is passed over; write it like L:1/8");
        return;
    }
    r->unit = unit;
    r->unit_given = true;
}

/* ABC 2.1, 4.6: a sixteenth where the metre is below 3/4, else an eighth. */
static void default_unit(AbcReader *r)
{
    if (r->unit_given)
        return;
    Ratio bar = metre_bar(&r->metre);
    bool small = !metre_free(&r->metre) && ratio_cmp(bar, ratio_int(3)) < 0;
    r->unit = small ? ratio(1, 4) : ratio(1, 2);
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
    if (!whole(c, &after))
        return true;
    int64_t scale = 1;
    for (ptrdiff_t i = c->at - start; i > 0; i--)
        scale *= 10;
    *n = ratio_add(*n, ratio(after, scale));
    return true;
}

/* 1/4=72, 1/4 3/8 1/4=40 (the beat is their sum), "Allegro" 1/4=120, and the older 120, C=120,
 * C3=120, which count units. False if there is no number of beats. */
static bool read_tempo(const AbcReader *r, const AbcLine *value, Tempo *t)
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
        beat = ratio_mul(r->unit, ratio_int(whole(&c, &units) && units > 0 ? units : 1));
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

static void set_tempo(AbcReader *r, const AbcLine *value, int column)
{
    Tempo t;
    if (!read_tempo(r, value, &t))
        return;
    bool first = !r->passage->has_tempo && r->score.count == 0;
    if (!first) {
        bool same = r->passage->has_tempo && ratio_equal(t.beat, r->passage->tempo.beat) &&
                    ratio_equal(t.per_minute, r->passage->tempo.per_minute);
        if (r->in_body && r->score.count > 0 && !same) {
            passage_notice(r->passage, value->number, column,
                "the tempo changes here; drills keep the first tempo");
            return;
        }
    }
    if (!tempo_valid(t)) {
        passage_notice(r->passage, value->number, column,
            "a tempo outside %d to %d beats a minute is passed over", TEMPO_MIN, TEMPO_MAX);
        return;
    }
    r->passage->tempo = t;
    r->passage->has_tempo = true;
}

static void set_clef(AbcReader *r, const AbcClef *clef)
{
    if (clef->octave_given)
        r->octave = clef->octave < -10 ? -10 : clef->octave > 10 ? 10 : clef->octave;
    if (clef->transpose_given)
        r->transpose = clef->transpose;
    if (clef->bass && !r->hands_given && r->score.count == 0)
        r->passage->hands = HANDS_LEFT;
}

static void set_key(AbcReader *r, const AbcLine *value, int column)
{
    AbcKey key;
    abc_key(value, r->signature, &key);
    if (key.unknown)
        passage_notice(r->passage, value->number, column,
            "a mode that ABC 2.1 does not know is taken as major");
    if (key.given || key.changes) {
        memcpy(r->signature, key.alter, sizeof r->signature);
        abc_forget_accidentals(r);
    }
    if (!r->in_body)
        snprintf(r->passage->key, sizeof r->passage->key, "%s", key.given ? key.name : "none");
    set_clef(r, &key.clef);
    r->key_given = true;
}

/* "V:2 clef=bass": the voice that music after it belongs to. */
static void set_voice(AbcReader *r, const AbcLine *value, int column)
{
    size_t n = 0;
    while (n < value->size && value->at[n] != ' ' && value->at[n] != '\t')
        n++;
    char name[ABC_VOICE_MAX] = "";
    memcpy(name, value->at, n < sizeof name ? n : sizeof name - 1);
    AbcLine words = {.at = value->at + n, .size = value->size - n};
    AbcClef clef = {0};
    abc_clef(&words, &clef);
    if (r->in_body) {
        memcpy(r->voice, name, sizeof name);
        r->voice_line = value->number;
        r->voice_column = column;
    } else if (r->header_voice[0] == '\0') {
        memcpy(r->header_voice, name, sizeof name);
    } else if (strcmp(r->header_voice, name) != 0) {
        return; /* another voice: of interest only once it has music */
    }
    set_clef(r, &clef);
}

/* P:AAB, P:(AB)2.C of the header; anything else is a remark on the parts and says nothing. */
static void set_parts(AbcReader *r, const AbcLine *value, int column)
{
    size_t n = 0;
    int depth = 0;
    bool any = false;
    r->parts[0] = '\0';
    for (size_t i = 0; i < value->size; i++) {
        char c = value->at[i];
        if (c == '.' || c == ' ')
            continue;
        depth += c == '(' ? 1 : c == ')' ? -1 : 0;
        bool known = (c >= 'A' && c <= 'Z') || c == '(' || c == ')' ||
                     (c >= '0' && c <= '9' && n > 0 && r->parts[n - 1] != '(');
        if (!known || depth < 0 || n + 1 >= sizeof r->parts) {
            passage_notice(r->passage, value->number, column,
                "an order of parts that cannot be read is passed over; write it like P:AAB");
            r->parts[0] = '\0';
            return;
        }
        any = any || (c >= 'A' && c <= 'Z');
        r->parts[n++] = c;
    }
    r->parts[depth == 0 && any ? n : 0] = '\0';
    r->parts_line = value->number;
}

static bool set_part(AbcReader *r, const AbcLine *value, int column)
{
    if (!r->in_body) {
        set_parts(r, value, column);
        return true;
    }
    if (r->parts[0] == '\0' || value->size == 0)
        return true;
    AbcEvent *e = abc_score_add(&r->score, ABC_PART, value->number, column);
    if (e == NULL)
        return error_set(r->error, ERROR_MEMORY, "out of memory for parts");
    e->value = (unsigned char)value->at[0];
    abc_forget_accidentals(r);
    return true;
}

static void set_text(char *out, const AbcLine *value)
{
    if (out[0] == '\0')
        abc_text(value->at, value->size, out, PASSAGE_TITLE_MAX);
}

static bool hands(AbcReader *r, const AbcLine *value, int column)
{
    AbcLine rest;
    r->hands_given = true;
    if (abc_line_word(value, "right", &rest))
        r->passage->hands = HANDS_RIGHT;
    else if (abc_line_word(value, "left", &rest))
        r->passage->hands = HANDS_LEFT;
    else if (abc_line_word(value, "octaves", &rest))
        r->passage->hands = HANDS_OCTAVES;
    else
        return error_at(
            r->error, ERROR_SYNTAX, value->number, column, "hands are right, left or octaves");
    return true;
}

static int directive_number(const AbcLine *value)
{
    bool minus = value->size > 0 && value->at[0] == '-';
    AbcLine digits = *value;
    if (minus || (value->size > 0 && value->at[0] == '+')) {
        digits.at++;
        digits.size--;
    }
    int n = abc_line_number(&digits);
    n = n > 127 ? 127 : n;
    return minus ? -n : n;
}

bool abc_directive(AbcReader *r, const AbcLine *value, int column)
{
    AbcLine rest, more;
    if (abc_line_word(value, "evenhand", &rest)) {
        if (abc_line_word(&rest, "hands", &more))
            return hands(r, &more, column);
        return error_at(r->error, ERROR_SYNTAX, value->number, column,
            "evenhand's own setting is: hands right, left or octaves");
    }
    if (abc_line_word(value, "propagate-accidentals", &rest)) {
        r->spread = abc_line_word(&rest, "not", &more)      ? ABC_NOTE_ONLY
                    : abc_line_word(&rest, "octave", &more) ? ABC_SAME_OCTAVE
                                                            : ABC_EVERY_OCTAVE;
        abc_forget_accidentals(r);
    } else if (abc_line_word(value, "MIDI", &rest)) {
        if (abc_line_word(&rest, "transpose", &more))
            r->transpose = directive_number(&more);
        else if (abc_line_word(&rest, "rtranspose", &more))
            r->transpose += directive_number(&more);
    } else if (value->size > 7 && memcmp(value->at, "octave=", 7) == 0) {
        AbcClef clef = {0};
        abc_clef(value, &clef);
        set_clef(r, &clef);
    }
    return true;
}

bool abc_field(AbcReader *r, char letter, const AbcLine *value, int column)
{
    switch (letter) {
    case 'M': return set_metre(r, value, column);
    case 'L': set_unit(r, value, column); return true;
    case 'Q': set_tempo(r, value, column); return true;
    case 'P': return set_part(r, value, column);
    case 'I': return abc_directive(r, value, column);
    case 'm': return abc_macro_define(r, value, column);
    case 'U': abc_symbol_define(r, value); return true;
    case 'V': set_voice(r, value, column); return true;
    case 'T': set_text(r->passage->title, value); return true;
    case 'C': set_text(r->passage->composer, value); return true;
    case 'K':
        set_key(r, value, column);
        if (!r->in_body) {
            default_unit(r);
            r->in_body = true;
        }
        return true;
    default: return true; /* words, history, sources ...: nothing to play */
    }
}
