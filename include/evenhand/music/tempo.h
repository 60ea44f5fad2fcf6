/* tempo.h - a beat unit and how many of it go into a minute; exact. */
#ifndef EVENHAND_MUSIC_TEMPO_H
#define EVENHAND_MUSIC_TEMPO_H

#include "evenhand/music/ratio.h"

enum { TEMPO_TEXT_MAX = 64 };

/* Stated range of `per_minute`: 10 to 400 beats a minute. */
enum { TEMPO_MIN = 10, TEMPO_MAX = 400 };

typedef struct {
    Ratio beat;       /* length of the beat that is counted, in quarters: 1, 3/2 ... */
    Ratio per_minute; /* beats a minute; need not be whole */
} Tempo;

Tempo tempo(Ratio beat, Ratio per_minute);
bool tempo_valid(Tempo t); /* beat > 0 and per_minute within the stated range */
/* Seconds that one quarter lasts, exact: 60 / (beat * per_minute). */
Ratio tempo_seconds_per_quarter(Tempo t);
/* Nearest frame (halves up) to `quarters` after frame 0 at `rate` frames a second. Exact in
 * 128-bit integers; -1 when it does not fit 62 bits. */
int64_t tempo_frame(Tempo t, Ratio quarters, int rate);
/* "1/4 = 72", "3/8 = 60", "1/4 = 72.5" (a beat as a fraction of a whole note, as ABC's Q:);
 * at most three decimals, rounded to the nearest. Returns out. */
char *tempo_text(Tempo t, char out[TEMPO_TEXT_MAX]);

#endif
