/* The screen of fingerings: the cheapest plans around the fingers that the file and the player
 * hold, the one in use, and the way back.
 *
 *      fixed  0 0 3 0 0     one for each note: plans are made around it
 *      plans  4 3 2 1 4     cheapest first; `used` is the one that is practised
 *      undo   (note 2, was 0, used was 1) ...
 */
#include "practice_fingers.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { HAND_FINGERS = 4 };

static void free_plans(Fingering *plans, int count)
{
    for (int i = 0; i < count; i++)
        fingering_free(&plans[i]);
}

void practice_fingers_drop(Practice *p)
{
    FingerPlans *f = p->fingers;
    p->fingers = NULL;
    p->model.fingers = (ModelFingers){0};
    if (f == NULL)
        return;
    free_plans(f->plans, f->count);
    findings_free(&f->findings);
    free(f->fixed);
    free(f->rows);
    free(f->undo);
    free(f);
}

/* ---- planning ------------------------------------------------------------------------------ */

/* Who took another plan than the cheapest wants it changed as little as can be. */
static int nearest(const Fingering *to, const Fingering *plans, int count)
{
    int best = 0;
    size_t least = SIZE_MAX;
    for (int k = 0; k < count; k++) {
        size_t apart = 0;
        for (size_t i = 0; i < to->note_count; i++)
            apart += to->notes[i].finger != plans[k].notes[i].finger;
        if (apart < least) {
            least = apart;
            best = k;
        }
    }
    return best;
}

/* Plans around `fixed` as it is now and practises plan `used` (-1: the one that goes with what
 * was in use). On failure (said) the plans before stay. */
static bool plan_again(Practice *p, int used, int64_t now_ms)
{
    FingerPlans *f = p->fingers;
    Error error = {0};
    Fingering plans[MODEL_PLANS_MAX];
    int count;
    FingeringOptions o = finger_options(p, f->fixed);
    if (!fingering_plans(finger_passage(p), &o, MODEL_PLANS_MAX, plans, &count, &error)) {
        practice_say(p, now_ms, true, "%s.", error.text);
        return false;
    }
    if (used < 0)
        used = f->used > 0 ? nearest(&f->plans[f->used], plans, count) : 0;
    used = used < count ? used : count - 1;
    if (!practice_reload(p, &plans[used], now_ms)) {
        free_plans(plans, count);
        return false;
    }
    free_plans(f->plans, f->count);
    memcpy(f->plans, plans, (size_t)count * sizeof *plans);
    f->count = count;
    f->used = used;
    return true;
}

/* "cost 322, 12 more than before" behind what was done. */
static void say_cost(Practice *p, const char *what, int64_t before, int64_t now_ms)
{
    const FingerPlans *f = p->fingers;
    int64_t cost = f->plans[f->used].cost, more = cost - before;
    if (more == 0)
        practice_say(p, now_ms, false, "%s: cost %" PRId64 ", as before", what, cost);
    else
        practice_say(p, now_ms, false, "%s: cost %" PRId64 ", %" PRId64 " %s than before", what,
            cost, more > 0 ? more : -more, more > 0 ? "more" : "less");
}

/* Of a chord that is larger than the hand the highest notes. */
static bool has_finger(const Passage *p, size_t note)
{
    return passage_block_end(p, note) - note <= HAND_FINGERS;
}

static bool make(Practice *p)
{
    const Passage *passage = finger_passage(p);
    FingerPlans *f = p->fingers = calloc(1, sizeof *f);
    if (f == NULL)
        return false;
    size_t count = passage->note_count;
    Error error = {0};
    FingeringOptions o = load_fingering_options(&p->options, passage);
    f->fixed = calloc(count, sizeof *f->fixed);
    f->rows = calloc(count * MODEL_PLANS_MAX, sizeof *f->rows);
    if (f->fixed == NULL || f->rows == NULL)
        return false;
    for (size_t i = 0; i < count && !o.ignore_marks; i++)
        if (has_finger(passage, i))
            f->fixed[i] = passage->notes[i].mark;
    o = finger_options(p, f->fixed);
    return fingering_plans(passage, &o, MODEL_PLANS_MAX, f->plans, &f->count, &error);
}

/* The cursor begins where the music is. */
static void find_note(Practice *p)
{
    const Model *m = &p->model;
    const Rows *rows = piece_rows(p->piece, p->step);
    if (m->now < 0 || loaded_stage_index(&p->piece->loaded, p->step) != 0)
        return; /* not there, or in notes that a placing drill makes of the passage */
    for (size_t i = finger_passage(p)->note_count; i-- > 0;)
        if (rows->row_of[i] == m->now)
            p->model.fingers.note = (int)i;
}

void practice_fingers_open(Practice *p, int64_t now_ms)
{
    if (p->fingers == NULL && !make(p)) {
        practice_fingers_drop(p);
        practice_say(p, now_ms, true, "out of memory for the fingerings");
        return;
    }
    find_note(p);
    practice_fingers_fill(p);
}

