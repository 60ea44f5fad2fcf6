/* scene.h - what the sound tests share: a fingered passage with voices, a script of commands,
 * and an ear that finds peaks in what was rendered. Invented data. Include cmocka.h first. */
#ifndef EVENHAND_TESTS_SOUND_SCENE_H
#define EVENHAND_TESTS_SOUND_SCENE_H

#include "evenhand/sound/engine.h"
#include "tools/passages.h"

#include <sndfile.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

typedef struct {
    Passage *passage;
    Fingering fingering;
    Rotation rotation;
    VoiceBank *voices;
    PluckBank *plucks;
    int rate;
} Scene;

/* Stops the program with the reason: a scene that cannot be set is no result. */
static inline void scene_need(bool done, const Error *error)
{
    if (done)
        return;
    fprintf(stderr, "scene: %s: %s\n", error->source, error->text);
    abort();
}

static inline void write_samples(
    const char *path, int rate, int channels, const float *samples, size_t frames)
{
    SF_INFO info = {
        .samplerate = rate, .channels = channels, .format = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    if (!file || sf_writef_float(file, samples, (sf_count_t)frames) != (sf_count_t)frames)
        abort();
    sf_close(file);
}

/* A voice that is one spike: 3 ms, all of it silent but three samples. */
static inline VoiceBank *spike_voices(int rate)
{
    char path[] = "/tmp/evenhand-spike-XXXXXX";
    const int fd = mkstemp(path);
    const size_t count = (size_t)rate * 3 / 1000;
    float *samples = calloc(count, sizeof *samples);
    Error error = {0};
    if (fd < 0 || !samples)
        abort();
    close(fd);
    samples[count / 2] = 1;
    samples[count / 2 - 1] = samples[count / 2 + 1] = 0.5F;
    write_samples(path, rate, 1, samples, count);
    free(samples);
    const char *const own[VOICE_KINDS] = {path, path, path, path, path, path, path};
    VoiceBank *bank = voices_load("", own, rate, &error);
    scene_need(bank != NULL, &error);
    unlink(path);
    return bank;
}

/* Takes the passage over. `spikes`: voices that are one spike, else the bundled ones. */
static inline Scene scene_of(Passage *p, int rate, bool spikes)
{
    Error error = {0};
    Scene s = {.passage = p, .rate = rate};
    scene_need(fingering_plan(p, NULL, &s.fingering, &error), &error);
    const BeatPattern beats = {0};
    scene_need(rotation_plan(p, &s.fingering, &beats, ratio(0, 1), &s.rotation, &error), &error);
    s.voices = spikes ? spike_voices(rate) : voices_load("sounds", NULL, rate, &error);
    scene_need(s.voices != NULL, &error);
    s.plucks = plucks_make(p, rate, 440, &error);
    scene_need(s.plucks != NULL, &error);
    return s;
}

/* Two bars of quavers up and down, 4/4. */
static inline Scene scene_quavers(int rate, bool spikes)
{
    static const int strings[16] = {28, 29, 30, 31, 32, 33, 34, 35, 35, 34, 33, 32, 31, 30, 29, 28};
    Ratio lengths[16];
    for (int i = 0; i < 16; i++)
        lengths[i] = ratio(1, 2);
    return scene_of(passage_of(strings, lengths, 16, metre(4, 4), ratio_int(0)), rate, spikes);
}

static inline void scene_end(Scene *s)
{
    plucks_free(s->plucks);
    voices_free(s->voices);
    rotation_free(&s->rotation);
    fingering_free(&s->fingering);
    passage_free(s->passage);
}

/* One step of the drill; `per_minute` crotchets. */
static inline Timeline *scene_timeline(
    const Scene *s, DrillSpec drill, int per_minute, int repetitions, int count_in, int rest)
{
    Error error = {0};
    const SessionStep step = {.drill = drill,
        .tempo = tempo(ratio_int(1), ratio_int(per_minute)),
        .repetitions = repetitions,
        .count_in_bars = count_in,
        .rest_bars = rest};
    Timeline *t =
        timeline_new(s->passage, &s->fingering, &s->rotation, &step, NULL, s->rate, &error);
    scene_need(t != NULL, &error);
    return t;
}

/* All layers at full scale over a master that keeps any sum of them below the knee. */
static inline Mix mix_plain(int master)
{
    Mix m = mix_default();
    for (int i = 0; i < LAYER_KINDS; i++) {
        m.on[i] = i != LAYER_GUIDE;
        m.level[i] = 0;
    }
    m.master = master;
    return m;
}

static inline Engine *scene_engine(const Scene *s, const Mix *mix)
{
    Error error = {0};
    Engine *e = engine_new(s->voices, mix, &error);
    scene_need(e != NULL, &error);
    return e;
}

/* ---- a script of commands ------------------------------------------------------------------ */

typedef struct {
    int64_t at; /* engine frame before which it is sent */
    Command command;
} Cue;

enum { EVENTS_KEPT = 512 };

typedef struct {
    EngineEvent event[EVENTS_KEPT];
    size_t count;
} EventList;

static inline void receive_all(Engine *e, EventList *list)
{
    EngineEvent event;
    while (engine_receive(e, &event))
        if (list && list->count < EVENTS_KEPT)
            list->event[list->count++] = event;
}

/* Renders `frames` in blocks of `block`, cut only where a cue is due; cues in order. */
static inline void run_script(Engine *e, const Cue *cues, size_t cue_count, float *out,
    int64_t frames, int64_t block, EventList *list)
{
    size_t cue = 0;
    const int64_t start = engine_position(e);
    for (int64_t at = 0; at < frames;) {
        for (; cue < cue_count && cues[cue].at <= start + at; cue++)
            if (!engine_send(e, &cues[cue].command))
                abort();
        int64_t run = frames - at < block ? frames - at : block;
        if (cue < cue_count && cues[cue].at - (start + at) < run)
            run = cues[cue].at - (start + at);
        engine_render(e, out + at, (size_t)run);
        at += run;
        receive_all(e, list);
    }
}

static inline Cue cue_source(
    int64_t at, CommandKind kind, const Timeline *t, const PluckBank *plucks, int64_t from)
{
    return (Cue){at, {.kind = kind, .source = {t, plucks}, .from = from}};
}

static inline Cue cue(int64_t at, CommandKind kind)
{
    return (Cue){at, {.kind = kind}};
}

static inline float *sample_room(int64_t frames)
{
    float *out = calloc((size_t)frames, sizeof *out);
    if (!out)
        abort();
    return out;
}

/* ---- an ear -------------------------------------------------------------------------------- */

typedef struct {
    int64_t frame;
    float level;
} Peak;

typedef struct {
    Peak *peak;
    size_t count, room;
    float least;        /* what is lower is no peak */
    float before, last; /* the two samples heard last */
    int64_t frame;      /* of the next sample */
} Ear;

static inline void ear_hear(Ear *ear, const float *samples, size_t count)
{
    for (size_t i = 0; i < count; i++, ear->frame++) {
        if (ear->last > ear->least && ear->last > ear->before && ear->last >= samples[i]) {
            if (ear->count == ear->room) {
                ear->room = ear->room ? 2 * ear->room : 256;
                ear->peak = realloc(ear->peak, ear->room * sizeof *ear->peak);
                if (!ear->peak)
                    abort();
            }
            ear->peak[ear->count++] = (Peak){ear->frame - 1, ear->last};
        }
        ear->before = ear->last;
        ear->last = samples[i];
    }
}

/* ---- what should be heard ------------------------------------------------------------------ */

typedef struct {
    int64_t frame[8192];
    size_t count;
} Expected;

/* Events [first, last) of a timeline whose frame 0 is heard at engine frame `base`. Events of
 * one frame are one peak. */
static inline void expect(Expected *x, const Timeline *t, int64_t base, size_t first, size_t last)
{
    for (size_t i = first; i < last; i++) {
        const int64_t frame = base + timeline_event(t, i).frame;
        if (x->count == 0 || x->frame[x->count - 1] != frame)
            x->frame[x->count++] = frame;
    }
}

static inline void check_heard(
    const Expected *x, const float *out, int64_t frames, const char *what)
{
    Ear ear = {.least = 0.02F};
    ear_hear(&ear, out, (size_t)frames);
    size_t due = 0;
    while (due < x->count && x->frame[due] < frames - 1)
        due++;
    for (size_t i = 0; i < due && i < ear.count; i++)
        if (ear.peak[i].frame != x->frame[i])
            fail_msg("%s: peak %zu at %lld, wanted at %lld", what, i, (long long)ear.peak[i].frame,
                (long long)x->frame[i]);
    if (ear.count != due)
        fail_msg("%s: %zu peaks, wanted %zu", what, ear.count, due);
    free(ear.peak);
}

static inline const EngineEvent *find_event(const EventList *list, EngineEventKind kind, size_t nth)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->event[i].kind == kind && nth-- == 0)
            return &list->event[i];
    return NULL;
}

static inline size_t count_events(const EventList *list, EngineEventKind kind, const Timeline *t)
{
    size_t count = 0;
    for (size_t i = 0; i < list->count; i++)
        count += list->event[i].kind == kind && (!t || list->event[i].source.timeline == t);
    return count;
}

static inline void check_event(
    const EngineEvent *e, const Timeline *t, int64_t engine_frame, int64_t timeline_frame)
{
    assert_non_null(e);
    assert_ptr_equal(e->source.timeline, t);
    assert_int_equal(e->engine_frame, engine_frame);
    assert_int_equal(e->timeline_frame, timeline_frame);
}

#endif
