#include "player_state.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    RATE_FALLBACK = 48000,
    SCRATCH = 1024 /* frames rendered at a time on the silent clock */
};

#define OPEN_PATIENCE ((int64_t)3 * CLOCK_SECOND) /* for the audio system to answer at first */
#define GAP_MOST ((int64_t)2 * CLOCK_SECOND)      /* of the silent clock, see player_keep_time */

Player *player_new(const PlayerOptions *options)
{
    Player *p = calloc(1, sizeof *p);

    if (p == NULL)
        return NULL;
    p->silent = options->silent;
    p->rate = options->rate;
    p->wanted = options->device != NULL ? strdup(options->device) : NULL;
    p->bridge = bridge_new();
    if (p->bridge == NULL || (options->device != NULL && p->wanted == NULL)) {
        player_free(p);
        return NULL;
    }
    return p;
}

void player_free(Player *p)
{
    if (p == NULL)
        return;
    if (p->bridge != NULL)
        bridge_withdraw(p->bridge);
    if (p->keeper != NULL)
        keeper_free(p->keeper); /* and the bridge */
    else
        bridge_free(p->bridge);
    silence_end(p->silence);
    free(p->wanted);
    free(p);
}

/* ---- standard error ------------------------------------------------------------------------- */

void player_hush(Player *p)
{
    if (p->silence == NULL)
        p->silence = silence_begin();
}

/* PortAudio's audio thread prints too, when a device goes away, at any time: where that would
 * go to a terminal, standard error stays held back as long as the player is there. */
static void unhush(Player *p)
{
    char text[PRINTED_MAX];

    if (p->silence == NULL || keeper_busy(p->keeper))
        return;
    if (silence_take(p->silence, text, sizeof text) > 0)
        snprintf(p->printed, sizeof p->printed, "%s", text);
    if (silence_guards_terminal(p->silence))
        return;
    silence_end(p->silence);
    p->silence = NULL;
}

const char *player_printed(const Player *p)
{
    return p->printed;
}

void player_complain(Player *p, const char *text)
{
    snprintf(p->complaint, sizeof p->complaint, "%s", text);
}

/* ---- opening and starting ------------------------------------------------------------------- */

static void open_device(Player *p)
{
    p->keeper = keeper_new(p->bridge, p->wanted);
    if (p->keeper == NULL) {
        player_complain(p, "There is no memory for the audio system.");
        return;
    }
    player_hush(p);
    keeper_open(p->keeper, p->rate, false);
    if (!keeper_wait(p->keeper, OPEN_PATIENCE)) {
        player_complain(p, "The audio system does not answer.");
        return;
    }
    StreamReport r = keeper_report(p->keeper);
    player_complain(p, r.trouble);
    if (r.state == STREAM_OPEN) {
        p->state = PLAYER_DEVICE;
        p->rate = r.rate;
        p->latency = r.latency;
        memcpy(p->device, r.device, sizeof p->device);
    }
    unhush(p);
}

void player_open(Player *p)
{
    if (p->state != PLAYER_CLOSED)
        return;
    p->state = PLAYER_SILENT;
    if (!p->silent)
        open_device(p);
    if (p->rate == 0)
        p->rate = RATE_FALLBACK;
}

void player_start(Player *p, Engine *engine, int64_t now)
{
    if (p->state == PLAYER_CLOSED)
        p->state = PLAYER_SILENT;
    if (p->state == PLAYER_DEVICE && engine_rate(engine) != p->rate) {
        player_complain(p, "The sounds were made for another rate than the device's.");
        p->state = PLAYER_SILENT;
        keeper_close(p->keeper);
    }
    p->engine = engine;
    p->rate = engine_rate(engine);
    p->floor = engine_position(engine);
    p->polled = now;
    p->retry_wait = CLOCK_SECOND;
    p->clock = (FrameClock){.frame = p->floor, .time = now, .rate = p->rate};
    p->fixed = p->state != PLAYER_DEVICE;
    if (p->state == PLAYER_DEVICE)
        player_run_device(p, now);
}

/* ---- the silent clock ----------------------------------------------------------------------- */

void player_render_to(Player *p, int64_t frame)
{
    float scratch[SCRATCH];

    for (int64_t left = frame - engine_position(p->engine); left > 0; left -= SCRATCH)
        engine_render(p->engine, scratch, left < SCRATCH ? (size_t)left : SCRATCH);
}

/* Bounded: a gap of more than GAP_MOST means that the process stood still; then the drill goes
 * on from where it stood, as it does with a device. */
void player_keep_time(Player *p, int64_t now)
{
    int64_t position = engine_position(p->engine);

    if (now - clock_time(&p->clock, position) > GAP_MOST) {
        p->clock.frame = position;
        p->clock.time = now;
        return;
    }
    player_render_to(p, clock_frame(&p->clock, now));
}

/* ---- what the console asks ------------------------------------------------------------------ */

bool player_poll(Player *p, int64_t now)
{
    if (p->engine == NULL)
        return false;
    PlayerState before = p->state;
    p->floor = player_heard(p, now);
    if (p->state == PLAYER_DEVICE) {
        player_watch_device(p, now);
    } else {
        player_keep_time(p, now);
        player_seek_device(p, now);
    }
    p->polled = now;
    unhush(p);
    return p->state != before;
}

int64_t player_heard(const Player *p, int64_t now)
{
    if (p->engine == NULL || !p->fixed)
        return p->floor;
    int64_t heard = clock_frame(&p->clock, now);
    int64_t rendered = engine_position(p->engine);
    if (heard < p->floor)
        heard = p->floor;
    return heard < rendered ? heard : rendered;
}

PlayerStatus player_status(const Player *p)
{
    PlayerStatus s = {.state = p->state, .rate = p->rate};

    memcpy(s.complaint, p->complaint, sizeof s.complaint);
    if (p->state != PLAYER_DEVICE)
        return s;
    memcpy(s.device, p->device, sizeof s.device);
    s.latency = p->latency;
    s.underruns = bridge_underruns(p->bridge);
    return s;
}
