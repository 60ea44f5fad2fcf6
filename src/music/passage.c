#include "evenhand/music/passage.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FIRST_ROOM = 16 };

static bool note_room(Passage *p, size_t room, Error *error)
{
    Note *notes = realloc(p->notes, room * sizeof *notes);
    if (notes == NULL)
        return error_set(error, ERROR_MEMORY, "out of memory for notes");
    p->notes = notes;
    p->note_room = room;
    return true;
}

static bool bar_room(Passage *p, size_t room, Error *error)
{
    Bar *bars = realloc(p->bars, room * sizeof *bars);
    if (bars == NULL)
        return error_set(error, ERROR_MEMORY, "out of memory for bars");
    p->bars = bars;
    p->bar_room = room;
    return true;
}

static size_t doubled(size_t room)
{
    return room == 0 ? FIRST_ROOM : room * 2;
}

Passage *passage_new(void)
{
    Passage *p = calloc(1, sizeof *p);
    if (p == NULL)
        return NULL;
    p->metre = metre(4, 4);
    p->length = ratio_int(0);
    p->key[0] = 'C';
    return p;
}

void passage_free(Passage *p)
{
    if (p == NULL)
        return;
    free(p->notes);
    free(p->bars);
    free(p);
}

Passage *passage_copy(const Passage *p)
{
    Passage *copy = malloc(sizeof *copy);
    if (copy == NULL)
        return NULL;
    *copy = *p;
    copy->notes = malloc(p->note_count * sizeof *copy->notes);
    copy->bars = malloc(p->bar_count * sizeof *copy->bars);
    if (copy->notes == NULL || copy->bars == NULL) {
        passage_free(copy);
        return NULL;
    }
    memcpy(copy->notes, p->notes, p->note_count * sizeof *copy->notes);
    memcpy(copy->bars, p->bars, p->bar_count * sizeof *copy->bars);
    copy->note_room = p->note_count;
    copy->bar_room = p->bar_count;
    return copy;
}

bool passage_reserve(Passage *p, size_t notes, size_t bars, Error *error)
{
    return (notes <= p->note_room || note_room(p, notes, error)) &&
           (bars <= p->bar_room || bar_room(p, bars, error));
}

Note *passage_new_note(Passage *p, Ratio onset, Ratio length, int line, int column, Error *error)
{
    if (p->note_count >= PASSAGE_NOTES_MAX) {
        error_at(error, ERROR_LIMIT, line, column,
            "the passage has more than %d notes once its repeats are played", PASSAGE_NOTES_MAX);
        return NULL;
    }
    if (!ratio_valid(onset) || !ratio_valid(length) || length.num <= 0) {
        error_at(error, ERROR_LIMIT, line, column,
            "this note's length or place is too fine to be kept exactly");
        return NULL;
    }
    if (p->note_count == p->note_room && !note_room(p, doubled(p->note_room), error))
        return NULL;
    Note *note = &p->notes[p->note_count++];
    *note = (Note){.onset = onset, .length = length, .line = line, .column = column};
    return note;
}

bool passage_add_note(Passage *p, const Note *note, Error *error)
{
    Note *added = passage_new_note(p, note->onset, note->length, note->line, note->column, error);
    if (added == NULL)
        return false;
    *added = *note;
    return true;
}

bool passage_add_bar(Passage *p, Ratio start, const Metre *m, int number, Error *error)
{
    if (!ratio_valid(start))
        return error_set(error, ERROR_LIMIT, "the lengths are too fine to be kept exactly");
    /* Nothing happened since the last bar began: this one takes its place. */
    if (p->bar_count > 0 && ratio_equal(p->bars[p->bar_count - 1].start, start))
        p->bar_count--;
    if (p->bar_count >= PASSAGE_BARS_MAX)
        return error_set(error, ERROR_LIMIT, "the passage has more than %d bars", PASSAGE_BARS_MAX);
    if (p->bar_count == p->bar_room && !bar_room(p, doubled(p->bar_room), error))
        return false;
    p->bars[p->bar_count++] =
        (Bar){.start = start, .metre = *m, .number = number, .offset = ratio_int(0)};
    return true;
}

