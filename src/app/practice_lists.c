/* The lists beside the practice screen: drills, passages, layers; and what choosing does. */
#include "practice_parts.h"

#include "evenhand/music/text.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int practice_clamp(int value, int low, int high)
{
    return value < low ? low : value > high ? high : value;
}

/* The player's own file first, unless it is one of the bundled ones. */
static void list_choices(Practice *p, const char *given)
{
    Error error = {0};
    char own[PATHS_MAX] = "", path[PATHS_MAX];
    int reference;
    if (given != NULL && given[0] != '-')
        load_split(given, own, &reference, &error);
    choices_add_bundled(&p->choices, &error);
    for (size_t i = 0; own[0] != '\0' && i < p->choices.count; i++)
        if (load_split(p->choices.items[i].given, path, &reference, &error) &&
            paths_same(own, path))
            return;
    choices_free(&p->choices);
    if (own[0] != '\0')
        choices_add_file(&p->choices, own, false, &error);
    choices_add_bundled(&p->choices, &error);
}

static void find_choices(Practice *p)
{
    list_choices(p, p->given);
    p->passages = p->choices.count > 0 ? calloc(p->choices.count, sizeof *p->passages) : NULL;
    if (p->passages == NULL) {
        choices_free(&p->choices);
        return;
    }
    char title[PASSAGE_TITLE_MAX];
    text_clean(p->piece->loaded.passage->title, title, sizeof title);
    for (size_t i = 0; i < p->choices.count; i++) {
        const Choice *c = &p->choices.items[i];
        ModelItem *item = &p->passages[i];
        snprintf(item->title, sizeof item->title, "%.*s", (int)sizeof item->title - 1, c->title);
        const char *told = c->remark[0] != '\0' ? c->remark : c->bundled ? "bundled" : "your file";
        snprintf(item->detail, sizeof item->detail, "%.*s", (int)sizeof item->detail - 1, told);
        if (p->model.passages.cursor == 0 && strcmp(c->title, title) == 0) {
            item->current = true;
            p->model.passages.cursor = (int)i;
        }
    }
}

void practice_open_screen(Practice *p, Screen screen)
{
    Model *m = &p->model;
    m->screen = m->screen == screen ? SCREEN_PRACTICE : screen;
    if (m->screen == SCREEN_DRILLS)
        m->drills.cursor = (int)p->step;
    if (m->screen == SCREEN_PASSAGES && p->passages == NULL)
        find_choices(p);
    if (m->screen == SCREEN_FINGERS)
        practice_fingers_open(p, p->now_ms);
    if (m->screen == SCREEN_ROUTINE)
        routine_list(p);
    if (m->screen == SCREEN_LADDER)
        ladder_open(p);
    if (m->screen == SCREEN_CALENDAR)
        practice_calendar_open(p, p->now_ms);
    if (m->screen == SCREEN_RECORD)
        practice_record_open(p);
    m->help_top = 0;
}

void practice_move_cursor(Practice *p, int by)
{
    Model *m = &p->model;
    switch (m->screen) {
    case SCREEN_DRILLS:
        m->drills.cursor =
            practice_clamp(m->drills.cursor + by, 0, (int)p->piece->loaded.session.count - 1);
        break;
    case SCREEN_PASSAGES:
        if (p->choices.count > 0)
            m->passages.cursor =
                practice_clamp(m->passages.cursor + by, 0, (int)p->choices.count - 1);
        break;
    case SCREEN_FINGERS: practice_fingers_move(p, by); break;
    case SCREEN_LADDER:
        m->rungs.cursor = practice_clamp(m->rungs.cursor + by, 0, m->rungs.count - 1);
        break;
    case SCREEN_ROUTINE:
        if (m->routine.list.count > 0)
            m->routine.list.cursor =
                practice_clamp(m->routine.list.cursor + by, 0, m->routine.list.count - 1);
        break;
    case SCREEN_SOUND:
        m->layer_cursor = practice_clamp(m->layer_cursor + by, 0, LAYER_KINDS - 1);
        break;
    case SCREEN_RECORD: practice_record_move(p, by); break;
    case SCREEN_HELP: m->help_top = practice_clamp(m->help_top + by, 0, INT_MAX / 2); break;
    case SCREEN_CALENDAR: /* has keys of its own */
    case SCREEN_PRACTICE:
    case SCREEN_KINDS: break;
    }
}

