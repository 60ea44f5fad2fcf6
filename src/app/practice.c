#include "evenhand/app/practice.h"

#include "evenhand/plan/metronome.h"
#include "practice_parts.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

enum { MESSAGE_MILLISECONDS = 5000 };

/* Said once, before anything sounds. [caution: published limits of noise exposure stand in the
 * manual; here only what a player can do] */
static const char caution[] =
    "Start quiet. If ears ring or hands hurt, stop and ask a professional.";
static const char caution_brief[] = "Start quiet. Ears ring? Hurts? Stop.";

void practice_say(Practice *p, int64_t now_ms, bool warns, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(p->model.message, sizeof p->model.message, format, arguments);
    va_end(arguments);
    p->model.message_brief[0] = '\0';
    p->model.message_warns = warns;
    p->message_until = now_ms + MESSAGE_MILLISECONDS;
}

static void say_caution(Practice *p)
{
    practice_say(p, 0, false, "%s", caution);
    snprintf(p->model.message_brief, sizeof p->model.message_brief, "%s", caution_brief);
}

void practice_preview(Practice *p)
{
    Loaded *l = &p->piece->loaded;
    Error error = {0};
    if (p->lit == p->preview)
        p->lit = NULL;
    timeline_free(p->preview);
    p->preview_step = p->step;
    p->preview = loaded_timeline(l, p->step, NULL, 48000, &error);
}

Practice *practice_new(const Options *options, bool utf8, Error *error)
{
    Practice *p = calloc(1, sizeof *p);
    if (p == NULL) {
        error_set(error, ERROR_MEMORY, "out of memory");
        return NULL;
    }
    p->options = *options;
    p->given = options->file;
    p->given_tempo = options->tempo;
    p->mix = options->mix;
    p->model.utf8 = utf8;
    p->model.now = -1;
    p->piece = options->command == COMMAND_ID_ROUTINE
                   ? routine_open(p, error)
                   : piece_load(options->file, options, utf8, error);
    if (p->piece == NULL || !practice_calendar_load(p, error) || !ladder_wish(p, error)) {
        practice_free(p);
        return NULL;
    }
    const Passage *passage = p->piece->loaded.passage;
    if (passage->notice_count > 0)
        practice_say(p, 0, true, "line %d: %s", passage->notices[0].line, passage->notices[0].text);
    else
        say_caution(p);
    p->message_until = INT64_MAX; /* until something else is said or begun */
    practice_fill(p);
    return p;
}

void practice_free(Practice *p)
{
    if (p == NULL)
        return;
    for (int i = 0; i < TAKES_MAX; i++) {
        timeline_free(p->takes[i].timeline);
        piece_release(p->takes[i].timeline != NULL ? p->takes[i].piece : NULL);
    }
    timeline_free(p->preview);
    piece_release(p->piece);
    practice_fingers_drop(p);
    ladder_drop(p);
    routine_close(p);
    practice_calendar_drop(p);
    practice_record_drop(p);
    choices_free(&p->choices);
    free(p->passages);
    free(p);
}

void practice_attach(Practice *p, Engine *engine)
{
    p->engine = engine;
    p->rate = engine_rate(engine);
    routine_rate(p);
    if (p->running)
        takes_play(p, p->step, 0, 0);
}

/* The bar in which the hand was last placed at or before this note of what the step plays. */
static int bar_of_group(const Piece *piece, size_t step, int32_t note)
{
    const Loaded *l = &piece->loaded;
    const Stage *stage = l->stages[loaded_stage_index(l, step)];
    if (note < 0)
        return 0;
    int32_t group = stage->fingering->notes[note].group;
    return stage->passage->notes[stage->fingering->groups[group].first].bar;
}

/* Where a pause left the music: counted in, from the bar in which its group began. */
static void go_on(Practice *p)
{
    int64_t frame;
    Take *take = takes_heard(p, p->paused_at, &frame);
    size_t step = p->step;
    int base = 0, bar = 0;
    if (take != NULL && take->piece == p->piece) {
        TimelinePlace at = timeline_at(take->timeline, frame);
        step = take->step;
        base = take->base + (at.repetition > 0 ? at.repetition : 0);
        bar = at.repetition > 0 ? 0 : take->from_bar;
        if (at.section == SECTION_PLAY)
            bar = bar_of_group(p->piece, step, at.note);
        const bool over = at.section == SECTION_REST || at.section == SECTION_END;
        if (over && p->ladder.on)
            bar = 0; /* the next repetition, whole */
        else if (over && piece_after(p->piece, step) != NULL) {
            step++;
            base = bar = 0;
        }
    }
    takes_play(p, step, base, bar);
}