static int from_low_to_high(const void *a, const void *b)
{
    const Note *x = a, *y = b;
    int by_string = pitch_string(x->pitch) - pitch_string(y->pitch);
    return by_string != 0 ? by_string : pitch_midi(x->pitch) - pitch_midi(y->pitch);
}

/* Blocks: notes of one onset. Sorted from low to high, so that the first is the lowest. */
static bool find_blocks(Passage *p, Error *error)
{
    for (size_t i = 0; i < p->note_count;) {
        size_t end = i + 1;
        int later = 1;
        while (
            end < p->note_count && (later = ratio_cmp(p->notes[end].onset, p->notes[i].onset)) == 0)
            end++;
        if (end - i > PASSAGE_BLOCK_MAX)
            return error_at(error, ERROR_LIMIT, p->notes[i].line, p->notes[i].column,
                "this chord has more than %d notes", PASSAGE_BLOCK_MAX);
        if (later < 0)
            return error_at(error, ERROR_SYNTAX, p->notes[end].line, p->notes[end].column,
                "this note begins before the one in front of it");
        if (end - i > 1)
            qsort(p->notes + i, end - i, sizeof *p->notes, from_low_to_high);
        for (size_t k = i; k < end; k++)
            p->notes[k].block = (int32_t)i;
        i = end;
    }
    return true;
}

/* Positions and lengths in parts of a quarter, `common` to it; they may pass 64 bits. */
typedef struct {
    int64_t common, den, parts; /* parts: of 1 / den, the denominator that came last */
} Measure;

static RatioWide measured(Measure *m, Ratio r)
{
    if (r.den != m->den) {
        m->den = r.den;
        m->parts = (uint32_t)m->common / (uint32_t)r.den; /* both at most PASSAGE_DEN_MAX */
    }
    return (RatioWide)r.num * m->parts;
}

/* A rest before a note excuses lifting the hand. Returns where the last note ends. */
static Ratio find_breaths(Passage *p, int64_t common)
{
    Measure onsets = {.common = common}, lengths = {.common = common};
    RatioWide sounding_until = 0;
    size_t longest = 0;
    for (size_t i = 0; i < p->note_count; i++) {
        Note *n = &p->notes[i];
        RatioWide onset = measured(&onsets, n->onset);
        RatioWide end = onset + measured(&lengths, n->length);
        if (n->block != (int32_t)i)
            n->breath = p->notes[n->block].breath;
        else if (i > 0 && onset > sounding_until)
            n->breath = true;
        if (end > sounding_until) {
            sounding_until = end;
            longest = i;
        }
    }
    return ratio_add(p->notes[longest].onset, p->notes[longest].length);
}

/* A bar cut in two by a repeat sign plays as one: its second half begins inside the metre. */
static bool completes(const Bar *first, const Bar *second)
{
    return metre_equal(&first->metre, &second->metre) &&
           ratio_equal(ratio_add(ratio_add(first->offset, first->length), second->length),
               metre_bar(&first->metre));
}

static bool lay_bars(Passage *p, Ratio end, Error *error)
{
    if (p->bar_count > 0 && ratio_equal(p->bars[p->bar_count - 1].start, end))
        p->bar_count--;
    if (p->bar_count == 0 && !passage_add_bar(p, ratio_int(0), &p->metre, 1, error))
        return false;
    for (size_t i = 0; i < p->bar_count; i++) {
        Ratio next = i + 1 < p->bar_count ? p->bars[i + 1].start : end;
        p->bars[i].length = ratio_sub(next, p->bars[i].start);
    }
    Bar *first = &p->bars[0];
    Ratio missing = ratio_sub(metre_bar(&first->metre), first->length);
    if (p->bar_count > 1 && !metre_free(&first->metre) && missing.num > 0)
        first->offset = missing;
    for (size_t i = 1; i < p->bar_count; i++) {
        Bar *before = &p->bars[i - 1], *bar = &p->bars[i];
        bool whole_before =
            ratio_equal(ratio_add(before->offset, before->length), metre_bar(&before->metre));
        if (!whole_before && before->offset.num == 0 && completes(before, bar))
            bar->offset = before->length;
    }
    p->metre = p->bars[0].metre;
    return true;
}