/* On error (said) the piece before stays. */
static bool use_piece(Practice *p, Piece *piece, const Error *error, int64_t now_ms)
{
    if (piece == NULL) {
        char text[MODEL_TEXT_MAX];
        practice_say(p, now_ms, true, "%s", error_format(error, text, sizeof text));
        return false;
    }
    takes_stop(p);
    piece_release(p->piece);
    p->piece = piece;
    p->lit = NULL;
    p->step = 0;
    p->model.drills.cursor = practice_clamp(
        p->model.drills.cursor, 0, (int)piece->loaded.session.count - 1); /* it may be shorter */
    if (p->mix.on[LAYER_GUIDE])
        practice_want_plucks(p, now_ms);
    practice_preview(p);
    return true;
}

static bool same_accents(const DrillSpec *x, const DrillSpec *y)
{
    return x->accent == y->accent && x->finger == y->finger && x->place == y->place &&
           placing_equal(&x->placing, &y->placing);
}

static bool same_rhythm(const DrillSpec *x, const DrillSpec *y)
{
    return x->rhythm.notes == y->rhythm.notes && x->rhythm.long_at == y->rhythm.long_at;
}

/* Which step of `among` is the drill at i of `steps`: the one in the same place, if nothing came
 * or went; else the first like it. among->count: none. */
static size_t step_like(const Session *among, const Session *steps, size_t i)
{
    const DrillSpec *drill = &steps->steps[i].drill;
    if (among->count == steps->count && same_accents(&among->steps[i].drill, drill))
        return i;
    size_t k = 0;
    while (k < among->count && !(same_accents(&among->steps[k].drill, drill) &&
                                   same_rhythm(&among->steps[k].drill, drill)))
        k++;
    return k;
}

/* What the keys changed in the session is kept for the drills that it still has. */
static void keep_changes(const Session *before, Piece *piece)
{
    Session *s = &piece->loaded.session;
    Error error = {0};
    for (size_t i = 0; i < s->count; i++) {
        size_t k = step_like(before, s, i);
        SessionStep *now = &s->steps[i];
        const SessionStep *then = k < before->count ? &before->steps[k] : now;
        if (now->repetitions == then->repetitions && same_rhythm(&now->drill, &then->drill))
            continue;
        now->repetitions = then->repetitions;
        now->drill.rhythm.notes = then->drill.rhythm.notes;
        now->drill.rhythm.long_at = then->drill.rhythm.long_at;
        piece_measure(piece, i, &error);
    }
}

bool practice_reload(Practice *p, const Fingering *fingers, int64_t now_ms)
{
    Error error = {0};
    size_t step = p->step;
    bool running = p->running && !p->paused;
    const Loaded *before = &p->piece->loaded;
    p->options.tempo = before->session.steps[step].tempo;
    Piece *piece = piece_again(p->piece, &p->options,
        fingers != NULL ? fingers : &before->fingering, p->model.utf8, &error);
    if (piece != NULL) {
        keep_changes(&before->session, piece);
        const Session *after = &piece->loaded.session;
        size_t like = step_like(after, &before->session, step);
        step = like < after->count ? like : step < after->count ? step : after->count - 1;
    }
    if (!use_piece(p, piece, &error, now_ms))
        return false;
    practice_to_step(p, step);
    if (running)
        takes_play(p, p->step, 0, 0);
    return true;
}

static void choose_passage(Practice *p, int64_t now_ms)
{
    Error error = {0};
    int chosen = p->model.passages.cursor;
    if (p->choices.count == 0)
        return;
    const char *given = p->choices.items[chosen].given;
    Options options = p->options;
    options.tempo = p->given_tempo; /* each passage has its own */
    Piece *piece = piece_load(given, &options, p->model.utf8, &error);
    if (!use_piece(p, piece, &error, now_ms))
        return;
    practice_fingers_drop(p);
    ladder_drop(p);
    p->given = given;
    p->options.tempo = p->given_tempo;
    practice_note_fingers(p);
    for (size_t i = 0; i < p->choices.count; i++)
        p->passages[i].current = (int)i == chosen;
    p->model.screen = SCREEN_PRACTICE;
}

void practice_limit_help(Practice *p, int last)
{
    p->model.help_top = practice_clamp(p->model.help_top, 0, last);
}

void practice_choose(Practice *p, int64_t now_ms)
{
    Model *m = &p->model;
    if (m->screen == SCREEN_SOUND)
        practice_toggle(p, (Layer)m->layer_cursor, now_ms);
    else if (m->screen == SCREEN_PASSAGES)
        choose_passage(p, now_ms);
    else if (m->screen == SCREEN_ROUTINE)
        routine_choose(p, now_ms);
    else if (m->screen == SCREEN_FINGERS)
        practice_fingers_choose(p, now_ms);
    else if (m->screen == SCREEN_DRILLS) {
        practice_to_step(p, (size_t)m->drills.cursor);
        m->screen = SCREEN_PRACTICE;
    }
}
