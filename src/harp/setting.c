/* A passage asked of a harp: its uses of strings one by one, range, remarks, the verdict. */
#include "setting.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    COMFORT_FOOT = 200000,  /* microseconds for one pedal; [own] */
    COMFORT_LEVER = 500000, /* for the hand to a lever and back; [own] */
    RIGHT_LOWEST = 21,      /* C3, the C of the bass staff [src: orchestrationonline, harp] */
    LEFT_HIGHEST = 46       /* G6: the octave above it is the very top; the bound is [own] */
};

size_t *order_by(const void *items, size_t count, KeyOf key, size_t keys)
{
    size_t *starts = calloc(keys + 1, sizeof *starts);
    size_t *order = calloc(count + 1, sizeof *order);
    if (starts == NULL || order == NULL) {
        free(starts);
        free(order);
        return NULL;
    }
    for (size_t i = 0; i < count; i++)
        starts[key(items, i) + 1]++;
    for (size_t k = 0; k < keys; k++)
        starts[k + 1] += starts[k];
    for (size_t i = 0; i < count; i++)
        order[starts[key(items, i)]++] = i;
    free(starts);
    return order;
}

int64_t microseconds(const Passage *p, Ratio quarters)
{
    int64_t frames = tempo_frame(p->tempo, quarters, 1000000);
    return frames < 0 ? 0 : frames;
}

int32_t slot_milliseconds(const Asked *a, int32_t slot)
{
    int64_t time = a->slots[slot] / 1000;
    return time > INT32_MAX ? INT32_MAX : (int32_t)time;
}

/* The same as passage_left says note by note, in one walk. */
static Pitch left_of(const Passage *p, const Note *note, const int8_t alter[7])
{
    int string = pitch_string(note->pitch) - hands_below(p->hands);
    int letter = ((string % 7) + 7) % 7;
    return (Pitch){.letter = (int8_t)letter,
        .alter = alter[letter],
        .octave = (int8_t)((string - letter) / 7)};
}

static void collect(Asked *a)
{
    const Passage *p = a->p;
    bool doubled = hands_below(p->hands) > 0;
    int8_t alter[7];
    memcpy(alter, p->key_alter, sizeof alter);
    for (size_t i = 0; i < p->note_count; i++) {
        const Note *note = &p->notes[i];
        if (note->block == (int32_t)i) {
            size_t k = a->block_count++;
            a->blocks[k] = (int32_t)i;
            if (k > 0)
                a->slots[k] =
                    microseconds(p, ratio_sub(note->onset, p->notes[a->blocks[k - 1]].onset));
        }
        int32_t block = (int32_t)a->block_count - 1;
        alter[note->pitch.letter] = note->pitch.alter;
        a->uses[a->use_count++] = (Use){.note = (int32_t)i, .block = block, .pitch = note->pitch};
        if (doubled)
            a->uses[a->use_count++] = (Use){
                .note = (int32_t)i, .block = block, .pitch = left_of(p, note, alter), .left = true};
    }
}

/* Said once for each hand: how many notes lie where it is clumsy, and the furthest of them. By
 * turns either hand may take a note, so nothing is said there. */
static void remark_reach(Asked *a, bool left)
{
    Hands hands = a->p->hands;
    if (hands == HANDS_ALTERNATE)
        return;
    bool doubled = hands_below(hands) > 0;
    size_t count = 0, furthest = 0;
    for (size_t u = 0; u < a->use_count; u++) {
        bool by_left = doubled ? a->uses[u].left : hands == HANDS_LEFT;
        int string = pitch_string(a->uses[u].pitch);
        if (by_left != left || (left ? string <= LEFT_HIGHEST : string >= RIGHT_LOWEST))
            continue;
        int most = pitch_string(a->uses[furthest].pitch);
        if (count == 0 || (left ? string > most : string < most))
            furthest = u;
        count++;
    }
    Pitch bound = left ? (Pitch){LETTER_G, 0, 6} : (Pitch){LETTER_C, 0, 3};
    char name[PITCH_NAME_MAX];
    names_pitch(bound, a->names, false, name);
    if (count > 0)
        tell(a, TROUBLE_REMARK, furthest, "the %s hand is %s %s; %zu of its notes %s there",
            left ? "left" : "right", left ? "clumsy above" : "awkward below", name, count,
            count == 1 ? "lies" : "lie");
}

static int32_t note_of_trouble(const void *items, size_t i)
{
    return ((const Trouble *)items)[i].note;
}

static bool sort_troubles(Asked *a, Setting *out)
{
    size_t count = a->trouble_count;
    if (count == 0)
        return true;
    size_t *order = order_by(a->troubles, count, note_of_trouble, a->p->note_count);
    out->troubles = calloc(count, sizeof *out->troubles);
    bool made = order != NULL && out->troubles != NULL;
    for (size_t i = 0; made && i < count; i++)
        out->troubles[i] = a->troubles[order[i]];
    out->trouble_count = made ? count : 0;
    free(order);
    return made;
}

static bool ask(Asked *a, Setting *out)
{
    size_t uses = a->p->note_count * 2;
    a->uses = calloc(uses, sizeof *a->uses);
    a->moves = calloc(uses, sizeof *a->moves);
    a->blocks = calloc(uses, sizeof *a->blocks);
    a->slots = calloc(uses, sizeof *a->slots);
    if (a->uses == NULL || a->moves == NULL || a->blocks == NULL || a->slots == NULL)
        return false;
    collect(a);
    moves_find(a);
    bool pedals = a->harp->kind == HARP_PEDAL;
    if (!moves_schedule(a, pedals ? COMFORT_FOOT : COMFORT_LEVER))
        return false;
    if (!(pedals ? pedals_set(a, out) : levers_set(a, out)))
        return false;
    remark_reach(a, false);
    remark_reach(a, true);
    return !a->failed && sort_troubles(a, out);
}

bool trouble_stops(TroubleKind kind)
{
    return kind != TROUBLE_FLIP && kind != TROUBLE_CROWDED && kind != TROUBLE_REMARK;
}

bool setting_make(const Passage *p, const Instrument *harp, Setting *out, Error *error)
{
    return setting_make_named(p, harp, NAMES_SCIENTIFIC, out, error);
}

bool setting_make_named(
    const Passage *p, const Instrument *harp, Names names, Setting *out, Error *error)
{
    Asked a = {.p = p, .harp = harp, .names = names};
    *out = (Setting){.harp = *harp, .playable = true};
    if (p->note_count == 0)
        return error_set(error, ERROR_EMPTY, "there is not a note in this passage");
    bool made = ask(&a, out);
    for (size_t i = 0; made && i < out->trouble_count; i++)
        out->playable = out->playable && !trouble_stops(out->troubles[i].kind);
    free(a.uses);
    free(a.moves);
    free(a.blocks);
    free(a.slots);
    free(a.troubles);
    if (made)
        return true;
    setting_free(out);
    return error_set(error, ERROR_MEMORY, "out of memory for the harp's setting");
}

void setting_free(Setting *s)
{
    free(s->changes);
    free(s->flips);
    free(s->troubles);
    *s = (Setting){0};
}
