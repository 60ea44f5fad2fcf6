/* bench_silence.c - the bare PortAudio program that a running console is measured against:
 * opens the default device as the console does and plays silence until it is ended. */
#include <portaudio.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static int silence(const void *in, void *out, unsigned long frames,
    const PaStreamCallbackTimeInfo *time, PaStreamCallbackFlags flags, void *context)
{
    (void)in;
    (void)time;
    (void)flags;
    (void)context;
    memset(out, 0, frames * sizeof(float));
    return paContinue;
}

int main(void)
{
    PaStream *stream = NULL;
    const PaDeviceInfo *device = NULL;

    if (Pa_Initialize() == paNoError)
        device = Pa_GetDeviceInfo(Pa_GetDefaultOutputDevice());
    if (device == NULL ||
        Pa_OpenDefaultStream(&stream, 0, 1, paFloat32, device->defaultSampleRate,
            paFramesPerBufferUnspecified, silence, NULL) != paNoError ||
        Pa_StartStream(stream) != paNoError) {
        fputs("no audio device\n", stderr);
        return 1;
    }
    puts("playing");
    fflush(stdout);
    for (;;)
        pause();
}
