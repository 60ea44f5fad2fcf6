#include "placing_parts.h"

#include <stdlib.h>
#include <string.h>

static bool no_memory(const Maker *m)
{
    return error_set(m->error, ERROR_MEMORY, "out of memory for the drill");
}

static bool find_heads(Maker *m)
{
    m->heads = malloc((m->base->note_count + 1) * sizeof *m->heads);
    if (m->heads == NULL)
        return no_memory(m);
    for (size_t i = 0; i < m->base->note_count; i = passage_block_end(m->base, i))
        m->heads[m->head_count++] = i;
    m->heads[m->head_count] = m->base->note_count;
    return true;
}

/* All that is no note or bar comes from the base. */
static bool begin_passage(Maker *m)
{
    const Passage *base = m->base;
    Passage *made = m->made = passage_new();
    if (made == NULL)
        return no_memory(m);
    made->reference = base->reference;
    memcpy(made->title, base->title, sizeof made->title);
    memcpy(made->composer, base->composer, sizeof made->composer);
    memcpy(made->key, base->key, sizeof made->key);
    memcpy(made->key_alter, base->key_alter, sizeof made->key_alter);
    made->metre = m->metre;
    made->tempo = base->tempo;
    made->has_tempo = true; /* or the pulse of another metre would be guessed at */
    made->hands = base->hands;
    return true;
}

bool maker_open(Maker *m, const Passage *base, const Fingering *f, Error *error)
{
    *m = (Maker){.base = base, .fingers = f, .at = ratio_int(0), .error = error};
    m->metre = metre_free(&base->metre) ? metre(4, 4) : base->metre;
    m->bar = metre_bar(&m->metre);
    return find_heads(m) && begin_passage(m);
}

void maker_close(Maker *m)
{
    passage_free(m->made);
    free(m->heads);
    free(m->from);
    *m = (Maker){0};
}

bool maker_note(Maker *m, size_t like, Ratio onset, Ratio length, MadeFrom from)
{
    size_t count = m->made->note_count;
    if (count == PASSAGE_NOTES_MAX)
        return error_set(m->error, ERROR_LIMIT,
            "this drill would have more than %d notes; take a shorter passage for it",
            PASSAGE_NOTES_MAX);
    if (count == m->room) {
        size_t room = m->room == 0 ? 64 : m->room * 2;
        MadeFrom *grown = realloc(m->from, room * sizeof *grown);
        if (grown == NULL)
            return no_memory(m);
        m->from = grown;
        m->room = room;
    }
    Note note = m->base->notes[like];
    note.onset = onset;
    note.length = length;
    note.breath = (from.afresh && count > 0) || (from.origin >= 0 && note.breath);
    if (from.origin < 0)
        note.mark = 0;
    m->from[count] = from;
    return passage_add_note(m->made, &note, m->error);
}

bool maker_stretch(Maker *m, size_t first, size_t end, bool afresh)
{
    Ratio start = m->at, origin = m->base->notes[m->heads[first]].onset;
    for (size_t i = m->heads[first]; i < m->heads[end]; i++) {
        const Note *note = &m->base->notes[i];
        Ratio onset = ratio_add(start, ratio_sub(note->onset, origin));
        MadeFrom from = {(int32_t)i, afresh && i < m->heads[first + 1]};
        if (!maker_note(m, i, onset, note->length, from))
            return false;
        Ratio until = ratio_add(onset, note->length);
        if (ratio_valid(until) && ratio_cmp(until, m->at) > 0)
            m->at = until;
    }
    return true;
}

void maker_to_bar(Maker *m)
{
    Ratio into = ratio_mod(m->at, m->bar);
    if (into.num > 0)
        m->at = ratio_add(m->at, ratio_sub(m->bar, into));
}

Ratio maker_next_pulse(const Maker *m, Ratio at)
{
    Ratio pulses[METRE_NUM_MAX], into = ratio_mod(at, m->bar), line = ratio_sub(at, into);
    int count = metre_pulses(&m->metre, pulses);
    for (int i = 0; i < count; i++)
        if (ratio_cmp(pulses[i], into) > 0)
            return ratio_add(line, pulses[i]);
    return ratio_add(line, m->bar);
}

void maker_to_pulse(Maker *m)
{
    Ratio pulses[METRE_NUM_MAX], into = ratio_mod(m->at, m->bar);
    int count = metre_pulses(&m->metre, pulses);
    for (int i = 0; i < count; i++)
        if (ratio_equal(pulses[i], into))
            return;
    m->at = maker_next_pulse(m, m->at);
}

void maker_breathe(Maker *m, size_t last_block)
{
    m->at = ratio_add(m->at, m->base->notes[m->heads[last_block]].length);
}

bool maker_finish(Maker *m)
{
    maker_to_bar(m);
    Ratio bars = ratio_div(m->at, m->bar);
    if (!ratio_valid(bars) || bars.num > PASSAGE_BARS_MAX)
        return error_set(m->error, ERROR_LIMIT,
            "this drill would have more than %d bars; take a shorter passage for it",
            PASSAGE_BARS_MAX);
    for (int i = 0; i < (int)bars.num; i++)
        if (!passage_add_bar(m->made, ratio_mul(m->bar, ratio_int(i)), &m->metre, i + 1, m->error))
            return false;
    return passage_finish(m->made, m->at, m->error);
}

bool placing_has_chords(const Passage *p)
{
    for (size_t i = 0; i < p->note_count; i++)
        if (p->notes[i].block != (int32_t)i)
            return true;
    return false;
}

static bool is_linked(const Maker *m, unsigned mask, size_t block)
{
    return (mask >> m->fingers->notes[m->heads[block]].link & 1u) != 0;
}

size_t placing_link(const Maker *m, unsigned mask, int n)
{
    for (size_t block = 1; block < m->head_count; block++)
        if (is_linked(m, mask, block) && --n == 0)
            return block;
    return 0;
}

size_t placing_link_count(const Maker *m, unsigned mask)
{
    size_t count = 0;
    for (size_t block = 1; block < m->head_count; block++)
        count += is_linked(m, mask, block) ? 1 : 0;
    return count;
}
