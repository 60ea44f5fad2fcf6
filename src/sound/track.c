#include "evenhand/sound/track.h"

#include "track_draft.h"

#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum {
    BLOCK = 32768,       /* frames rendered and written at a time */
    SMALL_BLOCK = 4096,  /* for encoders, some of which take a block's room from the stack */
    RING_OUT_STEP = 480, /* how finely the end of the last ring is found */
    BYTES_PER_FRAME = 2
};

/* A RIFF file counts its bytes in 32 bits; room is left for its headers. */
static const int64_t WAV_FRAMES_MAX = (INT64_C(0xFFFFFFFF) - 4096) / BYTES_PER_FRAME;

typedef struct {
    const char *ending;
    int format;
    bool integers; /* written as 16-bit numbers of our own rounding */
} Format;

static const Format formats[] = {
    {".wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, true},
    {".flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, true},
    {".ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS, false},
    {".mp3", SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, false},
};

enum { FORMATS = sizeof formats / sizeof formats[0] };

/* Asks the library, which may be built without some of them. */
static bool library_writes(const Format *f)
{
    int count = 0;
    sf_command(NULL, SFC_GET_FORMAT_MAJOR_COUNT, &count, (int)sizeof count);
    for (int i = 0; i < count; i++) {
        SF_FORMAT_INFO info = {.format = i};
        if (sf_command(NULL, SFC_GET_FORMAT_MAJOR, &info, (int)sizeof info) != 0)
            continue;
        if ((info.format & SF_FORMAT_TYPEMASK) != (f->format & SF_FORMAT_TYPEMASK))
            continue;
        SF_INFO wanted = {.samplerate = 48000, .channels = 1, .format = f->format};
        return sf_format_check(&wanted);
    }
    return false;
}

static const Format *find_format(const char *path)
{
    const size_t length = strlen(path);
    for (size_t i = 0; i < FORMATS; i++) {
        const size_t ending = strlen(formats[i].ending);
        if (length > ending && strcasecmp(path + length - ending, formats[i].ending) == 0)
            return library_writes(&formats[i]) ? &formats[i] : NULL;
    }
    return NULL;
}

bool track_can_write(const char *path)
{
    return find_format(path) != NULL;
}

static bool refuse_ending(const char *path, Error *error)
{
    char list[64] = "";
    size_t used = 0;
    for (size_t i = 0; i < FORMATS; i++)
        if (library_writes(&formats[i]))
            used += (size_t)snprintf(list + used, sizeof list - used, " %s", formats[i].ending);
    error_set(error, ERROR_USAGE, "cannot write that kind of sound file, but these:%s", list);
    error_source(error, path);
    return false;
}

typedef struct {
    const Format *format;
    SNDFILE *file;
    Draft *draft;
    Engine *engine;
    size_t block;
    float *samples;
    short *integers;
    TrackProgress *progress;
    void *context;
    int64_t done, total;
    int64_t told; /* nanoseconds */
    bool stopped;
} Track;

/* Nearest 16-bit number, halves away from zero. |sample| < 1, so nothing can wrap. */
static void to_integers(const float *restrict samples, short *restrict out, size_t count)
{
    for (size_t i = 0; i < count; i += 16) /* the buffers hold whole sixteens */
        for (size_t k = 0; k < 16; k++) {
            const float scaled = samples[i + k] * 32767.0F;
            out[i + k] = (short)(int)(scaled + (scaled < 0 ? -0.5F : 0.5F));
        }
}

static int64_t clock_now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * 1000000000 + t.tv_nsec;
}

/* Ten times a second is often enough for a person. */
static bool tell_progress(Track *w, bool last)
{
    if (!w->progress)
        return true;
    const int64_t now = clock_now();
    if (!last && now - w->told < 100000000)
        return true;
    w->told = now;
    w->stopped = !w->progress(w->context, w->done, w->total > w->done ? w->total : w->done);
    return !w->stopped;
}

static bool write_block(Track *w, size_t frames)
{
    engine_render(w->engine, w->samples, frames);
    sf_count_t written = 0;
    if (w->format->integers) {
        to_integers(w->samples, w->integers, frames);
        written = sf_writef_short(w->file, w->integers, (sf_count_t)frames);
    } else {
        written = sf_writef_float(w->file, w->samples, (sf_count_t)frames);
    }
    if (written != (sf_count_t)frames || w->draft->broken)
        return false;
    w->done += (int64_t)frames;
    return tell_progress(w, false);
}

static bool write_until(Track *w, int64_t frame)
{
    while (w->done < frame) {
        const int64_t left = frame - w->done;
        if (!write_block(w, left < (int64_t)w->block ? (size_t)left : w->block))
            return false;
    }
    return true;
}

/* The engine queues one source behind the one that plays, and takes it over one lead before it
 * is heard. So each is sent as soon as the one before it has been taken over:
 *
 *     PLAY 0, QUEUE 1 | QUEUE 2           | QUEUE 3
 *     ----------------^ 1 taken over -----^ 2 taken over ---- */
static bool write_sources(Track *w, const Source *sources, size_t count)
{
    int64_t start = engine_lead(w->engine); /* where sources[i] is heard */
    for (size_t i = 0; i < count; i++) {
        const Command c = {.kind = i == 0 ? COMMAND_PLAY : COMMAND_QUEUE, .source = sources[i]};
        if (i == 0 && !engine_send(w->engine, &c))
            return false;
        if (i > 0) {
            if (!engine_send(w->engine, &c))
                return false;
            start += timeline_frames(sources[i - 1].timeline);
            if (!write_until(w, start - engine_lead(w->engine) + 1))
                return false;
        }
        EngineEvent event;
        while (engine_receive(w->engine, &event)) {
        }
    }
    start += timeline_frames(sources[count - 1].timeline);
    if (!write_until(w, start))
        return false;
    while (!engine_idle(w->engine))
        if (!write_block(w, RING_OUT_STEP))
            return false;
    return tell_progress(w, true);
}

static bool check_sources(
    const Track *w, const VoiceBank *voices, const Source *sources, size_t count, Error *error)
{
    if (count == 0)
        return error_set(error, ERROR_RANGE, "there is nothing to write");
    for (size_t i = 0; i < count; i++)
        if (!sources[i].timeline || timeline_rate(sources[i].timeline) != voices_rate(voices))
            return error_set(error, ERROR_RANGE, "timeline and sounds have different rates");
    if ((w->format->format & SF_FORMAT_TYPEMASK) == SF_FORMAT_WAV && w->total > WAV_FRAMES_MAX)
        return error_set(error, ERROR_LIMIT, "the track is longer than a .wav file can hold");
    return true;
}

/* The library writes through these, because not all its encoders tell of a write that failed;
 * the draft remembers. */
static sf_count_t draft_length(void *context)
{
    const Draft *d = context;
    struct stat status;
    return fstat(d->fd, &status) == 0 ? (sf_count_t)status.st_size : 0;
}

static sf_count_t draft_seek(sf_count_t offset, int whence, void *context)
{
    const Draft *d = context;
    return (sf_count_t)lseek(d->fd, (off_t)offset, whence);
}

static sf_count_t draft_tell(void *context)
{
    return draft_seek(0, SEEK_CUR, context);
}

static sf_count_t draft_read(void *bytes, sf_count_t count, void *context)
{
    const Draft *d = context;
    const ssize_t got = read(d->fd, bytes, (size_t)count);
    return got > 0 ? got : 0;
}

static sf_count_t draft_put(const void *bytes, sf_count_t count, void *context)
{
    return draft_write(context, bytes, (size_t)count) ? count : 0;
}

static bool open_file(Track *w, Draft *d, int rate, Error *error)
{
    SF_VIRTUAL_IO io = {.get_filelen = draft_length,
        .seek = draft_seek,
        .read = draft_read,
        .write = draft_put,
        .tell = draft_tell};
    SF_INFO info = {.samplerate = rate, .channels = 1, .format = w->format->format};
    w->draft = d;
    w->file = sf_open_virtual(&io, SFM_WRITE, &info, d);
    if (!w->file)
        return error_set(error, ERROR_WRITE, "cannot write %s at %d Hz (%s)", w->format->ending,
            rate, sf_strerror(NULL));
    return true;
}

static bool prepare(Track *w, const VoiceBank *voices, const Mix *mix, Error *error)
{
    w->block = w->format->integers ? BLOCK : SMALL_BLOCK;
    w->samples = calloc(w->block, sizeof *w->samples);
    w->integers = calloc(w->block, sizeof *w->integers);
    if (!w->samples || !w->integers)
        return error_set(error, ERROR_MEMORY, "no memory for writing a track");
    w->engine = engine_new(voices, mix, error);
    return w->engine != NULL;
}

static bool write_into(
    Track *w, Draft *d, const VoiceBank *voices, const Source *sources, size_t count, Error *error)
{
    if (!open_file(w, d, voices_rate(voices), error))
        return false;
    const bool written = write_sources(w, sources, count);
    const bool closed = sf_close(w->file) == 0;
    if (w->stopped)
        return error_set(error, ERROR_WRITE, "stopped before it was whole, so no file is left");
    if (written && closed)
        return true; /* whether all of it got through, draft_keep knows */
    return error_set(error, ERROR_WRITE, "cannot write it whole: %s",
        d->broken ? strerror(d->broken) : "the sound library gave up");
}

bool track_write(const char *path, bool force, const VoiceBank *voices, const Mix *mix,
    const Source *sources, size_t count, TrackProgress *progress, void *context, Error *error)
{
    Track w = {.format = find_format(path), .progress = progress, .context = context};
    if (!w.format)
        return refuse_ending(path, error);
    for (size_t i = 0; i < count; i++)
        w.total += sources[i].timeline ? timeline_frames(sources[i].timeline) : 0;
    if (!check_sources(&w, voices, sources, count, error))
        return false;
    Draft d;
    if (!draft_open(&d, path, force, error))
        return false;
    const bool done =
        prepare(&w, voices, mix, error) && write_into(&w, &d, voices, sources, count, error);
    engine_free(w.engine);
    free(w.samples);
    free(w.integers);
    if (done)
        return draft_keep(&d, error);
    draft_drop(&d);
    error_source(error, path);
    return false;
}
