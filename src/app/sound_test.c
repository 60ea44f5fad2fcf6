#include "evenhand/app/sound_test.h"

#include "evenhand/app/load.h"
#include "evenhand/app/report.h"
#include "evenhand/sound/player.h"

#include <string.h>
#include <time.h>

enum { SECOND = 1000000000, POLL = SECOND / 50 };

/* Of what is played; longer than the four pulses, their tail and a sound server's slow start. */
#define TEST_PATIENCE ((int64_t)10 * SECOND)

/* Four crotchets at 96. The beat to stress is set to the third alone, so one note is accented. */
static const char test_tune[] = "X:1\nT:Sound test\nM:4/4\nL:1/4\nQ:1/4=96\nK:C\nCDEF|\n";

static const char announcement[] =
    "\nPlaying four pulses: the first is a downbeat, on the third stands an accent.\n"
    "Start with the volume low. If your ears ring afterwards, stop and ask a hearing "
    "professional.\n";

static int64_t monotonic(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * SECOND + t.tv_nsec;
}

static bool print(Text *text, Error *error)
{
    bool done = report_text(text, error);
    text_free(text);
    return done;
}

static bool say(const char *what, Error *error)
{
    Text text = {0};
    return (text_add(&text, "%s", what) || error_set(error, ERROR_MEMORY, "there is no memory")) &&
           print(&text, error);
}

/* What the test plays with; sound_free frees what is there. */
typedef struct {
    Loaded loaded;
    VoiceBank *voices;
    Timeline *timeline;
    Engine *engine;
    Player *player;
} SoundTest;

static void sound_free(SoundTest *t)
{
    player_free(t->player); /* first: it lets go of the engine, the engine of the rest */
    engine_free(t->engine);
    timeline_free(t->timeline);
    voices_free(t->voices);
    loaded_free(&t->loaded);
}

static bool make_source(SoundTest *t, const Options *o, int rate, Error *error)
{
    Options wish = options_default();
    wish.drill = "plain";
    wish.repetitions = 1;
    wish.rest_bars = 0;
    wish.count_in_bars = 0;
    wish.spec.beats = (BeatPattern){.count = 1, .at = {{3, 1}}};
    Mix mix = o->mix;
    mix.on[LAYER_PULSE] = true;
    mix.on[LAYER_ACCENT] = true;
    mix.on[LAYER_NOTES] = false;

    if (!load_text(test_tune, sizeof test_tune - 1, "the sound test", 0, &wish, &t->loaded, error))
        return false;
    t->voices = load_voices(o, rate, error);
    if (!t->voices)
        return false;
    t->timeline = timeline_new(t->loaded.passage, &t->loaded.fingering, &t->loaded.rotation,
        &t->loaded.session.steps[0], NULL, rate, error);
    if (!t->timeline)
        return false;
    t->engine = engine_new(t->voices, &mix, error);
    return t->engine != NULL;
}

/* Plays until the last frame was heard; false: it did not come to that. */
static bool play(SoundTest *t)
{
    Command command = {.kind = COMMAND_PLAY, .source = {.timeline = t->timeline}};
    int64_t start = monotonic();
    int64_t last = INT64_MAX;
    struct timespec pause = {.tv_nsec = POLL};

    engine_send(t->engine, &command);
    player_start(t->player, t->engine, start);
    while (monotonic() - start < TEST_PATIENCE) {
        EngineEvent event;
        nanosleep(&pause, NULL);
        player_poll(t->player, monotonic());
        if (player_status(t->player).state != PLAYER_DEVICE)
            return false;
        while (engine_receive(t->engine, &event))
            if (event.kind == ENGINE_ENDED)
                last = event.engine_frame + engine_rate(t->engine) / 2;
        if (player_heard(t->player, monotonic()) >= last)
            return true;
    }
    return false;
}

static bool tell_device(const PlayerStatus *s, Error *error)
{
    Text text = {0};
    text_add(&text,
        "\nOpened %s at %d frames a second; %.0f ms from making a sound to hearing it.\n",
        s->device, s->rate, s->latency * 1e3);
    if (s->complaint[0])
        text_add(&text, "%s\n", s->complaint);
    return print(&text, error);
}

static bool tell_result(const SoundTest *t, Error *error)
{
    PlayerStatus s = player_status(t->player);
    Text text = {0};
    text_add(&text, "\nThe device took all of it");
    if (s.underruns == 0)
        text_add(&text, ", without a gap.\n");
    else
        text_add(&text,
            ", but ran dry %llu times: you may have heard gaps or crackle. Close what "
            "keeps this computer busy, or choose another device.\n",
            (unsigned long long)s.underruns);
    text_add(&text,
        "If you heard nothing: look at the volume and whether the output is muted, at "
        "the cable\nand headphones, or name another device of the list with --device.\n");
    return print(&text, error);
}

/* A complaint of the player as an error's sentence, which has no full stop. */
static bool fail(ErrorKind kind, const char *what, const PlayerStatus *s, Error *error)
{
    int size = (int)strlen(s->complaint);
    if (size > 0 && s->complaint[size - 1] == '.')
        size--;
    return error_set(error, kind, "%s%.*s", what, size < 200 ? size : 200, s->complaint);
}

static const char no_sound[] =
    "\nNothing can be played. Look whether the sound card, headphones or loudspeaker are connected "
    "and\nswitched on, whether the system's sound server runs, and whether another program holds "
    "the device,\nor name a device of the list with --device.\n";

static bool run_test(SoundTest *t, const Options *o, Error *error)
{
    PlayerOptions options = {.device = o->device, .rate = o->rate};
    if (o->silent)
        return error_set(error, ERROR_DEVICE, "--silent opens no device, so nothing was played");
    t->player = player_new(&options);
    if (!t->player)
        return error_set(error, ERROR_MEMORY, "there is no memory for the player");
    player_open(t->player);
    PlayerStatus s = player_status(t->player);
    if (s.state != PLAYER_DEVICE)
        return say(no_sound, error) && fail(ERROR_SILENCE, "", &s, error);
    if (!tell_device(&s, error) || !make_source(t, o, s.rate, error) || !say(announcement, error))
        return false;
    if (play(t))
        return tell_result(t, error);
    s = player_status(t->player);
    if (s.state == PLAYER_DEVICE)
        return error_set(error, ERROR_SILENCE, "the device takes sound too slowly");
    return fail(ERROR_SILENCE, "the test was not played to its end: ", &s, error);
}

bool sound_test(const Options *o, Error *error)
{
    SoundTest t = {0};
    bool done = run_test(&t, o, error);
    sound_free(&t);
    return done;
}
