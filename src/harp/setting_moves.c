/* When what must change may change, and which slot each change gets. */
#include "setting.h"

#include <stdio.h>
#include <stdlib.h>

enum { HURRIED = 60000 }; /* microseconds; a pedal in less than that is worth a remark [own] */

static Ratio onset_of_block(const Asked *a, int32_t block)
{
    return a->p->notes[a->blocks[block]].onset;
}

static Ratio end_of(const Asked *a, size_t use)
{
    const Note *note = &a->p->notes[a->uses[use].note];
    return ratio_add(note->onset, note->length);
}

/* "; it plays from 2 octaves higher", where the harp has it there. */
static void tell_range(Asked *a, size_t u, TroubleKind kind)
{
    const Instrument *harp = a->harp;
    bool low = kind == TROUBLE_LOW;
    int bound = low ? harp->low : harp->low + harp->count - 1;
    int string = pitch_string(a->uses[u].pitch);
    int octaves = (abs(bound - string) + 6) / 7, landed = string + (low ? 7 : -7) * octaves;
    Pitch last = {.letter = (int8_t)(bound % 7), .octave = (int8_t)(bound / 7)};
    char name[PITCH_NAME_MAX], way[60] = "";
    names_pitch(last, a->names, false, name);
    if (landed >= harp->low && landed < harp->low + harp->count)
        snprintf(way, sizeof way, "; it is there %d octave%s %s", octaves, octaves == 1 ? "" : "s",
            low ? "higher" : "lower");
    tell(a, kind, u, "%s the %s string, %s%s", low ? "below" : "above", low ? "lowest" : "highest",
        name, way);
}

static void tell_need(Asked *a, size_t u, TroubleKind kind)
{
    Pitch other;
    char name[PITCH_NAME_MAX] = "";
    bool way = respell(a, u, &other);
    if (way)
        names_pitch(other, a->names, false, name);
    int letter = a->uses[u].pitch.letter;
    if (kind == TROUBLE_DOUBLE)
        tell(a, kind, u, "no %s gives a double %s; %s%s",
            a->harp->kind == HARP_PEDAL ? "pedal" : "lever",
            a->uses[u].pitch.alter > 0 ? "sharp" : "flat",
            way ? "write it as " : "the harp has no other string for it", name);
    else if (kind == TROUBLE_NO_DISC)
        tell(a, kind, u, "this string has no disc, its pedal does not change it; %s%s",
            way ? "play it as " : "tune it by hand before, or play an octave higher", name);
    else if (kind == TROUBLE_NO_LEVER)
        tell(a, kind, u,
            "the string is tuned %s and its lever only makes it a semitone higher; %s%s",
            alter_word(a->harp->tuning[letter]), way ? "play it as " : "another tuning is needed",
            name);
    else
        tell_range(a, u, kind);
}

/* One letter (string) wanted in two states within one block: either of the two may go elsewhere. */
static void tell_two_states(Asked *a, size_t u, size_t before)
{
    Pitch pitch = a->uses[u].pitch, other;
    char way[80] = "leave one out, or play them one after the other";
    char from[PITCH_NAME_MAX], to[PITCH_NAME_MAX];
    for (int i = 0; i < 2; i++) {
        size_t moved = i == 0 ? u : before;
        if (!respell(a, moved, &other))
            continue;
        names_pitch(a->uses[moved].pitch, a->names, false, from);
        names_pitch(other, a->names, false, to);
        snprintf(way, sizeof way, "play %s as %s", from, to);
        break;
    }
    tell(a, TROUBLE_TWO_STATES, u, "%s %c cannot be %s and %s at once; %s",
        a->harp->kind == HARP_PEDAL ? "the letter" : "one string", "CDEFGAB"[pitch.letter],
        alter_word(a->uses[before].pitch.alter), alter_word(pitch.alter), way);
}

static void add_move(Asked *a, size_t u, Lane *lane, Need need)
{
    const Use *use = &a->uses[u], *last = &a->uses[lane->use];
    Move move = {.note = use->note,
        .due = use->block,
        .at = -1,
        .earliest = last->block + 1,
        .lane = (int16_t)need.lane,
        .from = lane->state,
        .to = (int8_t)need.state,
        .side = (uint8_t)lane_side(a->harp, need.lane)};
    /* A string still sounding would be heard to change: wait for its end where there is room. */
    while (move.earliest < move.due && ratio_cmp(onset_of_block(a, move.earliest), lane->rings) < 0)
        move.earliest++;
    Ratio due = onset_of_block(a, move.due);
    Ratio since = ratio_sub(due, onset_of_block(a, last->block));
    const char *what = a->harp->kind == HARP_PEDAL ? "pedal" : "lever";
    if (a->harp->kind == HARP_PEDAL && microseconds(a->p, since) < HURRIED)
        tell(a, TROUBLE_REMARK, u, "its pedal has only %d ms to move",
            (int)(microseconds(a->p, since) / 1000));
    if (ratio_cmp(lane->rings, due) > 0)
        tell(a, TROUBLE_REMARK, u, "a note of this %s still sounds when it moves", what);
    a->moves[a->move_count++] = move;
}

