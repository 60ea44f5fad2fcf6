/* How fast a tempo is in the fingers: notes a second, whatever beat its number counts. */
#include "evenhand/plan/ladder.h"

#include <inttypes.h>
#include <stdio.h>

Ratio ladder_note_rate(Tempo t, Ratio length)
{
    Ratio quarters = ratio_div(ratio_mul(t.beat, t.per_minute), ratio_int(60));
    return ratio_div(quarters, length);
}

char *ladder_rate_text(Ratio rate, char out[LADDER_RATE_MAX])
{
    Ratio near = ratio_add(ratio_mul(rate, ratio_int(10)), ratio(1, 2));
    int64_t tenths = ratio_valid(near) && near.num > 0 ? ratio_floor(near) : 0;
    if (ratio_valid(near))
        snprintf(out, LADDER_RATE_MAX, "%" PRId64 ".%d", tenths / 10, (int)(tenths % 10));
    else
        snprintf(out, LADDER_RATE_MAX, "?");
    return out;
}

Ratio ladder_note_length(const Passage *p)
{
    return passage_common_length(p);
}

/* "twice", "half", "3 times", "2/3". */
static const char *times_text(Ratio factor, char out[RATIO_TEXT_MAX + 8])
{
    char number[RATIO_TEXT_MAX];
    if (ratio_equal(factor, ratio_int(2)))
        return "twice";
    if (ratio_equal(factor, ratio(1, 2)))
        return "half";
    bool faster = ratio_cmp(factor, ratio_int(1)) > 0;
    snprintf(out, RATIO_TEXT_MAX + 8, "%s%s", ratio_text(factor, number), faster ? " times" : "");
    return out;
}

bool ladder_trap(Tempo goal, Ratio metre_beat, Ratio note_length, char out[LADDER_WORDS_MAX])
{
    out[0] = '\0';
    Ratio factor = ratio_div(goal.beat, metre_beat);
    if (!ratio_valid(factor) || factor.num <= 0 || ratio_equal(factor, ratio_int(1)))
        return false;
    Tempo other = tempo(metre_beat, goal.per_minute);
    char said[TEMPO_TEXT_MAX], instead[TEMPO_TEXT_MAX], times[RATIO_TEXT_MAX + 8];
    char rate[LADDER_RATE_MAX], other_rate[LADDER_RATE_MAX];
    ladder_rate_text(ladder_note_rate(goal, note_length), rate);
    ladder_rate_text(ladder_note_rate(other, note_length), other_rate);
    snprintf(out, LADDER_WORDS_MAX,
        "%s is %s as fast as %s in the metre's own beat: %s notes a second, not %s; check which "
        "one is meant",
        tempo_text(goal, said), times_text(factor, times), tempo_text(other, instead), rate,
        other_rate);
    return true;
}
