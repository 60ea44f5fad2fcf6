/* fuzz_routine.c - a libFuzzer target: any bytes as a routine file. */
#include "evenhand/formats/routine_file.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void insist(bool holds)
{
    if (!holds)
        abort();
}

static void check_block(const RoutineBlock *b)
{
    char word[DRILL_TEXT_MAX];
    insist(b->title[0] != '\0' && memchr(b->title, '\0', sizeof b->title) != NULL);
    insist((b->seconds > 0) != (b->repetitions > 0));
    insist(b->seconds == 0 || b->seconds > b->rest);
    insist(b->rest >= ROUTINE_BELL && b->rest <= ROUTINE_REST_MAX && b->line >= 1);
    insist(b->drill_count >= 0 && b->drill_count <= ROUTINE_DRILLS_MAX);
    insist(b->passage[0] != '\0' || (b->drill_count == 0 && !b->has_ladder));
    for (int i = 0; i < b->drill_count; i++)
        insist(drill_word(&b->drills[i], word)[0] != '\0');
    if (b->tempo.per_minute.num != 0)
        insist(b->tempo.per_minute.den > 0 &&
               ratio_cmp(b->tempo.per_minute, ratio_int(TEMPO_MAX)) <= 0);
    if (b->has_ladder)
        insist(ratio_cmp(b->ladder.start.per_minute, b->ladder.goal.per_minute) <= 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    Routine r, one;
    Error error = {0};
    if (!routine_read((const char *)data, size, &r, &error)) {
        insist(error.kind != ERROR_NONE && r.blocks == NULL);
        return 0;
    }
    insist(r.count >= 1 && r.count <= ROUTINE_BLOCKS_MAX);
    int counted, seconds = routine_seconds(&r, &counted);
    insist(r.seconds == 0 || (counted == 0 && seconds == r.seconds));
    for (int i = 0; i < r.count; i++)
        check_block(&r.blocks[i]);
    if (routine_for(&r, r.blocks[r.count - 1].student, &one, &error))
        routine_free(&one);
    routine_free(&r);
    return 0;
}
