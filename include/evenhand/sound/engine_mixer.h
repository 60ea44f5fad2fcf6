/* engine_mixer.h - the engine's sounding slots: which samples sound from which frame, summed
 * and held below the limit. A part of the engine; nobody else needs it.
 *
 *              start        release (fade)   end
 *      clock ----|-------------|~~~~~|--------|--->     one slot
 *
 * All frames are absolute on the engine's clock, and what a slot adds to a frame depends on
 * that frame alone: cutting the time into other blocks cannot change a sample.
 *
 * Threads: whoever renders. Nothing here allocates, locks or calls the operating system.
 */
#ifndef EVENHAND_SOUND_ENGINE_MIXER_H
#define EVENHAND_SOUND_ENGINE_MIXER_H

#include "evenhand/sound/voice.h"

/* MIXER_VOICES may sound at a time; the other slots are there for what is being faded out. */
enum { MIXER_VOICES = 64, MIXER_SLOTS = 2 * MIXER_VOICES, MIXER_NO_OWNER = -1 };

typedef struct {
    const Voice *voice;
    int64_t start;   /* clock of its first sample */
    int64_t end;     /* clock after its last; the slot is free from here on */
    int64_t release; /* clock at which a fade to nothing begins; INT64_MAX: none */
    float gain;
    int owner; /* which lent source its samples belong to */
} Slot;

typedef struct {
    Slot slot[MIXER_SLOTS];
    size_t top;      /* slots from here on are free */
    int64_t fade;    /* frames that a release takes, >= 1 */
    uint64_t stolen; /* voices cut short or left out for want of a slot */
} Mixer;

/* `fade` in frames. */
void mixer_init(Mixer *m, int64_t fade);
/* Places the voice's peak on clock frame `peak_at`. Where MIXER_VOICES sound already, the
 * quietest of them is faded out from the new one's start. `now` is the clock. */
void mixer_start(Mixer *m, int64_t now, const Voice *voice, int64_t peak_at, float gain, int owner);
/* Fades out every sounding slot of one voice from the moment that a new start with its peak
 * at `peak_at` sounds: a string that is plucked anew stops its old ring. */
void mixer_damp(Mixer *m, int64_t now, const Voice *voice, int64_t peak_at);
/* Fades out all; what has not begun never will. */
void mixer_release_all(Mixer *m, int64_t now);
/* Silence at once (for when nothing is heard anyway). */
void mixer_clear(Mixer *m);
bool mixer_idle(const Mixer *m, int64_t now);
/* Marks in used[] (`owners` long) the owners whose samples a slot still needs. */
void mixer_owners(const Mixer *m, int64_t now, bool *used, int owners);
/* Writes frames [now, now + frames), limited. */
void mixer_render(Mixer *m, int64_t now, float *out, size_t frames);

#endif
