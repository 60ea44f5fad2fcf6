/* The player through a real audio path: PortAudio, ALSA, PulseAudio and back as a recording.
 * Runs in real time, but every claim is about frames. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/sound/player.h"
#include "loopback.h"
#include "scene.h"

#include <math.h>
#include <sys/wait.h>

enum { MS = 1000000, POLL = 10 * MS, THRESHOLD = -50 };
#define S ((int64_t)1000000000)

static Loopback loop;

/* One playing of a timeline, watched. */
typedef struct {
    Scene scene;
    Timeline *timeline;
    Engine *engine;
    Player *player;
    int64_t started; /* engine frame of the timeline's frame 0 */
    int64_t ended;   /* engine frame; -1 not yet */
    int64_t heard;   /* at the last poll */
    int64_t slowest; /* poll, nanoseconds */
} Playing;

static Playing begin(int per_minute, int repetitions, const Mix *mix)
{
    Playing p = {.scene = scene_quavers(LOOPBACK_RATE, true), .ended = -1};
    PlayerOptions options = {.rate = LOOPBACK_RATE};
    DrillSpec drill = drill_plain();
    drill.accent = ACCENT_FINGER;
    drill.finger = 3;
    p.timeline = scene_timeline(&p.scene, drill, per_minute, repetitions, 1, 0);
    p.engine = scene_engine(&p.scene, mix);
    p.player = player_new(&options);
    assert_non_null(p.player);
    player_open(p.player);
    return p;
}

static void end(Playing *p)
{
    player_free(p->player);
    engine_free(p->engine);
    timeline_free(p->timeline);
    scene_end(&p->scene);
}

static void play(Playing *p)
{
    Command command = {.kind = COMMAND_PLAY, .source = {.timeline = p->timeline}};
    player_start(p->player, p->engine, monotonic_now());
    assert_true(engine_send(p->engine, &command));
}

/* One poll, and what the player always promises: what is heard never runs back and never
 * passes what is rendered. */
static void poll_once(Playing *p)
{
    EngineEvent event;
    pause_for(POLL);
    int64_t before = monotonic_now();
    player_poll(p->player, before);
    int64_t took = monotonic_now() - before;
    if (took > p->slowest)
        p->slowest = took;
    int64_t heard = player_heard(p->player, monotonic_now());
    assert_true(heard >= p->heard);
    assert_true(heard <= engine_position(p->engine));
    p->heard = heard;
    while (engine_receive(p->engine, &event)) {
        if (event.kind == ENGINE_STARTED)
            p->started = event.engine_frame - event.timeline_frame;
        if (event.kind == ENGINE_ENDED)
            p->ended = event.engine_frame;
    }
}

static void poll_until_heard(Playing *p, int64_t engine_frame)
{
    for (int64_t give_up = monotonic_now() + 30 * S; p->heard < engine_frame;) {
        poll_once(p);
        if (monotonic_now() > give_up)
            fail_msg("engine frame %lld is not heard within 30 s; at %lld", (long long)engine_frame,
                (long long)p->heard);
    }
}

static bool poll_until_state(Playing *p, PlayerState state, int64_t patience)
{
    for (int64_t give_up = monotonic_now() + patience; monotonic_now() < give_up;) {
        if (player_status(p->player).state == state)
            return true;
        poll_once(p);
    }
    return player_status(p->player).state == state;
}

/* Frames at which the timeline has a click, and whether a note with the accent is there. */
typedef struct {
    size_t count;
    int64_t frame[HEARD_MAX];
    bool accent[HEARD_MAX];
} ExpectedClicks;

static void expect_clicks(const Timeline *t, ExpectedClicks *out)
{
    out->count = 0;
    for (size_t i = 0; i < timeline_count(t); i++) {
        TimelineEvent e = timeline_event(t, i);
        if (e.kind == EVENT_SUBDIVISION)
            continue;
        if (out->count == 0 || out->frame[out->count - 1] != e.frame)
            out->frame[out->count++] = e.frame;
        out->accent[out->count - 1] = e.kind == EVENT_ACCENT;
    }
}

