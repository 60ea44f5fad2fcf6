/* The promise of the audio path: no allocation, no lock, no system call; and an hour without
 * drifting by so much as half a frame.
 *
 * Two proofs of the first. (1) The allocator, locks and input/output of libc are replaced in
 * this program by functions that count calls while a flag is up. (2) A child process renders
 * under a kernel filter that ends it on any system call but exit. Both are shown to bite. */
#define _GNU_SOURCE
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sound/scene.h"
#include "sound/trapped.h"

enum { RATE = 48000, LEAD = RATE * VOICE_LEAD_MILLISECONDS / 1000 };

/* ---- every kind of command, thousands of blocks -------------------------------------------- */

enum { SCRIPT = 3000, SILENT_FROM = 1500, LENT = 4 };

/* All that is needed is made before, so that what runs is send, render and receive only. */
typedef struct {
    Scene scene;
    Timeline *timeline[LENT];
    Engine *engine;
    Command command[SCRIPT];
    size_t block[SCRIPT];
    float out[4096];
    size_t rendered;
} Show;

static Show show;

static void show_make(void)
{
    Random random = {2718};
    show.scene = scene_quavers(RATE, false);
    show.scene.passage->hands = HANDS_OCTAVES;
    plucks_free(show.scene.plucks);
    show.scene.plucks = plucks_make(show.scene.passage, RATE, 440, NULL);
    for (int i = 0; i < LENT; i++)
        show.timeline[i] = scene_timeline(&show.scene, drill_plain(), 60 + 80 * i, 1, 1, 1);
    const Mix mix = mix_default();
    show.engine = scene_engine(&show.scene, &mix);
    for (int i = 0; i < SCRIPT; i++) {
        const CommandKind kind = (CommandKind)random_between(&random, COMMAND_PLAY, COMMAND_MIX);
        show.command[i] = cue_source(0, kind, show.timeline[random_between(&random, 0, LENT - 1)],
            random_between(&random, 0, 3) ? show.scene.plucks : NULL, 0)
                              .command;
        show.command[i].mix = mix_plain(random_between(&random, -6, 0));
        show.command[i].mix.on[LAYER_GUIDE] = true;
        show.block[i] = (size_t)random_between(&random, 0, 4096);
    }
}

static void show_run(void)
{
    EngineEvent event;
    for (int i = 0; i < SCRIPT; i++) {
        if (i % 3 == 0) /* let things sound in between */
            engine_send(show.engine, &show.command[i]);
        engine_render(show.engine, show.out, show.block[i]);
        show.rendered += show.block[i];
        if (i < SILENT_FROM) /* and after that let the event queue fill, and the commands' */
            while (engine_receive(show.engine, &event)) {
            }
    }
}

static void show_end(void)
{
    engine_free(show.engine);
    for (int i = 0; i < LENT; i++)
        timeline_free(show.timeline[i]);
    scene_end(&show.scene);
}

static void the_traps_bite(void **state)
{
    (void)state;
    if (SANITIZED)
        skip();
    pthread_mutex_t mutex = PTHREAD_MUTEX_INITIALIZER;
    void *volatile block;
    caught = 0;
    trapped = 1;
    block = malloc(10);
    free(block);
    pthread_mutex_lock(&mutex);
    pthread_mutex_unlock(&mutex);
    trapped = 0;
    assert_int_equal(caught, 4);
}

static void rendering_calls_no_allocator_lock_or_io(void **state)
{
    (void)state;
    if (SANITIZED)
        skip();
    show_make();
    caught = 0;
    trapped = 1;
    show_run();
    trapped = 0;
    assert_int_equal(caught, 0);
    assert_true(show.rendered > 1000 * 1000);
    assert_true(engine_refused(show.engine) > 0);
    assert_true(engine_position(show.engine) == (int64_t)show.rendered);
    show_end();
}

/* ---- the kernel as a witness --------------------------------------------------------------- */

static void ask_for_a_number(void)
{
    syscall(SYS_getppid);
}

static void the_filter_bites(void **state)
{
    (void)state;
    const int status = status_under_filter(ask_for_a_number);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGSYS);
}

