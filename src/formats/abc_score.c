#include "abc_score.h"

#include "abc_clock.h"

#include <stdlib.h>
#include <string.h>

enum { FIRST_ROOM = 32 };

/* `array` where there is room for one more item behind `count`, else a larger one; NULL, with the
 * array as it is, without memory. */
static void *with_room(void *array, size_t count, size_t *room, size_t item)
{
    if (count < *room)
        return array;
    size_t bigger = *room == 0 ? FIRST_ROOM : *room * 2;
    void *moved = realloc(array, bigger * item);
    if (moved != NULL)
        *room = bigger;
    return moved;
}

bool abc_score_reserve(AbcScore *score, size_t bytes)
{
    score->room = FIRST_ROOM + bytes / 2;
    score->events = malloc(score->room * sizeof *score->events);
    return score->events != NULL;
}

bool abc_score_grow(AbcScore *score)
{
    void *events = with_room(score->events, score->count, &score->room, sizeof *score->events);
    if (events == NULL)
        return false;
    score->events = events;
    return true;
}

/* Metres seldom change, and go to and fro when they do: only the last is looked at. */
static bool keep_metre(AbcScore *score, const Metre *m)
{
    if (score->metre_count > 0 && metre_equal(&score->metres[score->metre_count - 1].metre, m))
        return true;
    void *metres =
        with_room(score->metres, score->metre_count, &score->metre_room, sizeof *score->metres);
    if (metres == NULL)
        return false;
    score->metres = metres;
    score->metres[score->metre_count++] = (AbcMetre){*m, metre_bar(m)};
    return true;
}

int32_t abc_score_bar(AbcScore *score, const Metre *m)
{
    if (score->in_bar)
        return (int32_t)score->bar_count - 1;
    if (score->bar_count >= PASSAGE_BARS_MAX || !keep_metre(score, m))
        return -1;
    void *bars = with_room(score->bars, score->bar_count, &score->bar_room, sizeof *score->bars);
    if (bars == NULL)
        return -1;
    score->bars = bars;
    score->bars[score->bar_count] = (AbcBar){
        .length = ratio_int(0), .metre = (uint32_t)score->metre_count - 1, .ending = score->ending};
    score->in_bar = true;
    score->ending = false;
    return (int32_t)score->bar_count++;
}

/* The latest lengths are looked at; one that comes back later stands in the table again. */
bool abc_score_length(AbcScore *score, Ratio length, uint32_t *index)
{
    enum { LOOKED_AT = 8 };
    size_t count = score->length_count;
    for (size_t i = count, least = count < LOOKED_AT ? 0 : count - LOOKED_AT; i-- > least;)
        if (ratio_equal(score->lengths[i].exact, length)) {
            *index = (uint32_t)i;
            return true;
        }
    void *lengths = with_room(score->lengths, count, &score->length_room, sizeof *score->lengths);
    if (lengths == NULL)
        return false;
    score->lengths = lengths;
    score->lengths[count] = (AbcLength){.exact = length};
    *index = (uint32_t)count;
    score->length_count++;
    return true;
}

static void measure(AbcScore *score)
{
    AbcClock clock;
    size_t bar = 0;
    abc_clock_measure(score);
    abc_clock_start(&clock, score);
    for (size_t i = 0; i < score->count; i++) {
        const AbcEvent *e = &score->events[i];
        if (e->kind > ABC_REST || e->more)
            continue;
        if (e->bar != bar) {
            score->bars[bar].length = abc_clock_now(&clock);
            abc_clock_zero(&clock);
            bar = e->bar;
        }
        abc_clock_add(&clock, e);
    }
    if (bar < score->bar_count)
        score->bars[bar].length = abc_clock_now(&clock);
}

void abc_score_number(AbcScore *score)
{
    measure(score);
    int number = 1;
    bool half = false; /* the bar before is the first half of one that a sign cut in two */
    Ratio before = ratio_int(0);
    for (size_t i = 0; i < score->bar_count; i++) {
        AbcBar *bar = &score->bars[i];
        const AbcMetre *metre = &score->metres[bar->metre];
        bool shorter = !metre_free(&metre->metre) && ratio_valid(bar->length) &&
                       ratio_cmp(bar->length, metre->bar) < 0;
        bool pickup = i == 0 && shorter && score->bar_count > 1;
        bool second =
            half && !bar->ending && ratio_equal(ratio_add(before, bar->length), metre->bar);
        if (pickup || second)
            number--;
        bar->number = number++;
        half = shorter && !pickup && !second;
        before = bar->length;
    }
}

void abc_score_free(AbcScore *score)
{
    free(score->events);
    free(score->lengths);
    free(score->metres);
    free(score->bars);
    memset(score, 0, sizeof *score);
}