/* A session that is over begins again; a single drill, or one on a ladder, stays. */
static bool starts_over(const Practice *p)
{
    return p->finished && !p->ladder.on && p->step < p->piece->session_count;
}

static void go(Practice *p)
{
    p->message_until = 0;
    if (p->paused)
        go_on(p);
    else if (p->running)
        takes_pause(p);
    else {
        takes_play(p, starts_over(p) ? 0 : p->step, 0, 0);
        if (!p->routine.on || p->routine.loaded.given[p->routine.run.block] != NULL)
            practice_say_fingers(p);
    }
}

void practice_to_step(Practice *p, size_t step)
{
    if (p->running && !p->paused) {
        takes_play(p, step, 0, 0);
        return;
    }
    if (p->paused)
        takes_stop(p);
    p->finished = false;
    p->step = step;
    practice_preview(p);
}

static void next_or_previous(Practice *p, int by, int64_t now_ms)
{
    size_t count = p->piece->loaded.session.count;
    if (by > 0 && p->step + 1 < count)
        practice_to_step(p, p->step + 1);
    else if (by < 0 && p->step > 0)
        practice_to_step(p, p->step - 1);
    else
        practice_say(p, now_ms, false, by > 0 ? "This is the last variant." : "This is the first.");
}

static void change_tempo(Practice *p, Action action, int64_t now_ms)
{
    if (p->ladder.on) {
        practice_say(p, now_ms, false, "The ladder sets the tempo; %s changes it.",
            keys_name(ACTION_LADDER, SCREEN_PRACTICE));
        return;
    }
    Session *s = &p->piece->loaded.session;
    Tempo tempo = s->steps[p->step].tempo;
    Ratio wanted = tempo.per_minute;
    if (action == ACTION_TEMPO_UP)
        wanted = ratio_int(ratio_floor(wanted) + 1);
    else if (action == ACTION_TEMPO_DOWN)
        wanted = ratio_int(wanted.den == 1 ? wanted.num - 1 : ratio_floor(wanted));
    else
        wanted = metronome_step(wanted, action == ACTION_TEMPO_UP_NUMBER ? 1 : -1);
    tempo.per_minute = wanted;
    if (!tempo_valid(tempo)) {
        practice_say(p, now_ms, true, "Tempos go from %d to %d.", TEMPO_MIN, TEMPO_MAX);
        return;
    }
    for (size_t i = 0; i < s->count; i++)
        s->steps[i].tempo = tempo;
    takes_rebuild(p);
}

static void send_mix(Practice *p)
{
    Command command = {.kind = COMMAND_MIX, .mix = p->mix};
    if (p->engine != NULL)
        engine_send(p->engine, &command);
}

/* Guide tones are made when first wanted: they take memory that most practice does not need. */
bool practice_want_plucks(Practice *p, int64_t now_ms)
{
    Error error = {0};
    if (p->piece->plucks != NULL || p->engine == NULL)
        return true;
    p->piece->plucks = plucks_make(p->piece->loaded.passage, p->rate, p->options.a4, &error);
    if (p->piece->plucks == NULL) {
        practice_say(p, now_ms, true, "No guide tones: %s.", error.text);
        return false;
    }
    if (p->running)
        takes_rebuild(p);
    return true;
}

void practice_toggle(Practice *p, Layer layer, int64_t now_ms)
{
    if (layer == LAYER_GUIDE && !p->mix.on[layer] && !practice_want_plucks(p, now_ms))
        return;
    p->mix.on[layer] = !p->mix.on[layer];
    practice_say(p, now_ms, false, "%s %s", layer_word(layer), p->mix.on[layer] ? "on" : "off");
    send_mix(p);
}

static void change_level(Practice *p, int by)
{
    Layer layer = (Layer)p->model.layer_cursor;
    if (layer == LAYER_ACCENT)
        p->mix.accent = practice_clamp(p->mix.accent + by, ACCENT_DB_MIN, ACCENT_DB_MAX);
    else
        p->mix.level[layer] = practice_clamp(p->mix.level[layer] + by, MIX_DB_MIN, MIX_DB_MAX);
    send_mix(p);
}

static void change_master(Practice *p, int by, int64_t now_ms)
{
    p->mix.master = practice_clamp(p->mix.master + by, MIX_DB_MIN, MIX_DB_MAX);
    practice_say(p, now_ms, false, "level %d dB", p->mix.master);
    send_mix(p);
}

static void do_go(Practice *p, Action action, int64_t now_ms)
{
    (void)action, (void)now_ms;
    go(p);
}

