/* A timeline tells frames, MIDI wants ticks. A division fits when every event's nearest tick,
 * turned into a frame again by the timeline's own rule, is the event's frame. */
#include "midi_ticks.h"

#include "evenhand/formats/midi.h"

enum { DIVISION_MAX = 32767, DIVISION_USUAL = 960, DIVISION_LEAST = 240 };

/* Quarters per frame. */
static Ratio quarters_per_frame(const Timeline *t)
{
    Ratio seconds = tempo_seconds_per_quarter(timeline_step(t)->tempo);
    return ratio_div(ratio(1, timeline_rate(t)), seconds);
}

int64_t midi_tick(const Timeline *t, int64_t frame, int division)
{
    Ratio ticks =
        ratio_mul(ratio_mul(quarters_per_frame(t), ratio_int(division)), ratio_int(frame));
    Ratio rounded = ratio_add(ticks, ratio(1, 2));
    return ratio_valid(rounded) ? ratio_floor(rounded) : -1;
}

static bool fits_one(const Timeline *t, int division)
{
    Tempo tempo = timeline_step(t)->tempo;
    size_t count = timeline_count(t);
    int rate = timeline_rate(t);
    for (size_t i = 0; i < count; i++) {
        int64_t frame = timeline_event(t, i).frame;
        int64_t tick = midi_tick(t, frame, division);
        if (tick < 0 || tempo_frame(tempo, ratio(tick, division), rate) != frame)
            return false;
    }
    return true;
}

static bool fits(const Timeline *const *timelines, size_t count, int division)
{
    for (size_t i = 0; i < count; i++)
        if (!fits_one(timelines[i], division))
            return false;
    return true;
}

/* Least denominator of a number in [low, high] (0 <= low < high < 1 or so): walks down the tree
 * of fractions (Stern and Brocot), continued-fraction-wise. 0 when it passes DIVISION_MAX. */
static int64_t least_denominator(Ratio low, Ratio high)
{
    int64_t before = 0, now = 1; /* denominators of the last two convergents */
    for (int depth = 0; depth < 64; depth++) {
        int64_t whole = ratio_floor(low);
        if (ratio_equal(low, ratio_int(whole)) || ratio_cmp(ratio_int(whole + 1), high) <= 0) {
            int64_t last = ratio_equal(low, ratio_int(whole)) ? whole : whole + 1;
            int64_t found = depth == 0 ? 1 : last * now + before;
            return found <= DIVISION_MAX ? found : 0;
        }
        int64_t next = depth == 0 ? 1 : whole * now + before;
        before = depth == 0 ? 0 : now;
        now = next;
        if (now > DIVISION_MAX)
            return 0;
        Ratio upper = ratio_div(ratio_int(1), ratio_sub(low, ratio_int(whole)));
        low = ratio_div(ratio_int(1), ratio_sub(high, ratio_int(whole)));
        high = upper;
        if (!ratio_valid(low) || !ratio_valid(high))
            return 0;
    }
    return 0;
}

/* Least common denominator of the positions that the frames can stand for; 0: too fine. */
static int64_t common_denominator(const Timeline *const *timelines, size_t count)
{
    int64_t common = 1;
    for (size_t k = 0; k < count; k++) {
        Ratio step = quarters_per_frame(timelines[k]), half = ratio_div(step, ratio_int(2));
        size_t events = timeline_count(timelines[k]);
        for (size_t i = 0; i < events; i++) {
            Ratio at = ratio_mul(step, ratio_int(timeline_event(timelines[k], i).frame));
            Ratio low = ratio_sub(at, half), high = ratio_add(at, half);
            if (!ratio_valid(low) || !ratio_valid(high))
                return 0;
            int64_t den = least_denominator(low, high);
            common = den == 0 ? 0 : common / gcd64(common, den) * den;
            if (common == 0 || common > DIVISION_MAX)
                return 0;
        }
    }
    return common;
}

int midi_division(const Timeline *const *timelines, size_t count)
{
    for (int division = DIVISION_USUAL; division <= DIVISION_MAX; division += DIVISION_USUAL)
        if (fits(timelines, count, division))
            return division;
    int64_t common = common_denominator(timelines, count);
    if (common == 0)
        return MIDI_TICKS_NEAREST;
    int64_t times = (DIVISION_LEAST + common - 1) / common; /* very coarse ones trouble readers */
    int division = (int)(common * times);
    return fits(timelines, count, division) ? division : MIDI_TICKS_NEAREST;
}
