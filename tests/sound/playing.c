#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "playing.h"

#include <stdlib.h>

/* Recorder and daemon work in pieces of 10 ms; a lost piece is one at least. */
enum { SLIP_MOST = 5 * PLAYING_MS, PATIENCE_SECONDS = 40 };

static Mix notes_alone(void)
{
    Mix m = mix_plain(-20);
    m.on[LAYER_PULSE] = false;
    m.on[LAYER_SUBDIVISION] = false;
    m.accent = 6;
    return m;
}

void playing_begin(Playing *p, int per_minute, int repetitions)
{
    PlayerOptions options = {.rate = LOOPBACK_RATE};
    DrillSpec drill = drill_plain();
    Mix mix = notes_alone();
    drill.accent = ACCENT_FINGER;
    drill.finger = 3;
    *p = (Playing){.scene = scene_quavers(LOOPBACK_RATE, true), .ended = -1};
    p->timeline = scene_timeline(&p->scene, drill, per_minute, repetitions, 1, 0);
    p->engine = scene_engine(&p->scene, &mix);
    p->player = player_new(&options);
    assert_non_null(p->player);
    player_open(p->player);
}

void playing_end(Playing *p)
{
    if (p->player == NULL)
        return;
    player_free(p->player);
    engine_free(p->engine);
    timeline_free(p->timeline);
    scene_end(&p->scene);
    *p = (Playing){0};
}

void playing_start(Playing *p)
{
    Command command = {.kind = COMMAND_PLAY, .source = {.timeline = p->timeline}};
    player_start(p->player, p->engine, monotonic_now());
    assert_true(engine_send(p->engine, &command));
}

static void count_underruns(Playing *p)
{
    uint64_t now = player_status(p->player).underruns;
    if (now > p->underruns_now)
        p->underruns += now - p->underruns_now;
    p->underruns_now = now;
}

void playing_poll(Playing *p)
{
    EngineEvent event;
    pause_for(PLAYING_POLL);
    int64_t before = monotonic_now();
    player_poll(p->player, before);
    int64_t took = monotonic_now() - before;
    if (took > p->slowest)
        p->slowest = took;
    int64_t heard = player_heard(p->player, monotonic_now());
    assert_true(heard >= p->heard);
    assert_true(heard <= engine_position(p->engine));
    p->heard = heard;
    count_underruns(p);
    while (engine_receive(p->engine, &event)) {
        if (event.kind == ENGINE_STARTED)
            p->started = event.engine_frame - event.timeline_frame;
        if (event.kind == ENGINE_ENDED)
            p->ended = event.engine_frame;
    }
}

void playing_until_heard(Playing *p, int64_t engine_frame)
{
    int64_t give_up = monotonic_now() + PATIENCE_SECONDS * PLAYING_SECOND;
    while (p->heard < engine_frame) {
        playing_poll(p);
        if (monotonic_now() > give_up)
            fail_msg("engine frame %lld is not heard within %d s; at %lld", (long long)engine_frame,
                PATIENCE_SECONDS, (long long)p->heard);
    }
}

void playing_to_the_end(Playing *p)
{
    playing_until_heard(p, p->started + timeline_frames(p->timeline) + LOOPBACK_RATE / 2);
    assert_int_equal(p->ended, p->started + timeline_frames(p->timeline));
}

bool playing_until_state(Playing *p, PlayerState state, int64_t patience)
{
    for (int64_t give_up = monotonic_now() + patience; monotonic_now() < give_up;) {
        if (player_status(p->player).state == state)
            return true;
        playing_poll(p);
    }
    return player_status(p->player).state == state;
}

void playing_wanted(const Playing *p, WantedClicks *out)
{
    out->count = 0;
    for (size_t i = 0; i < timeline_count(p->timeline); i++) {
        TimelineEvent e = timeline_event(p->timeline, i);
        if (e.kind == EVENT_SUBDIVISION)
            continue;
        if (out->count == 0 || out->frame[out->count - 1] != e.frame)
            out->frame[out->count++] = e.frame;
        out->accent[out->count - 1] = e.kind == EVENT_ACCENT;
    }
}

Line playing_line(const Playing *p)
{
    int64_t now = monotonic_now();
    return (Line){.time = now, .frame = player_heard(p->player, now)};
}

int64_t line_frame(const Line *line, int64_t time)
{
    double seconds = (double)(time - line->time) / (double)PLAYING_SECOND;
    return line->frame + (int64_t)(seconds * LOOPBACK_RATE);
}

double line_off(const Line *line, int64_t time, int64_t frame)
{
    return (double)(frame - line_frame(line, time)) * 1e3 / LOOPBACK_RATE;
}

void playing_undisturbed(
    void (*scenario)(Playing *p, Recording *heard), Playing *p, Recording *heard)
{
    for (int attempt = 0; attempt < PLAYING_ATTEMPTS; attempt++) {
        scenario(p, heard);
        if (p->underruns == 0 && llabs(heard->slip) < SLIP_MOST)
            return;
        print_message("disturbed: %llu underruns, the recording slipped %.1f ms\n",
            (unsigned long long)p->underruns, (double)heard->slip / PLAYING_MS);
        playing_end(p);
    }
    fail_msg("this machine is too busy to play and record without a gap");
}
