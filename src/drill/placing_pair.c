/* The scale, then its arpeggio over the same strings:
 *
 *      run        C D E F G A B c B A G F E D C
 *      arpeggio   C   E   G     c     G   E   C      as degrees 1 3 5 of the run's first note
 */
#include "placing_parts.h"

#include <stdlib.h>
#include <string.h>

enum { RUN_MIN = 5 }; /* notes that hold the degrees 1, 3 and 5 */

typedef struct {
    size_t first, end;
} Run;

static int string_of(const Passage *p, size_t note)
{
    return pitch_string(p->notes[note].pitch);
}

static bool is_step(const Passage *p, size_t note)
{
    const Note *n = &p->notes[note];
    return n->block == (int32_t)note && p->notes[note - 1].block == (int32_t)note - 1 &&
           !n->breath && passage_block_end(p, note) == note + 1 &&
           abs(string_of(p, note) - string_of(p, note - 1)) == 1;
}

static bool in_triad(const Passage *p, const Run *run, size_t note)
{
    int degree = (string_of(p, note) - string_of(p, run->first)) % 7;
    degree = degree < 0 ? degree + 7 : degree;
    return degree == 0 || degree == 2 || degree == 4;
}

/* The longest stretch of steps, whichever way they go; the first of those. */
static Run longest_run(const Passage *p)
{
    Run best = {0, 0};
    for (size_t first = 0, end; first < p->note_count; first = end) {
        end = first + 1;
        while (end < p->note_count && is_step(p, end))
            end++;
        if (end - first > best.end - best.first)
            best = (Run){first, end};
    }
    return best;
}

/* The k-th note of the arpeggio takes the place and length of the k-th note of the run. */
static bool lay_arpeggio(Maker *m, const Run *run)
{
    const Note *notes = m->base->notes;
    Ratio start = m->at;
    size_t k = run->first;
    for (size_t i = run->first; i < run->end; i++) {
        if (!in_triad(m->base, run, i))
            continue;
        Ratio onset = ratio_add(start, ratio_sub(notes[k].onset, notes[run->first].onset));
        if (!maker_note(m, i, onset, notes[k].length, (MadeFrom){-1, k == run->first}))
            return false;
        m->at = ratio_add(onset, notes[k].length);
        k++;
    }
    return true;
}

bool placing_pair(Maker *m, const Placing *placing)
{
    (void)placing;
    Run run = longest_run(m->base);
    int wide = 0;
    for (size_t i = run.first; i < run.end; i++) {
        int away = abs(string_of(m->base, i) - string_of(m->base, run.first));
        wide = away > wide ? away : wide;
    }
    if (wide + 1 < RUN_MIN)
        return error_set(m->error, ERROR_UNSUPPORTED,
            "there is no scale of %d notes in this passage to set an arpeggio beside", RUN_MIN);
    size_t first = 0, end;
    while (m->heads[first] < run.first)
        first++;
    end = first + (run.end - run.first); /* a run has no chords */
    if (!maker_stretch(m, first, end, true))
        return false;
    maker_to_bar(m);
    return lay_arpeggio(m, &run);
}

/* The arpeggio alone, as a passage to be planned. */
static bool plan_alone(const Maker *m, size_t split, Fingering *out)
{
    const Passage *made = m->made;
    size_t bar = (size_t)made->notes[split].bar;
    Ratio line = made->bars[bar].start;
    Passage *alone = passage_new();
    bool done = true;
    if (alone == NULL)
        return error_set(m->error, ERROR_MEMORY, "out of memory for the drill");
    alone->hands = made->hands;
    alone->metre = m->metre;
    alone->tempo = made->tempo;
    alone->has_tempo = true;
    for (size_t i = bar; done && i < made->bar_count; i++)
        done = passage_add_bar(
            alone, ratio_sub(made->bars[i].start, line), &m->metre, made->bars[i].number, m->error);
    for (size_t i = split; done && i < made->note_count; i++) {
        Note note = made->notes[i];
        note.onset = ratio_sub(note.onset, line);
        note.breath = false;
        done = passage_add_note(alone, &note, m->error);
    }
    done = done && passage_finish(alone, ratio_sub(made->length, line), m->error) &&
           fingering_plan(alone, NULL, out, m->error);
    passage_free(alone);
    return done;
}

bool placing_pair_fingers(const Maker *m, Fingering *out)
{
    Fingering arpeggio = {0};
    size_t split = out->note_count, groups = out->group_count;
    if (!plan_alone(m, split, &arpeggio))
        return false;
    for (size_t i = 0; i < arpeggio.note_count; i++) {
        out->notes[split + i] = arpeggio.notes[i];
        out->notes[split + i].group += (int32_t)groups;
    }
    for (size_t i = 0; i < arpeggio.group_count; i++) {
        FingerGroup g = arpeggio.groups[i];
        g.first += (int32_t)split;
        g.last += (int32_t)split;
        g.pivot += g.pivot >= 0 ? (int32_t)split : 0;
        out->groups[groups + i] = g;
    }
    out->note_count += arpeggio.note_count;
    out->group_count += arpeggio.group_count;
    fingering_free(&arpeggio);
    return true;
}
