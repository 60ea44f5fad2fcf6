#include "abc_reader.h"
#include "abc_text.h"
#include "abc_values.h"

#include "evenhand/harp/hands.h"
#include "evenhand/harp/wishes.h"

#include <stdio.h>
#include <string.h>

static void set_metre(AbcReader *r, const AbcLine *value, int column)
{
    if (!abc_value_metre(value, &r->metre))
        passage_notice(r->passage, value->number, column,
            "a metre that cannot be read is passed over; write it like M:6/8");
}

static void set_unit(AbcReader *r, const AbcLine *value, int column)
{
    Ratio unit;
    if (!abc_value_length(value, &unit)) {
        passage_notice(r->passage, value->number, column,
            "a unit length that cannot be read is passed over; write it like L:1/8");
        return;
    }
    abc_set_unit(r, unit);
    r->unit_given = true;
}

/* ABC 2.1, 4.6: a sixteenth where the metre is below 3/4, else an eighth. */
static void default_unit(AbcReader *r)
{
    if (r->unit_given)
        return;
    Ratio bar = metre_bar(&r->metre);
    bool small = !metre_free(&r->metre) && ratio_cmp(bar, ratio_int(3)) < 0;
    abc_set_unit(r, small ? ratio(1, 4) : ratio(1, 2));
}

static void set_tempo(AbcReader *r, const AbcLine *value, int column)
{
    Tempo t;
    if (!abc_value_tempo(value, r->unit, &t)) {
        if (value->size > 0)
            passage_notice(r->passage, value->number, column,
                "a tempo without a number is passed over; write it like Q:1/4=72");
        return;
    }
    const Tempo *now = &r->passage->tempo;
    if (r->score.count > 0) {
        if (!r->passage->has_tempo || !ratio_equal(t.beat, now->beat) ||
            !ratio_equal(t.per_minute, now->per_minute))
            passage_notice(r->passage, value->number, column,
                "the tempo changes here; drills keep the first tempo");
        return;
    }
    if (!tempo_valid(t)) {
        passage_notice(r->passage, value->number, column,
            "a tempo outside %d to %d beats a minute is passed over", TEMPO_MIN, TEMPO_MAX);
        return;
    }
    r->passage->tempo = t;
    r->passage->has_tempo = true;
}

/* What the signature in force does to each letter as it sounds; settled by the first note. Where
 * transposing leaves a letter out it stays natural. */
static void keep_key(AbcReader *r)
{
    int8_t *alter = r->passage->key_alter;
    if (r->score.count > 0)
        return;
    memset(alter, 0, sizeof r->passage->key_alter);
    for (int8_t letter = 0; letter < 7; letter++) {
        Pitch p = {.letter = letter, .alter = r->signature[letter], .octave = 4};
        p = abc_transpose(p, r->transpose);
        alter[p.letter] = p.alter;
    }
}

static void set_clef(AbcReader *r, const AbcClef *clef)
{
    if (clef->octave_given)
        r->octave = clef->octave < -10 ? -10 : clef->octave > 10 ? 10 : clef->octave;
    if (clef->transpose_given)
        r->transpose = clef->transpose;
    keep_key(r);
    if (clef->bass && !r->hands_given && r->score.count == 0)
        r->passage->hands = HANDS_LEFT;
}

static void set_key(AbcReader *r, const AbcLine *value, int column)
{
    static const char none[PASSAGE_KEY_MAX] = "none";
    AbcKey key;
    abc_key(value, r->signature, &key);
    if (key.unknown)
        passage_notice(r->passage, value->number, column,
            "a mode that ABC 2.1 does not know is taken as major");
    if (key.unread)
        passage_notice(r->passage, value->number, column,
            "a key that cannot be read is passed over; write it like K:D or K:Em");
    if (key.given || key.changes) {
        memcpy(r->signature, key.alter, sizeof r->signature);
        abc_forget_accidentals(r);
    }
    if (!r->in_body)
        memcpy(r->passage->key, key.given ? key.name : none, sizeof none);
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
    r->hands_given = true;
    size_t n = 0;
    while (n < value->size && value->at[n] != ' ' && value->at[n] != '\t')
        n++;
    return hands_parse(value->at, n, &r->passage->hands) ||
           error_at(r->error, ERROR_SYNTAX, value->number, column, "hands are " HANDS_CHOICES);
}

/* What the file sets for its fingers; checked now, so that the place can be told. */
static bool wishes(AbcReader *r, const AbcLine *value, int column)
{
    char *out = r->passage->wishes;
    FingeringOptions read = {0};
    Error why = {0};
    size_t used = strlen(out);
    if (used + value->size + 2 > PASSAGE_WISHES_MAX)
        return error_at(r->error, ERROR_LIMIT, value->number, column,
            "settings of fingers take at most %d bytes", PASSAGE_WISHES_MAX - 2);
    snprintf(out + used, PASSAGE_WISHES_MAX - used, "%.*s ", (int)value->size, value->at);
    return fingering_wishes(out, &read, &why) ||
           error_at(r->error, ERROR_SYNTAX, value->number, column, "%s", why.text);
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
        if (abc_line_word(&rest, "fingers", &more))
            return wishes(r, &more, column);
        return error_at(r->error, ERROR_SYNTAX, value->number, column,
            "evenhand's own settings are: fingers WORDS, and hands " HANDS_CHOICES);
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
        keep_key(r);
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
    case 'M': set_metre(r, value, column); return true;
    case 'L': set_unit(r, value, column); return true;
    case 'Q': set_tempo(r, value, column); return true;
    case 'P': return set_part(r, value, column);
    case 'I': return abc_directive(r, value, column);
    case 'm': return abc_macro_define(r, value, column);
    case 'U': abc_symbol_define(r, value); return true;
    case 'V': set_voice(r, value, column); return true;
    case 'T': set_text(r->passage->title, value); return true;
    case 'C': set_text(r->passage->composer, value); return true;
    case 'N':
        abc_text_more(value->at, value->size, r->passage->remark, PASSAGE_REMARK_MAX);
        return true;
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
