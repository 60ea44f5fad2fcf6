/* Drills of the groups and of what lies between them.
 *
 *      first crossing   |4 3 2 1 4 . . . |
 *      blocks           |[4321] 4 3 2 1 .|
 *      links            |2 1 4 3 . . . . |2 1 4 3 . . . . | four times, then the next link
 */
#include "placing_parts.h"

#include <stdlib.h>

/* Block that holds a note of the base. */
static size_t block_of(const Maker *m, int32_t note)
{
    size_t low = 0, high = m->head_count;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (m->heads[middle] <= (size_t)note)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static bool no_link(const Maker *m, unsigned mask, int which)
{
    size_t count = placing_link_count(m, mask);
    const char *what = mask == CROSSED ? "crossing" : "link";
    if (count == 0)
        return error_set(m->error, ERROR_UNSUPPORTED,
            "there is no %s in this passage to make this drill from", what);
    return error_set(
        m->error, ERROR_RANGE, "there is no %s %d; this passage has 1 to %zu", what, which, count);
}

bool placing_crossing(Maker *m, const Placing *placing)
{
    size_t lands = placing_link(m, CROSSED, placing->which > 0 ? placing->which : 1);
    if (lands == 0)
        return no_link(m, CROSSED, placing->which);
    size_t before = m->heads[lands - 1];
    const FingerGroup *g = &m->fingers->groups[m->fingers->notes[before].group];
    size_t first = block_of(m, g->pivot >= 0 ? g->pivot : g->first);
    return maker_stretch(m, first, lands + 1, true);
}

static bool same_string(const Maker *m, int32_t a, int32_t b)
{
    const Note *notes = m->base->notes;
    return pitch_string(notes[a].pitch) == pitch_string(notes[b].pitch);
}

/* The first note on each of its own strings, from low to high. */
static int strings_across(const Maker *m, const FingerGroup *g, int32_t notes[4])
{
    int count = 0;
    for (int32_t i = g->first; i <= g->last; i++) {
        int string = pitch_string(m->base->notes[i].pitch), at = count;
        while (at > 0 && pitch_string(m->base->notes[notes[at - 1]].pitch) > string)
            at--;
        if (count == 4 || (at > 0 && same_string(m, notes[at - 1], i)))
            continue;
        for (int k = count++; k > at; k--)
            notes[k] = notes[k - 1];
        notes[at] = i;
    }
    return count;
}

/* As lay_chord, for a group to and fro: each string once, however often it comes back. */
static bool lay_across(Maker *m, const FingerGroup *g)
{
    Ratio start = m->at, end = maker_next_pulse(m, start);
    int32_t notes[4];
    int count = strings_across(m, g, notes);
    for (int k = 0; k < count; k++)
        if (!maker_note(
                m, (size_t)notes[k], start, ratio_sub(end, start), (MadeFrom){notes[k], k == 0}))
            return false;
    m->at = end;
    return true;
}

/* The group's own strings at once, from low to high, held until the next pulse. */
static bool lay_chord(Maker *m, const FingerGroup *g)
{
    if (g->across)
        return lay_across(m, g);
    Ratio start = m->at, end = maker_next_pulse(m, start);
    for (int32_t k = 0; k <= g->last - g->first; k++) {
        int32_t note = g->direction < 0 ? g->last - k : g->first + k;
        MadeFrom from = {note, k == 0};
        if (k > 0 && same_string(m, note, g->direction < 0 ? note + 1 : note - 1))
            continue; /* struck again when it is broken */
        if (!maker_note(m, (size_t)note, start, ratio_sub(end, start), from))
            return false;
    }
    m->at = end;
    return true;
}

bool placing_blocks(Maker *m, const Placing *placing)
{
    (void)placing;
    const Fingering *f = m->fingers;
    if (placing_has_chords(m->base))
        return error_set(m->error, ERROR_UNSUPPORTED,
            "blocks are made from single notes; this passage has chords");
    if (f->group_count == f->note_count)
        return error_set(m->error, ERROR_UNSUPPORTED,
            "no group of this passage has two notes to be placed together");
    for (size_t i = 0; i < f->group_count; i++) {
        const FingerGroup *g = &f->groups[i];
        maker_to_bar(m);
        if (!lay_chord(m, g) || !maker_stretch(m, (size_t)g->first, (size_t)g->last + 1, true))
            return false;
    }
    return true;
}

/* Where the next loop begins: an equal part of the bar on, where pulses divide it so, else on
 * the next bar line. */
static void to_next_loop(Maker *m, Ratio start)
{
    Ratio pulses[METRE_NUM_MAX], used = ratio_sub(m->at, start);
    int count = metre_pulses(&m->metre, pulses);
    for (int parts = m->metre.part_count > 0 ? 1 : count; parts > 1; parts--) {
        Ratio span = ratio_div(m->bar, ratio_int(parts));
        if (count % parts == 0 && ratio_cmp(used, span) <= 0) {
            m->at = ratio_add(start, span);
            return;
        }
    }
    maker_to_bar(m);
}

static bool lay_link(Maker *m, const Placing *placing, size_t lands)
{
    size_t side = (size_t)placing->size;
    size_t first = lands > side ? lands - side : 0;
    size_t end = lands + side < m->head_count ? lands + side : m->head_count;
    maker_to_bar(m);
    for (int loop = 0; loop < placing->loops; loop++) {
        Ratio start = m->at;
        if (!maker_stretch(m, first, end, true))
            return false;
        maker_breathe(m, end - 1);
        to_next_loop(m, start);
    }
    return true;
}

bool placing_links(Maker *m, const Placing *placing)
{
    if (placing->which > 0) {
        size_t lands = placing_link(m, LINKED, placing->which);
        return lands > 0 ? lay_link(m, placing, lands) : no_link(m, LINKED, placing->which);
    }
    bool found = false;
    for (size_t block = 1; block < m->head_count; block++) {
        if ((LINKED >> m->fingers->notes[m->heads[block]].link & 1u) == 0)
            continue;
        found = true;
        if (!lay_link(m, placing, block))
            return false;
    }
    return found || no_link(m, LINKED, 0);
}
