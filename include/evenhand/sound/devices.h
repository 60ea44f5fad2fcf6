/* devices.h - what audio devices there are, in words; and PortAudio's start-up caught quiet. */
#ifndef EVENHAND_SOUND_DEVICES_H
#define EVENHAND_SOUND_DEVICES_H

#include "evenhand/drill/timeline.h"

enum { DEVICES_MAX = 128, DEVICE_NAME_MAX = 128 };

typedef struct {
    int index;                  /* PortAudio's number */
    char name[DEVICE_NAME_MAX]; /* cleaned */
    char api[32];
    int channels;                     /* output channels, >= 1 */
    double rate;                      /* default, frames a second */
    double latency_low, latency_high; /* seconds */
    bool is_default;
} Device;

/* Starts PortAudio with standard error caught; what was printed goes into complaints (cut,
 * cleaned; may be NULL). Balanced by audio_stop. False: PortAudio does not start. */
bool audio_start(char *complaints, size_t size, Error *error);
void audio_stop(void);
/* Output devices, at most DEVICES_MAX; returns how many. Between audio_start and audio_stop. */
int devices_list(Device out[DEVICES_MAX]);
/* PortAudio's index of the wanted device (part of a name, or a number; NULL: default), -1 when
 * there is none. */
int devices_find(const char *wanted);

#endif
