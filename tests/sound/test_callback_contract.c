/* The promise of the audio path, of all that PortAudio's callback runs: no allocation, no lock,
 * no system call.
 *
 * This program is PortAudio: the stream is opened by the player's own code, which hands over its
 * two callbacks here, and those very functions are called, with a device of one channel, of two,
 * and of six that takes all or none. A script goes everywhere: drills of several kinds,
 * every command, the gate shut and open, the engine taken inside a block, both queues full. */
#define _GNU_SOURCE
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/sound/player_stream.h"
#include "evenhand/drill/stage.h"
#include "sound/made_card.h"
#include "sound/scene.h"
#include "sound/trapped.h"

#include <math.h>

enum { RATE = 48000, BLOCK_MOST = 4096, CHANNELS_MOST = 6 };

/* ---- what is played ------------------------------------------------------------------------- */

/* Drills of one word at two tempos are there to be changed from one to the other. */
static const struct {
    const char *word;
    int num, den; /* crotchets a minute */
} drills[] = {
    {"plain", 61, 1},
    {"finger-3+long-short", 962, 7},
    {"finger-3+long-short", 1013, 9},
    {"beat-2+long-2-of-3", 1999, 13},
    {"blocks", 320, 1},
    {"blocks", 347, 3},
    {"links+finger-4+short-long", 433, 2},
    {"crossing", 400, 1},
};
enum {
    DRILLS = sizeof drills / sizeof drills[0],
    ROUNDS = 7000,
    SILENT_FROM = 2000,
    SILENT_TO = 5000
};

typedef struct {
    Stage *stage;
    Timeline *timeline;
    PluckBank *plucks;
} Lent;

/* What the script came by, so that a test can say that it was there. */
typedef struct {
    int quiet, taken, cut; /* blocks without the engine, with it alone, with it from within */
    int accepted[COMMAND_MIX + 1], refused;
    int started[DRILLS], told[ENGINE_RESUMED + 1];
    uint64_t lost; /* events that found no room */
    float peak;
} Been;

static struct {
    Scene scene;
    Lent lent[DRILLS];
    Engine *engine;
    Bridge *bridge;
    AudioStream *stream;
    Random random;
    bool open;
    int64_t frames; /* of the stream */
    float out[BLOCK_MOST * CHANNELS_MOST];
    float unheard[BLOCK_MOST];
    Been been;
} show;

static Lent lend(size_t i)
{
    Error error = {0};
    SessionStep step = {.drill = drill_plain(),
        .tempo = tempo(ratio_int(1), ratio(drills[i].num, drills[i].den)),
        .repetitions = 1,
        .count_in_bars = i % 2 == 0,
        .rest_bars = i % 3 == 0};
    Lent l = {0};
    scene_need(drill_parse(drills[i].word, &step.drill, &error), &error);
    l.stage = stage_new(
        show.scene.passage, &show.scene.fingering, &show.scene.rotation, &step.drill, &error);
    scene_need(l.stage != NULL, &error);
    l.timeline = stage_timeline(l.stage, &step, &step.drill, RATE, &error);
    scene_need(l.timeline != NULL, &error);
    l.plucks = plucks_make(l.stage->passage, RATE, 440, &error);
    scene_need(l.plucks != NULL, &error);
    return l;
}

static void show_make(int channels)
{
    StreamReport report = {0};
    Mix mix = mix_default();
    memset(&show, 0, sizeof show);
    show.random.state = 31415;
    show.scene = scene_quavers(RATE, false);
    show.scene.passage->hands = HANDS_OCTAVES;
    for (size_t i = 0; i < DRILLS; i++)
        show.lent[i] = lend(i);
    show.engine = scene_engine(&show.scene, &mix);
    show.bridge = bridge_new();
    show.stream = stream_new(show.bridge, NULL);
    card.rate = RATE;
    card.channels = channels;
    stream_open(show.stream, RATE, false, &report);
    assert_int_equal(report.state, STREAM_OPEN);
}

static void show_end(void)
{
    StreamReport report;
    stream_close(show.stream, &report);
    stream_free(show.stream);
    engine_free(show.engine);
    bridge_free(show.bridge);
    for (size_t i = 0; i < DRILLS; i++) {
        timeline_free(show.lent[i].timeline);
        plucks_free(show.lent[i].plucks);
        stage_free(show.lent[i].stage);
    }
    scene_end(&show.scene);
}

/* ---- the console's side --------------------------------------------------------------------- */

static void send_something(void)
{
    Random *r = &show.random;
    const Lent *l = &show.lent[random_between(r, 0, DRILLS - 1)];
    const CommandKind kind = (CommandKind)random_between(r, COMMAND_PLAY, COMMAND_MIX);
    Command c = {.kind = kind,
        .source = {l->timeline, random_between(r, 0, 3) > 0 ? l->plucks : NULL},
        .from = random_between(r, 0, 1) * random_between(r, 0, 2 * RATE),
        .mix = mix_plain(random_between(r, -6, 0))};
    c.mix.on[LAYER_GUIDE] = random_between(r, 0, 3) > 0;
    if (engine_send(show.engine, &c))
        show.been.accepted[kind]++;
    else
        show.been.refused++;
}

