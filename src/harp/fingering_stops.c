#include "fingering_stops.h"

#include "fingering_cost.h"

#include <stdlib.h>

/* Bit f-1 of the mask for finger f; fingers from the thumb down. */
static const uint8_t mask_sizes[16] = {0, 1, 1, 2, 1, 2, 2, 3, 1, 2, 2, 3, 2, 3, 3, 4};
static const uint8_t mask_fingers[16][4] = {{0}, {1}, {2}, {1, 2}, {3}, {1, 3}, {2, 3}, {1, 2, 3},
    {4}, {1, 4}, {2, 4}, {1, 2, 4}, {3, 4}, {1, 3, 4}, {2, 3, 4}, {1, 2, 3, 4}};

int mask_size(int mask)
{
    return mask_sizes[mask];
}

int mask_finger(int mask, int way, int k)
{
    return mask_fingers[mask][way > 0 ? mask_sizes[mask] - 1 - k : k];
}

int32_t stretch_cost(int gap, int finger, int other)
{
    int strings = abs(gap), fingers = abs(finger - other);
    int32_t cost = strings >= fingers ? COST_STRETCH * (strings - fingers)
                                      : COST_CRAMPED * (fingers - strings);
    cost += COST_IDLE_FINGER * (fingers > 1 ? fingers - 1 : 0);
    int beyond = strings - fingering_reach[finger][other];
    return beyond > 0 ? cost + COST_BEYOND_REACH + COST_BEYOND_STRING * beyond : cost;
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

static int32_t chord_mask_cost(const Passage *p, const Stop *stop, int mask, const uint8_t *marks)
{
    int32_t cost = (mask & 1) == 0 ? COST_IDLE_THUMB : 0;
    size_t from = fingered_from(stop);
    for (size_t i = from; i < (size_t)stop->end; i++) {
        int finger = mask_finger(mask, 1, (int)(i - from));
        if (marks[i] != 0 && marks[i] != finger)
            cost += COST_GROUP_OF_1; /* the file's own marks contradict each other or the hand */
        if (i > from)
            cost +=
                stretch_cost(pitch_string(p->notes[i].pitch) - pitch_string(p->notes[i - 1].pitch),
                    finger, mask_finger(mask, 1, (int)(i - from) - 1));
    }
    return cost;
}

static void choose_chord(const Passage *p, Stop *stop, const uint8_t *marks)
{
    int fingers = stop->chord > 4 ? 4 : stop->chord;
    stop->chord_cost = INT32_MAX;
    for (int mask = 1; mask < 16; mask++) {
        if (mask_size(mask) != fingers)
            continue;
        int32_t cost = chord_mask_cost(p, stop, mask, marks);
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

/* The pulses of one metre; kept from note to note, since metres seldom change. */
typedef struct {
    Metre metre;
    Ratio at[METRE_NUM_MAX];
    int count;
} Pulses;

static bool on_pulse(const Passage *p, size_t i, Pulses *pulses)
{
    const Metre *m = &p->bars[p->notes[i].bar].metre;
    if (pulses->count == 0 || !metre_equal(m, &pulses->metre)) {
        pulses->metre = *m;
        pulses->count = metre_pulses(m, pulses->at);
    }
    Ratio in_bar = passage_in_bar(p, i);
    for (int k = 0; k < pulses->count; k++)
        if (ratio_equal(in_bar, pulses->at[k]))
            return true;
    return false;
}

/* Rests and lengths repeat: the last answer is kept. */
typedef struct {
    Ratio quarters;
    int64_t micros;
} Gap;

static int64_t micros_between(const Passage *p, Ratio spq, size_t a, size_t b, Gap *last)
{
    Ratio quarters = ratio_sub(p->notes[b].onset, p->notes[a].onset);
    if (ratio_equal(quarters, last->quarters))
        return last->micros;
    Ratio micros = ratio_mul(ratio_mul(quarters, spq), ratio_int(1000000));
    *last = (Gap){quarters, ratio_valid(micros) ? ratio_floor(micros) : 0};
    return last->micros;
}

static int turning_at(const Stop *stop)
{
    if (stop->way == 0 || stop->breath)
        return 1;
    return stop->way == -stop[-1].way && stop[-1].turning > 1 ? stop[-1].turning + 1 : 2;
}

/* Which way each stop was come to, how many in a row came that way, and how many to and fro. */
void stops_ways(Stop *stops, size_t count)
{
    stops[0].way = 0;
    stops[0].in_row = stops[0].turning = 1;
    for (size_t i = 1; i < count; i++) {
        Stop *stop = &stops[i];
        stop->way = (int8_t)stop_way(stop - 1, stop);
        bool on = stop->way != 0 && stop->way == stop[-1].way;
        stop->in_row = on ? stop[-1].in_row + 1 : stop->way != 0 ? 2 : 1;
        stop->turning = turning_at(stop);
    }
}

Stop *stops_make(const Passage *p, Tempo tempo, const uint8_t *marks, size_t *count)
{
    Stop *stops = calloc(p->note_count, sizeof *stops);
    if (stops == NULL)
        return NULL;
    size_t used = 0;
    Pulses pulses = {.count = 0};
    Gap gap = {.quarters = {0, 1}};
    Ratio spq = tempo_seconds_per_quarter(tempo);
    for (size_t i = 0; i < p->note_count;) {
        const Note *note = &p->notes[i];
        size_t end = passage_block_end(p, i);
        uint8_t mark = marks[i];
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
            .on_pulse = on_pulse(p, i, &pulses),
            .breath = note->breath,
            .microseconds = i == 0 ? 0 : micros_between(p, spq, i - 1, i, &gap)};
        if (stop->chord > 1) {
            stop->mark = 0;
            choose_chord(p, stop, marks);
        }
        i = end;
    }
    stops_ways(stops, used);
    *count = used;
    return stops;
}
