/* Levers: those to raise before the first note, and those to flip in mid-run. */
#include "setting.h"

#include <stdio.h>
#include <stdlib.h>

static int32_t slot_of(const void *items, size_t i)
{
    return ((const Move *)items)[i].at;
}

static void tell_flip(Asked *a, const LeverFlip *flip)
{
    Hands hands = a->p->hands;
    int letter = flip->string % 7, tuned = a->harp->tuning[letter];
    Pitch pitch = {.letter = (int8_t)letter,
        .alter = (int8_t)(tuned + (flip->raise ? 1 : 0)),
        .octave = (int8_t)(flip->string / 7)};
    char name[PITCH_NAME_MAX], place[PLACE_MAX], needed[PLACE_MAX];
    names_pitch(pitch, a->names, false, name);
    tell_plain(a, TROUBLE_FLIP, flip->at,
        "just before %s: flip a lever %s for %s (%s); %s, %d ms%s",
        place_text(a->p, flip->at, place), flip->raise ? "up" : "down", name,
        place_text(a->p, flip->note, needed),
        hands == HANDS_RIGHT ? "the left hand is free for it" : "the left hand leaves the strings",
        flip->milliseconds, flip->crowded ? "; another lever at the same time" : "");
}

/* A string that is not played stands as the key has it, where its lever can do that. */
static int8_t as_the_key(const Asked *a, int string)
{
    int letter = string % 7;
    return a->p->key_alter[letter] - a->harp->tuning[letter] == 1;
}

bool levers_set(Asked *a, Setting *out)
{
    for (int i = 0; i < a->harp->count; i++)
        out->levers[i] = a->lanes[i].known ? a->lanes[i].first : as_the_key(a, a->harp->low + i);
    if (a->move_count == 0)
        return true;
    size_t *order = order_by(a->moves, a->move_count, slot_of, a->block_count);
    out->flips = calloc(a->move_count, sizeof *out->flips);
    bool made = order != NULL && out->flips != NULL;
    for (size_t i = 0; made && i < a->move_count; i++) {
        const Move *move = &a->moves[order[i]];
        LeverFlip *flip = &out->flips[out->flip_count++];
        *flip = (LeverFlip){.note = move->note,
            .at = a->blocks[move->at],
            .earliest = a->blocks[move->earliest],
            .string = a->harp->low + move->lane,
            .raise = move->to == 1,
            .crowded = move->crowded,
            .milliseconds = slot_milliseconds(a, move->at)};
        tell_flip(a, flip);
    }
    free(order);
    return made;
}
