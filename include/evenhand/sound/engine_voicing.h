/* engine_voicing.h - with which voices, how loud, an event of the timeline sounds. A part of
 * the engine: change here (and in mix.c's defaults) what a listener hears for an event. */
#ifndef EVENHAND_SOUND_ENGINE_VOICING_H
#define EVENHAND_SOUND_ENGINE_VOICING_H

#include "evenhand/sound/engine_mixer.h"
#include "evenhand/sound/mix.h"

enum {
    /* level + accent + master, whatever a Mix holds */
    VOICING_DB_MIN = 2 * MIX_DB_MIN,
    VOICING_DB_MAX = 2 * MIX_DB_MAX + ACCENT_DB_MAX,
    VOICING_BLOCK_MAX = 2 * PASSAGE_BLOCK_MAX /* a chord, in octaves */
};

typedef struct {
    const VoiceBank *voices;
    Mix mix;
    float gain[VOICING_DB_MAX - VOICING_DB_MIN + 1]; /* made ahead, so that no callback needs */
    float share[VOICING_BLOCK_MAX + 1];              /* libm: 1 / sqrt(strings of a chord) */
} Voicing;

void voicing_init(Voicing *v, const VoiceBank *voices, const Mix *mix);

typedef struct {
    const Passage *passage;
    const PluckBank *plucks; /* NULL: no guide tones */
    int owner;               /* of the plucks, for the mixer */
} VoicingSource;

/* Starts what the event asks for in the mixer, all peaks on clock frame `peak_at`. `loudness`
 * scales it all (the ramp at the start). */
void voicing_sound(const Voicing *v, Mixer *m, int64_t now, const VoicingSource *source,
    const TimelineEvent *event, int64_t peak_at, float loudness);

#endif