static void do_step(Practice *p, Action action, int64_t now_ms)
{
    next_or_previous(p, action == ACTION_NEXT ? 1 : -1, now_ms);
}

static void do_missed(Practice *p, Action action, int64_t now_ms)
{
    (void)action;
    judge_press(p, now_ms);
}

static void do_pedal_back(Practice *p, Action action, int64_t now_ms)
{
    (void)action;
    if (p->ladder.on || p->routine.on)
        judge_press(p, now_ms);
    else
        next_or_previous(p, -1, now_ms);
}

static void do_again(Practice *p, Action action, int64_t now_ms)
{
    (void)action, (void)now_ms;
    takes_play(p, p->step, 0, 0);
}

static void do_master(Practice *p, Action action, int64_t now_ms)
{
    change_master(p, action == ACTION_LOUDER ? 1 : -1, now_ms);
}

static void do_layer(Practice *p, Action action, int64_t now_ms)
{
    practice_toggle(p, (Layer)(action - ACTION_LAYER_PULSE), now_ms);
}

static void do_screen(Practice *p, Action action, int64_t now_ms)
{
    (void)now_ms;
    practice_open_screen(p, action == ACTION_DRILLS     ? SCREEN_DRILLS
                            : action == ACTION_PASSAGES ? SCREEN_PASSAGES
                            : action == ACTION_FINGERS  ? SCREEN_FINGERS
                            : action == ACTION_LADDER   ? SCREEN_LADDER
                            : action == ACTION_ROUTINE  ? SCREEN_ROUTINE
                            : action == ACTION_SOUND    ? SCREEN_SOUND
                            : action == ACTION_CALENDAR ? SCREEN_CALENDAR
                            : action == ACTION_RECORD   ? SCREEN_RECORD
                            : action == ACTION_HELP     ? SCREEN_HELP
                                                        : SCREEN_PRACTICE);
}

static void do_cursor(Practice *p, Action action, int64_t now_ms)
{
    (void)now_ms;
    practice_move_cursor(p, action == ACTION_UP ? -1 : 1);
}

static void do_choose(Practice *p, Action action, int64_t now_ms)
{
    (void)action;
    practice_choose(p, now_ms);
}

static void do_more(Practice *p, Action action, int64_t now_ms)
{
    if (p->model.screen == SCREEN_DRILLS)
        practice_shape(p, action, now_ms);
}

static void do_level(Practice *p, Action action, int64_t now_ms)
{
    (void)now_ms;
    change_level(p, action == ACTION_LEVEL_UP ? 1 : -1);
}

/* The player looks; here only what came of it is told. */
static void do_audio(Practice *p, Action action, int64_t now_ms)
{
    (void)action;
    practice_say(p, now_ms, p->model.audio_warns, "sound: %s", p->model.audio);
}

/* What each action does; NULL: nothing here. */
static void (*const does[ACTION_KINDS])(Practice *, Action, int64_t) = {
    [ACTION_GO] = do_go,
    [ACTION_TEMPO_UP] = change_tempo,
    [ACTION_TEMPO_DOWN] = change_tempo,
    [ACTION_TEMPO_UP_NUMBER] = change_tempo,
    [ACTION_TEMPO_DOWN_NUMBER] = change_tempo,
    [ACTION_NEXT] = do_step,
    [ACTION_PREVIOUS] = do_step,
    [ACTION_PEDAL_BACK] = do_pedal_back,
    [ACTION_MISSED] = do_missed,
    [ACTION_AGAIN] = do_again,
    [ACTION_RHYTHM] = practice_shape,
    [ACTION_RATIO] = practice_shape,
    [ACTION_TIMING] = practice_shape,
    [ACTION_BEATS] = practice_shape,
    [ACTION_SUBDIVIDE] = practice_shape,
    [ACTION_LOUDER] = do_master,
    [ACTION_SOFTER] = do_master,
    [ACTION_LAYER_PULSE] = do_layer,
    [ACTION_LAYER_SUBDIVISION] = do_layer,
    [ACTION_LAYER_NOTES] = do_layer,
    [ACTION_LAYER_ACCENT] = do_layer,
    [ACTION_LAYER_GUIDE] = do_layer,
    [ACTION_LAYER_ANNOUNCE] = do_layer,
    [ACTION_DRILLS] = do_screen,
    [ACTION_PASSAGES] = do_screen,
    [ACTION_FINGERS] = do_screen,
    [ACTION_LADDER] = do_screen,
    [ACTION_ROUTINE] = do_screen,
    [ACTION_BLOCK_NEXT] = routine_act,
    [ACTION_BLOCK_BEFORE] = routine_act,
    [ACTION_MINUTE] = routine_act,
    [ACTION_ROUTINE_END] = routine_act,
    [ACTION_LADDER_SWITCH] = ladder_act,
    [ACTION_SET_UP] = ladder_act,
    [ACTION_SET_DOWN] = ladder_act,
    [ACTION_SOUND] = do_screen,
    [ACTION_CALENDAR] = do_screen,
    [ACTION_RECORD] = do_screen,
    [ACTION_RECORD_BY] = practice_record_act,
    [ACTION_HELP] = do_screen,
    [ACTION_BACK] = do_screen,
    [ACTION_UP] = do_cursor,
    [ACTION_DOWN] = do_cursor,
    [ACTION_CHOOSE] = do_choose,
    [ACTION_SWITCH] = do_choose,
    [ACTION_MORE] = do_more,
    [ACTION_LESS] = do_more,
    [ACTION_LEVEL_UP] = do_level,
    [ACTION_LEVEL_DOWN] = do_level,
    [ACTION_NOTE_BEFORE] = practice_fingers_act,
    [ACTION_NOTE_AFTER] = practice_fingers_act,
    [ACTION_FINGER_FREE] = practice_fingers_act,
    [ACTION_FINGER_1] = practice_fingers_act,
    [ACTION_FINGER_2] = practice_fingers_act,
    [ACTION_FINGER_3] = practice_fingers_act,
    [ACTION_FINGER_4] = practice_fingers_act,
    [ACTION_UNDO] = practice_fingers_act,
    [ACTION_SAVE] = practice_fingers_act,
    [ACTION_DAY_BEFORE] = practice_calendar_move,
    [ACTION_DAY_AFTER] = practice_calendar_move,
    [ACTION_WEEK_BEFORE] = practice_calendar_move,
    [ACTION_WEEK_AFTER] = practice_calendar_move,
    [ACTION_AUDIO] = do_audio,
};

