#include "evenhand/sound/engine.h"
#include "evenhand/sound/engine_course.h"

#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

_Static_assert((int)ENGINE_VOICES == (int)MIXER_VOICES, "one number, told in two headers");

/* Frames mixed at a time: small enough to stay in the nearest cache. */
enum { CHUNK = 2048 };

/* The gate is what a pause closes: `gate` of `gate_open` parts open, one part a frame. */
typedef enum { GATE_OPEN, GATE_CLOSING, GATE_OPENING, GATE_SHUT } GateState;

struct Engine {
    /* Shared by the threads. */
    Queue *commands; /* console to audio */
    Queue *events;   /* audio to console */
    _Atomic int64_t position;
    _Atomic uint64_t missed;
    _Atomic uint64_t stolen;
    _Atomic bool idle;

    /* The console thread's. */
    uint64_t unfit; /* commands that were no use */

    /* Fixed from engine_new on. */
    int rate;
    int64_t lead;
    int64_t gate_open;

    /* The audio thread's. */
    int64_t clock; /* frames not held; engine frame = clock + course.held */
    GateState gate_state;
    int64_t gate;
    Course course;
};

Engine *engine_new(const VoiceBank *voices, const Mix *mix, Error *error)
{
    Engine *e = calloc(1, sizeof *e);
    if (!e) {
        error_set(error, ERROR_MEMORY, "no memory for the sound engine");
        return NULL;
    }
    e->commands = queue_new(sizeof(Command), ENGINE_QUEUE);
    e->events = queue_new(sizeof(EngineEvent), ENGINE_QUEUE);
    if (!e->commands || !e->events) {
        error_set(error, ERROR_MEMORY, "no memory for the sound engine's queues");
        engine_free(e);
        return NULL;
    }
    e->rate = voices_rate(voices);
    e->lead = (int64_t)e->rate * VOICE_LEAD_MILLISECONDS / 1000;
    e->gate_open = e->rate / 200; /* 5 ms */
    e->gate = e->gate_open;
    course_init(&e->course, e->lead, e->rate, e->events);
    voicing_init(&e->course.voicing, voices, mix);
    atomic_init(&e->position, 0);
    atomic_init(&e->missed, 0);
    atomic_init(&e->stolen, 0);
    atomic_init(&e->idle, true);
    return e;
}

void engine_free(Engine *e)
{
    if (!e)
        return;
    queue_free(e->commands);
    queue_free(e->events);
    free(e);
}

int engine_rate(const Engine *e)
{
    return e->rate;
}

int64_t engine_lead(const Engine *e)
{
    return e->lead;
}

static bool brings_source(const Command *c)
{
    return c->kind == COMMAND_PLAY || c->kind == COMMAND_CHANGE || c->kind == COMMAND_QUEUE;
}

bool engine_send(Engine *e, const Command *c)
{
    const Timeline *t = c->source.timeline;
    if (brings_source(c) && (!t || timeline_rate(t) != e->rate)) {
        e->unfit++;
        return false;
    }
    return queue_push(e->commands, c);
}

bool engine_receive(Engine *e, EngineEvent *event)
{
    return queue_pop(e->events, event);
}

uint64_t engine_refused(const Engine *e)
{
    return e->unfit + queue_refused(e->commands) + queue_refused(e->events) +
           atomic_load_explicit(&e->missed, memory_order_relaxed);
}

uint64_t engine_stolen(const Engine *e)
{
    return atomic_load_explicit(&e->stolen, memory_order_relaxed);
}

int64_t engine_position(const Engine *e)
{
    return atomic_load_explicit(&e->position, memory_order_acquire);
}

bool engine_idle(const Engine *e)
{
    return atomic_load_explicit(&e->idle, memory_order_acquire);
}

/* Before something new plays or all is dropped: a held engine goes on, from silence. */
static void wake(Engine *e)
{
    if (e->gate_state == GATE_SHUT) {
        mixer_clear(&e->course.mixer);
        e->gate = e->gate_open;
        e->gate_state = GATE_OPEN;
    } else if (e->gate_state == GATE_CLOSING) {
        e->gate_state = GATE_OPENING;
    }
}