static void place_in_bars(Passage *p)
{
    size_t bar = 0;
    for (size_t i = 0; i < p->note_count; i++) {
        while (bar + 1 < p->bar_count && ratio_cmp(p->bars[bar + 1].start, p->notes[i].onset) <= 0)
            bar++;
        p->notes[i].bar = (int32_t)bar;
    }
}

/* Drills multiply denominators; beyond a limit they would not stay exact. */
static bool check_fineness(const Passage *p, int64_t *common, Error *error)
{
    uint64_t seen = 0; /* bit n: 1/n of a quarter is in the common measure */
    *common = 1;
    for (size_t i = 0; i < p->note_count; i++) {
        const int64_t dens[2] = {p->notes[i].onset.den, p->notes[i].length.den};
        for (int k = 0; k < 2; k++) {
            if (dens[k] < 64 && (seen >> dens[k] & 1) != 0)
                continue;
            if (dens[k] <= PASSAGE_DEN_MAX)
                *common = *common / gcd64(*common, dens[k]) * dens[k];
            if (dens[k] > PASSAGE_DEN_MAX || *common > PASSAGE_DEN_MAX)
                return error_at(error, ERROR_LIMIT, p->notes[i].line, p->notes[i].column,
                    "from here the note lengths share no common measure that can be kept exactly");
            seen |= dens[k] < 64 ? (uint64_t)1 << dens[k] : 0;
        }
    }
    return true;
}

static bool whole(const Bar *b)
{
    return metre_free(&b->metre) ||
           ratio_equal(ratio_add(b->offset, b->length), metre_bar(&b->metre));
}

/* Whether bar i is a mistake rather than a pickup, a part of a bar or the end. Bars beside a
 * change of metre are left alone. */
static bool misfits(const Passage *p, size_t i)
{
    const Bar *b = &p->bars[i];
    bool first = i == 0, last = i + 1 == p->bar_count;
    if (whole(b) || (!first && !metre_equal(&b->metre, &b[-1].metre)) ||
        (!last && !metre_equal(&b->metre, &b[1].metre)))
        return false;
    if (ratio_cmp(b->length, metre_bar(&b->metre)) > 0)
        return true;
    bool edge = first || last || b->section || b[1].section;
    return !edge && b->offset.num == 0 && b[1].offset.num == 0;
}

/* "5/4": a length as the metre counts it. */
static char *length_text(Ratio length, const Metre *m, char out[RATIO_TEXT_MAX])
{
    Ratio units = ratio_div(length, metre_unit(m));
    if (units.den != 1)
        return ratio_text(ratio_div(length, ratio_int(4)), out);
    snprintf(out, RATIO_TEXT_MAX, "%lld/%d", (long long)units.num, m->den);
    return out;
}

static void tell_misfits(Passage *p)
{
    size_t count = 0, first = 0, note = 0;
    for (size_t i = p->bar_count; i-- > 0;)
        if (misfits(p, i)) {
            first = i;
            count++;
        }
    if (count == 0)
        return;
    const Bar *b = &p->bars[first];
    char length[RATIO_TEXT_MAX], metre_words[METRE_TEXT_MAX], others[48] = "";
    while (note + 1 < p->note_count && p->notes[note].bar < (int32_t)first)
        note++;
    if (count > 1)
        snprintf(others, sizeof others, "; %zu more bar%s not fit", count - 1,
            count == 2 ? " does" : "s do");
    passage_notice(p, p->notes[note].line, p->notes[note].column,
        "bar %d lasts %s, but the metre is %s%s", b->number,
        length_text(b->length, &b->metre, length), metre_text(&b->metre, metre_words), others);
}

bool passage_finish(Passage *p, Ratio end, Error *error)
{
    if (p->note_count == 0)
        return error_set(error, ERROR_EMPTY, "there is not a note in this tune");
    if (!ratio_valid(end))
        return error_set(error, ERROR_LIMIT, "the lengths are too fine to be kept exactly");
    int64_t common;
    if (!find_blocks(p, error) || !check_fineness(p, &common, error))
        return false;
    end = ratio_max(end, find_breaths(p, common));
    if (!lay_bars(p, end, error))
        return false;
    place_in_bars(p);
    tell_misfits(p);
    p->length = end;
    if (!p->has_tempo)
        p->tempo = tempo(passage_pulse(p), ratio_int(60));
    return true;
}

