/* devices.h - what audio devices there are, in words; and PortAudio's start-up caught quiet.
 *
 * Console thread, and not while a player is open: PortAudio is called by one thread at a time.
 * Text of devices and libraries comes out in printable ASCII, anything else as '?'.
 */
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
/* PortAudio's index of the wanted output device, -1 when there is none: NULL or "" the default,
 * a whole number that index, else the whole name, else the first name that holds it; capitals
 * and small letters are one. */
int devices_find(const char *wanted);
/* Whether device `index` takes this rate (frames a second). Quiet; may open the device. */
bool devices_accept(int index, double rate);
/* Output channels that the player uses of a device with that many: 2, or 1 where it has one. */
int devices_channels(int most);

#endif
