#include "player_keeper.h"

#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <time.h>

enum { SECOND = 1000000000 };

typedef enum { WISH_NONE, WISH_OPEN, WISH_RUN, WISH_CLOSE, WISH_QUIT } Wish;

struct Keeper {
    Bridge *bridge;
    AudioStream *stream; /* the thread's own */
    pthread_t thread;
    pthread_mutex_t mutex; /* guards what follows; never held across a call to the stream */
    pthread_cond_t changed;
    Wish wish;
    int rate;  /* of the wish to open */
    bool only; /* of the wish to open */
    bool working;
    bool left; /* the console is gone: the thread frees all at its end */
    StreamReport report;
    _Atomic int64_t offset; /* outside the mutex */
};

/* A moment from now for pthread_cond_timedwait; the condition runs on CLOCK_MONOTONIC. */
static struct timespec moment_after(int64_t delay)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    int64_t sum = t.tv_nsec + delay;
    return (struct timespec){
        .tv_sec = t.tv_sec + (time_t)(sum / SECOND), .tv_nsec = (long)(sum % SECOND)};
}

/* ---- the thread ----------------------------------------------------------------------------- */

static void look_at_clock(Keeper *k)
{
    int64_t offset;
    if (stream_clock_offset(k->stream, &offset))
        atomic_store(&k->offset, offset);
}

/* With the mutex held: waits for a wish, looking at the clock once a second meanwhile. */
static Wish next_wish(Keeper *k)
{
    while (k->wish == WISH_NONE) {
        if (k->report.state != STREAM_RUNNING) {
            pthread_cond_wait(&k->changed, &k->mutex);
            continue;
        }
        struct timespec until = moment_after(SECOND);
        if (pthread_cond_timedwait(&k->changed, &k->mutex, &until) == 0)
            continue;
        pthread_mutex_unlock(&k->mutex);
        look_at_clock(k);
        pthread_mutex_lock(&k->mutex);
    }
    Wish wish = k->wish;
    k->wish = WISH_NONE;
    return wish;
}

static void fulfil(Keeper *k, Wish wish, int rate, bool only, StreamReport *r)
{
    switch (wish) {
    case WISH_OPEN: stream_open(k->stream, rate, only, r); break;
    case WISH_RUN:
        stream_run(k->stream, r);
        look_at_clock(k);
        break;
    case WISH_CLOSE:
    case WISH_QUIT: stream_close(k->stream, r); break;
    case WISH_NONE: break;
    }
}

static void release(Keeper *k)
{
    pthread_cond_destroy(&k->changed);
    pthread_mutex_destroy(&k->mutex);
    stream_free(k->stream);
    bridge_free(k->bridge);
    free(k);
}

static void *keep(void *context)
{
    Keeper *k = context;

    pthread_mutex_lock(&k->mutex);
    for (Wish wish = WISH_NONE; wish != WISH_QUIT;) {
        wish = next_wish(k);
        k->working = true;
        StreamReport r = k->report;
        int rate = k->rate;
        bool only = k->only;
        pthread_mutex_unlock(&k->mutex);
        fulfil(k, wish, rate, only, &r);
        pthread_mutex_lock(&k->mutex);
        k->report = r;
        k->working = false;
        pthread_cond_broadcast(&k->changed);
    }
    bool left = k->left;
    pthread_mutex_unlock(&k->mutex);
    if (left)
        release(k);
    return NULL;
}

/* Signals are the console's: the thread blocks them, and so do those that PortAudio starts
 * from it. */
static bool start_thread(Keeper *k)
{
    sigset_t all, before;

    sigfillset(&all);
    if (pthread_sigmask(SIG_SETMASK, &all, &before) != 0)
        return false;
    bool started = pthread_create(&k->thread, NULL, keep, k) == 0;
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return started;
}

/* ---- the console's side --------------------------------------------------------------------- */

static bool make_condition(pthread_cond_t *condition)
{
    pthread_condattr_t attributes;

    if (pthread_condattr_init(&attributes) != 0)
        return false;
    bool made = pthread_condattr_setclock(&attributes, CLOCK_MONOTONIC) == 0 &&
                pthread_cond_init(condition, &attributes) == 0;
    pthread_condattr_destroy(&attributes);
    return made;
}

Keeper *keeper_new(Bridge *bridge, const char *device)
{
    Keeper *k = calloc(1, sizeof *k);

    if (k == NULL)
        return NULL;
    k->bridge = bridge;
    k->stream = stream_new(bridge, device);
    if (k->stream == NULL)
        goto no_stream;
    if (pthread_mutex_init(&k->mutex, NULL) != 0)
        goto no_mutex;
    if (!make_condition(&k->changed))
        goto no_condition;
    if (!start_thread(k))
        goto no_thread;
    return k;

no_thread:
    pthread_cond_destroy(&k->changed);
no_condition:
    pthread_mutex_destroy(&k->mutex);
no_mutex:
    stream_free(k->stream);
no_stream:
    free(k);
    return NULL;
}

static void make_wish(Keeper *k, Wish wish)
{
    pthread_mutex_lock(&k->mutex);
    k->wish = wish;
    pthread_cond_broadcast(&k->changed);
    pthread_mutex_unlock(&k->mutex);
}

void keeper_open(Keeper *k, int rate, bool only)
{
    pthread_mutex_lock(&k->mutex);
    k->wish = WISH_OPEN;
    k->rate = rate;
    k->only = only;
    pthread_cond_broadcast(&k->changed);
    pthread_mutex_unlock(&k->mutex);
}

void keeper_run(Keeper *k)
{
    make_wish(k, WISH_RUN);
}

void keeper_close(Keeper *k)
{
    make_wish(k, WISH_CLOSE);
}

static bool busy(const Keeper *k)
{
    return k->working || k->wish != WISH_NONE;
}

bool keeper_busy(Keeper *k)
{
    pthread_mutex_lock(&k->mutex);
    bool result = busy(k);
    pthread_mutex_unlock(&k->mutex);
    return result;
}

bool keeper_wait(Keeper *k, int64_t delay)
{
    struct timespec until = moment_after(delay);
    int result = 0;

    pthread_mutex_lock(&k->mutex);
    while (busy(k) && result == 0)
        result = pthread_cond_timedwait(&k->changed, &k->mutex, &until);
    bool done = !busy(k);
    pthread_mutex_unlock(&k->mutex);
    return done;
}

StreamReport keeper_report(Keeper *k)
{
    pthread_mutex_lock(&k->mutex);
    StreamReport report = k->report;
    pthread_mutex_unlock(&k->mutex);
    return report;
}

int64_t keeper_clock_offset(Keeper *k)
{
    return atomic_load(&k->offset);
}

/* The wish to quit is the last; once it is fulfilled the thread only comes to its end. */
void keeper_free(Keeper *k)
{
    pthread_t thread = k->thread;

    make_wish(k, WISH_QUIT);
    keeper_wait(k, SECOND);
    pthread_mutex_lock(&k->mutex);
    k->left = busy(k);
    bool left = k->left;
    pthread_mutex_unlock(&k->mutex);
    if (left) {
        pthread_detach(thread);
        return;
    }
    pthread_join(thread, NULL);
    release(k);
}
