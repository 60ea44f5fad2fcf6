/* The same commands give the same samples whatever the blocks; what is lent comes back once;
 * two threads. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sound/scene.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>

enum { RATE = 48000, LEAD = RATE * VOICE_LEAD_MILLISECONDS / 1000 };

/* ---- blocks -------------------------------------------------------------------------------- */

enum { CUES = 60, TIMELINES = 6, FRAMES = 20 * RATE };

/* A wild script: every command, at random frames, several at one frame among them. */
static size_t random_script(
    Random *random, Timeline *const t[TIMELINES], const PluckBank *plucks, Cue cues[CUES])
{
    int64_t at = 0;
    cues[0] = cue_source(0, COMMAND_PLAY, t[0], plucks, 0);
    for (int i = 1; i < CUES; i++) {
        if (random_between(random, 0, 3) > 0)
            at += random_between(random, 1, 2 * FRAMES / CUES);
        const CommandKind kind = (CommandKind)random_between(random, COMMAND_PLAY, COMMAND_MIX);
        const Timeline *timeline = t[random_between(random, 0, TIMELINES - 1)];
        cues[i] = cue_source(at, kind, timeline, random_between(random, 0, 2) ? plucks : NULL,
            random_between(random, 0, (int)timeline_frames(timeline)));
        cues[i].command.mix = mix_plain(random_between(random, -20, 0));
        cues[i].command.mix.on[LAYER_GUIDE] = random_between(random, 0, 2) > 0;
        if (kind == COMMAND_PAUSE && i + 1 < CUES) { /* mostly goes on again */
            i++;
            cues[i] = cue(at + random_between(random, 0, 4000), COMMAND_RESUME);
            at = cues[i].at;
        }
    }
    return CUES;
}

static void check_same_events(const EventList *a, const EventList *b)
{
    size_t i = 0, k = 0;
    while (true) { /* RETIRED comes when a block ends: its place in the list may differ */
        while (i < a->count && a->event[i].kind == ENGINE_RETIRED)
            i++;
        while (k < b->count && b->event[k].kind == ENGINE_RETIRED)
            k++;
        if (i == a->count || k == b->count)
            break;
        assert_int_equal(a->event[i].kind, b->event[k].kind);
        assert_int_equal(a->event[i].engine_frame, b->event[k].engine_frame);
        assert_int_equal(a->event[i].timeline_frame, b->event[k].timeline_frame);
        assert_ptr_equal(a->event[i].source.timeline, b->event[k].source.timeline);
        i++;
        k++;
    }
    assert_int_equal(a->count - i, 0);
    assert_int_equal(b->count - k, 0);
    assert_int_equal(a->count, b->count);
}

static void blocks_of_any_size_give_the_same_bytes(void **state)
{
    (void)state;
    Random random = {77};
    Scene s = scene_quavers(RATE, false);
    Timeline *t[TIMELINES];
    for (int i = 0; i < TIMELINES; i++) {
        DrillSpec drill = drill_plain();
        if (i % 2)
            drill.rhythm = (Rhythm){2, 0, 3, 1, TIMING_TOTAL};
        t[i] = scene_timeline(&s, drill, 113 + 37 * i, 1 + i % 2, i % 3, i % 2);
    }
    float *one = sample_room(FRAMES), *other = sample_room(FRAMES);
    for (int round = 0; round < 6; round++) {
        static EventList first, second;
        Cue cues[CUES];
        const size_t count = random_script(&random, t, s.plucks, cues);
        const int64_t blocks[] = {1, 7, 64, 10007, FRAMES};
        const Mix mix = mix_default();
        Engine *e = scene_engine(&s, &mix);
        first.count = 0;
        run_script(e, cues, count, one, FRAMES, 4096, &first);
        engine_free(e);
        for (size_t b = round == 0 ? 0 : 1; b < 5; b++) { /* the slow one once */
            e = scene_engine(&s, &mix);
            second.count = 0;
            run_script(e, cues, count, other, FRAMES, blocks[b], &second);
            if (memcmp(one, other, FRAMES * sizeof *one) != 0)
                fail_msg("round %d: blocks of %lld differ from 4096", round, (long long)blocks[b]);
            check_same_events(&first, &second);
            engine_free(e);
        }
        double power = 0;
        for (int64_t i = 0; i < FRAMES; i++)
            power += (double)one[i] * (double)one[i];
        assert_true(power > 1); /* something was heard */
    }
    free(one);
    free(other);
    for (int i = 0; i < TIMELINES; i++)
        timeline_free(t[i]);
    scene_end(&s);
}

static void no_frames_are_no_frames(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true);
    const Mix mix = mix_default();
    Engine *e = scene_engine(&s, &mix);
    engine_render(e, NULL, 0);
    assert_int_equal(engine_position(e), 0);
    assert_true(engine_idle(e));
    engine_free(e);
    engine_free(NULL);
    scene_end(&s);
}

/* ---- what is lent comes back --------------------------------------------------------------- */