/* Only the notes sound, besides the count-in: an accent's level can be read off. */
static Mix notes_alone(void)
{
    Mix m = mix_plain(-20);
    m.on[LAYER_PULSE] = false;
    m.on[LAYER_SUBDIVISION] = false;
    m.accent = 6;
    return m;
}

static void every_click_comes_back_on_its_frame(void **state)
{
    (void)state;
    static Recording heard;
    static ExpectedClicks expected;
    Mix mix = notes_alone();
    Playing p = begin(173, 3, &mix); /* an awkward tempo: 8323.7 frames to the quaver */
    assert_int_equal(player_status(p.player).state, PLAYER_DEVICE);
    assert_int_equal(player_status(p.player).rate, LOOPBACK_RATE);
    loopback_record(&loop);
    play(&p);
    poll_until_heard(&p, timeline_frames(p.timeline) + LOOPBACK_RATE / 2);
    assert_true(p.ended >= 0);
    assert_int_equal(player_status(p.player).state, PLAYER_DEVICE);
    loopback_hear(&loop, THRESHOLD, &heard);
    expect_clicks(p.timeline, &expected);

    double accents = 0, others = 0;
    int accent_count = 0, other_count = 0;
    assert_int_equal(heard.count, expected.count);
    for (size_t i = 0; i < heard.count; i++) {
        int64_t at = heard.click[i].frame - heard.click[0].frame;
        assert_in_range(at - (expected.frame[i] - expected.frame[0]) + 1, 0, 2);
        if (expected.frame[i] < timeline_repetition_frame(p.timeline, 0))
            continue; /* the count-in has a level of its own */
        *(expected.accent[i] ? &accents : &others) += heard.click[i].level;
        *(expected.accent[i] ? &accent_count : &other_count) += 1;
    }
    assert_int_equal(accent_count, 3 * 4);
    assert_int_equal(other_count, 3 * 12);
    double louder = accents / accent_count - others / other_count;
    print_message("accents are %.2f dB louder; 6 asked\n", louder);
    assert_true(fabs(louder - 6) < 0.5);
    end(&p);
}

/* What the player says is heard, against what the recorder heard at that moment. The loop's own
 * delay is in it: sink and recorder work in pieces of 10 ms. */
static void what_is_heard_is_what_the_player_says(void **state)
{
    (void)state;
    static Recording heard;
    static ExpectedClicks expected;
    static int64_t told[HEARD_MAX];
    Mix mix = notes_alone();
    Playing p = begin(150, 2, &mix);
    loopback_record(&loop);
    play(&p);
    expect_clicks(p.timeline, &expected);
    for (size_t i = 0; i < expected.count; i++) {
        /* The event's own moment, from the last poll before it. */
        while (p.heard + LOOPBACK_RATE / 50 < p.started + expected.frame[i])
            poll_once(&p);
        int64_t now = monotonic_now();
        int64_t left = p.started + expected.frame[i] - player_heard(p.player, now);
        told[i] = now + left * S / LOOPBACK_RATE;
    }
    poll_until_heard(&p, timeline_frames(p.timeline) + LOOPBACK_RATE / 2);
    loopback_hear(&loop, THRESHOLD, &heard);
    assert_int_equal(heard.count, expected.count);
    double worst = 0, sum = 0;
    for (size_t i = 0; i < heard.count; i++) {
        int64_t real = heard.start + heard.click[i].frame * S / LOOPBACK_RATE;
        double off = (double)(real - told[i]) / MS;
        sum += off;
        if (fabs(off) > worst)
            worst = fabs(off);
    }
    print_message("heard %.1f ms after what the player says; at most %.1f ms off\n",
        sum / (double)heard.count, worst);
    assert_true(worst < 30);
    end(&p);
}

/* ---- a device that goes away ---------------------------------------------------------------- */

/* The line that time must keep to: what was heard at one moment, and the rate. */
typedef struct {
    int64_t time, frame;
} Line;

static Line line_through(const Playing *p)
{
    int64_t now = monotonic_now();
    return (Line){.time = now, .frame = player_heard(p->player, now)};
}

