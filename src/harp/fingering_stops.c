#include "fingering_stops.h"

#include "fingering_cost.h"

#include <stdlib.h>

int mask_size(int mask)
{
    return (mask & 1) + (mask >> 1 & 1) + (mask >> 2 & 1) + (mask >> 3 & 1);
}

int mask_finger(int mask, int way, int k)
{
    int from_thumb = way > 0 ? mask_size(mask) - 1 - k : k;
    for (int finger = 1; finger <= 4; finger++)
        if ((mask >> (finger - 1) & 1) != 0 && from_thumb-- == 0)
            return finger;
    return 0;
}

int64_t stretch_cost(int gap, int finger, int other)
{
    int strings = abs(gap), fingers = abs(finger - other);
    int64_t cost = strings >= fingers ? (int64_t)COST_STRETCH * (strings - fingers)
                                      : (int64_t)COST_CRAMPED * (fingers - strings);
    return strings > fingering_reach[finger][other] ? cost + COST_BEYOND_REACH : cost;
}

int stop_way(const Stop *a, const Stop *b)
{
    if (a->chord > 1 || b->chord > 1 || a->string == b->string)
        return 0;
    return b->string > a->string ? 1 : -1;
}

/* Notes of a chord that get a finger: the four highest. */
static size_t fingered_from(const Stop *stop)
{
    return (size_t)(stop->chord > 4 ? stop->end - 4 : stop->first);
}

static int64_t chord_mask_cost(const Passage *p, const Stop *stop, int mask, bool ignore_marks)
{
    int64_t cost = (mask & 1) == 0 ? COST_IDLE_THUMB : 0;
    size_t from = fingered_from(stop);
    for (size_t i = from; i < (size_t)stop->end; i++) {
        int finger = mask_finger(mask, 1, (int)(i - from));
        if (!ignore_marks && p->notes[i].mark != 0 && p->notes[i].mark != finger)
            cost += COST_GROUP_OF_1; /* the file's own marks contradict each other or the hand */
        if (i > from)
            cost +=
                stretch_cost(pitch_string(p->notes[i].pitch) - pitch_string(p->notes[i - 1].pitch),
                    finger, mask_finger(mask, 1, (int)(i - from) - 1));
    }
    return cost;
}

static void choose_chord(const Passage *p, Stop *stop, bool ignore_marks)
{
    int fingers = stop->chord > 4 ? 4 : stop->chord;
    stop->chord_cost = INT64_MAX;
    for (int mask = 1; mask < 16; mask++) {
        if (mask_size(mask) != fingers)
            continue;
        int64_t cost = chord_mask_cost(p, stop, mask, ignore_marks);
        if (cost < stop->chord_cost) {
            stop->chord_cost = cost;
            stop->chord_mask = mask;
        }
    }
}

/* A stroke on the string where the hand already is, with the same or no mark: no new stop. */
static bool joins(const Stop *last, const Note *note, size_t chord, uint8_t mark)
{
    if (last->chord > 1 || chord > 1 || note->breath || pitch_string(note->pitch) != last->string)
        return false;
    return mark == 0 || last->mark == 0 || mark == last->mark;
}

static int64_t micros_between(const Passage *p, Tempo tempo, size_t a, size_t b)
{
    Ratio quarters = ratio_sub(p->notes[b].onset, p->notes[a].onset);
    Ratio micros =
        ratio_mul(ratio_mul(quarters, tempo_seconds_per_quarter(tempo)), ratio_int(1000000));
    return ratio_valid(micros) ? ratio_floor(micros) : 0;
}

Stop *stops_make(const Passage *p, Tempo tempo, bool ignore_marks, size_t *count)
{
    Stop *stops = calloc(p->note_count, sizeof *stops);
    if (stops == NULL)
        return NULL;
    size_t used = 0;
    for (size_t i = 0; i < p->note_count;) {
        const Note *note = &p->notes[i];
        size_t end = passage_block_end(p, i);
        uint8_t mark = ignore_marks ? 0 : note->mark;
        if (used > 0 && joins(&stops[used - 1], note, end - i, mark)) {
            stops[used - 1].end = (int32_t)end;
            if (mark != 0)
                stops[used - 1].mark = mark;
            i = end;
            continue;
        }
        Stop *stop = &stops[used++];
        *stop = (Stop){.first = (int32_t)i,
            .end = (int32_t)end,
            .string = pitch_string(note->pitch),
            .chord = (int)(end - i),
            .chord_mask = 1,
            .mark = mark,
            .honour_marks = !ignore_marks,
            .breath = note->breath,
            .microseconds = i == 0 ? 0 : micros_between(p, tempo, i - 1, i)};
        if (stop->chord > 1) {
            stop->mark = 0;
            choose_chord(p, stop, ignore_marks);
        }
        i = end;
    }
    *count = used;
    return stops;
}
