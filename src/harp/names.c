#include "evenhand/harp/instrument.h"

#include <stdio.h>
#include <string.h>

/* Harpists count octaves from the top; one runs from E down to F, so that C D E belong with the
 * F G A B below them. [src: Morley Harps, Compass explained; calculated] */
static int harp_octave(Pitch p)
{
    return (p.letter <= LETTER_E ? 8 : 7) - p.octave;
}

char *names_pitch(Pitch p, Names names, bool utf8, char out[PITCH_NAME_MAX])
{
    static const char *const syllables[7] = {"do", "re", "mi", "fa", "sol", "la", "si"};
    if (names != NAMES_HARP && names != NAMES_SYLLABLES)
        return pitch_name(p, utf8, out);
    char scientific[PITCH_NAME_MAX]; /* its signs are used: letter, signs, octave */
    pitch_name(p, utf8, scientific);
    const char *signs = scientific + 1;
    int length = (int)strcspn(signs, "-0123456789");
    if (names == NAMES_HARP)
        snprintf(out, PITCH_NAME_MAX, "%c%.*s%d", scientific[0], length, signs, harp_octave(p));
    else
        snprintf(
            out, PITCH_NAME_MAX, "%s%.*s%d", syllables[p.letter], length, signs, (int)p.octave);
    return out;
}

const char *names_label(Names names)
{
    static const char *const labels[NAMES_KINDS] = {
        "scientific octaves", "harp octaves", "fixed do"};
    return (unsigned)names < NAMES_KINDS ? labels[names] : labels[NAMES_SCIENTIFIC];
}

bool names_parse(const char *text, Names *out, Error *error)
{
    static const char *const words[NAMES_KINDS] = {"scientific", "harp", "do"};
    for (int i = 0; i < NAMES_KINDS; i++)
        if (strcmp(text, words[i]) == 0) {
            *out = (Names)i;
            return true;
        }
    return error_set(error, ERROR_USAGE, "names are scientific, harp or do, not \"%.24s\"", text);
}
