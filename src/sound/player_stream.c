#include "player_stream.h"

#include "evenhand/sound/devices.h"
#include "silence.h"

#include <portaudio.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* Long blocks cost the processor least (a third of what 10 ms cost), and latency is
 * compensated: this is only how much later a key is heard. */
#define LATENCY_WISHED 0.08
#define LATENCY_MOST 0.25

enum { SECOND = 1000000000 };

struct AudioStream {
    Bridge *bridge;
    char *device;
    bool started; /* PortAudio is */
    PaStream *stream;
    int64_t seen; /* stream frames at the last look at the clock */
};

/* PortAudio is one for the process and wants one thread at a time. A player that left a hanging
 * audio system behind may still have its thread in there: the next one waits for it. */
static pthread_mutex_t portaudio = PTHREAD_MUTEX_INITIALIZER;

AudioStream *stream_new(Bridge *bridge, const char *device)
{
    AudioStream *s = calloc(1, sizeof *s);

    if (s == NULL)
        return NULL;
    s->bridge = bridge;
    if (device != NULL && (s->device = strdup(device)) == NULL) {
        free(s);
        return NULL;
    }
    return s;
}

void stream_free(AudioStream *s)
{
    if (s == NULL)
        return;
    free(s->device);
    free(s);
}

static int64_t nanoseconds(PaTime seconds)
{
    return (int64_t)(seconds * SECOND);
}

/* ---- PortAudio's two calls back into us: on its audio thread -------------------------------- */

static int on_block(const void *in, void *out, unsigned long frames,
    const PaStreamCallbackTimeInfo *time, PaStreamCallbackFlags flags, void *context)
{
    (void)in;
    bridge_fill(context, out, frames, nanoseconds(time->currentTime),
        nanoseconds(time->outputBufferDacTime), (flags & paOutputUnderflow) != 0);
    return paContinue;
}

static void on_end(void *context)
{
    bridge_finish(context);
}

/* ---- closing -------------------------------------------------------------------------------- */

static void close_all(AudioStream *s, StreamReport *r)
{
    if (s->stream != NULL) {
        Pa_AbortStream(s->stream);
        Pa_CloseStream(s->stream);
        s->stream = NULL;
    }
    if (s->started)
        Pa_Terminate();
    s->started = false;
    r->state = STREAM_CLOSED;
}

void stream_close(AudioStream *s, StreamReport *r)
{
    pthread_mutex_lock(&portaudio);
    close_all(s, r);
    pthread_mutex_unlock(&portaudio);
}

/* ---- opening -------------------------------------------------------------------------------- */

static void trouble(StreamReport *r, const char *what, const char *why)
{
    char plain[200];
    silence_clean(why, plain, sizeof plain, false);
    snprintf(r->trouble, sizeof r->trouble, "%s: %s.", what, plain);
}

static const char *reason(PaError error)
{
    const PaHostErrorInfo *host = Pa_GetLastHostErrorInfo();
    return error == paUnanticipatedHostError && host != NULL ? host->errorText
                                                             : Pa_GetErrorText(error);
}

static PaError try_channels(AudioStream *s, int index, double rate, int channels)
{
    double latency = Pa_GetDeviceInfo(index)->defaultHighOutputLatency;
    PaStreamParameters wish = {
        .device = index, .channelCount = channels, .sampleFormat = paFloat32};

    wish.suggestedLatency = latency < LATENCY_WISHED ? LATENCY_WISHED
                            : latency > LATENCY_MOST ? LATENCY_MOST
                                                     : latency;
    PaError result = Pa_OpenStream(
        &s->stream, NULL, &wish, rate, paFramesPerBufferUnspecified, paNoFlag, on_block, s->bridge);
    if (result != paNoError) {
        s->stream = NULL;
        return result;
    }
    Pa_SetStreamFinishedCallback(s->stream, on_end);
    bridge_reset(s->bridge, channels);
    return paNoError;
}

static PaError try_rate(AudioStream *s, int index, double rate)
{
    int most = Pa_GetDeviceInfo(index)->maxOutputChannels;
    PaError result = try_channels(s, index, rate, devices_channels(most));

    /* Some hardware takes all of its channels or none. */
    return result == paInvalidChannelCount ? try_channels(s, index, rate, most) : result;
}

/* The asked rate, or the device's own where that is refused and may stand in. */
static void open_device(AudioStream *s, int index, int rate, bool only, StreamReport *r)
{
    const PaDeviceInfo *info = Pa_GetDeviceInfo(index);
    double own = info->defaultSampleRate;
    char what[PLAYER_NAME_MAX + 100];

    silence_clean(info->name, r->device, sizeof r->device, false);
    PaError result = try_rate(s, index, rate > 0 ? rate : own);
    if (result != paNoError && rate > 0 && rate != (int)own) {
        snprintf(what, sizeof what, "%.100s does not take %d frames a second%s", r->device, rate,
            only ? "" : "; its own rate is used");
        trouble(r, what, reason(result));
        if (!only)
            result = try_rate(s, index, own);
    }
    if (result != paNoError) {
        snprintf(what, sizeof what, "%.100s cannot be opened", r->device);
        if (!only || r->trouble[0] == '\0')
            trouble(r, what, reason(result));
        return;
    }
    const PaStreamInfo *stream = Pa_GetStreamInfo(s->stream);
    r->state = STREAM_OPEN;
    r->rate = (int)(stream->sampleRate + 0.5);
    r->latency = stream->outputLatency;
}

static void start_and_open(AudioStream *s, int rate, bool only, StreamReport *r)
{
    PaError result = Pa_Initialize();
    s->started = result == paNoError;
    if (!s->started) {
        trouble(r, "The audio system does not start", reason(result));
        return;
    }
    int index = devices_find(s->device);
    if (index >= 0)
        open_device(s, index, rate, only, r);
    else if (s->device != NULL)
        trouble(r, "No output device has this name or number", s->device);
    else
        snprintf(r->trouble, sizeof r->trouble, "There is no audio output device.");
}

void stream_open(AudioStream *s, int rate, bool only, StreamReport *r)
{
    pthread_mutex_lock(&portaudio);
    close_all(s, r);
    r->trouble[0] = '\0';
    start_and_open(s, rate, only, r);
    if (r->state == STREAM_CLOSED)
        close_all(s, r);
    pthread_mutex_unlock(&portaudio);
}

void stream_run(AudioStream *s, StreamReport *r)
{
    if (s->stream == NULL)
        return;
    pthread_mutex_lock(&portaudio);
    PaError result = Pa_StartStream(s->stream);
    r->state = STREAM_RUNNING;
    s->seen = -1;
    if (result != paNoError) {
        trouble(r, "The device does not start", reason(result));
        close_all(s, r);
    }
    pthread_mutex_unlock(&portaudio);
}

/* ---- its clock ------------------------------------------------------------------------------ */

static int64_t monotonic(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * SECOND + t.tv_nsec;
}

bool stream_clock_offset(AudioStream *s, int64_t *offset)
{
    BridgeBlock block;
    int64_t end = bridge_read(s->bridge, &block) ? block.end : 0;

    if (s->stream == NULL || end == s->seen)
        return false;
    s->seen = end;
    pthread_mutex_lock(&portaudio);
    int64_t before = monotonic();
    PaTime there = Pa_GetStreamTime(s->stream);
    int64_t after = monotonic();
    pthread_mutex_unlock(&portaudio);
    if (there <= 0)
        return false;
    *offset = nanoseconds(there) - (before + (after - before) / 2);
    return true;
}
