/* engine.h - the one renderer: turns timelines into samples. Both drivers (the PortAudio
 * callback and the file writer) call engine_render; the same commands give the same samples
 * whatever the block sizes.
 *
 * Threads: engine_new/free/send/receive on the console thread; engine_render on the audio
 * thread (or the console thread, when no audio thread runs). engine_render never locks,
 * allocates, sleeps, prints or calls the operating system. The two sides share a command
 * queue, an event queue and the published position; nothing else.
 *
 * Frames: "engine frame" counts samples rendered since engine_new, pauses included. A voice's
 * peak falls on its event's frame: the engine starts it up to engine_lead frames earlier, so a
 * source that is played from engine frame n has its first frame at n + engine_lead.
 */
#ifndef EVENHAND_SOUND_ENGINE_H
#define EVENHAND_SOUND_ENGINE_H

#include "evenhand/sound/mix.h"
#include "evenhand/sound/voice.h"

enum { ENGINE_QUEUE = 256, ENGINE_VOICES = 64 };

/* The sum never passes this magnitude (-0.3 dBFS): a soft limiter bends what is above 0.7. */
#define ENGINE_LIMIT 0.966f

typedef struct Engine Engine;

/* What is played. Both are lent to the engine from the command until EVENT_RETIRED names the
 * timeline (a PluckBank may be lent with several timelines). */
typedef struct {
    const Timeline *timeline;
    const PluckBank *plucks; /* NULL: no guide tones */
} Source;

typedef enum {
    COMMAND_PLAY,   /* now: drop what plays and what is queued; start source at `from` */
    COMMAND_CHANGE, /* at the next pulse of what plays: go on in `source` at the event with the
                     * same index (same drill at another tempo: no gap, no beat lost). Given
                     * back at once where another drill plays */
    COMMAND_QUEUE,  /* when what plays has ended: go on with source at its frame 0. A second
                     * QUEUE replaces the first (which is retired) */
    COMMAND_PAUSE,  /* fade out over 5 ms and hold */
    COMMAND_RESUME,
    COMMAND_STOP, /* drop everything, with a fade */
    COMMAND_MIX   /* levels for every event from here on */
} CommandKind;

typedef struct {
    CommandKind kind;
    Source source;
    int64_t from; /* timeline frame, COMMAND_PLAY */
    Mix mix;      /* COMMAND_MIX */
} Command;

typedef enum {
    ENGINE_STARTED, /* at engine_frame the source is at timeline_frame and runs from there */
    ENGINE_RETIRED, /* the engine will not touch source again: its owner may free it */
    ENGINE_ENDED,   /* the source came to its end with nothing queued */
    ENGINE_PAUSED,
    ENGINE_RESUMED
} EngineEventKind;

typedef struct {
    EngineEventKind kind;
    Source source;
    int64_t engine_frame;
    int64_t timeline_frame;
} EngineEvent;

/* `voices` is lent until engine_free; its rate is the engine's. NULL without memory. */
Engine *engine_new(const VoiceBank *voices, const Mix *mix, Error *error);
void engine_free(Engine *e); /* does not free timelines */
int engine_rate(const Engine *e);
int64_t engine_lead(const Engine *e); /* frames */

bool engine_send(Engine *e, const Command *c);      /* false: queue full, refused and counted */
bool engine_receive(Engine *e, EngineEvent *event); /* false: nothing */
uint64_t engine_refused(const Engine *e);           /* commands and events that found no room */
/* Voices cut short because ENGINE_VOICES sounded already; any thread. */
uint64_t engine_stolen(const Engine *e);

/* Mono, |sample| <= ENGINE_LIMIT. Any number of frames. */
void engine_render(Engine *e, float *out, size_t frames);
/* Frames rendered so far; any thread. */
int64_t engine_position(const Engine *e);
/* Nothing plays and nothing rings (as of the last block); any thread. */
bool engine_idle(const Engine *e);

#endif