static double milliseconds_off(const Line *line, int64_t time, int64_t frame)
{
    double due = (double)line->frame + (double)(time - line->time) * LOOPBACK_RATE / (double)S;
    return ((double)frame - due) * 1e3 / LOOPBACK_RATE;
}

/* Polls for a while without a device: what is heard keeps to the line. */
static void keep_time_for(Playing *p, const Line *line, int64_t duration)
{
    for (int64_t until = monotonic_now() + duration; monotonic_now() < until;) {
        poll_once(p);
        int64_t now = monotonic_now();
        player_poll(p->player, now);
        double off = milliseconds_off(line, now, player_heard(p->player, now));
        if (fabs(off) > 5)
            fail_msg("without a device time is %.1f ms off", off);
    }
}

/* The clicks of a recording that began in mid-drill stand on the timeline's frames, each one
 * within a frame of where the first of them puts it; and the first where time asks for it. */
static void check_clicks_after(const Playing *p, const Line *line, const Recording *heard)
{
    static ExpectedClicks expected;
    expect_clicks(p->timeline, &expected);
    assert_true(heard->count > 4);
    int64_t first_time = heard->start + heard->click[0].frame * S / LOOPBACK_RATE;
    double first = (double)line->frame +
                   (double)(first_time - line->time) * LOOPBACK_RATE / (double)S -
                   (double)p->started;
    size_t at = 0;
    for (size_t i = 1; i < expected.count; i++)
        if (fabs((double)expected.frame[i] - first) < fabs((double)expected.frame[at] - first))
            at = i;
    double off = ((double)expected.frame[at] - first) * 1e3 / LOOPBACK_RATE;
    print_message("back at click %zu, %.1f ms from its time; %zu clicks\n", at, off, heard->count);
    assert_true(fabs(off) < 30);
    assert_int_equal(heard->count, expected.count - at);
    for (size_t i = 0; i < heard->count; i++)
        assert_in_range(heard->click[i].frame - heard->click[0].frame -
                            (expected.frame[at + i] - expected.frame[at]) + 1,
            0, 2);
}

/* The daemon comes back and is recorded; that takes seconds, and polls go on meanwhile. */
static void bring_back_while_polling(Playing *p, const Line *line)
{
    int status;
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        loopback_restart(&loop);
        loopback_record(&loop);
        _exit(0);
    }
    while (waitpid(child, &status, WNOHANG) == 0)
        keep_time_for(p, line, POLL);
    assert_int_equal(status, 0);
}

static void a_lost_device_keeps_time_and_is_picked_up(void **state)
{
    (void)state;
    static Recording heard;
    Mix mix = notes_alone();
    Playing p = begin(173, 7, &mix);
    loopback_record(&loop);
    play(&p);
    poll_until_heard(&p, 2 * LOOPBACK_RATE);
    Line line = line_through(&p);

    loopback_kill(&loop);
    int64_t killed = monotonic_now();
    assert_true(poll_until_state(&p, PLAYER_LOST, 1 * S));
    print_message("noticed within %lld ms\n", (long long)((monotonic_now() - killed) / MS));
    assert_string_equal(player_status(p.player).complaint, "The audio device went away.");
    keep_time_for(&p, &line, 2 * S);
    assert_int_equal(player_status(p.player).state, PLAYER_LOST);

    bring_back_while_polling(&p, &line);
    assert_true(poll_until_state(&p, PLAYER_DEVICE, 12 * S));
    assert_string_equal(player_status(p.player).complaint, "");
    poll_until_heard(&p, p.started + timeline_frames(p.timeline) + LOOPBACK_RATE / 2);
    loopback_hear(&loop, THRESHOLD, &heard);
    check_clicks_after(&p, &line, &heard);
    print_message("slowest poll %.1f ms\n", (double)p.slowest / MS);
    end(&p);
}

/* A server that hangs is worse than one that ends: every call to it blocks. The console's
 * polls do not (the bound leaves room for a busy machine; the calls block for seconds). */
