/* player_state.h - the player's insides, for player.c (opening, the silent clock, what is
 * heard) and player_device.c (watching a device, losing it, picking it up). Private to
 * src/sound; console thread.
 *
 *              player_open           blocks stop, stream ends
 *   CLOSED ----+--------> DEVICE -------------------------+
 *              |            ^                             v
 *              |            | engine handed over        LOST   looks again after 1, 2, 4 .. 16 s
 *              v            | on an exact frame           |
 *            SILENT --------+---- stream runs, steady ----+
 *               looks again when asked
 */
#ifndef EVENHAND_SOUND_PLAYER_STATE_PRIVATE_H
#define EVENHAND_SOUND_PLAYER_STATE_PRIVATE_H

#include "evenhand/sound/player.h"
#include "player_clock.h"
#include "player_keeper.h"
#include "silence.h"

enum { PRINTED_MAX = 4096 };

struct Player {
    char *wanted; /* device, or NULL */
    bool silent;
    PlayerState state;
    int rate; /* 0 until it is fixed */
    char device[PLAYER_NAME_MAX];
    double latency; /* seconds, as the stream tells it */
    char complaint[PLAYER_TEXT_MAX];
    char printed[PRINTED_MAX];

    Bridge *bridge;
    Keeper *keeper;   /* NULL: no device is ever opened */
    Silence *silence; /* NULL: standard error is as it was */
    Engine *engine;   /* NULL until player_start */

    FrameClock clock; /* what is heard when; while silent, what is rendered when */
    bool fixed;       /* the clock holds; false until a device's first block */
    int64_t floor;    /* heard at the last poll; nothing earlier is told again */
    int64_t polled;   /* time of the last poll */

    int64_t end;      /* stream frames at the last poll */
    int64_t deadline; /* for the next block */

    bool looking;       /* PortAudio is started afresh to find the device */
    bool picking_up;    /* a stream runs and plays silence until it is steady */
    FrameClock stream;  /* meanwhile: its frames against time */
    int steady;         /* polls in a row that agreed with it */
    int64_t retry_at;   /* when to look next, LOST only */
    int64_t retry_wait; /* and how long after that */
};

void player_complain(Player *p, const char *text);
/* Holds standard error back while the keeper works. */
void player_hush(Player *p);
/* The silent clock: renders, unheard, what is due by now. */
void player_keep_time(Player *p, int64_t now);
/* Renders, unheard, up to an engine frame. */
void player_render_to(Player *p, int64_t frame);

void player_run_device(Player *p, int64_t now);   /* the opened stream starts, the engine its own */
void player_watch_device(Player *p, int64_t now); /* PLAYER_DEVICE's poll */
void player_seek_device(Player *p, int64_t now);  /* PLAYER_SILENT's and PLAYER_LOST's poll */

#endif
