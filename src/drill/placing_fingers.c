/* The made passage's fingers, groups and links, carried over note by note from the base's. A plan
 * of its own would do for most, but not where the base was planned as a teacher had set it. */
#include "placing_parts.h"

#include <stdlib.h>

/* The group that is being written. */
typedef struct {
    Fingering *out;
    int32_t of; /* the base's group that it is, or a part of */
} Writer;

/* The base's group of a note. A figure that sets out on a turning note has it as the first note
 * of the group behind the turn, for there is none before. */
static int32_t group_of(const Maker *m, size_t note)
{
    const Fingering *base = m->fingers;
    int32_t origin = m->from[note].origin, own = base->notes[origin].group;
    bool sets_out = m->from[note].afresh || note == 0;
    bool goes_on = note + 1 < m->made->note_count && m->from[note + 1].origin == origin + 1 &&
                   !m->from[note + 1].afresh;
    if (!sets_out || !goes_on)
        return own;
    int32_t next = base->notes[origin + 1].group;
    return base->groups[next].pivot == origin ? next : own;
}

static bool turns_into(const Maker *m, size_t note, int32_t group)
{
    return note > 0 && !m->from[note].afresh && m->from[note - 1].origin >= 0 &&
           m->fingers->groups[group].pivot == m->from[note - 1].origin;
}

static void open_group(Writer *w, const Maker *m, size_t note, int32_t of)
{
    bool turn = turns_into(m, note, of);
    w->of = of;
    w->out->groups[w->out->group_count++] = (FingerGroup){.first = (int32_t)note,
        .pivot = turn ? (int32_t)note - 1 : -1,
        .last = (int32_t)note,
        .size = turn ? 1 : 0,
        .across = m->fingers->groups[of].across};
}

/* A string struck again by the same finger keeps its place in the group. */
static bool repeats(const Maker *m, size_t note)
{
    const FingeredNote *notes = m->fingers->notes;
    const FingeredNote *here = &notes[m->from[note].origin];
    const FingeredNote *before = &notes[m->from[note - 1].origin];
    return here->group == before->group && here->place == before->place;
}

/* Adds the block [note, end) to the group that is open. */
static void add_block(Writer *w, const Maker *m, size_t note, size_t end, Link link)
{
    FingerGroup *g = &w->out->groups[w->out->group_count - 1];
    g->last = (int32_t)end - 1;
    if (link != LINK_WITHIN || !repeats(m, note))
        g->size++;
    for (size_t i = note; i < end; i++) {
        const FingeredNote *base = &m->fingers->notes[m->from[i].origin];
        w->out->notes[i] = (FingeredNote){.finger = base->finger,
            .place = g->size,
            .link = (uint8_t)link,
            .group = (int32_t)w->out->group_count - 1,
            .marked = base->marked};
    }
    if (end > note + 1)
        g->size = (uint8_t)(end - note);
}

/* Of a group to and fro, or of the part of one that the drill has: its strings, each with its
 * place as they come, and whether it still changes its way. */
static void measure_across(Fingering *out, const Passage *made, FingerGroup *g)
{
    int strings[4], count = 0, before = 0;
    bool up = false, down = false;
    int32_t start = g->pivot >= 0 ? g->pivot : g->first;
    for (int32_t i = start; i <= g->last; i++) {
        int string = pitch_string(made->notes[i].pitch), place = 0;
        while (place < count && strings[place] != string)
            place++;
        if (place == count && count < 4)
            strings[count++] = string;
        if (i >= g->first)
            out->notes[i].place = (uint8_t)(place + 1);
        up = up || (i > start && string > before);
        down = down || (i > start && string < before);
        before = string;
    }
    g->size = (uint8_t)count;
    g->across = up && down;
    g->direction = (int8_t)(up - down);
}

/* Sizes and directions, now that the groups are whole. */
static void measure_groups(Fingering *out, const Passage *made)
{
    for (size_t i = 0; i < out->group_count; i++) {
        FingerGroup *g = &out->groups[i];
        int32_t start = g->pivot >= 0 ? g->pivot : g->first;
        if (made->notes[start].block == made->notes[g->last].block) {
            g->across = false;
            continue; /* one note or one chord: no direction */
        }
        if (g->across) {
            measure_across(out, made, g);
            continue;
        }
        int way = pitch_string(made->notes[g->last].pitch) - pitch_string(made->notes[start].pitch);
        g->direction = (int8_t)((way > 0) - (way < 0));
    }
    for (size_t i = 0; i < out->note_count; i++)
        out->notes[i].size = out->groups[out->notes[i].group].size;
}

bool maker_fingers(const Maker *m, Fingering *out)
{
    const Passage *made = m->made;
    size_t count = 0;
    while (count < made->note_count && m->from[count].origin >= 0)
        count++;
    *out = (Fingering){.note_count = count};
    out->notes = calloc(made->note_count + 1, sizeof *out->notes);
    out->groups = calloc(made->note_count + 1, sizeof *out->groups);
    if (out->notes == NULL || out->groups == NULL) {
        fingering_free(out);
        return error_set(m->error, ERROR_MEMORY, "out of memory for the drill");
    }
    Writer w = {.out = out, .of = -1};
    for (size_t i = 0, end; i < count; i = end) {
        end = passage_block_end(made, i);
        int32_t of = group_of(m, i);
        bool afresh = i == 0 || m->from[i].afresh;
        if (!afresh && of == w.of) {
            add_block(&w, m, i, end, LINK_WITHIN);
            continue;
        }
        open_group(&w, m, i, of);
        add_block(
            &w, m, i, end, afresh ? LINK_START : (Link)m->fingers->notes[m->from[i].origin].link);
    }
    measure_groups(out, made);
    return true;
}