static void rendering_makes_no_system_call(void **state)
{
    (void)state;
    if (SANITIZED)
        skip();
    show_make();
    const int status = status_under_filter(show_run);
    if (WIFSIGNALED(status))
        fail_msg("ended by signal %d: a system call was made", WTERMSIG(status));
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 42);
    show_end();
}

/* ---- an hour ------------------------------------------------------------------------------- */

static Scene four_bars(int rate)
{
    int strings[32];
    Ratio lengths[32];
    for (int i = 0; i < 32; i++) {
        strings[i] = 28 + (i < 16 ? i : 31 - i);
        lengths[i] = ratio(1, 2);
    }
    return scene_of(passage_of(strings, lengths, 32, metre(4, 4), ratio_int(0)), rate, true);
}

/* Quavers in dotted rhythm (3:1) at crotchet = 137: in semiquavers the notes stand at 0, 3, 4,
 * 7, 8 ..., the pulses at 0, 4, 8 ...; with pulses, notes and accents on, something peaks at
 * every one of those and nowhere else. Ideal frame of semiquaver n after the first pulse:
 *
 *     n * 60 * rate / (4 * 137) = n * 15 * rate / 137
 *
 * so  |peak * 137 - n * 15 * rate| * 2 <= 137  says "at most half a frame off", in integers. */
static void an_hour_is_never_half_a_frame_off(void **state)
{
    (void)state;
    enum { PER_MINUTE = 137, BARS_PER_REPETITION = 4, BLOCK = 16384 };
    const int rates[] = {48000, 44100};
    for (size_t r = 0; r < 2; r++) {
        const int64_t rate = rates[r], lead = rate * VOICE_LEAD_MILLISECONDS / 1000;
        const int64_t bars = 60 * PER_MINUTE / 4; /* of an hour */
        const int repetitions = (int)(bars / BARS_PER_REPETITION + 1), count_in = 1;
        Scene s = four_bars(rates[r]);
        DrillSpec drill = drill_plain();
        drill.rhythm = (Rhythm){2, 0, 3, 1, TIMING_TOTAL};
        Timeline *t = scene_timeline(&s, drill, PER_MINUTE, repetitions, count_in, 0);
        assert_true(timeline_frames(t) >= 3600 * rate);
        Mix mix = mix_plain(-12);
        mix.on[LAYER_SUBDIVISION] = false;
        Engine *e = scene_engine(&s, &mix);
        const Command play = {.kind = COMMAND_PLAY, .source = {t, NULL}};
        assert_true(engine_send(e, &play));
        static float out[BLOCK];
        Ear ear = {.least = 0.02F};
        while (!engine_idle(e) || engine_position(e) == 0) {
            engine_render(e, out, BLOCK);
            ear_hear(&ear, out, BLOCK);
        }
        size_t heard = 0;
        int64_t worst = 0;
        for (int64_t n = 0; n < 16 * (count_in + BARS_PER_REPETITION * repetitions); n++) {
            const bool pulse = n % 4 == 0, short_note = n % 4 == 3 && n >= 16 * count_in;
            if (!pulse && !short_note)
                continue;
            assert_true(heard < ear.count);
            int64_t off = (ear.peak[heard].frame - lead) * PER_MINUTE - n * 15 * rate;
            off = off < 0 ? -off : off;
            if (2 * off > PER_MINUTE)
                fail_msg("semiquaver %lld at frame %lld", (long long)n,
                    (long long)ear.peak[heard].frame);
            worst = off > worst ? off : worst;
            heard++;
        }
        assert_int_equal(heard, ear.count); /* nothing sounded that was not asked for */
        print_message("%lld Hz: %zu events in %.0f s, worst %.3f frames off\n", (long long)rate,
            heard, (double)engine_position(e) / (double)rate, (double)worst / PER_MINUTE);
        free(ear.peak);
        engine_free(e);
        timeline_free(t);
        scene_end(&s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_traps_bite),
        cmocka_unit_test(rendering_calls_no_allocator_lock_or_io),
        cmocka_unit_test(the_filter_bites),
        cmocka_unit_test(rendering_makes_no_system_call),
        cmocka_unit_test(an_hour_is_never_half_a_frame_off),
    };
    return cmocka_run_group_tests_name("render_contract", tests, NULL, NULL);
}
