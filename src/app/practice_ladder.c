/* The tempo ladder beside the drill: its settings, where the player stands, what comes next.
 *
 * While it is up, each take is one repetition at one rung's tempo, and the next one is queued
 * behind it at the tempo that the present judgement leads to; another judgement queues another.
 * So the next repetition begins on its bar without a stop, and is played where the console stands
 * still; the one after it then begins late. */
#include "practice_parts.h"

#include "evenhand/app/ladder_wishes.h"
#include "evenhand/plan/metronome.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef enum {
    ROW_SWITCH,
    ROW_START,
    ROW_GOAL,
    ROW_STEPS,
    ROW_PATTERN,
    ROW_CLEAN,
    ROW_ABOVE,
    ROW_JUDGING,
    ROW_RUNGS, /* what it comes to, from here on: nothing to set */
    ROW_SPEED,
    ROWS
} Row;

/* Metronome numbers below the goal where a player who sets nothing begins: about 70 per cent. */
enum { START_BELOW = 8 };

/* Until the player sets something: up to the passage's own tempo. */
static void propose(Practice *p)
{
    LadderDesk *d = &p->ladder;
    if (d->set)
        return;
    Tempo goal = p->piece->loaded.session.steps[0].tempo, start = goal;
    start.per_minute = metronome_step(goal.per_minute, -START_BELOW);
    if (!tempo_valid(start))
        start = goal;
    d->spec = ladder_default(start, goal);
    d->set = true;
}

void ladder_drop(Practice *p)
{
    LadderDesk *d = &p->ladder;
    ladder_free(&d->ladder);
    free(d->items);
    *d = (LadderDesk){.strict = d->strict, .made = d->made};
    p->model.rungs.count = 0;
    p->model.rungs.items = NULL;
}

/* All steps are counted in the ladder's tempo, so that what is told of them is so. */
static void set_tempo(Practice *p, Tempo tempo)
{
    Session *s = &p->piece->loaded.session;
    for (size_t i = 0; i < s->count; i++)
        s->steps[i].tempo = tempo;
}

static bool put_up(Practice *p, Error *error)
{
    LadderDesk *d = &p->ladder;
    Ladder made;
    if (!ladder_make(&d->spec, &made, error))
        return false;
    ladder_free(&d->ladder);
    d->ladder = made;
    d->number = ++d->made;
    d->at = climb_start(&d->ladder);
    d->on = true;
    set_tempo(p, climb_tempo(&d->ladder, d->at));
    return true;
}

bool ladder_begin(Practice *p, const LadderSpec *spec, Error *error)
{
    p->ladder.spec = *spec;
    p->ladder.set = true;
    return put_up(p, error);
}

static void take_down(Practice *p)
{
    ladder_free(&p->ladder.ladder);
    p->ladder.on = false;
    p->ladder.number = 0;
}

bool ladder_wish(Practice *p, Error *error)
{
    LadderDesk *d = &p->ladder;
    Tempo start, goal;
    if (!ladder_wished(&p->options.ladder))
        return true;
    if (!ladder_wishes_tempos(&p->options, p->piece->loaded.passage, &start, &goal, error) ||
        !ladder_wishes_spec(&p->options, start, goal, &d->spec, error))
        return false;
    d->set = true;
    return put_up(p, error);
}

Climb ladder_after(const Practice *p, const Take *take)
{
    const Judge *j = &p->judge;
    bool heard = take->run == j->run, judged = heard && j->next > take->base;
    if (take->ladder != p->ladder.number)
        return p->ladder.at;
    if (take->from_bar > 0) /* not whole: not judged */
        return take->climb;
    bool clean = judged ? j->latest.clean : heard ? judge_expected(p) : !p->ladder.strict;
    return climb_next(&p->ladder.ladder, take->climb, clean);
}

/* What leads may be the take after the one that is heard; it then stands where that one leads. */
static void queue_again(Practice *p, const Take *heard, Climb then)
{
    Take *leading = p->leading;
    if (leading != NULL && leading != heard && leading->follows == heard->run)
        leading->climb = then;
    takes_requeue(p);
}

void ladder_judged(Practice *p, const Take *take, bool clean)
{
    LadderDesk *d = &p->ladder;
    if (!d->on || take->ladder != d->number)
        return;
    bool climbed = take->climb.done; /* told already: a routine's time is not up */
    d->at = climb_next(&d->ladder, take->climb, clean);
    if (d->at.done && !climbed)
        practice_say(p, p->now_ms, false, "The ladder is climbed.");
}

