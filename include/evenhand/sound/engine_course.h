/* engine_course.h - what plays, what comes after it, and which event is due. A part of the
 * engine; all of it belongs to whoever renders.
 *
 * The engine's clock counts the frames that were not held by a pause. At clock frame c the
 * events whose frame is heard at c + lead are decided: their voices start within the lead, so
 * that all peaks, early and late ones, stand where they belong.
 *
 *      c (deciding: `leading`)                 c + lead
 *      |-- voices start somewhere in here --->| peaks
 *      what is heard at c is `heard`: the source that led one lead ago; the marks between say
 *      at which clock frame the heard one changes
 *
 * A command that brings a source lends it: it takes an entry of the table, and the entry is
 * reported RETIRED once no role, mark or sounding string needs it any more.
 */
#ifndef EVENHAND_SOUND_ENGINE_COURSE_H
#define EVENHAND_SOUND_ENGINE_COURSE_H

#include "evenhand/sound/engine.h"
#include "evenhand/sound/engine_mixer.h"
#include "evenhand/sound/engine_voicing.h"
#include "evenhand/sound/spsc.h"

enum {
    COURSE_MARKS = 16,              /* changes of what is heard within one lead */
    COURSE_LENT = MIXER_SLOTS + 32, /* every slot's owner, every role, every mark, and some */
    COURSE_NONE = MIXER_NO_OWNER    /* no entry */
};

/* At clock frame `at` the listener comes to a new source, or (ended) to the end of one. */
typedef struct {
    int64_t at;
    int64_t timeline_frame;
    int lent;
    bool ended;
} Mark;

typedef struct {
    Source lent[COURSE_LENT]; /* timeline NULL: a free entry */
    int lent_count;

    int leading;  /* events are decided from it ... */
    int64_t base; /* ... its frame 0 is heard at this clock frame */
    size_t next;  /* first event not yet decided */
    int changing; /* takes over when event change_at of `leading` is due */
    size_t change_at;
    int queued; /* follows when `leading` ends */

    int heard;
    int64_t heard_base;
    Mark mark[COURSE_MARKS]; /* sorted by `at` */
    size_t mark_count;

    int64_t lead;
    int64_t ramp_start; /* clock; loudness rises for a second from here */
    int64_t ramp_frames;
    int64_t held;    /* engine frame = clock + held */
    uint64_t missed; /* events that found no room */
    Queue *events;
    Mixer mixer;
    Voicing voicing;
} Course;

void course_init(Course *c, int64_t lead, int rate, Queue *events);
/* Room for one more lent source. */
bool course_can_lend(const Course *c);

/* The commands, at clock frame `now`. The source has a timeline. `silent`: nothing was heard
 * before, so the loudness rises gently. */
void course_play(Course *c, int64_t now, const Source *source, int64_t from, bool silent);
void course_change(Course *c, int64_t now, const Source *source);
void course_queue(Course *c, int64_t now, const Source *source);
void course_stop(Course *c, int64_t now);

/* Nothing plays, nothing is about to. */
bool course_empty(const Course *c);
/* Does all that is due at `now`. */
void course_decide(Course *c, int64_t now);
/* Frames from `now` (after course_decide) to the next thing due; at least 1. */
int64_t course_until_next(const Course *c, int64_t now);
/* Tells of what is heard now (PAUSED, RESUMED). */
void course_tell(Course *c, int64_t now, EngineEventKind kind);
/* Reports the entries that nothing needs any more, as far as the event queue has room. */
void course_retire(Course *c, int64_t now);

#endif
