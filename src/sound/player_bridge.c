#include "player_bridge.h"

#include <sched.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

enum { CHUNK = 256, READ_TRIES = 100 };

/* An atomic that the processor has not is a lock in a library: none of those in the callback. */
_Static_assert(ATOMIC_BOOL_LOCK_FREE == 2 && ATOMIC_INT_LOCK_FREE == 2 &&
                   ATOMIC_LLONG_LOCK_FREE == 2 && ATOMIC_POINTER_LOCK_FREE == 2,
    "atomics without locks");

/* The seqlock: `turn` is odd while the callback writes the point. */
typedef struct {
    atomic_uint turn;
    _Atomic int64_t stream_frame, engine_frame, end, called, dac;
    atomic_bool taken;
} Published;

struct Bridge {
    atomic_bool offered; /* the gate */
    atomic_bool inside;  /* the callback is past the gate */
    _Atomic(Engine *) engine;
    _Atomic int64_t take, fade;
    atomic_uint offers; /* made so far */
    atomic_uint_fast64_t underruns;
    atomic_bool finished;
    Published published;

    /* the callback's own; set by bridge_reset while none runs */
    int channels;
    int64_t frames;
    unsigned accepted; /* the offer that it plays */
    int64_t risen;     /* frames of that offer's fade that are played */
    float chunk[CHUNK];
};

Bridge *bridge_new(void)
{
    Bridge *b = calloc(1, sizeof *b);
    if (b != NULL)
        bridge_reset(b, 1);
    return b;
}

void bridge_free(Bridge *b)
{
    free(b);
}

void bridge_reset(Bridge *b, int channels)
{
    b->channels = channels;
    b->frames = 0;
    atomic_store(&b->underruns, 0);
    atomic_store(&b->finished, false);
    atomic_store(&b->published.end, 0);
}

void bridge_offer(Bridge *b, Engine *engine, int64_t take, int64_t fade)
{
    atomic_store(&b->engine, engine);
    atomic_store(&b->take, take);
    atomic_store(&b->fade, fade);
    atomic_fetch_add(&b->offers, 1);
    atomic_store(&b->offered, true);
}

/* Both sides first say what they do and then look at the other (Dekker's argument, which
 * needs the sequential order): either the callback sees the gate shut, or we see it inside. */
void bridge_withdraw(Bridge *b)
{
    atomic_store(&b->offered, false);
    while (atomic_load(&b->inside))
        sched_yield();
}

bool bridge_read(Bridge *b, BridgeBlock *point)
{
    Published *p = &b->published;

    if (atomic_load(&p->end) == 0)
        return false;
    for (int i = 0; i < READ_TRIES; i++) {
        unsigned turn = atomic_load(&p->turn);
        *point = (BridgeBlock){.stream_frame = atomic_load(&p->stream_frame),
            .taken = atomic_load(&p->taken),
            .engine_frame = atomic_load(&p->engine_frame),
            .end = atomic_load(&p->end),
            .called = atomic_load(&p->called),
            .dac = atomic_load(&p->dac)};
        if (turn % 2 == 0 && atomic_load(&p->turn) == turn)
            return true;
    }
    return false;
}

uint64_t bridge_underruns(Bridge *b)
{
    return atomic_load(&b->underruns);
}

bool bridge_finished(Bridge *b)
{
    return atomic_load(&b->finished);
}

void bridge_finish(Bridge *b)
{
    atomic_store(&b->finished, true);
}

/* From the first frame that is played of an offer, whenever that is; each frame's share depends on
 * its place in the fade alone. */
static void fade_in(Bridge *b, float *out, size_t frames)
{
    unsigned offer = atomic_load(&b->offers);
    int64_t fade = atomic_load(&b->fade);

    if (offer != b->accepted) {
        b->accepted = offer;
        b->risen = 0;
    }
    for (size_t i = 0; i < frames && b->risen < fade; i++) {
        float share = (float)++b->risen / (float)fade;
        for (int c = 0; c < b->channels; c++)
            *out++ *= share;
    }
}

/* Mono into every channel; in chunks, as the block may have any size. */
static void render(Bridge *b, Engine *engine, float *out, size_t frames)
{
    if (b->channels == 1) {
        engine_render(engine, out, frames);
        return;
    }
    size_t channels = (size_t)b->channels;
    for (size_t done = 0; done < frames;) {
        size_t count = frames - done < CHUNK ? frames - done : CHUNK;
        engine_render(engine, b->chunk, count);
        float *to = out + done * channels;
        for (size_t i = 0; i < count; i++)
            for (size_t c = 0; c < channels; c++)
                *to++ = b->chunk[i];
        done += count;
    }
}

static void publish(Published *p, const BridgeBlock *point)
{
    atomic_fetch_add(&p->turn, 1);
    atomic_store(&p->stream_frame, point->stream_frame);
    atomic_store(&p->taken, point->taken);
    atomic_store(&p->engine_frame, point->engine_frame);
    atomic_store(&p->end, point->end);
    atomic_store(&p->called, point->called);
    atomic_store(&p->dac, point->dac);
    atomic_fetch_add(&p->turn, 1);
}

/* Frames of a block that come before the engine's: all of them while the gate is shut. `take`
 * is read after the gate, so it is the one that was offered. */
static int64_t quiet_frames(Bridge *b, int64_t size)
{
    if (!atomic_load(&b->offered))
        return size;
    int64_t quiet = atomic_load(&b->take) - b->frames;
    return quiet <= 0 ? 0 : quiet < size ? quiet : size;
}

void bridge_fill(Bridge *b, float *out, size_t frames, int64_t called, int64_t dac, bool underrun)
{
    int64_t size = (int64_t)frames;
    BridgeBlock point = {
        .stream_frame = b->frames, .end = b->frames + size, .called = called, .dac = dac};

    if (underrun)
        atomic_fetch_add(&b->underruns, 1);
    atomic_store(&b->inside, true);
    int64_t quiet = quiet_frames(b, size);
    size_t silent_samples = (size_t)quiet * (size_t)b->channels;
    memset(out, 0, silent_samples * sizeof *out);
    if (quiet < size) {
        Engine *engine = atomic_load(&b->engine);
        point.taken = true;
        point.engine_frame = engine_position(engine) - quiet;
        render(b, engine, out + silent_samples, (size_t)(size - quiet));
        fade_in(b, out + silent_samples, (size_t)(size - quiet));
    }
    atomic_store(&b->inside, false);
    b->frames = point.end;
    publish(&b->published, &point);
}