/* ---- keys ---------------------------------------------------------------------------------- */

static bool remember(FingerPlans *f, int32_t note)
{
    if (f->undo_count == f->undo_room) {
        size_t room = f->undo_room == 0 ? 64 : 2 * f->undo_room;
        Change *more = realloc(f->undo, room * sizeof *more);
        if (more == NULL)
            return false;
        f->undo = more;
        f->undo_room = room;
    }
    if (f->saved != SIZE_MAX && f->saved > f->undo_count)
        f->saved = SIZE_MAX;
    f->undo[f->undo_count++] =
        (Change){.note = note, .fixed = note < 0 ? 0 : f->fixed[note], .used = f->used};
    return true;
}

void practice_fingers_move(Practice *p, int by)
{
    ModelFingers *m = &p->model.fingers;
    if (p->fingers != NULL)
        m->cursor = practice_clamp(m->cursor + by, 0, m->plan_count - 1);
}

void practice_fingers_choose(Practice *p, int64_t now_ms)
{
    FingerPlans *f = p->fingers;
    char what[32];
    if (f == NULL || p->model.fingers.cursor == f->used || !remember(f, -1))
        return;
    int64_t before = f->plans[f->used].cost;
    int chosen = p->model.fingers.cursor, was = f->used;
    f->used = chosen;
    if (!practice_reload(p, &f->plans[chosen], now_ms)) {
        f->used = was;
        f->undo_count--;
        return;
    }
    practice_fingers_fill(p);
    snprintf(what, sizeof what, "plan %d", chosen + 1);
    say_cost(p, what, before, now_ms);
}

static void hold(Practice *p, uint8_t finger, int64_t now_ms)
{
    FingerPlans *f = p->fingers;
    ModelFingers *m = &p->model.fingers;
    const Passage *passage = finger_passage(p);
    size_t note = (size_t)m->note;
    char what[64];
    const char *name = m->plans[0].notes[note].name;
    if (!has_finger(passage, note)) {
        practice_say(p, now_ms, true, "A hand takes the four highest notes of a chord.");
        return;
    }
    if (f->fixed[note] == finger) {
        practice_say(p, now_ms, false, finger == 0 ? "%s is free." : "%s has %d already.", name,
            (int)finger);
        return;
    }
    if (!remember(f, (int32_t)note)) {
        practice_say(p, now_ms, true, "out of memory for the change");
        return;
    }
    int64_t before = f->plans[f->used].cost;
    f->fixed[note] = finger;
    if (!plan_again(p, -1, now_ms)) {
        f->fixed[note] = f->undo[--f->undo_count].fixed;
        return;
    }
    snprintf(what, sizeof what, finger == 0 ? "%s is free" : "%s gets %d", name, (int)finger);
    practice_fingers_fill(p);
    say_cost(p, what, before, now_ms);
}

static void undo(Practice *p, int64_t now_ms)
{
    FingerPlans *f = p->fingers;
    if (f->undo_count == 0) {
        practice_say(p, now_ms, false, "There is nothing to take back.");
        return;
    }
    const Change *last = &f->undo[f->undo_count - 1];
    int64_t before = f->plans[f->used].cost;
    uint8_t now = last->note < 0 ? 0 : f->fixed[last->note];
    if (last->note >= 0)
        f->fixed[last->note] = last->fixed;
    if (!plan_again(p, last->used, now_ms)) {
        if (last->note >= 0)
            f->fixed[last->note] = now;
        return;
    }
    if (last->note >= 0)
        p->model.fingers.note = last->note;
    f->undo_count--;
    practice_fingers_fill(p);
    say_cost(p, "taken back", before, now_ms);
}

static void move_note(Practice *p, int by)
{
    ModelFingers *m = &p->model.fingers;
    m->note = practice_clamp(m->note + by, 0, m->note_count - 1);
    practice_fingers_say(p);
}

void practice_fingers_act(Practice *p, Action action, int64_t now_ms)
{
    FingerPlans *f = p->fingers;
    if (p->model.screen != SCREEN_FINGERS || f == NULL)
        return;
    switch (action) {
    case ACTION_NOTE_BEFORE: move_note(p, -1); break;
    case ACTION_NOTE_AFTER: move_note(p, 1); break;
    case ACTION_FINGER_FREE:
    case ACTION_FINGER_1:
    case ACTION_FINGER_2:
    case ACTION_FINGER_3:
    case ACTION_FINGER_4: hold(p, (uint8_t)(action - ACTION_FINGER_FREE), now_ms); break;
    case ACTION_UNDO: undo(p, now_ms); break;
    case ACTION_SAVE:
        if (practice_save(p, &f->plans[f->used], now_ms))
            f->saved = f->undo_count;
        p->model.fingers.unsaved = f->saved != f->undo_count;
        break;
    default: break;
    }
}