static void receive(void)
{
    EngineEvent event;
    while (engine_receive(show.engine, &event)) {
        show.been.told[event.kind]++;
        for (size_t i = 0; event.kind == ENGINE_STARTED && i < DRILLS; i++)
            show.been.started[i] += event.source.timeline == show.lent[i].timeline;
    }
}

/* As a device is lost and comes back: withdrawn, rendered on unheard, offered from a frame that
 * lies within some block to come. */
static void move_the_gate(void)
{
    Random *r = &show.random;
    if (show.open) {
        bridge_withdraw(show.bridge);
        engine_render(show.engine, show.unheard, (size_t)random_between(r, 0, BLOCK_MOST));
    } else {
        bridge_offer(show.bridge, show.engine, show.frames + random_between(r, -100, 9000),
            random_between(r, 0, 1) * RATE / 200);
    }
    show.open = !show.open;
}

/* ---- the callback's side -------------------------------------------------------------------- */

static void note_block(size_t frames, int64_t rendered)
{
    Been *b = &show.been;
    if (rendered == 0)
        b->quiet++;
    else if (rendered == (int64_t)frames)
        b->taken++;
    else
        b->cut++;
    for (size_t i = 0; i < frames * (size_t)card.channels; i++)
        b->peak = fmaxf(b->peak, fabsf(show.out[i]));
}

static void one_block(size_t frames)
{
    const PaStreamCallbackFlags flags =
        random_between(&show.random, 0, 9) == 0 ? paOutputUnderflow : 0;
    const int64_t before = engine_position(show.engine);
    trapped = 1;
    const int result = card_block(show.out, frames, (double)show.frames / RATE, flags);
    trapped = 0;
    if (result != paContinue)
        abort();
    show.frames += (int64_t)frames;
    note_block(frames, engine_position(show.engine) - before);
}

/* All that is needed was made before: what runs under the kernel's filter is this. */
static void show_run(void)
{
    for (int i = 0; i < ROUNDS; i++) {
        if (random_between(&show.random, 0, 2) == 0)
            send_something();
        if (random_between(&show.random, 0, 9) == 0)
            move_the_gate();
        one_block((size_t)random_between(&show.random, 0, BLOCK_MOST));
        if (i < SILENT_FROM || i >= SILENT_TO) /* meanwhile the event queue fills */
            receive();
    }
    show.been.lost = engine_refused(show.engine) - (uint64_t)show.been.refused;
    trapped = 1;
    card.finished(card.context);
    trapped = 0;
}

/* ---- the tests ------------------------------------------------------------------------------ */

static void check_been(const Been *b)
{
    assert_true(b->quiet > 500 && b->taken > 500 && b->cut > 50);
    for (int kind = COMMAND_PLAY; kind <= COMMAND_MIX; kind++)
        assert_true(b->accepted[kind] > 20);
    for (int kind = ENGINE_STARTED; kind <= ENGINE_RESUMED; kind++)
        assert_true(b->told[kind] > 10);
    for (size_t i = 0; i < DRILLS; i++)
        if (b->started[i] == 0)
            fail_msg("%s at %d/%d was never heard", drills[i].word, drills[i].num, drills[i].den);
    assert_true(b->refused > 0); /* the command queue was full */
    assert_true(b->lost > 0);    /* the event queue was */
    assert_true(b->peak > 0.1F);
}

static void the_callback_calls_no_allocator_lock_or_io(void **state)
{
    static const int channels[] = {1, 2, CHANNELS_MOST};
    (void)state;
    for (size_t i = 0; i < sizeof channels / sizeof channels[0]; i++) {
        show_make(channels[i]);
        caught = 0;
        show_run();
        assert_int_equal(caught, 0);
        check_been(&show.been);
        assert_true(bridge_underruns(show.bridge) > 100);
        assert_true(bridge_finished(show.bridge));
        show_end();
    }
}

static void the_callback_makes_no_system_call(void **state)
{
    (void)state;
    if (SANITIZED)
        skip();
    for (int channels = 1; channels <= 2; channels++) {
        show_make(channels);
        const int status = status_under_filter(show_run);
        if (WIFSIGNALED(status))
            fail_msg("ended by signal %d: a system call was made", WTERMSIG(status));
        assert_true(WIFEXITED(status));
        assert_int_equal(WEXITSTATUS(status), 42);
        show_end();
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_callback_calls_no_allocator_lock_or_io),
        cmocka_unit_test(the_callback_makes_no_system_call),
    };
    return cmocka_run_group_tests_name("callback_contract", tests, NULL, NULL);
}
