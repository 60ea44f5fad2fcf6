/* playing.h - one timeline played through the loopback and watched: what the player's tests with
 * real audio share. */
#ifndef EVENHAND_TESTS_SOUND_PLAYING_H
#define EVENHAND_TESTS_SOUND_PLAYING_H

#include "evenhand/sound/player.h"
#include "loopback.h"
#include "scene.h"

enum { PLAYING_POLL = 10000000, PLAYING_MS = 1000000, PLAYING_ATTEMPTS = 4 };
#define PLAYING_SECOND ((int64_t)1000000000)

typedef struct {
    Scene scene;
    Timeline *timeline;
    Engine *engine;
    Player *player;     /* NULL: nothing is begun */
    int64_t started;    /* engine frame of the timeline's frame 0 */
    int64_t ended;      /* engine frame of its end; -1 not yet */
    int64_t heard;      /* at the last poll */
    int64_t slowest;    /* poll, nanoseconds */
    uint64_t underruns; /* of all devices so far */
    uint64_t underruns_now;
} Playing;

/* The line that time must keep to: what was heard at one moment, and the rate. */
typedef struct {
    int64_t time, frame;
} Line;

/* Frames at which the timeline has a click, and whether a note with the accent is there. */
typedef struct {
    size_t count;
    int64_t frame[HEARD_MAX];
    bool accent[HEARD_MAX];
} WantedClicks;

/* Two bars of quavers with the third finger accented, after a bar of count-in; the player is
 * open, not started. Spikes for voices, 20 dB below full scale; the notes alone sound, accents
 * 6 dB above, besides the count-in: so a level can be read off. */
void playing_begin(Playing *p, int per_minute, int repetitions);
void playing_end(Playing *p); /* twice is fine */
void playing_start(Playing *p);

/* One poll, and what the player always promises: what is heard never runs back and never passes
 * what is rendered. */
void playing_poll(Playing *p);
void playing_until_heard(Playing *p, int64_t engine_frame);
void playing_to_the_end(Playing *p);
bool playing_until_state(Playing *p, PlayerState state, int64_t patience);

void playing_wanted(const Playing *p, WantedClicks *out);
Line playing_line(const Playing *p);
double line_off(const Line *line, int64_t time, int64_t frame); /* milliseconds */
int64_t line_frame(const Line *line, int64_t time);

/* Plays and records (the scenario does both) until neither the player counted underruns nor the
 * recorder lost frames: a machine that is too busy breaks the path itself, and then there is
 * nothing to measure. Fails after PLAYING_ATTEMPTS. */
void playing_undisturbed(
    void (*scenario)(Playing *p, Recording *heard), Playing *p, Recording *heard);

#endif
