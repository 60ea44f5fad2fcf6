/* The console: screen, keys, player and practice wired together, one turn of the loop at a
 * time. The screen comes first; sound is opened after the first picture stands. */
#include "evenhand/app/command.h"
#include "evenhand/app/load.h"
#include "evenhand/app/practice.h"
#include "evenhand/console/screen.h"
#include "evenhand/console/view.h"

#include "recorder.h"

#include <langinfo.h>
#include <signal.h>
#include <string.h>
#include <time.h>

/* How long a turn waits for a key: 40 pictures a second while something runs. */
enum { TURN_RUNNING_MS = 25, TURN_IDLE_MS = 100 };

typedef struct {
    const Options *options;
    Practice *practice;
    ScreenDriver *screen;
    Grid grid;
    Player *player;
    VoiceBank *voices;
    Engine *engine;
    Debounce debounce;
    Recorder recorder;
} Console;

static int64_t now_ns(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * 1000000000 + t.tv_nsec;
}

static int64_t now_ms(void)
{
    return now_ns() / 1000000;
}

static bool draw(Console *c, Error *error)
{
    int width, height;
    screen_size(c->screen, &width, &height);
    if ((c->grid.width != width || c->grid.height != height) &&
        !grid_resize(&c->grid, width, height))
        return error_set(error, ERROR_MEMORY, "no memory for the screen");
    practice_limit_help(c->practice, view_help_last(&c->grid));
    grid_clear(&c->grid);
    view_draw(practice_model(c->practice), &c->grid);
    screen_show(c->screen, &c->grid);
    return true;
}

static bool open_sound(Console *c, Error *error)
{
    const PlayerOptions wanted = {
        .device = c->options->device, .rate = c->options->rate, .silent = c->options->silent};
    c->player = player_new(&wanted);
    if (c->player == NULL)
        return error_set(error, ERROR_MEMORY, "no memory for the sound player");
    player_open(c->player);
    PlayerStatus status = player_status(c->player);
    c->voices = load_voices(c->options, status.rate, error);
    if (c->voices == NULL)
        return false;
    c->engine = engine_new(c->voices, &c->options->mix, error);
    if (c->engine == NULL)
        return false;
    player_start(c->player, c->engine, now_ns());
    practice_audio(c->practice, &status, now_ms());
    practice_attach(c->practice, c->engine);
    return true;
}

/* All keys that wait are done before the next picture. False: leave. */
static bool take_keys(Console *c, int wait_ms)
{
    for (uint32_t key = screen_key(c->screen, wait_ms); key != 0; key = screen_key(c->screen, 0)) {
        Action action = keys_action(key, practice_model(c->practice)->screen);
        if (!debounce_pass(&c->debounce, key, action, now_ms()))
            continue;
        if (action == ACTION_AUDIO)
            player_retry(c->player, now_ns());
        if (!practice_act(c->practice, action, now_ms()))
            return false;
    }
    return !screen_quit_asked();
}

static bool turn(Console *c, Error *error)
{
    int64_t now = now_ns();
    player_poll(c->player, now);
    PlayerStatus status = player_status(c->player);
    practice_audio(c->practice, &status, now / 1000000);
    recorder_poll(&c->recorder, c->practice, now / 1000000);
    practice_tick(c->practice, player_heard(c->player, now), now / 1000000);
    return draw(c, error);
}

static bool run(Console *c, Error *error)
{
    if (!draw(c, error))
        return false;
    recorder_open(&c->recorder, c->options, c->practice, now_ms());
    if (!open_sound(c, error))
        return false;
    do {
        if (!turn(c, error))
            return false;
    } while (take_keys(c, practice_running(c->practice) ? TURN_RUNNING_MS : TURN_IDLE_MS));
    return true;
}

bool command_practice(const Options *o, Error *error)
{
    bool utf8 = !o->ascii && strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
    Console c = {.options = o, .practice = practice_new(o, utf8, error)};
    if (c.practice == NULL)
        return false;
    const ScreenOptions wanted = {.ascii = !utf8};
    bool done = false;
    c.screen = screen_open(&wanted, error);
    if (c.screen == NULL)
        goto out;
    int width, height;
    screen_size(c.screen, &width, &height);
    if (!grid_init(&c.grid, width, height))
        error_set(error, ERROR_MEMORY, "no memory for the screen");
    else {
        c.grid.ascii = !screen_utf8(c.screen);
        done = run(&c, error);
    }
out:
    screen_close(c.screen);
    recorder_close(&c.recorder);
    player_free(c.player); /* first: its callback renders the engine */
    practice_free(c.practice);
    engine_free(c.engine);
    voices_free(c.voices);
    grid_free(&c.grid);
    if (done && screen_quit_signal() != 0)
        raise(screen_quit_signal());
    return done;
}
