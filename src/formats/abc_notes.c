#include "abc_reader.h"

#include <string.h>

enum { FOLDED = 0, OCTAVES = 16, REST_BARS_MAX = 999 };

void abc_forget_accidentals(AbcReader *r)
{
    memset(r->bar_sign, 0, sizeof r->bar_sign);
}

/* Where an accidental of this pitch is remembered: octaves -1 to 13, or one for all. */
static int accidental_slot(const AbcReader *r, int octave)
{
    return r->spread == ABC_SAME_OCTAVE && octave + 2 > 0 && octave + 2 < OCTAVES ? octave + 2
                                                                                  : FOLDED;
}

/* A note tied to this one was altered: a tie carries its accidental over the bar line. */
static bool tied_alter(const AbcReader *r, int letter, int octave, int *alter)
{
    for (size_t i = r->last; i < r->last_end; i++) {
        const AbcEvent *e = &r->score.events[i];
        if (e->kind == ABC_NOTE && e->tie && e->written.letter == letter &&
            e->written.octave == octave) {
            *alter = e->written.alter;
            return true;
        }
    }
    return false;
}

static bool accidental(AbcReader *r, AbcScan *s, AbcWritten *w)
{
    int column = abc_scan_column(s);
    char sign = *s->at;
    int n = 0;
    while (s->at < s->end && *s->at == sign) {
        s->at++;
        n++;
    }
    if (s->at < s->end && (*s->at == '/' || (*s->at >= '0' && *s->at <= '9')))
        return error_at(
            r->error, ERROR_UNSUPPORTED, s->line, column, "a microtone cannot be set on a harp");
    bool note = s->at < s->end && abc_note_letter(*s->at) >= 0;
    if (note && (n > 2 || (sign == '=' && n > 1)))
        return error_at(
            r->error, ERROR_SYNTAX, s->line, column, "more accidentals than a note can have");
    w->has_sign = true;
    w->alter = sign == '^' ? n : sign == '_' ? -n : 0;
    return true;
}

static bool starts_accidental(char c)
{
    return c == '^' || c == '_' || c == '=';
}

/* Accidentals, letter and octave marks. *is_note is false for an accidental with no note. */
bool abc_pitch(AbcReader *r, AbcScan *s, AbcWritten *w, bool *is_note)
{
    w->line = s->line;
    w->column = abc_scan_column(s);
    w->has_sign = false;
    w->alter = 0;
    if (starts_accidental(*s->at) && !accidental(r, s, w))
        return false;
    int letter = s->at < s->end ? abc_note_letter(*s->at) : -1;
    *is_note = letter >= 0;
    if (!*is_note) {
        passage_notice(
            r->passage, w->line, w->column, "an accidental with no note after it is passed over");
        return true;
    }
    w->letter = letter % 7;
    w->octave = letter < 7 ? 4 : 5;
    for (s->at++; s->at < s->end && (*s->at == '\'' || *s->at == ','); s->at++)
        w->octave += *s->at == '\'' ? 1 : -1;
    if (w->octave < -1 || w->octave > 9)
        return error_at(r->error, ERROR_RANGE, w->line, w->column,
            "this note lies outside what MIDI can name (C-1 to G9)");
    return true;
}

/* The alteration in force: written, tied over, earlier in the bar, or the key's. */
static int alteration(AbcReader *r, const AbcWritten *w)
{
    int slot = accidental_slot(r, w->octave), alter;
    if (w->has_sign) {
        if (r->spread != ABC_NOTE_ONLY) {
            r->bar_sign[w->letter][slot] = true;
            r->bar_alter[w->letter][slot] = (int8_t)w->alter;
        }
        return w->alter;
    }
    if (tied_alter(r, w->letter, w->octave, &alter))
        return alter;
    if (r->bar_sign[w->letter][slot])
        return r->bar_alter[w->letter][slot];
    return r->signature[w->letter];
}

static bool out_of_memory(AbcReader *r)
{
    return error_set(r->error, ERROR_MEMORY, "out of memory for notes");
}

bool abc_units(AbcReader *r, Ratio times, uint32_t *length)
{
    bool kept = times.den == 1 && times.num < ABC_UNITS_MAX;
    size_t place = kept ? (size_t)times.num : 0;
    if (kept && r->unit_lengths[place] > 0) {
        *length = r->unit_lengths[place] - 1;
        return true;
    }
    if (!abc_score_length(&r->score, ratio_mul(r->unit, times), length))
        return out_of_memory(r);
    if (kept)
        r->unit_lengths[place] = *length + 1;
    return true;
}

/* The length that is written after a note or rest. */
static bool length_of(AbcReader *r, AbcScan *s, uint32_t *length)
{
    Ratio times;
    if (!abc_length_follows(s) && r->unit_lengths[1] > 0) {
        *length = r->unit_lengths[1] - 1;
        return true;
    }
    return abc_length(r, s, &times) && abc_units(r, times, length);
}

void abc_set_unit(AbcReader *r, Ratio unit)
{
    r->unit = unit;
    memset(r->unit_lengths, 0, sizeof r->unit_lengths);
}

