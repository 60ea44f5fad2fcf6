#include "options_ladder.h"

#include "evenhand/app/values.h"

#include <stdio.h>
#include <string.h>

bool read_from(Options *o, const char *value, Error *error)
{
    return value_tempo(value, "--from", &o->ladder.from, error);
}

bool read_to(Options *o, const char *value, Error *error)
{
    return value_tempo(value, "--to", &o->ladder.to, error);
}

bool read_by(Options *o, const char *value, Error *error)
{
    char number[16] = "";
    size_t size = strlen(value);
    bool percent = size > 0 && value[size - 1] == '%';
    LadderWishes *w = &o->ladder;
    w->has_by = true;
    w->by = LADDER_BY_NUMBERS;
    if (strcmp(value, ladder_by_word(LADDER_BY_NUMBERS)) == 0)
        return true;
    w->by = percent ? LADDER_BY_PERCENT : LADDER_BY_AMOUNT;
    size -= percent ? 1 : 0;
    if (size < sizeof number)
        memcpy(number, value, size);
    Ratio least = percent ? ratio_int(1) : ratio(1, 2);
    return (value_decimal(number, "--by", 0, 50, &w->amount, NULL) &&
               ratio_cmp(w->amount, least) >= 0) ||
           error_set(error, ERROR_USAGE,
               "--by takes numbers, 1%% to 50%%, or 0.5 to 50 beats a minute; of the record passage, "
               "drill, student or day, not '%.60s'",
               value);
}

bool read_pattern(Options *o, const char *value, Error *error)
{
    for (int i = LADDER_STRAIGHT; i <= LADDER_CLEAN; i++) {
        if (strcmp(value, ladder_pattern_word((LadderPattern)i)) != 0)
            continue;
        o->ladder.has_pattern = true;
        o->ladder.pattern = (LadderPattern)i;
        return true;
    }
    if (strncmp(value, "clean-", 6) == 0 &&
        value_int(value + 6, "--pattern", 1, LADDER_CLEAN_MAX, &o->ladder.clean, NULL)) {
        o->ladder.has_pattern = true;
        o->ladder.pattern = LADDER_CLEAN;
        return true;
    }
    return error_set(error, ERROR_USAGE,
        "--pattern takes straight, two-up or clean, or clean-1 to clean-%d, not '%.60s'",
        LADDER_CLEAN_MAX, value);
}

bool read_clean(Options *o, const char *value, Error *error)
{
    return value_int(value, "--clean", 1, LADDER_CLEAN_MAX, &o->ladder.clean, error);
}

bool read_above(Options *o, const char *value, Error *error)
{
    return value_int(value, "--above", 0, LADDER_ABOVE_MAX, &o->ladder.above, error);
}

bool read_notes_per_beat(Options *o, const char *value, Error *error)
{
    return value_int(
        value, "--notes-per-beat", 1, OPTION_BEAT_NOTES_MAX, &o->ladder.beat_notes, error);
}
