/* Click voices: a file becomes mono samples at the engine's rate, shaped and normalised.
 *
 *   read and mix down -> resample -> cut what is long before the peak -> soften -> normalise
 */
#include "evenhand/sound/voice.h"

#include <errno.h>
#include <math.h>
#include <samplerate.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { READ_FRAMES = 1024, CUTS_MAX = 8, FILE_RATE_MIN = 1000, FILE_RATE_MAX = 1000000 };

/* Below -80 dBFS a file counts as silent. */
static const float SILENT = 1e-4F;

struct VoiceBank {
    int rate;
    Voice voice[VOICE_KINDS];
};

static const struct {
    const char *word, *file;
} kinds[VOICE_KINDS] = {
    [VOICE_DOWNBEAT] = {"downbeat", "downbeat.wav"},
    [VOICE_PULSE] = {"pulse", "pulse.wav"},
    [VOICE_SUBDIVISION] = {"subdivision", "subdivision.wav"},
    [VOICE_NOTE] = {"notes", "note.wav"},
    [VOICE_ACCENT] = {"accent", "accent.wav"},
    [VOICE_ANNOUNCE] = {"announcement", "announce.wav"},
    [VOICE_BELL] = {"bell", "bell.wav"},
};

const char *voice_file_name(VoiceKind kind)
{
    return (unsigned)kind < VOICE_KINDS ? kinds[kind].file : "";
}

const char *voice_word(VoiceKind kind)
{
    return (unsigned)kind < VOICE_KINDS ? kinds[kind].word : "";
}

static bool check_info(const SF_INFO *info, Error *error)
{
    if (info->frames == 0)
        return error_set(error, ERROR_SOUND_FILE, "the sound file is empty");
    if (info->samplerate < FILE_RATE_MIN || info->samplerate > FILE_RATE_MAX)
        return error_set(error, ERROR_SOUND_FILE, "the sound file's rate of %d Hz is outside %d-%d",
            info->samplerate, FILE_RATE_MIN, FILE_RATE_MAX);
    if (info->frames < 0 || info->frames > (sf_count_t)info->samplerate * VOICE_SECONDS_MAX)
        return error_set(
            error, ERROR_SOUND_FILE, "the sound file is longer than %d seconds", VOICE_SECONDS_MAX);
    return true;
}

/* All channels' mean into mono[0 .. frames). Returns the frames that were really there. */
static size_t read_mono(SNDFILE *file, size_t channels, float *mono, size_t frames, float *block)
{
    size_t done = 0;
    while (done < frames) {
        const size_t want = frames - done < READ_FRAMES ? frames - done : READ_FRAMES;
        const sf_count_t got = sf_readf_float(file, block, (sf_count_t)want);
        if (got <= 0)
            break;
        for (size_t i = 0; i < (size_t)got; i++) {
            float sum = 0;
            for (size_t c = 0; c < channels; c++)
                sum += block[i * channels + c];
            mono[done + i] = sum / (float)channels;
        }
        done += (size_t)got;
    }
    return done;
}

/* The file's samples and rate. Caller frees. NULL on error. */
static float *read_file(const char *path, size_t *count, int *rate, Error *error)
{
    SF_INFO info = {0};
    float *mono = NULL, *block = NULL;
    struct stat status;
    if (stat(path, &status) != 0) {
        error_set(error, ERROR_READ, "cannot open the sound file: %s", strerror(errno));
        return NULL;
    }
    if (!S_ISREG(status.st_mode)) { /* opening a pipe would wait for ever */
        error_set(error, ERROR_SOUND_FILE, "is not a regular file, so no sound file");
        return NULL;
    }
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    if (!file) {
        const bool unreadable = sf_error(NULL) == SF_ERR_SYSTEM;
        error_set(error, unreadable ? ERROR_READ : ERROR_SOUND_FILE,
            unreadable ? "cannot open the sound file: %s" : "is no sound file (%s)",
            sf_strerror(NULL));
        return NULL;
    }
    if (!check_info(&info, error))
        goto out;
    const size_t channels = (size_t)info.channels;
    mono = calloc((size_t)info.frames, sizeof *mono);
    block = malloc(READ_FRAMES * channels * sizeof *block);
    if (!mono || !block) {
        error_set(error, ERROR_MEMORY, "no memory for a sound file");
        goto fail;
    }
    const size_t got = read_mono(file, channels, mono, (size_t)info.frames, block);
    if (got == 0) {
        error_set(error, ERROR_SOUND_FILE, "the sound file is empty or damaged");
        goto fail;
    }
    *count = got;
    *rate = info.samplerate;
    goto out;
fail:
    free(mono);
    mono = NULL;
out:
    free(block);
    sf_close(file);
    return mono;
}

/* Takes over `samples`, gives back those at the new rate. NULL on error. */
static float *resample(float *samples, size_t *count, int from, int to, Error *error)
{
    if (from == to)
        return samples;
    const double ratio = (double)to / from;
    const size_t room = (size_t)((double)*count * ratio) + 16;
    float *out = calloc(room, sizeof *out);
    int failed = 0;
    if (out) {
        SRC_DATA data = {.data_in = samples,
            .data_out = out,
            .input_frames = (long)*count,
            .output_frames = (long)room,
            .src_ratio = ratio};
        failed = src_simple(&data, SRC_SINC_BEST_QUALITY, 1);
        *count = (size_t)data.output_frames_gen;
    }
    free(samples);
    if (out && !failed)
        return out;
    error_set(error, failed ? ERROR_SOUND_FILE : ERROR_MEMORY, "cannot change its rate: %s",
        failed ? src_strerror(failed) : "no memory");
    free(out);
    return NULL;
}

