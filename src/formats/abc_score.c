#include "abc_score.h"

#include <stdlib.h>
#include <string.h>

static bool more_room(void **array, size_t *room, size_t item)
{
    size_t bigger = *room == 0 ? 64 : *room * 2;
    void *moved = realloc(*array, bigger * item);
    if (moved == NULL)
        return false;
    *array = moved;
    *room = bigger;
    return true;
}

AbcEvent *abc_score_add(AbcScore *score, AbcKind kind, int line, int column)
{
    if (score->count == score->room) {
        void *events = score->events;
        if (!more_room(&events, &score->room, sizeof *score->events))
            return NULL;
        score->events = events;
    }
    AbcEvent *e = &score->events[score->count++];
    *e = (AbcEvent){.kind = (uint8_t)kind, .line = line, .column = column};
    if (kind == ABC_ENDING)
        score->ending = true;
    if (kind != ABC_NOTE && kind != ABC_REST)
        score->in_bar = false;
    return e;
}

int32_t abc_score_bar(AbcScore *score, const Metre *m)
{
    if (score->in_bar)
        return (int32_t)score->bar_count - 1;
    if (score->bar_count >= PASSAGE_BARS_MAX)
        return -1;
    if (score->bar_count == score->bar_room) {
        void *bars = score->bars;
        if (!more_room(&bars, &score->bar_room, sizeof *score->bars))
            return -1;
        score->bars = bars;
    }
    score->bars[score->bar_count] =
        (AbcBar){.metre = *m, .length = ratio_int(0), .ending = score->ending};
    score->in_bar = true;
    score->ending = false;
    return (int32_t)score->bar_count++;
}

static void measure(AbcScore *score)
{
    for (size_t i = 0; i < score->count; i++) {
        const AbcEvent *e = &score->events[i];
        if ((e->kind == ABC_NOTE || e->kind == ABC_REST) && !e->more) {
            AbcBar *bar = &score->bars[e->bar];
            bar->length = ratio_add(bar->length, e->length);
        }
    }
}

void abc_score_number(AbcScore *score)
{
    measure(score);
    int number = 1;
    bool half = false; /* the bar before is the first half of one that a sign cut in two */
    Ratio before = ratio_int(0);
    for (size_t i = 0; i < score->bar_count; i++) {
        AbcBar *bar = &score->bars[i];
        Ratio full = metre_bar(&bar->metre);
        bool shorter = !metre_free(&bar->metre) && ratio_valid(bar->length) &&
                       ratio_cmp(bar->length, full) < 0;
        bool pickup = i == 0 && shorter && score->bar_count > 1;
        bool second = half && !bar->ending && ratio_equal(ratio_add(before, bar->length), full);
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
    free(score->bars);
    memset(score, 0, sizeof *score);
}
