/* mix.h - which layers sound and how loud; plain data. Levels in decibels, 0 dB = full scale. */
#ifndef EVENHAND_SOUND_MIX_H
#define EVENHAND_SOUND_MIX_H

#include <stdbool.h>

typedef enum {
    LAYER_PULSE, /* count-in (which sounds even with the layer off), downbeats, pulses */
    LAYER_SUBDIVISION,
    LAYER_NOTES,    /* every note */
    LAYER_ACCENT,   /* accents; off: an accented note sounds as any other */
    LAYER_GUIDE,    /* plucked strings at the notes' pitch */
    LAYER_ANNOUNCE, /* the signal that tells what comes next; the bell, a little softer */
    LAYER_KINDS
} Layer;

enum { MIX_DB_MIN = -60, MIX_DB_MAX = 0, ACCENT_DB_MIN = 0, ACCENT_DB_MAX = 12 };

typedef struct {
    bool on[LAYER_KINDS];
    int level[LAYER_KINDS]; /* dB, MIX_DB_MIN..MIX_DB_MAX; unused for LAYER_ACCENT */
    int accent;             /* dB that an accent lies above a note; default +6 */
    int master;             /* dB, MIX_DB_MIN..MIX_DB_MAX; starts quiet */
} Mix;

Mix mix_default(void);
const char *layer_word(Layer layer); /* "pulse", "subdivision", "notes" ... */
/* Linear gain of a level in dB. */
float mix_gain(int decibels);

#endif