bool practice_act(Practice *p, Action action, int64_t now_ms)
{
    p->now_ms = now_ms;
    if (action == ACTION_QUIT)
        return false;
    if (action <= ACTION_NONE || action >= ACTION_KINDS || does[action] == NULL)
        return true;
    p->model.message[0] = '\0'; /* news is of the last key */
    does[action](p, action, now_ms);
    return true;
}

void practice_tick(Practice *p, int64_t heard, int64_t now_ms)
{
    EngineEvent event, ended = {.engine_frame = -1};
    p->heard = heard;
    p->now_ms = now_ms;
    while (p->engine != NULL && engine_receive(p->engine, &event)) {
        takes_event(p, &event);
        if (event.kind == ENGINE_ENDED)
            ended = event;
    }
    if (ended.engine_frame >= 0 && takes_done(p, &ended))
        p->ended_at = ended.engine_frame;
    if (p->running && !p->paused && p->ended_at >= 0 && heard >= p->ended_at) {
        judge_ended(p);
        p->running = false;
        p->finished = true;
    }
    judge_tick(p);
    routine_tick(p);
    takes_collect(p);
    if (p->message_until < now_ms)
        p->model.message[0] = '\0';
    practice_fill(p);
}

void practice_audio(Practice *p, const PlayerStatus *status, int64_t now_ms)
{
    Model *m = &p->model;
    static const char *const words[] = {"sound not opened yet", "", "silent: no sound device",
        "silent: the sound device is gone; it is looked for"};
    bool wanted = !p->options.silent;
    if (status->state == PLAYER_DEVICE)
        snprintf(m->audio, sizeof m->audio, "%.90s, %d Hz, heard after %.0f ms (allowed for)",
            status->device, status->rate, status->latency * 1000);
    else if (!wanted)
        snprintf(m->audio, sizeof m->audio, "silent, as asked for");
    else if (p->options.device != NULL && status->complaint[0] != '\0')
        snprintf(m->audio, sizeof m->audio, "silent: %.180s", status->complaint);
    else
        snprintf(m->audio, sizeof m->audio, "%s", words[status->state]);
    bool warns = wanted && (status->state == PLAYER_SILENT || status->state == PLAYER_LOST);
    if (warns && !m->audio_warns)
        practice_say(p, now_ms, true, "%s", m->audio);
    else if (!warns && m->audio_warns && status->state == PLAYER_DEVICE)
        practice_say(p, now_ms, false, "The sound is back.");
    m->audio_warns = warns;
    m->underruns = status->underruns + (p->engine != NULL ? engine_refused(p->engine) : 0);
}

const Model *practice_model(Practice *p)
{
    return &p->model;
}

bool practice_running(const Practice *p)
{
    return p->running && !p->paused;
}
