#include "evenhand/music/pitch.h"

#include <math.h>
#include <stdio.h>

static const int semitones[7] = {0, 2, 4, 5, 7, 9, 11}; /* of C D E F G A B above C */

int pitch_midi(Pitch p)
{
    return 12 * (p.octave + 1) + semitones[p.letter] + p.alter;
}

int pitch_string(Pitch p)
{
    return 7 * p.octave + p.letter;
}

char *pitch_name(Pitch p, bool utf8, char out[PITCH_NAME_MAX])
{
    static const char *const ascii_signs[5] = {"bb", "b", "", "#", "##"};
    static const char *const utf8_signs[5] = {"♭♭", "♭", "", "♯", "♯♯"};
    int alter = p.alter < -2 ? -2 : p.alter > 2 ? 2 : p.alter;
    const char *sign = (utf8 ? utf8_signs : ascii_signs)[alter + 2];
    snprintf(out, PITCH_NAME_MAX, "%c%s%d", "CDEFGAB"[p.letter], sign, p.octave);
    return out;
}

double pitch_hertz(int midi, double a4)
{
    return a4 * pow(2.0, (midi - 69) / 12.0);
}