AbcEvent *abc_add(AbcReader *r, AbcKind kind, uint32_t length, int line, int column)
{
    int32_t bar = abc_score_bar(&r->score, &r->metre);
    if (bar < 0) {
        error_at(r->error, ERROR_LIMIT, line, column, "the tune has more than %d bars",
            PASSAGE_BARS_MAX);
        return NULL;
    }
    AbcEvent *e = abc_score_add(&r->score, kind, line, column);
    if (e == NULL) {
        out_of_memory(r);
        return NULL;
    }
    e->bar = (uint16_t)bar;
    e->value = length;
    return e;
}

/* Music of a second voice is what cannot be played; a V: field alone does no harm. */
bool abc_one_voice(AbcReader *r)
{
    if (r->voice[0] == '\0' || strcmp(r->voice, r->music_voice) == 0)
        return true;
    if (r->music_voice[0] == '\0') {
        memcpy(r->music_voice, r->voice, sizeof r->voice);
        return true;
    }
    return error_at(r->error, ERROR_UNSUPPORTED, r->voice_line, r->voice_column,
        "a second voice begins here; only one voice is read");
}

static bool can_be_named(const AbcReader *r, Pitch p)
{
    if (r->transpose == 0 && p.octave >= 0 && p.octave <= 8)
        return true; /* nearly always */
    int midi = pitch_midi(p) + r->transpose;
    return midi >= 0 && midi <= 127;
}

AbcEvent *abc_add_note(AbcReader *r, const AbcWritten *w, uint32_t length)
{
    if (!abc_one_voice(r))
        return NULL;
    Pitch p = {.letter = (int8_t)w->letter,
        .alter = (int8_t)alteration(r, w),
        .octave = (int8_t)w->octave};
    Pitch written = p;
    p.octave = (int8_t)(w->octave + r->octave);
    if (!can_be_named(r, p)) {
        error_at(r->error, ERROR_RANGE, w->line, w->column,
            "this note lies outside what MIDI can name (C-1 to G9)");
        return NULL;
    }
    AbcEvent *e = abc_add(r, ABC_NOTE, length, w->line, w->column);
    if (e == NULL)
        return NULL;
    e->pitch = r->transpose != 0 ? abc_transpose(p, r->transpose) : p;
    e->written = written;
    return e;
}

/* What was waiting comes down on the events from `first` on; fingers one a note, in order. */
void abc_settle(AbcReader *r, size_t first)
{
    AbcPending *wait = &r->pending;
    if (wait->mark_count == 0 && !wait->accent && !wait->breath && !r->breath_next)
        return;
    bool sounds = false;
    int finger = 0;
    for (size_t i = first; i < r->score.count; i++) {
        AbcEvent *e = &r->score.events[i];
        if (e->kind != ABC_NOTE)
            continue;
        sounds = true;
        e->accent = e->accent || wait->accent;
        e->breath = e->breath || r->breath_next;
        if (e->mark == 0 && finger < wait->mark_count)
            e->mark = wait->marks[finger++];
    }
    r->breath_next = wait->breath || (r->breath_next && !sounds);
    *wait = (AbcPending){0};
}

bool abc_note(AbcReader *r, AbcScan *s)
{
    AbcWritten w;
    bool is_note;
    uint32_t length;
    if (!abc_pitch(r, s, &w, &is_note))
        return false;
    if (!is_note)
        return true;
    if (!length_of(r, s, &length))
        return false;
    size_t first = r->score.count;
    if (abc_add_note(r, &w, length) == NULL)
        return false;
    abc_settle(r, first);
    return abc_rhythm(r, first);
}

bool abc_rest(AbcReader *r, AbcScan *s)
{
    int line = s->line, column = abc_scan_column(s);
    s->at++;
    uint32_t length;
    if (!length_of(r, s, &length))
        return false;
    size_t first = r->score.count;
    if (!abc_one_voice(r) || abc_add(r, ABC_REST, length, line, column) == NULL)
        return false;
    abc_settle(r, first);
    return abc_rhythm(r, first);
}

/* Z4: bars of rest, each a bar of the page. Free metre counts as 4/4, as abc2midi has it. */
bool abc_bars_rest(AbcReader *r, AbcScan *s)
{
    int line = s->line, column = abc_scan_column(s);
    s->at++;
    Ratio times;
    if (!abc_length(r, s, &times))
        return false;
    if (times.den != 1 || times.num > REST_BARS_MAX)
        return error_at(r->error, ERROR_LIMIT, line, column, "a rest of bars is 1 to %d whole bars",
            REST_BARS_MAX);
    if (!abc_one_voice(r))
        return false;
    Ratio bar = metre_free(&r->metre) ? ratio_int(4) : metre_bar(&r->metre);
    if (r->tuplet_left > 0)
        bar = ratio_mul(bar, r->tuplet);
    uint32_t length;
    if (!abc_score_length(&r->score, bar, &length))
        return out_of_memory(r);
    for (int64_t i = 0; i < times.num; i++) {
        if (i > 0 && abc_score_add(&r->score, ABC_BAR, line, column) == NULL)
            return out_of_memory(r);
        if (abc_add(r, ABC_REST, length, line, column) == NULL)
            return false;
    }
    abc_forget_accidentals(r);
    r->last = r->last_end = r->score.count;
    r->broken = 0;
    r->tuplet_left -= r->tuplet_left > 0 ? 1 : 0;
    return true;
}