static void a_hanging_server_does_not_hang_the_console(void **state)
{
    (void)state;
    Mix mix = notes_alone();
    Playing p = begin(173, 5, &mix);
    loopback_record(&loop);
    play(&p);
    poll_until_heard(&p, 1 * LOOPBACK_RATE);
    Line line = line_through(&p);
    loopback_freeze(&loop);
    assert_true(poll_until_state(&p, PLAYER_LOST, 1 * S));
    keep_time_for(&p, &line, 2 * S);
    loopback_thaw(&loop);
    assert_true(poll_until_state(&p, PLAYER_DEVICE, 12 * S));
    keep_time_for(&p, &line, S / 2);
    print_message("slowest poll %.1f ms\n", (double)p.slowest / MS);
    assert_true(p.slowest < 250 * MS);

    loopback_freeze(&loop);
    int64_t before = monotonic_now();
    end(&p);
    int64_t took = monotonic_now() - before;
    print_message("left a hanging server after %lld ms\n", (long long)(took / MS));
    assert_true(took < 3 * S);
    loopback_thaw(&loop);

    /* What was left behind comes to its end now; the next player waits for it and plays. */
    p = begin(173, 1, &mix);
    assert_int_equal(player_status(p.player).state, PLAYER_DEVICE);
    end(&p);
}

/* ---- no device, and not the one that was asked for --------------------------------------------
 */

static void without_a_device_it_is_silent_until_asked_again(void **state)
{
    (void)state;
    loopback_no_device(&loop);
    Mix mix = notes_alone();
    Playing p = begin(173, 2, &mix);
    PlayerStatus s = player_status(p.player);
    assert_int_equal(s.state, PLAYER_SILENT);
    assert_int_equal(s.rate, LOOPBACK_RATE);
    assert_string_equal(s.device, "");
    assert_string_equal(s.complaint, "There is no audio output device.");
    play(&p);
    Line line = {.time = monotonic_now(), .frame = 0};
    keep_time_for(&p, &line, S / 2);

    player_retry(p.player, monotonic_now());
    keep_time_for(&p, &line, S);
    assert_int_equal(player_status(p.player).state, PLAYER_SILENT);

    loopback_restart(&loop);
    player_retry(p.player, monotonic_now());
    assert_true(poll_until_state(&p, PLAYER_DEVICE, 5 * S));
    keep_time_for(&p, &line, S / 2);
    end(&p);
}

static void a_refused_rate_gives_way_to_the_devices_own(void **state)
{
    (void)state;
    PlayerOptions options = {.rate = 8000000};
    Player *p = player_new(&options);
    assert_non_null(p);
    assert_int_equal(player_status(p).state, PLAYER_CLOSED);
    player_open(p);
    PlayerStatus s = player_status(p);
    assert_int_equal(s.state, PLAYER_DEVICE);
    assert_in_range(s.rate, 8000, 192000);
    assert_non_null(strstr(s.complaint, "does not take 8000000 frames a second"));
    assert_true(s.latency > 0.01 && s.latency < 0.5);
    player_free(p);
}

static void a_device_that_is_not_there_is_not_replaced_by_another(void **state)
{
    (void)state;
    PlayerOptions options = {.device = "no such\033device"};
    Player *p = player_new(&options);
    assert_non_null(p);
    player_open(p);
    PlayerStatus s = player_status(p);
    assert_int_equal(s.state, PLAYER_SILENT);
    assert_string_equal(s.complaint, "No output device has this name or number: no such?device.");
    player_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_click_comes_back_on_its_frame),
        cmocka_unit_test(what_is_heard_is_what_the_player_says),
        cmocka_unit_test(a_lost_device_keeps_time_and_is_picked_up),
        cmocka_unit_test(a_hanging_server_does_not_hang_the_console),
        cmocka_unit_test(without_a_device_it_is_silent_until_asked_again),
        cmocka_unit_test(a_refused_rate_gives_way_to_the_devices_own),
        cmocka_unit_test(a_device_that_is_not_there_is_not_replaced_by_another),
    };
    loopback_start(&loop);
    int r = cmocka_run_group_tests_name("player_loop", tests, NULL, NULL);
    loopback_stop(&loop);
    return r;
}