static void play(Engine *e, const Command *c)
{
    const bool silent = e->gate_state == GATE_SHUT || course_empty(&e->course);
    wake(e);
    course_play(&e->course, e->clock, &c->source, c->from, silent);
}

static void stop(Engine *e)
{
    course_stop(&e->course, e->clock);
    wake(e);
}

static void hold(Engine *e)
{
    if (e->gate_state != GATE_SHUT && !course_empty(&e->course))
        e->gate_state = GATE_CLOSING;
}

static void resume(Engine *e)
{
    if (e->gate_state == GATE_SHUT)
        course_tell(&e->course, e->clock, ENGINE_RESUMED);
    if (e->gate_state == GATE_SHUT || e->gate_state == GATE_CLOSING)
        e->gate_state = GATE_OPENING;
}

static void obey(Engine *e, const Command *c)
{
    switch (c->kind) {
    case COMMAND_PLAY: play(e, c); break;
    case COMMAND_CHANGE: course_change(&e->course, e->clock, &c->source); break;
    case COMMAND_QUEUE: course_queue(&e->course, e->clock, &c->source); break;
    case COMMAND_PAUSE: hold(e); break;
    case COMMAND_RESUME: resume(e); break;
    case COMMAND_STOP: stop(e); break;
    case COMMAND_MIX: e->course.voicing.mix = c->mix; break;
    }
}

/* While the table of lent sources is full (nobody receives the RETIRED), commands wait in
 * their queue: refusing there is counted, and nothing is lost. */
static void take_commands(Engine *e)
{
    Command command;
    while (course_can_lend(&e->course) && queue_pop(e->commands, &command))
        obey(e, &command);
}

/* Each frame one part more or less open; what it multiplies by depends on that part alone. */
static void move_gate(Engine *e, float *out, size_t frames)
{
    const float part = 1.0F / (float)e->gate_open;
    const int64_t step = e->gate_state == GATE_CLOSING ? -1 : 1;
    for (size_t i = 0; i < frames; i++) {
        e->gate += step;
        out[i] *= (float)e->gate * part;
    }
    if (e->gate_state == GATE_OPENING && e->gate == e->gate_open)
        e->gate_state = GATE_OPEN;
    if (e->gate_state == GATE_CLOSING && e->gate == 0)
        e->gate_state = GATE_SHUT;
}

static int64_t least(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

/* Up to the next thing due. Returns the frames rendered. */
static size_t advance(Engine *e, float *out, size_t frames)
{
    course_decide(&e->course, e->clock);
    int64_t run = least((int64_t)frames, CHUNK);
    run = least(run, course_until_next(&e->course, e->clock));
    if (e->gate_state == GATE_CLOSING)
        run = least(run, e->gate);
    if (e->gate_state == GATE_OPENING)
        run = least(run, e->gate_open - e->gate);
    mixer_render(&e->course.mixer, e->clock, out, (size_t)run);
    e->clock += run;
    if (e->gate_state == GATE_CLOSING || e->gate_state == GATE_OPENING)
        move_gate(e, out, (size_t)run);
    if (e->gate_state == GATE_SHUT)
        course_tell(&e->course, e->clock, ENGINE_PAUSED);
    return (size_t)run;
}

void engine_render(Engine *e, float *out, size_t frames)
{
    take_commands(e);
    while (frames > 0) {
        size_t run = frames;
        if (e->gate_state == GATE_SHUT) {
            memset(out, 0, frames * sizeof *out);
            e->course.held += (int64_t)frames;
        } else {
            run = advance(e, out, frames);
        }
        out += run;
        frames -= run;
    }
    course_retire(&e->course, e->clock);
    atomic_store_explicit(&e->missed, e->course.missed, memory_order_relaxed);
    atomic_store_explicit(&e->stolen, e->course.mixer.stolen, memory_order_relaxed);
    atomic_store_explicit(&e->idle,
        course_empty(&e->course) && mixer_idle(&e->course.mixer, e->clock), memory_order_release);
    atomic_store_explicit(&e->position, e->clock + e->course.held, memory_order_release);
}