void ladder_corrected(Practice *p, Take *heard)
{
    LadderDesk *d = &p->ladder;
    if (!d->on || p->judge.latest.ladder != d->number)
        return;
    Climb then = climb_next(&d->ladder, p->judge.latest.climb, p->judge.latest.clean);
    d->at = then;
    if (heard == NULL || heard->ladder != d->number)
        return;
    if (p->judge.run == heard->run && p->judge.next > heard->base)
        queue_again(p, heard, then); /* it is its own last repetition that was meant */
    else {
        heard->climb = then; /* its tempo stays, what comes after it does not */
        queue_again(p, heard, ladder_after(p, heard));
    }
}

void ladder_expected(Practice *p)
{
    int64_t frame;
    const Take *heard = takes_heard(p, p->heard, &frame);
    if (p->ladder.on && heard != NULL && heard->ladder == p->ladder.number)
        queue_again(p, heard, ladder_after(p, heard));
}

/* ---- what is shown ------------------------------------------------------------------------- */

static void number_text(Tempo t, char *out, size_t size)
{
    char text[TEMPO_TEXT_MAX];
    const char *equals = strstr(tempo_text(t, text), "= ");
    snprintf(out, size, "%.20s", equals != NULL ? equals + 2 : text);
}

/* "up to 76", "down to 66", "72 again", "the end". */
static void outcome(const Ladder *l, Climb now, Climb then, char words[MODEL_BRIEF_MAX],
    char number[MODEL_NAME_MAX])
{
    int way = ratio_cmp(climb_tempo(l, then).per_minute, climb_tempo(l, now).per_minute);
    number_text(climb_tempo(l, then), number, MODEL_NAME_MAX);
    if (then.done)
        snprintf(words, MODEL_BRIEF_MAX, "the top");
    else if (way == 0)
        snprintf(words, MODEL_BRIEF_MAX, "%.20s again", number);
    else
        snprintf(words, MODEL_BRIEF_MAX, "%.4s to %.20s", way > 0 ? "up" : "down", number);
}

static void fill_standing(Practice *p)
{
    LadderDesk *d = &p->ladder;
    ModelLadder *m = &p->model.ladder;
    const Ladder *l = &d->ladder;
    int64_t frame;
    const Take *take =
        p->running ? takes_heard(p, p->paused ? p->paused_at : p->heard, &frame) : NULL;
    /* From its judgement on a repetition shows what it led to. */
    bool judged = take != NULL && take->run == p->judge.run && p->judge.next > take->base;
    bool climbs = take != NULL && take->ladder == d->number;
    Climb at = climbs && !judged ? take->climb : d->at;
    char rate[LADDER_RATE_MAX];
    bool counted = d->spec.pattern == LADDER_CLEAN;
    m->rung = at.rung + 1;
    m->rungs = l->count;
    m->goal = l->goal + 1;
    m->done = at.done;
    m->clean = at.clean_in_row;
    m->needed = counted ? d->spec.clean : d->spec.repetitions;
    outcome(l, at, climb_next(l, at, true), m->if_clean, m->tempo_clean);
    outcome(l, at, climb_next(l, at, false), m->if_missed, m->tempo_missed);
    Ratio length = ladder_note_length(p->piece->loaded.passage);
    ladder_rate_text(ladder_note_rate(climb_tempo(l, at), length), rate);
    snprintf(m->rate, sizeof m->rate, "%.10s notes/s", rate);
    p->model.seconds_left = -1; /* nobody knows how often it will be missed */
    if (take != NULL) {
        char text[TEMPO_TEXT_MAX]; /* of what is heard, not of what has just been sent */
        tempo_text(timeline_step(take->timeline)->tempo, text);
        snprintf(p->model.tempo, sizeof p->model.tempo, "%.20s", text);
    }
}

static void next_words(Practice *p)
{
    Model *m = &p->model;
    const ModelLadder *l = &m->ladder;
    if (l->done)
        snprintf(m->next, sizeof m->next, "the ladder is climbed");
    else
        snprintf(m->next, sizeof m->next, "%s if clean, %s if missed", l->if_clean, l->if_missed);
    snprintf(m->next_brief, sizeof m->next_brief, "%.20s / %.20s", l->tempo_clean, l->tempo_missed);
}

