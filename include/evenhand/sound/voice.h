/* voice.h - the sounds: click voices from files, plucked guide tones made here.
 *
 *     soft edge        peak: |sample| exactly 1, at most 20 ms in       soft edge
 *        .-~^~-._-^|^-.__.-~-._.-._.-._.-._.-._.-._.-._.-.__.-.___.-.____.
 *     0           peak                                                 count
 *
 * A voice is mono float samples whose largest magnitude is exactly 1 and stands at `peak`:
 * the engine places that sample on the event's frame. Loaded and freed on the console thread;
 * immutable afterwards, so the audio thread may read them.
 *
 * Rates are converted by libsamplerate's best sinc rather than by code of our own: it keeps
 * the band up to 97 % of Nyquist with about 145 dB of signal to noise (its documentation),
 * which would take us a designed filter bank and its tests to equal, for something that is
 * done seven times at start-up. Because a conversion moves and rounds off a peak, the peak is
 * found and normalised again after it.
 */
#ifndef EVENHAND_SOUND_VOICE_H
#define EVENHAND_SOUND_VOICE_H

#include "evenhand/drill/timeline.h"

typedef enum {
    VOICE_DOWNBEAT,
    VOICE_PULSE,
    VOICE_SUBDIVISION,
    VOICE_NOTE,
    VOICE_ACCENT,
    VOICE_ANNOUNCE,
    VOICE_BELL,
    VOICE_KINDS
} VoiceKind;

enum {
    VOICE_SECONDS_MAX = 5,        /* a longer file is refused */
    VOICE_LEAD_MILLISECONDS = 20, /* a peak may lie at most this far after the start; what
                                   * stands before is cut, softly */
    VOICE_RATE_MIN = 8000,        /* engine rates */
    VOICE_RATE_MAX = 384000
};

typedef struct {
    float *samples;
    size_t count;
    size_t peak; /* index of the largest magnitude */
} Voice;

typedef struct VoiceBank VoiceBank;

/* File name that a kind has in the sounds directory, e.g. "downbeat.wav". */
const char *voice_file_name(VoiceKind kind);
const char *voice_word(VoiceKind kind); /* "downbeat", "pulse" ... */

/* Loads all kinds at `rate`, resampled where the file's rate differs (libsamplerate, best
 * sinc). own[kind] (may be NULL, as may `own`) is a user's file in place of directory/name.
 * Several channels are mixed to one; DC is removed, both ends get soft edges. ERROR_READ, or
 * ERROR_SOUND_FILE with the file named: no audio, empty, shorter than 2 ms, silent, longer
 * than VOICE_SECONDS_MAX, samples that are no numbers; ERROR_RANGE for the rate. NULL on
 * error. */
VoiceBank *voices_load(
    const char *directory, const char *const own[VOICE_KINDS], int rate, Error *error);
void voices_free(VoiceBank *bank); /* NULL is fine */
const Voice *voices_get(const VoiceBank *bank, VoiceKind kind);
int voices_rate(const VoiceBank *bank);

/* Plucked strings for the pitches that one passage needs (both hands' where both play). */
typedef struct PluckBank PluckBank;

/* a4: 380..480 Hz. In tune by construction: every partial is a whole multiple of the string's
 * frequency. About 1 s for low strings, 0.45 s for the highest, at most 200 kB a string at
 * 48 kHz. Strings beyond 45 % of the rate are left out. NULL on error (memory, range). */
PluckBank *plucks_make(const Passage *p, int rate, double a4, Error *error);
void plucks_free(PluckBank *bank); /* NULL is fine */
/* NULL where the bank has no such MIDI key. */
const Voice *plucks_get(const PluckBank *bank, int midi);

#endif
