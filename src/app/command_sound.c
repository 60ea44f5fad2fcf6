#include "evenhand/app/command.h"
#include "evenhand/app/report.h"
#include "evenhand/app/sound_test.h"
#include "evenhand/sound/devices.h"

#include <string.h>

enum { COMPLAINTS_MAX = 8192, COMPLAINTS_KEPT = 64, COMPLAINTS_SHOWN = 12, COMPLAINTS_ASIDE = 3 };

static void add_rates(Text *text, const Device *d)
{
    static const int asked[] = {44100, 48000, 88200, 96000};
    const char *before = "takes ";

    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
        if (!devices_accept(d->index, asked[i]))
            continue;
        text_add(text, "%s%d", before, asked[i]);
        before = " ";
    }
    text_add(text, "%s frames a second\n", before[0] == ' ' ? "" : "takes none of the usual");
}

static void add_device(Text *text, const Device *d)
{
    text_add(text, "%c %3d  %s  (%s)\n", d->is_default ? '*' : ' ', d->index, d->name, d->api);
    text_add(text, "       %d channel%s, default %.0f, latency %.0f to %.0f ms, ", d->channels,
        d->channels == 1 ? "" : "s", d->rate, d->latency_low * 1e3, d->latency_high * 1e3);
    add_rates(text, d);
}

static bool told_before(char *const lines[], int count, const char *line)
{
    for (int i = 0; i < count; i++)
        if (strcmp(lines[i], line) == 0)
            return true;
    return false;
}

/* Each complaint once: the libraries try every device in several ways and repeat themselves. */
static void add_complaints(Text *text, char *complaints, int most)
{
    char *told[COMPLAINTS_KEPT];
    int count = 0;

    for (char *line = strtok(complaints, "\n"); line && count < COMPLAINTS_KEPT;
         line = strtok(NULL, "\n"))
        if (!told_before(told, count, line))
            told[count++] = line;
    if (count > 0)
        text_add(text, "\nWhile starting, the audio libraries complained; where there is sound, it "
                       "is harmless:\n");
    for (int i = 0; i < count && i < most; i++)
        text_add(text, "  %s\n", told[i]);
    if (count > most)
        text_add(text, "  ... and %d others\n", count - most);
}

static bool list_devices(char complaints[COMPLAINTS_MAX], Error *error)
{
    Device devices[DEVICES_MAX];
    Text text = {0};

    if (!audio_start(complaints, COMPLAINTS_MAX, error))
        return false;
    int count = devices_list(devices);
    text_add(
        &text, count > 0 ? "Output devices (* is the default):\n" : "There is no output device.\n");
    for (int i = 0; i < count; i++)
        add_device(&text, &devices[i]);
    audio_stop();
    bool done = report_text(&text, error);
    text_free(&text);
    return done;
}

bool command_sound(const Options *o, Error *error)
{
    char complaints[COMPLAINTS_MAX];
    Text text = {0};
    if (!list_devices(complaints, error))
        return false;
    bool heard = sound_test(o, error);
    /* Last, so that they push nothing off the screen; few where all is well. */
    add_complaints(&text, complaints, heard ? COMPLAINTS_ASIDE : COMPLAINTS_SHOWN);
    bool done = text.size == 0 || report_text(&text, heard ? error : NULL);
    text_free(&text);
    return heard && done;
}
