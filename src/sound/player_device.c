#include "player_state.h"

#include <string.h>

enum {
    MILLISECOND = 1000000,
    STEADY = 6 /* polls that must agree before a device is handed the engine */
};

#define STEADY_WITHIN ((int64_t)MILLISECOND)        /* ... to this */
#define START_PATIENCE ((int64_t)3 * CLOCK_SECOND)  /* a sound server may first play out silence */
#define BLOCK_PATIENCE ((int64_t)500 * MILLISECOND) /* between two blocks of a running device */
#define AWAY ((int64_t)250 * MILLISECOND)           /* between polls: the process stood still */
#define TAKE_AHEAD 150 /* milliseconds from the offer of the engine to the frame it is for */
#define FADE_PART 200  /* of a second: 5 ms, over which a device that is back comes in */
#define RETRY_FIRST ((int64_t)CLOCK_SECOND)
#define RETRY_MOST ((int64_t)16 * CLOCK_SECOND)

/* When the block's first frame is heard, on our clock. A device that never says (the first
 * blocks, which fill its buffer, are rightly "at once") gets what the stream told at opening. */
static int64_t heard_at(const Player *p, const BridgeBlock *block)
{
    int64_t at = block->dac > block->called ? block->dac : block->called;

    if (block->dac <= block->called && (double)block->stream_frame > p->latency * p->rate)
        at += (int64_t)(p->latency * CLOCK_SECOND);
    return at - keeper_clock_offset(p->keeper);
}

/* Past the blocks that fill the device's buffer before it plays the first. */
static bool flows(const Player *p, const BridgeBlock *block)
{
    return (double)block->stream_frame > 2 * p->latency * p->rate;
}

/* The latest block, and whether it is a new one; false when they have stopped coming. While
 * the whole process stood still none could come, which is not the device's fault. */
static bool follow_blocks(Player *p, int64_t now, BridgeBlock *block, bool *fresh)
{
    bool away = now - p->polled > AWAY;

    *fresh = bridge_read(p->bridge, block) && block->end != p->end;
    if (*fresh)
        p->end = block->end;
    if ((*fresh && flows(p, block)) || (away && p->deadline < now + BLOCK_PATIENCE))
        p->deadline = now + BLOCK_PATIENCE;
    return now <= p->deadline;
}

static void start_stream(Player *p, int64_t now)
{
    p->end = 0;
    p->deadline = now + START_PATIENCE;
    player_hush(p);
    keeper_run(p->keeper);
}

void player_run_device(Player *p, int64_t now)
{
    bridge_offer(p->bridge, p->engine, 0, 0);
    start_stream(p, now);
}

/* ---- losing it ------------------------------------------------------------------------------ */

static void lose(Player *p, int64_t now, const char *why)
{
    bridge_withdraw(p->bridge);
    player_hush(p);
    keeper_close(p->keeper);
    p->state = PLAYER_LOST;
    player_complain(p, why);
    if (!p->fixed) { /* it never came to a sound: time begins now */
        p->clock.frame = p->floor;
        p->clock.time = now;
        p->fixed = true;
    }
    p->retry_wait = RETRY_FIRST;
    p->retry_at = now + RETRY_FIRST;
    player_keep_time(p, now);
}

void player_watch_device(Player *p, int64_t now)
{
    BridgeBlock block;
    bool fresh;

    if (bridge_finished(p->bridge)) {
        lose(p, now, "The audio device went away.");
        return;
    }
    if (!keeper_busy(p->keeper)) {
        StreamReport r = keeper_report(p->keeper);
        if (r.state == STREAM_CLOSED) {
            lose(p, now, r.trouble);
            return;
        }
    }
    if (!follow_blocks(p, now, &block, &fresh)) {
        lose(p, now, "The audio device takes no more sound.");
        return;
    }
    if (!fresh || !block.taken)
        return;
    int64_t heard = heard_at(p, &block);
    if (p->fixed) {
        clock_follow(&p->clock, block.engine_frame, heard);
        return;
    }
    p->clock.frame = block.engine_frame;
    p->clock.time = heard;
    p->fixed = true;
}

/* ---- picking it up again -------------------------------------------------------------------- */

static void look(Player *p, int64_t now)
{
    player_hush(p);
    keeper_open(p->keeper, p->rate, true);
    p->looking = true;
    p->retry_at = now + p->retry_wait;
    p->retry_wait = 2 * p->retry_wait < RETRY_MOST ? 2 * p->retry_wait : RETRY_MOST;
}

static void give_up(Player *p, const char *why)
{
    p->picking_up = false;
    player_hush(p);
    keeper_close(p->keeper);
    player_complain(p, why);
}

/* The device runs and plays silence. The engine is rendered unheard up to the very frame that
 * is due when stream frame `take` is heard, and given to the callback for that one. A click may
 * be sounding just then, so it fades in:
 *
 *   stream frames   --silence--|------- 150 ms -------|take -- the engine's -->
 *   heard at                  now + latency           T
 *   engine frames   --on the clock, unheard---------->|clock's frame at T ---->
 */
static void hand_over(Player *p, const StreamReport *r, const BridgeBlock *block)
{
    int64_t take = block->end + (int64_t)TAKE_AHEAD * p->rate / 1000;

    player_render_to(p, clock_frame(&p->clock, clock_time(&p->stream, take)));
    bridge_offer(p->bridge, p->engine, take, p->rate / FADE_PART);
    p->picking_up = false;
    p->state = PLAYER_DEVICE;
    memcpy(p->device, r->device, sizeof p->device);
    player_complain(p, "");
}

static void warm_up(Player *p, int64_t now, const StreamReport *r)
{
    BridgeBlock block;
    bool fresh;

    if (bridge_finished(p->bridge) || !follow_blocks(p, now, &block, &fresh)) {
        give_up(p, "The audio device is there, but takes no sound.");
        return;
    }
    if (!fresh)
        return;
    int64_t off = clock_follow(&p->stream, block.stream_frame, heard_at(p, &block));
    p->steady = off <= STEADY_WITHIN ? p->steady + 1 : 0;
    if (p->steady >= STEADY && flows(p, &block))
        hand_over(p, r, &block);
}

static void pick_up(Player *p, int64_t now, const StreamReport *r)
{
    if (r->rate != p->rate) {
        give_up(p, "The audio device is there, but at another rate.");
        return;
    }
    p->latency = r->latency;
    p->picking_up = true;
    p->stream = (FrameClock){.rate = p->rate};
    p->steady = 0;
    start_stream(p, now);
}

void player_seek_device(Player *p, int64_t now)
{
    if (p->keeper == NULL || keeper_busy(p->keeper))
        return;
    StreamReport r = keeper_report(p->keeper);
    bool looked = p->looking;
    p->looking = false;
    if (r.state == STREAM_OPEN)
        pick_up(p, now, &r);
    else if (r.state == STREAM_RUNNING)
        warm_up(p, now, &r);
    else if (p->picking_up)
        give_up(p, r.trouble);
    else if (looked)
        player_complain(p, r.trouble);
    else if (p->state == PLAYER_LOST && now >= p->retry_at)
        look(p, now);
}

void player_retry(Player *p, int64_t now)
{
    bool silent = p->state == PLAYER_SILENT || p->state == PLAYER_LOST;

    if (silent && p->engine != NULL && p->keeper != NULL && !p->picking_up &&
        !keeper_busy(p->keeper))
        look(p, now);
}