/* A source of its own for every command, freed as soon as it is retired: under the address
 * sanitizer this also proves that the engine never touches it again. */
typedef struct {
    Timeline *timeline;
    PluckBank *plucks;
    bool out, back;
} Lending;

static Lending lend_new(const Scene *s, Random *random)
{
    DrillSpec drill = drill_plain();
    Lending l = {.timeline = scene_timeline(s, drill, random_between(random, 200, 400), 1,
                     random_between(random, 0, 1), 0),
        .plucks = plucks_make(s->passage, s->rate, 440, NULL)};
    assert_non_null(l.plucks);
    return l;
}

static void take_back(Lending *all, size_t count, const Source *source)
{
    for (size_t i = 0; i < count; i++) {
        if (all[i].timeline != source->timeline)
            continue;
        assert_true(all[i].out);
        assert_false(all[i].back);
        assert_ptr_equal(source->plucks, all[i].plucks);
        all[i].back = true;
        timeline_free(all[i].timeline);
        plucks_free(all[i].plucks);
        all[i].timeline = NULL;
        return;
    }
    fail_msg("a source came back that was not out");
}

static void receive_back(Engine *e, Lending *all, size_t count)
{
    EngineEvent event;
    while (engine_receive(e, &event))
        if (event.kind == ENGINE_RETIRED)
            take_back(all, count, &event.source);
}

/* `deaf`: the console receives only when it must, so that the event queue overflows. */
static void lend_at_random(Random *random, bool deaf)
{
    enum { LENDINGS = 400, BLOCK = 256 };
    static Lending all[LENDINGS];
    static float out[BLOCK];
    Scene s = scene_quavers(8000, false);
    Mix mix = mix_default();
    mix.on[LAYER_GUIDE] = true;
    Engine *e = scene_engine(&s, &mix);
    size_t count = 0;
    while (count < LENDINGS) {
        const int how_many = deaf ? random_between(random, 0, 8) : random_between(random, -3, 3);
        for (int i = 0; i < how_many && count < LENDINGS; i++) {
            static const CommandKind kinds[] = {COMMAND_PLAY, COMMAND_CHANGE, COMMAND_QUEUE,
                COMMAND_PAUSE, COMMAND_RESUME, COMMAND_STOP};
            const CommandKind kind = kinds[random_between(random, 0, 5)];
            Command c = {.kind = kind};
            if (kind <= COMMAND_QUEUE) {
                all[count] = lend_new(&s, random);
                c.source = (Source){all[count].timeline, all[count].plucks};
                all[count].out = engine_send(e, &c);
                if (!all[count].out) { /* refused: never lent */
                    timeline_free(all[count].timeline);
                    plucks_free(all[count].plucks);
                    receive_back(e, all, count);
                    continue;
                }
                count++;
            } else {
                engine_send(e, &c);
            }
        }
        engine_render(e, out, BLOCK);
        if (!deaf)
            receive_back(e, all, count);
    }
    const Command stop = {.kind = COMMAND_STOP};
    receive_back(e, all, count);
    while (!engine_send(e, &stop)) {
        engine_render(e, out, BLOCK);
        receive_back(e, all, count);
    }
    for (int i = 0; i < 200; i++) {
        engine_render(e, out, BLOCK);
        receive_back(e, all, count);
    }
    for (size_t i = 0; i < count; i++)
        assert_true(all[i].back);
    assert_true(engine_idle(e));
    if (deaf)
        assert_true(engine_refused(e) > 0); /* the queues did overflow */
    else
        assert_int_equal(engine_refused(e), 0);
    engine_free(e);
    scene_end(&s);
}

static void every_source_comes_back_exactly_once(void **state)
{
    (void)state;
    Random random = {4711};
    for (int round = 0; round < 4; round++)
        lend_at_random(&random, false);
}

static void a_full_event_queue_loses_no_source(void **state)
{
    (void)state;
    Random random = {1147};
    for (int round = 0; round < 3; round++)
        lend_at_random(&random, true);
}

static void what_does_not_fit_is_refused_and_counted(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true), slow = scene_quavers(44100, true);
    Timeline *other_rate = scene_timeline(&slow, drill_plain(), 100, 1, 0, 0);
    const Mix mix = mix_default();
    Engine *e = scene_engine(&s, &mix);
    const Command nothing = {.kind = COMMAND_PLAY};
    const Command odd = {.kind = COMMAND_QUEUE, .source = {other_rate, NULL}};
    assert_false(engine_send(e, &nothing));
    assert_false(engine_send(e, &odd));
    assert_int_equal(engine_refused(e), 2);
    const Command resume = {.kind = COMMAND_RESUME};
    for (int i = 0; i < ENGINE_QUEUE; i++)
        assert_true(engine_send(e, &resume));
    assert_false(engine_send(e, &resume));
    assert_int_equal(engine_refused(e), 3);
    float out[1];
    engine_render(e, out, 1);
    assert_true(engine_send(e, &resume));
    engine_free(e);
    timeline_free(other_rate);
    scene_end(&slow);
    scene_end(&s);
}

