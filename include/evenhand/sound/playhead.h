/* playhead.h - which timeline frame sounds at engine frame F: kept on the console thread from
 * the engine's events. Plain, no thread, no clock.
 *
 *     engine frame   ----|---------------|-------|-----------|------->
 *     stretches      A from 0      A held at 900   A from 900   B from 0
 *
 * The engine tells of every stretch in order and by the time it has rendered its first frame,
 * so a listener, who hears frames later than that, is always inside a stretch already told.
 */
#ifndef EVENHAND_SOUND_PLAYHEAD_H
#define EVENHAND_SOUND_PLAYHEAD_H

#include "evenhand/sound/engine.h"

enum { PLAYHEAD_STRETCHES = 32 };

typedef struct {
    int64_t engine_frame;     /* from here ... */
    int64_t timeline_frame;   /* ... this frame of the timeline, running unless held */
    const Timeline *timeline; /* NULL: nothing plays */
    bool held;
} PlayheadStretch;

/* Zero it to begin with. */
typedef struct {
    PlayheadStretch stretch[PLAYHEAD_STRETCHES]; /* the latest ones, oldest first */
    size_t count;
} Playhead;

/* Takes STARTED, PAUSED, RESUMED, ENDED and passes over RETIRED. A retired timeline stays
 * valid for questions as long as playhead_uses names it: drop what was heard, then free what
 * is no longer used. Beyond PLAYHEAD_STRETCHES the oldest is forgotten. */
void playhead_take(Playhead *h, const EngineEvent *event);
/* Where the listener is at engine frame F: false when nothing plays there. */
bool playhead_at(const Playhead *h, int64_t engine_frame, const Timeline **timeline,
    int64_t *timeline_frame, bool *held);
/* Drops stretches that ended before engine frame F; the one that F is in stays. */
void playhead_drop_before(Playhead *h, int64_t engine_frame);
/* Whether a stretch still names this timeline. */
bool playhead_uses(const Playhead *h, const Timeline *timeline);

#endif
