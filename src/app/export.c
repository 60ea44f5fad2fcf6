#include "evenhand/app/export.h"

#include "evenhand/app/report.h"
#include "evenhand/formats/midi.h"
#include "evenhand/sound/track.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

/* MIDI positions are found again from frames: the finer the frames, the surer. */
enum { RATE_DEFAULT = 48000, RATE_MIDI = 1000000 };

static bool is_midi(const char *path)
{
    const char *point = strrchr(path, '.');
    return point && (strcasecmp(point, ".mid") == 0 || strcasecmp(point, ".midi") == 0);
}

bool export_can(const char *path, Error *error)
{
    if (is_midi(path) || track_can_write(path))
        return true;
    return error_set(error, ERROR_USAGE,
        "'%.100s' has no ending that can be written: .wav .flac .ogg .mp3 .mid", path);
}

/* Timelines of all steps; NULL on error. Freed by free_timelines. */
static Timeline **make_timelines(const Loaded *l, int rate, Error *error)
{
    size_t count = l->session.count;
    Timeline **t = calloc(count ? count : 1, sizeof *t);
    if (!t) {
        error_set(error, ERROR_MEMORY, "there is no memory for the session");
        return NULL;
    }
    for (size_t i = 0; i < count; i++) {
        const DrillSpec *next = i + 1 < count ? &l->session.steps[i + 1].drill : NULL;
        t[i] = loaded_timeline(l, i, next, rate, error);
        if (t[i])
            continue;
        while (i-- > 0)
            timeline_free(t[i]);
        free(t);
        return NULL;
    }
    return t;
}

static void free_timelines(Timeline **t, size_t count)
{
    for (size_t i = 0; t && i < count; i++)
        timeline_free(t[i]);
    free(t);
}

static bool write_midi(const Loaded *l, const char *path, bool force, Error *error)
{
    unsigned char *bytes = NULL;
    size_t size = 0, count = l->session.count;
    Timeline **t = make_timelines(l, RATE_MIDI, error);
    bool done = t && midi_write((const Timeline *const *)t, count, &bytes, &size, error);
    report_watch_signals(); /* the write is short: a signal waits for its end */
    done = done && file_write_atomic(path, force, bytes, size, error);
    report_rethrow_signals();
    free(bytes);
    free_timelines(t, count);
    return done;
}

static bool write_audio(
    const Loaded *l, const Options *o, const char *path, bool force, Error *error)
{
    int rate = o->rate > 0 ? o->rate : RATE_DEFAULT;
    size_t count = l->session.count;
    bool done = false;
    PluckBank *plucks = NULL;
    Timeline **t = NULL;
    Source *sources = calloc(count ? count : 1, sizeof *sources);
    VoiceBank *voices = load_voices(o, rate, error);
    /* The strings of one drill alone, else of the passage, which no drill goes beyond. */
    const Passage *passage = count == 1 ? l->stages[loaded_stage_index(l, 0)]->passage : l->passage;
    if (!voices)
        goto out;
    if (!sources) {
        error_set(error, ERROR_MEMORY, "there is no memory for the session");
        goto out;
    }
    if (o->mix.on[LAYER_GUIDE] && !(plucks = plucks_make(passage, rate, o->a4, error)))
        goto out;
    if (!(t = make_timelines(l, rate, error)))
        goto out;
    for (size_t i = 0; i < count; i++)
        sources[i] = (Source){.timeline = t[i], .plucks = plucks};
    report_watch_signals();
    done = track_write(path, force, voices, &o->mix, sources, count, report_progress, NULL, error);
    report_progress_end();
    report_rethrow_signals();
out:
    free_timelines(t, count);
    plucks_free(plucks);
    if (voices)
        voices_free(voices);
    free(sources);
    return done;
}

bool export_write(const Loaded *l, const Options *o, const char *path, bool force, Error *error)
{
    if (!export_can(path, error))
        return false;
    /* track_write looks again when it is done; this only spares the work. */
    if (!force && access(path, F_OK) == 0)
        return error_set(error, ERROR_EXISTS, "the file %.160s is there already", path);
    return is_midi(path) ? write_midi(l, path, force, error)
                         : write_audio(l, o, path, force, error);
}