/* More strings than voices: cut softly, counted, still within the limit. */
static void too_many_voices_are_stolen_softly(void **state)
{
    (void)state;
    Error error = {0};
    Passage *p = passage_new();
    const Metre m = metre(4, 4);
    scene_need(p && passage_add_bar(p, ratio_int(0), &m, 1, &error), &error);
    for (int i = 0; i < 32; i++) /* blocks of sixteen, both hands, moving over eighty keys */
        for (int k = 0; k < PASSAGE_BLOCK_MAX; k++) {
            Note note = {
                .onset = ratio(i, 8), .length = ratio(1, 8), .pitch = pitch_on(14 + i % 3 + 3 * k)};
            note.pitch.alter = (int8_t)(i / 3 % 2);
            scene_need(passage_add_note(p, &note, &error), &error);
        }
    scene_need(passage_finish(p, ratio_int(4), &error), &error);
    p->hands = HANDS_OCTAVES;
    Scene s = scene_of(p, RATE, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 120, 3, 0, 0);
    Mix mix = mix_default();
    for (int i = 0; i < LAYER_KINDS; i++)
        mix.on[i] = i == LAYER_GUIDE;
    mix.level[LAYER_GUIDE] = 0;
    Engine *e = scene_engine(&s, &mix);
    const int64_t frames = timeline_frames(t) + 2 * RATE;
    float *out = sample_room(frames);
    const Cue cues[] = {cue_source(0, COMMAND_PLAY, t, s.plucks, 0)};
    run_script(e, cues, 1, out, frames, 256, NULL);
    assert_true(engine_stolen(e) > 0);
    for (int64_t i = 0; i < frames; i++)
        assert_true(fabsf(out[i]) <= ENGINE_LIMIT);
    engine_free(e);
    free(out);
    timeline_free(t);
    scene_end(&s);
}

/* ---- two threads --------------------------------------------------------------------------- */

typedef struct {
    Engine *engine;
    _Atomic bool quit;
    double power;
} Audio;

static void *play_audio(void *argument)
{
    Audio *a = argument;
    static float out[512];
    Random random = {99};
    while (!atomic_load(&a->quit)) {
        const size_t block = (size_t)random_between(&random, 1, 512);
        engine_render(a->engine, out, block);
        for (size_t i = 0; i < block; i++)
            a->power += (double)out[i] * (double)out[i];
    }
    return NULL;
}

/* The console lends, asks and frees while another thread renders as fast as it can. */
static void console_and_audio_threads_share_only_the_queues(void **state)
{
    (void)state;
    enum { LENDINGS = 300 };
    static Lending all[LENDINGS];
    Random random = {31415};
    Scene s = scene_quavers(8000, false);
    Mix mix = mix_default();
    mix.on[LAYER_GUIDE] = true;
    Audio a = {.engine = scene_engine(&s, &mix)};
    pthread_t thread;
    int64_t position = 0;
    assert_int_equal(pthread_create(&thread, NULL, play_audio, &a), 0);
    size_t count = 0;
    while (count < LENDINGS) {
        Command c = {
            .kind = (CommandKind)random_between(&random, COMMAND_PLAY, COMMAND_MIX), .mix = mix};
        if (c.kind <= COMMAND_QUEUE) {
            all[count] = lend_new(&s, &random);
            c.source = (Source){all[count].timeline, all[count].plucks};
            all[count].out = true;
            count++;
        }
        while (!engine_send(a.engine, &c))
            receive_back(a.engine, all, count);
        receive_back(a.engine, all, count);
        assert_true(engine_position(a.engine) >= position);
        position = engine_position(a.engine);
        (void)engine_refused(a.engine);
        (void)engine_stolen(a.engine);
    }
    const Command stop = {.kind = COMMAND_STOP};
    while (!engine_send(a.engine, &stop)) {
    }
    for (bool idle = false; !idle;) { /* until all is back; the test runner's limit ends it */
        receive_back(a.engine, all, count);
        idle = true;
        for (size_t i = 0; i < count; i++)
            idle = idle && all[i].back;
    }
    atomic_store(&a.quit, true);
    pthread_join(thread, NULL);
    assert_true(a.power > 0);
    assert_true(engine_idle(a.engine));
    engine_free(a.engine);
    scene_end(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blocks_of_any_size_give_the_same_bytes),
        cmocka_unit_test(no_frames_are_no_frames),
        cmocka_unit_test(every_source_comes_back_exactly_once),
        cmocka_unit_test(a_full_event_queue_loses_no_source),
        cmocka_unit_test(what_does_not_fit_is_refused_and_counted),
        cmocka_unit_test(too_many_voices_are_stolen_softly),
        cmocka_unit_test(console_and_audio_threads_share_only_the_queues),
    };
    return cmocka_run_group_tests_name("engine_blocks", tests, NULL, NULL);
}