static void steps_words(const LadderSpec *s, char *out, size_t size)
{
    char amount[RATIO_TEXT_MAX];
    ratio_text(s->amount, amount);
    if (s->by == LADDER_BY_NUMBERS)
        snprintf(out, size, "steps: the metronome's numbers");
    else if (s->by == LADDER_BY_PERCENT)
        snprintf(out, size, "steps: %s per cent", amount);
    else
        snprintf(out, size, "steps: %s beats a minute", amount);
}

static void pattern_words(const LadderSpec *s, ModelItem *pattern, ModelItem *clean)
{
    static const char *const words[] = {[LADDER_STRAIGHT] = "straight up",
        [LADDER_TWO_UP] = "two up, one back",
        [LADDER_CLEAN] = "up if clean, down if not"};
    snprintf(pattern->title, sizeof pattern->title, "pattern: %s", words[s->pattern]);
    if (s->pattern == LADDER_CLEAN)
        snprintf(clean->title, sizeof clean->title, "clean in a row to go up: %d", s->clean);
    else
        snprintf(clean->title, sizeof clean->title, "clean ones at each tempo: %d", s->repetitions);
}

static void total_words(Practice *p, ModelItem *rungs, ModelItem *speed)
{
    LadderDesk *d = &p->ladder;
    const Passage *passage = p->piece->loaded.passage;
    Ladder l;
    Error error = {0};
    char slow[LADDER_RATE_MAX], fast[LADDER_RATE_MAX];
    Ratio length = ladder_note_length(passage);
    ladder_rate_text(ladder_note_rate(d->spec.start, length), slow);
    ladder_rate_text(ladder_note_rate(d->spec.goal, length), fast);
    snprintf(speed->title, sizeof speed->title, "speed: %s to %s notes a second", slow, fast);
    if (!ladder_make(&d->spec, &l, &error)) {
        snprintf(rungs->title, sizeof rungs->title, "! %.190s", error.text);
        return;
    }
    int left = climb_left(&l, climb_start(&l));
    snprintf(rungs->title, sizeof rungs->title, "%d tempos, at least %d repetition%s", l.count,
        left, left == 1 ? "" : "s");
    ladder_free(&l);
}

static void fill_items(Practice *p)
{
    LadderDesk *d = &p->ladder;
    ModelItem *items = d->items;
    char text[TEMPO_TEXT_MAX];
    snprintf(items[ROW_SWITCH].title, sizeof items->title, "the ladder: %s", d->on ? "up" : "off");
    items[ROW_SWITCH].current = d->on;
    snprintf(
        items[ROW_START].title, sizeof items->title, "from: %s", tempo_text(d->spec.start, text));
    snprintf(
        items[ROW_GOAL].title, sizeof items->title, "goal: %s", tempo_text(d->spec.goal, text));
    steps_words(&d->spec, items[ROW_STEPS].title, sizeof items->title);
    pattern_words(&d->spec, &items[ROW_PATTERN], &items[ROW_CLEAN]);
    snprintf(
        items[ROW_ABOVE].title, sizeof items->title, "steps above the goal: %d", d->spec.above);
    snprintf(items[ROW_JUDGING].title, sizeof items->title, "each counts %s unless told",
        d->strict ? "missed" : "clean");
    total_words(p, &items[ROW_RUNGS], &items[ROW_SPEED]);
}

void ladder_fill(Practice *p)
{
    p->model.ladder.on = p->ladder.on;
    if (p->ladder.on) {
        fill_standing(p);
        next_words(p);
    }
    if (p->model.screen == SCREEN_LADDER && p->ladder.items != NULL)
        fill_items(p);
}

/* ---- the screen of settings ---------------------------------------------------------------- */

void ladder_open(Practice *p)
{
    LadderDesk *d = &p->ladder;
    propose(p);
    if (d->items == NULL)
        d->items = calloc(ROWS, sizeof *d->items);
    p->model.rungs.items = d->items;
    p->model.rungs.count = d->items != NULL ? ROWS : 0;
    p->model.rungs.cursor = 0;
}

