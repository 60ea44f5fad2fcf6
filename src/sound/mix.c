#include "evenhand/sound/mix.h"

#include <math.h>

/* The default sounds like this: beats and notes balanced, accents on top, 12 dB in hand until
 * the listener has found the level keys. The highest sum of one event, an accent on a downbeat
 * with the guide tone on, stays below the limiter's knee. */
Mix mix_default(void)
{
    const Mix mix = {
        .on =
            {
                [LAYER_PULSE] = true,
                [LAYER_SUBDIVISION] = false,
                [LAYER_NOTES] = true,
                [LAYER_ACCENT] = true,
                [LAYER_GUIDE] = false,
                [LAYER_ANNOUNCE] = true,
            },
        .level =
            {
                [LAYER_PULSE] = -6,
                [LAYER_SUBDIVISION] = -12,
                [LAYER_NOTES] = -9,
                [LAYER_ACCENT] = 0,
                [LAYER_GUIDE] = -6,
                [LAYER_ANNOUNCE] = -6,
            },
        .accent = 6,
        .master = -12,
    };
    return mix;
}

const char *layer_word(Layer layer)
{
    static const char *const words[LAYER_KINDS] = {
        [LAYER_PULSE] = "pulse",
        [LAYER_SUBDIVISION] = "subdivision",
        [LAYER_NOTES] = "notes",
        [LAYER_ACCENT] = "accent",
        [LAYER_GUIDE] = "guide",
        [LAYER_ANNOUNCE] = "announcement",
    };
    return (unsigned)layer < LAYER_KINDS ? words[layer] : "";
}

float mix_gain(int decibels)
{
    return (float)pow(10.0, decibels / 20.0);
}
