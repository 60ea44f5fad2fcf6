/* pitch.h - spelled pitch: a letter (a string of the harp), its alteration, its octave. */
#ifndef EVENHAND_MUSIC_PITCH_H
#define EVENHAND_MUSIC_PITCH_H

#include <stdbool.h>
#include <stdint.h>

typedef enum { LETTER_C, LETTER_D, LETTER_E, LETTER_F, LETTER_G, LETTER_A, LETTER_B } Letter;

typedef struct {
    int8_t letter; /* a Letter */
    int8_t alter;  /* semitones: -2 .. 2 */
    int8_t octave; /* scientific: middle C is C4 */
} Pitch;

enum { PITCH_NAME_MAX = 16 };

/* MIDI key number, C4 = 60 (Standard MIDI File 1.0); may fall outside 0..127. */
int pitch_midi(Pitch p);

/* Number of the string that plays it: 7 * octave + letter. Neighbouring strings differ by 1,
 * whatever the key (trade-facts 1.3, common practice). */
int pitch_string(Pitch p);

/* Scientific name: "C4", "F#5", "Bb3"; with utf8 set "F♯5", "B♭3". Returns out. */
char *pitch_name(Pitch p, bool utf8, char out[PITCH_NAME_MAX]);

/* Equal temperament, ISO 16:1975: a4 * 2^((midi - 69) / 12), in hertz. */
double pitch_hertz(int midi, double a4);

#endif