void passage_notice(Passage *p, int line, int column, const char *format, ...)
{
    if (p->notice_count >= PASSAGE_NOTICES_MAX)
        return;
    Notice *n = &p->notices[p->notice_count];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(n->text, sizeof n->text, format, arguments);
    va_end(arguments);
    for (size_t i = 0; i < p->notice_count; i++)
        if (strcmp(p->notices[i].text, n->text) == 0)
            return;
    n->line = line;
    n->column = column;
    p->notice_count++;
}

Ratio passage_in_bar(const Passage *p, size_t note)
{
    const Bar *bar = &p->bars[p->notes[note].bar];
    return ratio_add(bar->offset, ratio_sub(p->notes[note].onset, bar->start));
}

Ratio passage_beat(const Passage *p, size_t note)
{
    Ratio unit = metre_unit(&p->bars[p->notes[note].bar].metre);
    return ratio_add(ratio_int(1), ratio_div(passage_in_bar(p, note), unit));
}

Ratio passage_common_length(const Passage *p)
{
    enum { KINDS = 64 }; /* a passage with more kinds of lengths has no commonest worth naming */
    Ratio kind[KINDS];
    size_t times[KINDS], kinds = 0;
    for (size_t i = 0; i < p->note_count; i++) {
        size_t k = 0;
        while (k < kinds && !ratio_equal(kind[k], p->notes[i].length))
            k++;
        if (k == kinds) {
            if (kinds == KINDS)
                continue;
            kind[kinds] = p->notes[i].length;
            times[kinds++] = 0;
        }
        times[k]++;
    }
    if (kinds == 0)
        return ratio_int(1);
    size_t best = 0;
    for (size_t k = 1; k < kinds; k++)
        if (times[k] > times[best] ||
            (times[k] == times[best] && ratio_cmp(kind[k], kind[best]) < 0))
            best = k;
    return kind[best];
}

Ratio passage_pulse(const Passage *p)
{
    Ratio unit = metre_unit(&p->metre);
    return metre_compound(&p->metre) ? ratio_mul(unit, ratio_int(3)) : unit;
}

size_t passage_block_end(const Passage *p, size_t note)
{
    int32_t block = p->notes[note].block;
    size_t end = note + 1;
    while (end < p->note_count && p->notes[end].block == block)
        end++;
    return end;
}

char *passage_key(const Passage *p, bool utf8, char out[PASSAGE_KEY_MAX + 4])
{
    bool letter = p->key[0] >= 'A' && p->key[0] <= 'G';
    const char *sign = !letter || !utf8 ? "" : p->key[1] == 'b' ? "♭" : p->key[1] == '#' ? "♯" : "";
    if (sign[0])
        snprintf(out, PASSAGE_KEY_MAX + 4, "%c%s%s", p->key[0], sign, p->key + 2);
    else
        snprintf(out, PASSAGE_KEY_MAX + 4, "%s", p->key);
    return out;
}

const char *hands_word(Hands h)
{
    static const char *const words[HANDS_KINDS] = {
        "right", "left", "both", "both", "both", "both", "by turns"};
    return (unsigned)h < HANDS_KINDS ? words[h] : words[0];
}

int hands_below(Hands h)
{
    static const int strings[HANDS_KINDS] = {0, 0, 7, 2, 5, 9, 0};
    return (unsigned)h < HANDS_KINDS ? strings[h] : 0;
}

Pitch passage_left(const Passage *p, size_t note)
{
    int string = pitch_string(p->notes[note].pitch) - hands_below(p->hands);
    int letter = ((string % 7) + 7) % 7;
    Pitch left = {.letter = (int8_t)letter,
        .alter = p->key_alter[letter],
        .octave = (int8_t)((string - letter) / 7)};
    for (size_t i = note + 1; i-- > 0;)
        if (p->notes[i].pitch.letter == letter) {
            left.alter = p->notes[i].pitch.alter;
            break;
        }
    return left;
}