static size_t find_peak(const float *samples, size_t count)
{
    size_t peak = 0;
    for (size_t i = 1; i < count; i++)
        if (fabsf(samples[i]) > fabsf(samples[peak]))
            peak = i;
    return peak;
}

/* 0 at the very ends, 1 inside; raised cosines of `in` and `out` samples between. */
static double edge(size_t i, size_t count, size_t in, size_t out)
{
    const double pi = 3.14159265358979323846;
    const size_t left = count - 1 - i;
    double w = 1;
    if (i < in)
        w *= 0.5 - 0.5 * cos(pi * (double)i / (double)in);
    if (left < out)
        w *= 0.5 - 0.5 * cos(pi * (double)left / (double)out);
    return w;
}

/* Soft edges, and as much of their own shape taken away as leaves no DC. */
static void soften(float *samples, size_t count, int rate)
{
    const size_t in = (size_t)rate / 2000;      /* 0.5 ms */
    const size_t long_out = (size_t)rate / 200; /* 5 ms, or a third of a shorter sound */
    const size_t out = long_out < count / 3 ? long_out : count / 3;
    double sum = 0, weight = 0;
    for (size_t i = 0; i < count; i++) {
        const double w = edge(i, count, in, out);
        samples[i] = (float)(samples[i] * w);
        sum += samples[i];
        weight += w;
    }
    const double offset = weight > 0 ? sum / weight : 0;
    for (size_t i = 0; i < count; i++)
        samples[i] = (float)(samples[i] - offset * edge(i, count, in, out));
}

/* Softens, and cuts what is long before the peak. Softening the new start may bring a later
 * peak to the front, so again; a sound that never settles (a long even tone) is at last held
 * below what its first `lead` samples reach. */
static void cut_to_lead(float *samples, size_t *count, size_t lead, int rate)
{
    soften(samples, *count, rate);
    size_t peak = find_peak(samples, *count);
    for (int i = 0; peak > lead && i < CUTS_MAX; i++) {
        memmove(samples, samples + (peak - lead), (*count - (peak - lead)) * sizeof *samples);
        *count -= peak - lead;
        soften(samples, *count, rate);
        peak = find_peak(samples, *count);
    }
    if (peak <= lead)
        return;
    const float top = fabsf(samples[find_peak(samples, lead + 1)]);
    for (size_t i = lead + 1; i < *count; i++)
        samples[i] = fminf(fmaxf(samples[i], -top), top);
}

static bool check_samples(const float *samples, size_t count, int rate, Error *error)
{
    for (size_t i = 0; i < count; i++)
        if (!isfinite(samples[i]))
            return error_set(error, ERROR_SOUND_FILE, "holds samples that are not numbers");
    if (count < (size_t)rate / 500)
        return error_set(error, ERROR_SOUND_FILE, "the sound file is shorter than 2 ms");
    if (fabsf(samples[find_peak(samples, count)]) < SILENT)
        return error_set(error, ERROR_SOUND_FILE, "the sound file is silent");
    return true;
}

static bool load_voice(const char *path, int rate, Voice *voice, Error *error)
{
    size_t count = 0;
    int file_rate = 0;
    float *samples = read_file(path, &count, &file_rate, error);
    if (!samples)
        return false;
    if (!check_samples(samples, count, file_rate, error)) {
        free(samples);
        return false;
    }
    float *ready = resample(samples, &count, file_rate, rate, error);
    if (!ready)
        return false;
    cut_to_lead(ready, &count, (size_t)((int64_t)rate * VOICE_LEAD_MILLISECONDS / 1000), rate);
    const size_t peak = find_peak(ready, count);
    const float top = fabsf(ready[peak]);
    if (!(top >= SILENT)) {
        free(ready);
        return error_set(error, ERROR_SOUND_FILE, "the sound file is silent");
    }
    for (size_t i = 0; i < count; i++)
        ready[i] /= top;
    *voice = (Voice){.samples = ready, .count = count, .peak = peak};
    return true;
}

VoiceBank *voices_load(
    const char *directory, const char *const own[VOICE_KINDS], int rate, Error *error)
{
    if (rate < VOICE_RATE_MIN || rate > VOICE_RATE_MAX) {
        error_set(error, ERROR_RANGE, "a rate of %d Hz is outside %d-%d", rate, VOICE_RATE_MIN,
            VOICE_RATE_MAX);
        return NULL;
    }
    VoiceBank *bank = calloc(1, sizeof *bank);
    if (!bank) {
        error_set(error, ERROR_MEMORY, "no memory for the sounds");
        return NULL;
    }
    bank->rate = rate;
    for (int kind = 0; kind < VOICE_KINDS; kind++) {
        char path[4096];
        const char *file = own ? own[kind] : NULL;
        if (!file) {
            snprintf(path, sizeof path, "%s/%s", directory, kinds[kind].file);
            file = path;
        }
        if (!load_voice(file, rate, &bank->voice[kind], error)) {
            if (error)
                error_source(error, file);
            voices_free(bank);
            return NULL;
        }
    }
    return bank;
}

void voices_free(VoiceBank *bank)
{
    if (!bank)
        return;
    for (int kind = 0; kind < VOICE_KINDS; kind++)
        free(bank->voice[kind].samples);
    free(bank);
}

const Voice *voices_get(const VoiceBank *bank, VoiceKind kind)
{
    return &bank->voice[kind];
}

int voices_rate(const VoiceBank *bank)
{
    return bank->rate;
}
