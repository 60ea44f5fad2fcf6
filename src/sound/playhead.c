#include "evenhand/sound/playhead.h"

#include <string.h>

static void forget_oldest(Playhead *h, size_t how_many)
{
    h->count -= how_many;
    memmove(h->stretch, h->stretch + how_many, h->count * sizeof h->stretch[0]);
}

void playhead_take(Playhead *h, const EngineEvent *event)
{
    if (event->kind == ENGINE_RETIRED)
        return;
    const PlayheadStretch stretch = {.engine_frame = event->engine_frame,
        .timeline_frame = event->timeline_frame,
        .timeline = event->kind == ENGINE_ENDED ? NULL : event->source.timeline,
        .held = event->kind == ENGINE_PAUSED};
    /* Two at one frame: the later word counts. */
    while (h->count > 0 && h->stretch[h->count - 1].engine_frame >= stretch.engine_frame)
        h->count--;
    if (h->count == PLAYHEAD_STRETCHES)
        forget_oldest(h, 1);
    h->stretch[h->count++] = stretch;
}

bool playhead_at(const Playhead *h, int64_t engine_frame, const Timeline **timeline,
    int64_t *timeline_frame, bool *held)
{
    size_t i = h->count;
    while (i > 0 && h->stretch[i - 1].engine_frame > engine_frame)
        i--;
    if (i == 0 || !h->stretch[i - 1].timeline)
        return false;
    const PlayheadStretch *s = &h->stretch[i - 1];
    *timeline = s->timeline;
    *timeline_frame = s->timeline_frame + (s->held ? 0 : engine_frame - s->engine_frame);
    *held = s->held;
    return true;
}

void playhead_drop_before(Playhead *h, int64_t engine_frame)
{
    size_t ended = 0;
    while (ended + 1 < h->count && h->stretch[ended + 1].engine_frame <= engine_frame)
        ended++;
    forget_oldest(h, ended);
}

bool playhead_uses(const Playhead *h, const Timeline *timeline)
{
    for (size_t i = 0; i < h->count; i++)
        if (h->stretch[i].timeline == timeline)
            return true;
    return false;
}