/* The next amount, in both directions through what is usual: numbers, per cent, beats. */
static void set_steps(LadderSpec *s, int by)
{
    static const struct {
        LadderBy by;
        int amount;
    } usual[] = {{LADDER_BY_NUMBERS, 0}, {LADDER_BY_PERCENT, 2}, {LADDER_BY_PERCENT, 3},
        {LADDER_BY_PERCENT, 4}, {LADDER_BY_PERCENT, 5}, {LADDER_BY_PERCENT, 10},
        {LADDER_BY_AMOUNT, 1}, {LADDER_BY_AMOUNT, 2}, {LADDER_BY_AMOUNT, 4}, {LADDER_BY_AMOUNT, 5},
        {LADDER_BY_AMOUNT, 10}};
    enum { USUAL = sizeof usual / sizeof usual[0] };
    int now = 0;
    while (now < USUAL &&
           !(usual[now].by == s->by && (s->by == LADDER_BY_NUMBERS ||
                                           ratio_equal(ratio_int(usual[now].amount), s->amount))))
        now++;
    now = now == USUAL ? 0 : (now + by + USUAL) % USUAL;
    s->by = usual[now].by;
    s->amount = ratio_int(usual[now].amount);
}

/* By one; a tempo stays where it can be one. */
static void set_number(Tempo *t, int by)
{
    Tempo wanted = *t;
    Ratio whole = ratio_int(ratio_floor(wanted.per_minute));
    wanted.per_minute = by > 0                      ? ratio_add(whole, ratio_int(1))
                        : wanted.per_minute.den > 1 ? whole
                                                    : ratio_sub(whole, ratio_int(1));
    if (tempo_valid(wanted))
        *t = wanted;
}

static void change(Practice *p, int by)
{
    LadderSpec *s = &p->ladder.spec;
    switch ((Row)p->model.rungs.cursor) {
    case ROW_START: set_number(&s->start, by); break;
    case ROW_GOAL: set_number(&s->goal, by); break;
    case ROW_STEPS: set_steps(s, by); break;
    case ROW_PATTERN: s->pattern = (LadderPattern)(((int)s->pattern + by + 3) % 3); break;
    case ROW_CLEAN:
        if (s->pattern == LADDER_CLEAN)
            s->clean = practice_clamp(s->clean + by, 1, LADDER_CLEAN_MAX);
        else
            s->repetitions = practice_clamp(s->repetitions + by, 1, LADDER_REPETITIONS_MAX);
        break;
    case ROW_ABOVE: s->above = practice_clamp(s->above + by, 0, LADDER_ABOVE_MAX); break;
    case ROW_JUDGING: p->ladder.strict = !p->ladder.strict; break;
    case ROW_SWITCH:
    case ROW_RUNGS:
    case ROW_SPEED:
    case ROWS: break;
    }
}

static void say_error(Practice *p, const Error *error, int64_t now_ms)
{
    practice_say(p, now_ms, true, "%s.", error->text);
}

static void say_trap(Practice *p, int64_t now_ms)
{
    char words[LADDER_WORDS_MAX];
    const Passage *passage = p->piece->loaded.passage;
    Ratio length = ladder_note_length(passage);
    if (ladder_trap(p->ladder.spec.goal, passage_pulse(passage), length, words))
        practice_say(p, now_ms, true, "%.190s.", words);
}

static void switch_ladder(Practice *p, int64_t now_ms)
{
    Error error = {0};
    if (p->ladder.on)
        take_down(p);
    else if (!put_up(p, &error)) {
        say_error(p, &error, now_ms);
        return;
    }
    practice_say(p, now_ms, false, p->ladder.on ? "The ladder is up." : "The ladder is off.");
    if (p->ladder.on)
        say_trap(p, now_ms);
    practice_to_step(p, p->step); /* begun anew where it runs */
    p->model.screen = SCREEN_PRACTICE;
}

void ladder_act(Practice *p, Action action, int64_t now_ms)
{
    if (action == ACTION_LADDER_SWITCH) {
        switch_ladder(p, now_ms);
        return;
    }
    Error error = {0};
    Row row = (Row)p->model.rungs.cursor;
    change(p, action == ACTION_SET_UP ? 1 : -1);
    if (row == ROW_JUDGING)
        ladder_expected(p);
    else if (row < ROW_RUNGS && row != ROW_SWITCH && p->ladder.on) {
        take_down(p); /* another ladder: it is begun when it is put up */
        practice_say(p, now_ms, false, "Changed: put the ladder up again.");
        takes_stop(p);
    }
    Ladder tried;
    if (!ladder_make(&p->ladder.spec, &tried, &error))
        say_error(p, &error, now_ms);
    else
        ladder_free(&tried);
}
