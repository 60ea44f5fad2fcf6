/* The screen of fingerings as the model tells it: each plan's notes and words, and what is to be
 * said against the one in use. */
#include "practice_fingers.h"

#include <stdio.h>
#include <string.h>

enum { TOLD_MAX = 3, APART_MAX = 120 };

/* By the tempo that was asked for, however slowly it is practised now. What the file marks is in
 * `fixed` already, where the player can free it. */
FingeringOptions finger_options(const Practice *p, const uint8_t *fixed)
{
    Options goal = p->options;
    goal.tempo = p->given_tempo;
    FingeringOptions o = load_fingering_options(&goal, finger_passage(p));
    o.ignore_marks = true;
    o.fixed = fixed;
    return o;
}

/* "unlike plan 1: 4 on E5, 3 on F#5 and 2 more; " */
static void tell_apart(const Practice *p, int plan, char *out, size_t size)
{
    const Fingering *first = &p->fingers->plans[0], *own = &p->fingers->plans[plan];
    char name[PITCH_NAME_MAX];
    size_t used = 0;
    int told = 0, more = 0;
    out[0] = '\0';
    for (size_t i = 0; i < own->note_count; i++) {
        if (own->notes[i].finger == first->notes[i].finger || told++ >= TOLD_MAX) {
            more += own->notes[i].finger != first->notes[i].finger;
            continue;
        }
        pitch_name(finger_passage(p)->notes[i].pitch, p->model.utf8, name);
        used += (size_t)snprintf(out + used, size - used, "%s%d on %s",
            used == 0 ? "unlike plan 1: " : ", ", own->notes[i].finger, name);
    }
    if (more > 0)
        used += (size_t)snprintf(out + used, size - used, " and %d more", more);
    if (used > 0)
        snprintf(out + used, size - used, "; ");
}

/* The explanation without the grouping, which stands beside the plan's number. */
static void fill_words(const Practice *p, int plan, ModelPlan *out)
{
    char apart[APART_MAX], words[EXPLAIN_TEXT_MAX];
    const Fingering *from = &p->fingers->plans[plan];
    size_t grouping = strlen(out->grouping);
    tell_apart(p, plan, apart, sizeof apart);
    fingering_explain(finger_passage(p), from, p->model.utf8, words);
    const char *rest = words;
    if (strncmp(words, out->grouping, grouping) == 0 && words[grouping] != '\0')
        rest += grouping + strspn(words + grouping, ",; ");
    snprintf(out->words, sizeof out->words, "%s%.*s", apart,
        (int)(sizeof out->words - sizeof apart), rest);
}

static void fill_plan(Practice *p, int plan)
{
    FingerPlans *f = p->fingers;
    ModelPlan *out = &p->model.fingers.plans[plan];
    const Passage *passage = finger_passage(p);
    const Fingering *from = &f->plans[plan];
    ModelNote *rows = f->rows + (size_t)plan * passage->note_count;
    for (size_t i = 0; i < passage->note_count; i++) {
        rows[i] = (ModelNote){0};
        piece_row(&rows[i], passage, from, i, i + 1, p->model.utf8);
        if (passage->notes[i].block == (int32_t)i)
            continue;
        memmove(rows[i].name + 1, rows[i].name, sizeof rows[i].name - 1);
        rows[i].name[0] = '+'; /* of a chord */
        rows[i].name[sizeof rows[i].name - 1] = '\0';
    }
    fingering_grouping(from, out->grouping, sizeof out->grouping);
    fill_words(p, plan, out);
    out->cost = from->cost;
    out->notes = rows;
}

/* How near to the cursor: 3 the order of its chord's fingers, told at any of its notes, 2 its own
 * note, 1 its chord, 0 elsewhere. */
static int nearness(const Practice *p, const Finding *finding)
{
    const Note *notes = finger_passage(p)->notes;
    int32_t here = p->model.fingers.note, there = finding->note;
    if (there < 0 || notes[there].block != notes[here].block)
        return 0;
    bool second = there != notes[there].block; /* of two notes of the chord */
    return second && finding->kind == FINDING_ORDER ? 3 : there == here ? 2 : 1;
}

/* The finding nearest to the cursor, else the first one. */
void practice_fingers_say(Practice *p)
{
    const Findings *all = &p->fingers->findings;
    ModelFingers *m = &p->model.fingers;
    m->finding[0] = '\0';
    if (all->count == 0)
        return;
    size_t which = 0;
    for (size_t i = 1; i < all->count; i++)
        if (nearness(p, &all->items[i]) > nearness(p, &all->items[which]))
            which = i;
    char place[48] = "";
    if (all->count > 1)
        snprintf(place, sizeof place, "%zu of %zu: ", which + 1, all->count);
    snprintf(m->finding, sizeof m->finding, "%s%.*s", place,
        (int)(sizeof m->finding - sizeof place), all->items[which].text);
}

/* The plan in use against the rules, as if the file marked every note so. */
static void check(Practice *p)
{
    FingerPlans *f = p->fingers;
    Error error = {0};
    FingeringOptions o = finger_options(p, NULL);
    o.ignore_marks = false;
    findings_free(&f->findings);
    Passage *marked = passage_copy(finger_passage(p));
    if (marked == NULL)
        return;
    for (size_t i = 0; i < marked->note_count; i++)
        marked->notes[i].mark = f->plans[f->used].notes[i].finger;
    fingering_check(marked, &o, &f->findings, &error);
    passage_free(marked);
}

void practice_fingers_fill(Practice *p)
{
    FingerPlans *f = p->fingers;
    ModelFingers *m = &p->model.fingers;
    for (int i = 0; i < f->count; i++)
        fill_plan(p, i);
    m->plan_count = f->count;
    m->used = m->cursor = f->used;
    m->fixed = f->fixed;
    m->note_count = (int)finger_passage(p)->note_count;
    m->unsaved = f->undo_count != f->saved;
    check(p);
    practice_fingers_say(p);
}
