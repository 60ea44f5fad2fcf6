/* timeline.h - the one timeline: every event of one session step on its exact frame.
 *
 *    frame 0                                                              timeline_frames
 *    |-- count-in --|-- repetition 0 --|-- repetition 1 --|-- tail, rest bars --|
 *
 * Frame of an event = nearest integer to beats x 60 x rate / tempo, from frame 0 of the step,
 * in integers (tempo_frame): never more than half a frame off. A Timeline is immutable once
 * made, so any thread may read it; all readers below are free of allocation, locks and system
 * calls, and O(1) or O(log n). Sound, screen, files and measurements all read this.
 */
#ifndef EVENHAND_DRILL_TIMELINE_H
#define EVENHAND_DRILL_TIMELINE_H

#include "evenhand/drill/session.h"

typedef enum {
    EVENT_COUNT_IN,    /* a pulse before the first repetition; level 2 on a bar line, else 1 */
    EVENT_DOWNBEAT,    /* first pulse of a bar */
    EVENT_PULSE,       /* other pulses */
    EVENT_SUBDIVISION, /* between pulses */
    EVENT_NOTE,        /* a note (block) without accent */
    EVENT_ACCENT,      /* a note (block) with the accent */
    EVENT_ANNOUNCE,    /* one stroke of the signal that tells what comes next */
    EVENT_BELL,        /* the end of a block of a routine */
    EVENT_KINDS
} EventKind;

typedef enum {
    SECTION_COUNT_IN,
    SECTION_PLAY,
    SECTION_REST,
    SECTION_END /* at or past the last frame */
} Section;

typedef struct {
    int64_t frame;
    EventKind kind;
    int level;      /* 2 downbeat or accent, 1 pulse, 0 the rest */
    int repetition; /* 0-based; -1 outside SECTION_PLAY */
    int32_t bar;    /* index into the passage's bars; -1 in count-in and rest */
    Ratio beat;     /* as counted in its bar */
    int32_t note;   /* passage index; -1 for pulses */
    int finger;     /* of that note; 0 none */
    int32_t group;  /* of that note; -1 none */
    int64_t length; /* frames that a note lasts; 0 otherwise */
} TimelineEvent;

/* What a listener is in the middle of at one frame. */
typedef struct {
    Section section;
    int repetition;      /* -1 outside SECTION_PLAY */
    int32_t note;        /* sounding or last struck note of this repetition; -1 before the first */
    bool accent;         /* that note carries the accent */
    int32_t bar;         /* -1 in count-in and rest */
    Ratio beat;          /* last pulse passed, as counted in its bar; 0/1 none yet */
    bool downbeat;       /* that pulse is a bar's first */
    int bars_left;       /* count-in and rest: bar lines still to come before it ends */
    int64_t since_pulse; /* frames since that pulse; -1 none yet */
} TimelinePlace;

typedef struct Timeline Timeline;

/* Makes the timeline of one step. `next` (may be NULL) shapes the announcement in the rest
 * bars. The passage must outlive the timeline; everything else is copied. NULL on error. */
Timeline *timeline_new(const Passage *p, const Fingering *f, const Rotation *r,
    const SessionStep *step, const DrillSpec *next, int rate, Error *error);
void timeline_free(Timeline *t); /* NULL is fine */
/* Silence of exactly `frames` (1 .. 2^40), with the bell on its frame 0 where `bell`: what lies
 * between two blocks of a routine. Of the passage nothing is played; it must outlive the
 * timeline. NULL on error (rate, length, memory). */
Timeline *timeline_rest(const Passage *p, int64_t frames, bool bell, int rate, Error *error);
/* The same timeline, ending at `frame` (0 .. timeline_frames): what stands before it is the same,
 * event by event and frame by frame, but that no note lasts beyond the end. NULL on error. */
Timeline *timeline_until(const Timeline *t, int64_t frame, Error *error);
/* The frame of the bar line nearest to `frame`, of two equally near the earlier: of bars counted
 * in, played and rested, and the end, which closes the last bar. */
int64_t timeline_line_near(const Timeline *t, int64_t frame);

const Passage *timeline_passage(const Timeline *t);
const SessionStep *timeline_step(const Timeline *t);
int timeline_rate(const Timeline *t);
int64_t timeline_frames(const Timeline *t); /* length of the whole step */
/* First frame of repetition k; k == repetitions gives the start of the rest. */
int64_t timeline_repetition_frame(const Timeline *t, int k);
size_t timeline_count(const Timeline *t);
/* What timeline_count would be had timeline_until not cut it. */
size_t timeline_whole_count(const Timeline *t);
/* Event i, sorted by frame; at one frame: pulses, then announcement, then notes. i < count. */
TimelineEvent timeline_event(const Timeline *t, size_t i);
/* Index of the first event at or after `frame`; count if none. */
size_t timeline_find(const Timeline *t, int64_t frame);
/* Index of the first pulse (count-in, downbeat or pulse; not subdivision) at or after `frame`;
 * count if none. */
size_t timeline_next_pulse(const Timeline *t, int64_t frame);
/* What is at frame F. frame < 0 counts as before the first event. */
TimelinePlace timeline_at(const Timeline *t, int64_t frame);
/* The accent pattern of one repetition: whether passage note i carries it. */
bool timeline_accents(const Timeline *t, int32_t note);
/* What the rhythm does to note i: 1 longer, -1 shorter, 0 as written. */
int timeline_change(const Timeline *t, int32_t note);
const char *event_word(EventKind kind); /* "count-in", "downbeat", "pulse" ... */

/* Length of a step or a session in frames or seconds without making its events. */
int64_t session_frames(const Passage *p, const Fingering *f, const Rotation *r, const Session *s,
    int rate, Error *error); /* -1 on error */

#endif
