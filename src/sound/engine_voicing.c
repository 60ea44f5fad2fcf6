#include "evenhand/sound/engine_voicing.h"

#include <math.h>
#include <string.h>

/* The bell is softer than the announcement: it ends a block, it does not call. */
enum { BELL_DB = -6 };

void voicing_init(Voicing *v, const VoiceBank *voices, const Mix *mix)
{
    v->voices = voices;
    v->mix = *mix;
    for (int db = VOICING_DB_MIN; db <= VOICING_DB_MAX; db++)
        v->gain[db - VOICING_DB_MIN] = mix_gain(db);
    v->share[0] = 1;
    for (int n = 1; n <= VOICING_BLOCK_MAX; n++)
        v->share[n] = (float)(1 / sqrt(n));
}

/* Decibels are added as whole numbers and looked up once, so an accent lies above a note by
 * exactly what the mix says. */
static float layer_gain(const Voicing *v, Layer layer, int extra)
{
    int db = v->mix.level[layer] + extra + v->mix.master;
    if (db < VOICING_DB_MIN)
        db = VOICING_DB_MIN;
    if (db > VOICING_DB_MAX)
        db = VOICING_DB_MAX;
    return v->gain[db - VOICING_DB_MIN];
}

/* Which click an event has: its voice, the layer that gives its level, whether it sounds. */
typedef struct {
    VoiceKind voice;
    Layer layer;
    int extra; /* dB above the layer's level */
    bool sounds;
} Click;

static Click note_click(const Mix *mix, bool accented)
{
    if (accented && mix->on[LAYER_ACCENT])
        return (Click){VOICE_ACCENT, LAYER_NOTES, mix->accent, true};
    return (Click){VOICE_NOTE, LAYER_NOTES, 0, mix->on[LAYER_NOTES]};
}

static Click event_click(const Mix *mix, const TimelineEvent *event)
{
    const bool pulse = mix->on[LAYER_PULSE];
    switch (event->kind) {
    case EVENT_COUNT_IN: /* sounds whatever is off: it says when to begin */
        return (Click){event->level == 2 ? VOICE_DOWNBEAT : VOICE_PULSE, LAYER_PULSE, 0, true};
    case EVENT_DOWNBEAT: return (Click){VOICE_DOWNBEAT, LAYER_PULSE, 0, pulse};
    case EVENT_PULSE: return (Click){VOICE_PULSE, LAYER_PULSE, 0, pulse};
    case EVENT_SUBDIVISION:
        return (Click){VOICE_SUBDIVISION, LAYER_SUBDIVISION, 0, mix->on[LAYER_SUBDIVISION]};
    case EVENT_NOTE: return note_click(mix, false);
    case EVENT_ACCENT: return note_click(mix, true);
    case EVENT_ANNOUNCE: return (Click){VOICE_ANNOUNCE, LAYER_ANNOUNCE, 0, mix->on[LAYER_ANNOUNCE]};
    case EVENT_BELL: return (Click){VOICE_BELL, LAYER_ANNOUNCE, BELL_DB, mix->on[LAYER_ANNOUNCE]};
    case EVENT_KINDS: break;
    }
    return (Click){VOICE_NOTE, LAYER_NOTES, 0, false};
}

/* The strings that one block needs: every note, and the left hand's where both play. */
static size_t block_strings(const VoicingSource *source, size_t note, const Voice **strings)
{
    const Passage *p = source->passage;
    const bool both = hands_below(p->hands) > 0;
    size_t count = 0;
    for (size_t i = note; i < passage_block_end(p, note); i++) {
        const int midi = pitch_midi(p->notes[i].pitch);
        const Voice *upper = plucks_get(source->plucks, midi);
        const Voice *lower =
            both ? plucks_get(source->plucks, pitch_midi(passage_left(p, i))) : NULL;
        if (upper && count < VOICING_BLOCK_MAX)
            strings[count++] = upper;
        if (lower && count < VOICING_BLOCK_MAX)
            strings[count++] = lower;
    }
    return count;
}

/* A chord's strings share the power, so that a chord is not louder than a note by its size. */
static void sound_guide(const Voicing *v, Mixer *m, int64_t now, const VoicingSource *source,
    const TimelineEvent *event, int64_t peak_at, float loudness)
{
    const Voice *strings[VOICING_BLOCK_MAX];
    const bool accented = event->kind == EVENT_ACCENT && v->mix.on[LAYER_ACCENT];
    const size_t count = block_strings(source, (size_t)event->note, strings);
    const float gain =
        layer_gain(v, LAYER_GUIDE, accented ? v->mix.accent : 0) * v->share[count] * loudness;
    for (size_t i = 0; i < count; i++) {
        mixer_damp(m, now, strings[i], peak_at);
        mixer_start(m, now, strings[i], peak_at, gain, source->owner);
    }
}

void voicing_sound(const Voicing *v, Mixer *m, int64_t now, const VoicingSource *source,
    const TimelineEvent *event, int64_t peak_at, float loudness)
{
    const Click click = event_click(&v->mix, event);
    if (click.sounds)
        mixer_start(m, now, voices_get(v->voices, click.voice), peak_at,
            layer_gain(v, click.layer, click.extra) * loudness, MIXER_NO_OWNER);
    if (event->note >= 0 && source->plucks && v->mix.on[LAYER_GUIDE])
        sound_guide(v, m, now, source, event, peak_at, loudness);
}