void moves_find(Asked *a)
{
    for (size_t u = 0; u < a->use_count; u++) {
        Need need = harp_need(a->harp, a->uses[u].pitch);
        if (need.trouble != TROUBLE_KINDS)
            tell_need(a, u, need.trouble);
        if (need.lane < 0)
            continue;
        Lane *lane = &a->lanes[need.lane];
        bool same = lane->known && lane->state == need.state;
        if (lane->known && !same && a->uses[lane->use].block == a->uses[u].block) {
            tell_two_states(a, u, (size_t)lane->use);
            continue;
        }
        if (lane->known && !same)
            add_move(a, u, lane, need);
        if (!lane->known)
            lane->first = (int8_t)need.state;
        lane->rings = same ? ratio_max(lane->rings, end_of(a, u)) : end_of(a, u);
        lane->known = true;
        lane->state = (int8_t)need.state;
        lane->use = (int32_t)u;
    }
}

/* ---- slots ---------------------------------------------------------------------------------
 * Windows of one lane never overlap, so at most one move of a lane waits at a time, and walking
 * through all windows of a lane is linear. */

typedef struct {
    Asked *a;
    uint8_t *taken; /* moves in each slot, by side */
    Move *waiting[LANES_MAX];
    int waiting_count;
} Slots;

static uint8_t *taken_at(const Slots *s, int32_t slot, int side)
{
    return &s->taken[slot * SIDES + side];
}

static void drop(Slots *s, int i)
{
    s->waiting[i] = s->waiting[--s->waiting_count];
}

/* From the last slot to the first, each side takes the waiting move whose window opens latest: the
 * earliest-deadline rule seen in a mirror. For windows this gives the most moves a slot of their
 * own (a largest matching of intervals and points), and each as late as that allows. */
static void take_latest(Slots *s, int32_t slot)
{
    for (int side = 0; side < SIDES; side++) {
        int best = -1;
        for (int i = 0; i < s->waiting_count; i++)
            if (s->waiting[i]->side == side &&
                (best < 0 || s->waiting[i]->earliest > s->waiting[best]->earliest))
                best = i;
        if (best < 0)
            continue;
        s->waiting[best]->at = slot;
        *taken_at(s, slot, side) = 1;
        drop(s, best);
    }
    for (int i = s->waiting_count - 1; i >= 0; i--)
        if (s->waiting[i]->earliest == slot)
            drop(s, i);
}

/* Back from its slot to the latest free one that is comfortable, else to the longest free. */
static void make_comfortable(Slots *s, Move *move, int64_t comfortable)
{
    const int64_t *time = s->a->slots;
    int32_t best = move->at;
    for (int32_t slot = move->at - 1; slot >= move->earliest && time[best] < comfortable; slot--)
        if (*taken_at(s, slot, move->side) == 0 && time[slot] > time[best])
            best = slot;
    *taken_at(s, move->at, move->side) = 0;
    *taken_at(s, best, move->side) = 1;
    move->at = best;
}

/* No slot of its own is left: the latest of those shared by fewest. */
static void squeeze_in(Slots *s, Move *move)
{
    int32_t best = move->due;
    for (int32_t slot = move->due - 1; slot >= move->earliest; slot--)
        if (*taken_at(s, slot, move->side) < *taken_at(s, best, move->side))
            best = slot;
    ++*taken_at(s, best, move->side);
    move->at = best;
}

bool moves_schedule(Asked *a, int64_t comfortable)
{
    Slots s = {.a = a, .taken = calloc(a->block_count * SIDES, sizeof *s.taken)};
    if (s.taken == NULL)
        return false;
    size_t left = a->move_count;
    for (int32_t slot = (int32_t)a->block_count - 1; slot > 0; slot--) {
        for (; left > 0 && a->moves[left - 1].due == slot; left--)
            s.waiting[s.waiting_count++] = &a->moves[left - 1];
        take_latest(&s, slot);
    }
    for (size_t i = 0; i < a->move_count; i++)
        if (a->moves[i].at >= 0)
            make_comfortable(&s, &a->moves[i], comfortable);
    for (size_t i = 0; i < a->move_count; i++)
        if (a->moves[i].at < 0)
            squeeze_in(&s, &a->moves[i]);
    for (size_t i = 0; i < a->move_count; i++)
        a->moves[i].crowded = *taken_at(&s, a->moves[i].at, a->moves[i].side) > 1;
    free(s.taken);
    return true;
}
