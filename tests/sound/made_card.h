/* made_card.h - the test is PortAudio, with one device that is made up: its functions stand here in
 * the library's place, and what the player hands over (its callbacks) is kept to be called. For
 * one test program; a header and no helper file, as the other tests want the real library. */
#ifndef EVENHAND_TESTS_SOUND_MADE_CARD_H
#define EVENHAND_TESTS_SOUND_MADE_CARD_H

#include <portaudio.h>
#include <time.h>

#define CARD_LATENCY 0.08 /* seconds from a block's call to its first frame's sound */

static struct {
    int rate;
    int channels; /* the device's; 0: there is none; more than two: all or none */
    PaDeviceInfo info;
    PaStreamInfo stream;
    PaStreamCallback *block;
    PaStreamFinishedCallback *finished;
    void *context;
} card;

PaError Pa_Initialize(void)
{
    return paNoError;
}

PaError Pa_Terminate(void)
{
    return paNoError;
}

PaDeviceIndex Pa_GetDefaultOutputDevice(void)
{
    return card.channels > 0 ? 0 : paNoDevice;
}

PaDeviceIndex Pa_GetDeviceCount(void)
{
    return card.channels > 0 ? 1 : 0;
}

const PaDeviceInfo *Pa_GetDeviceInfo(PaDeviceIndex device)
{
    card.info = (PaDeviceInfo){
        .name = "made up", .maxOutputChannels = card.channels, .defaultSampleRate = card.rate};
    return device == 0 ? &card.info : NULL;
}

PaError Pa_OpenStream(PaStream **stream, const PaStreamParameters *in,
    const PaStreamParameters *out, double rate, unsigned long frames, PaStreamFlags flags,
    PaStreamCallback *callback, void *context)
{
    (void)in;
    (void)frames;
    (void)flags;
    if (out->channelCount != card.channels)
        return paInvalidChannelCount;
    card.stream = (PaStreamInfo){.sampleRate = rate, .outputLatency = CARD_LATENCY};
    card.block = callback;
    card.context = context;
    *stream = &card;
    return paNoError;
}

PaError Pa_SetStreamFinishedCallback(PaStream *stream, PaStreamFinishedCallback *finished)
{
    (void)stream;
    card.finished = finished;
    return paNoError;
}

const PaStreamInfo *Pa_GetStreamInfo(PaStream *stream)
{
    (void)stream;
    return &card.stream;
}

PaError Pa_AbortStream(PaStream *stream)
{
    (void)stream;
    return paNoError;
}

PaError Pa_CloseStream(PaStream *stream)
{
    (void)stream;
    return paNoError;
}

PaError Pa_StartStream(PaStream *stream)
{
    (void)stream;
    return paNoError;
}

/* The stream's clock is CLOCK_MONOTONIC. */
PaTime Pa_GetStreamTime(PaStream *stream)
{
    struct timespec t;
    (void)stream;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* One block, called at `at` seconds of the stream's clock. */
static inline int card_block(
    float *out, unsigned long frames, double at, PaStreamCallbackFlags flags)
{
    const PaStreamCallbackTimeInfo time = {
        .currentTime = at, .outputBufferDacTime = at + CARD_LATENCY};
    return card.block(NULL, out, frames, &time, flags, card.context);
}

#endif
