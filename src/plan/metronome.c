#include "evenhand/plan/metronome.h"

static const int16_t numbers[METRONOME_COUNT] = {40, 42, 44, 46, 48, 50, 52, 54, 56, 58, 60, 63, 66,
    69, 72, 76, 80, 84, 88, 92, 96, 100, 104, 108, 112, 116, 120, 126, 132, 138, 144, 152, 160, 168,
    176, 184, 192, 200, 208};

int metronome_number(int index)
{
    return index >= 0 && index < METRONOME_COUNT ? numbers[index] : -1;
}

/* The nearest number strictly above (or below) a mark; the mark itself at the series' end. */
static Ratio one_step(Ratio mark, bool up)
{
    for (int i = 0; i < METRONOME_COUNT; i++) {
        Ratio number = ratio_int(numbers[up ? i : METRONOME_COUNT - 1 - i]);
        int order = ratio_cmp(number, mark);
        if (up ? order > 0 : order < 0)
            return number;
    }
    return mark;
}

Ratio metronome_step(Ratio per_minute, int steps)
{
    for (; steps > 0; steps--)
        per_minute = one_step(per_minute, true);
    for (; steps < 0; steps++)
        per_minute = one_step(per_minute, false);
    return per_minute;
}
