#include "abc_reader.h"

#include <string.h>

/* A chord is one thing played: its length is its first note's times what follows the bracket.
 *
 *   [C2E2G2]3/2     `first` ... notes, all of them `more` but the last
 */
typedef struct {
    size_t first; /* its first event */
    Ratio length; /* of its first note or rest, in units */
    bool any;     /* something is in it */
    bool uneven;  /* its notes have several lengths */
} Chord;

static bool keep_length(Chord *chord, Ratio times)
{
    if (!chord->any)
        chord->length = times;
    else if (!ratio_equal(chord->length, times))
        chord->uneven = true;
    chord->any = true;
    return true;
}

static bool rest_member(AbcReader *r, AbcScan *s, Chord *chord)
{
    Ratio times;
    s->at++;
    return abc_length(r, s, &times) && keep_length(chord, times);
}

static bool note_member(AbcReader *r, AbcScan *s, Chord *chord)
{
    AbcWritten w;
    bool is_note;
    Ratio times;
    if (!abc_pitch(r, s, &w, &is_note))
        return false;
    if (!is_note)
        return true;
    if (!abc_length(r, s, &times))
        return false;
    size_t at = r->score.count;
    uint32_t length;
    if (!abc_units(r, times, &length))
        return false;
    AbcEvent *e = abc_add_note(r, &w, length);
    if (e == NULL)
        return false;
    e->more = true;
    abc_settle(r, at);
    return keep_length(chord, times);
}

static void skip_to(AbcScan *s, char close)
{
    for (s->at++; s->at < s->end && *s->at != close; s->at++)
        ;
    if (s->at < s->end)
        s->at++;
}

static void tie_member(AbcReader *r, Chord *chord)
{
    if (r->score.count > chord->first)
        r->score.events[r->score.count - 1].tie = true;
}

/* One thing inside the brackets; not the closing one. */
static bool member(AbcReader *r, AbcScan *s, Chord *chord)
{
    char c = *s->at;
    if (c != '\0' && strchr("^_=ABCDEFGabcdefg", c) != NULL)
        return note_member(r, s, chord);
    switch (c) {
    case 'z':
    case 'x': return rest_member(r, s, chord);
    case '"': skip_to(s, '"'); return true;
    case '{': skip_to(s, '}'); return true;
    case '!':
    case '+': abc_decoration(r, s); return true;
    case '-': tie_member(r, chord); break;
    case '|':
    case '[':
        return error_at(r->error, ERROR_SYNTAX, s->line, abc_scan_column(s),
            "the chord before is not closed: add ] after its last note");
    case '>':
    case '<':
        passage_notice(r->passage, s->line, abc_scan_column(s),
            "a broken rhythm sign inside a chord is passed over");
        break;
    default:
        if (abc_symbol_letter(c)) {
            abc_symbol(r, s);
            return true;
        }
        break;
    }
    s->at++;
    return true;
}

/* Gives every note the chord's length; a chord of rests alone becomes a rest. */
static bool close_chord(AbcReader *r, Chord *chord, Ratio times, int line, int column)
{
    Ratio units = ratio_mul(chord->length, times);
    uint32_t length;
    if (!abc_units(r, units, &length))
        return false;
    if (r->score.count == chord->first)
        return abc_add(r, ABC_REST, length, line, column) != NULL;
    for (size_t i = chord->first; i < r->score.count; i++)
        r->score.events[i].value = length;
    r->score.events[r->score.count - 1].more = false;
    return true;
}

bool abc_chord(AbcReader *r, AbcScan *s)
{
    int line = s->line, column = abc_scan_column(s);
    Chord chord = {.first = r->score.count, .length = ratio_int(1)};
    AbcPending outside = r->pending;
    bool breath = r->breath_next;
    r->pending = (AbcPending){0};
    for (s->at++; s->at < s->end && *s->at != ']';)
        if (!member(r, s, &chord))
            return false;
    if (s->at >= s->end)
        return error_at(r->error, ERROR_SYNTAX, line, column,
            "the chord is not closed on its line: add ] after its last note");
    s->at++;
    if (r->score.count - chord.first > PASSAGE_BLOCK_MAX)
        return error_at(r->error, ERROR_LIMIT, line, column, "this chord has more than %d notes",
            PASSAGE_BLOCK_MAX);
    Ratio times;
    if (!abc_length(r, s, &times))
        return false;
    r->pending = outside;
    if (!chord.any)
        return true;
    if (chord.uneven)
        passage_notice(
            r->passage, line, column, "all notes of a chord are held as long as its first");
    if (!close_chord(r, &chord, times, line, column))
        return false;
    r->breath_next = breath || r->breath_next;
    abc_settle(r, chord.first);
    return abc_rhythm(r, chord.first);
}
