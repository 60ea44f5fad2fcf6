/* player.h - drives an engine in real time: through PortAudio, or silently on the clock where
 * there is no device or it was lost. All functions on the console thread; the PortAudio
 * callback is inside. Time is handed in (CLOCK_MONOTONIC nanoseconds), so tests own the clock.
 */
#ifndef EVENHAND_SOUND_PLAYER_H
#define EVENHAND_SOUND_PLAYER_H

#include "evenhand/sound/engine.h"

enum { PLAYER_TEXT_MAX = 512, PLAYER_NAME_MAX = 128 };

typedef enum {
    PLAYER_CLOSED, /* no audio asked for yet */
    PLAYER_DEVICE, /* a device plays */
    PLAYER_SILENT, /* there is no device: silent, on the clock */
    PLAYER_LOST    /* the device went away: silent, on the clock; looked for again */
} PlayerState;

typedef struct {
    const char *device; /* part of its name, or its number; NULL: the default */
    int rate;           /* frames a second; 0: the device's default */
    bool silent;        /* open no device at all */
} PlayerOptions;

typedef struct {
    PlayerState state;
    char device[PLAYER_NAME_MAX]; /* cleaned for the terminal; "" none */
    int rate;
    double latency;                  /* seconds from rendering to hearing */
    uint64_t underruns;              /* reported by the device since it was opened */
    char complaint[PLAYER_TEXT_MAX]; /* last trouble in words, cleaned; "" none */
} PlayerStatus;

typedef struct Player Player;

/* Opens no device: quick, cannot complain. NULL without memory. */
Player *player_new(const PlayerOptions *options);
/* Finds and opens the device (not yet running) and so fixes the rate, which
 * player_status tells; what PortAudio prints on standard error is caught. Never fails: without
 * a device the state is PLAYER_SILENT at options.rate or 48000. */
void player_open(Player *p);
/* Runs the engine (whose rate must be the player's) from now on. */
void player_start(Player *p, Engine *engine, int64_t now);
/* Every few hundredths of a second: drives the silent clock, notices a lost device, looks for
 * it again at intervals. Returns true when the state changed. */
bool player_poll(Player *p, int64_t now);
/* Looks for the device now. Only in PLAYER_SILENT and PLAYER_LOST. */
void player_retry(Player *p, int64_t now);
/* The engine frame that the listener hears at `now`: rendered, less what is still on its way. */
int64_t player_heard(const Player *p, int64_t now);
PlayerStatus player_status(const Player *p);
/* What the audio libraries last printed on standard error, cleaned, lines kept; "" nothing. */
const char *player_printed(const Player *p);
/* Stops and closes; the engine is not touched afterwards. NULL is fine. */
void player_free(Player *p);

#endif
