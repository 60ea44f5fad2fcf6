#include "evenhand/sound/devices.h"

#include "silence.h"

#include <ctype.h>
#include <portaudio.h>
#include <stdlib.h>
#include <string.h>

bool audio_start(char *complaints, size_t size, Error *error)
{
    Silence *silence = silence_begin();
    PaError result = Pa_Initialize();

    if (complaints != NULL && size > 0)
        silence_take(silence, complaints, size);
    silence_end(silence);
    if (result != paNoError)
        return error_set(
            error, ERROR_DEVICE, "the audio system does not start: %s", Pa_GetErrorText(result));
    return true;
}

void audio_stop(void)
{
    Silence *silence = silence_begin();
    Pa_Terminate();
    silence_end(silence);
}

static const PaDeviceInfo *output_info(int index)
{
    if (index < 0 || index >= Pa_GetDeviceCount())
        return NULL;
    const PaDeviceInfo *info = Pa_GetDeviceInfo(index);
    return info != NULL && info->maxOutputChannels > 0 ? info : NULL;
}

int devices_list(Device out[DEVICES_MAX])
{
    int count = 0;
    int standard = Pa_GetDefaultOutputDevice();

    for (int i = 0; i < Pa_GetDeviceCount() && count < DEVICES_MAX; i++) {
        const PaDeviceInfo *info = output_info(i);
        if (info == NULL)
            continue;
        const PaHostApiInfo *api = Pa_GetHostApiInfo(info->hostApi);
        Device *d = &out[count++];
        *d = (Device){.index = i,
            .channels = info->maxOutputChannels,
            .rate = info->defaultSampleRate,
            .latency_low = info->defaultLowOutputLatency,
            .latency_high = info->defaultHighOutputLatency,
            .is_default = i == standard};
        silence_clean(info->name, d->name, sizeof d->name, false);
        silence_clean(api != NULL ? api->name : "", d->api, sizeof d->api, false);
    }
    return count;
}

static bool same_letters(const char *a, const char *b, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (tolower((unsigned char)a[i]) != tolower((unsigned char)b[i]))
            return false;
    return true;
}

static bool name_holds(const char *name, const char *part)
{
    size_t need = strlen(part);
    size_t have = strlen(name);

    for (size_t at = 0; at + need <= have; at++)
        if (same_letters(name + at, part, need))
            return true;
    return false;
}

int devices_find(const char *wanted)
{
    char *end = NULL;

    if (wanted == NULL || wanted[0] == '\0')
        return output_info(Pa_GetDefaultOutputDevice()) != NULL ? Pa_GetDefaultOutputDevice() : -1;
    long number = isdigit((unsigned char)wanted[0]) ? strtol(wanted, &end, 10) : -1;
    if (end != NULL && *end == '\0')
        return number < Pa_GetDeviceCount() && output_info((int)number) != NULL ? (int)number : -1;

    int part = -1;
    for (int i = 0; i < Pa_GetDeviceCount(); i++) {
        const PaDeviceInfo *info = output_info(i);
        if (info == NULL || !name_holds(info->name, wanted))
            continue;
        if (strlen(info->name) == strlen(wanted))
            return i;
        if (part < 0)
            part = i;
    }
    return part;
}

bool devices_accept(int index, double rate)
{
    const PaDeviceInfo *info = output_info(index);

    if (info == NULL)
        return false;
    PaStreamParameters wish = {.device = index,
        .channelCount = devices_channels(info->maxOutputChannels),
        .sampleFormat = paFloat32,
        .suggestedLatency = info->defaultHighOutputLatency};
    Silence *silence = silence_begin();
    bool accepted = Pa_IsFormatSupported(NULL, &wish, rate) == paFormatIsSupported;
    silence_end(silence);
    return accepted;
}

int devices_channels(int most)
{
    return most < 2 ? most : 2;
}
