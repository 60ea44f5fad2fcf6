/* Pedals: the setting before the first note, and the changes. */
#include "setting.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What a key does to a letter, as far as a pedal can. */
static int8_t within_pedal(int8_t alter)
{
    return (int8_t)(alter < -1 ? -1 : alter > 1 ? 1 : alter);
}

static int32_t slot_of(const void *items, size_t i)
{
    return ((const Move *)items)[i].at;
}

/* Names the pedals that one foot has to move in one slot, from the first of them on. */
static void tell_crowded(Asked *a, const Setting *s, size_t first)
{
    const PedalChange *c = &s->changes[first];
    char letters[32] = "", place[PLACE_MAX];
    size_t used = 0;
    for (size_t i = first; i < s->change_count && s->changes[i].at == c->at; i++)
        if (s->changes[i].left_foot == c->left_foot)
            used += (size_t)snprintf(letters + used, sizeof letters - used, "%s%c",
                used > 0 ? " and " : "", "CDEFGAB"[s->changes[i].letter]);
    tell_plain(a, TROUBLE_CROWDED, c->at, "%s: before it the %s foot moves %s at once",
        place_text(a->p, c->at, place), c->left_foot ? "left" : "right", letters);
}

static void tell_all_crowded(Asked *a, const Setting *s)
{
    int32_t told[SIDES] = {-1, -1};
    for (size_t i = 0; i < s->change_count; i++) {
        const PedalChange *c = &s->changes[i];
        int side = c->left_foot ? 0 : 1;
        if (c->crowded && told[side] != c->at)
            tell_crowded(a, s, i);
        told[side] = c->at;
    }
}

bool pedals_set(Asked *a, Setting *out)
{
    for (int letter = 0; letter < 7; letter++)
        out->pedals[letter] =
            a->lanes[letter].known ? a->lanes[letter].first : within_pedal(a->p->key_alter[letter]);
    if (a->move_count == 0)
        return true;
    size_t *order = order_by(a->moves, a->move_count, slot_of, a->block_count);
    out->changes = calloc(a->move_count, sizeof *out->changes);
    bool made = order != NULL && out->changes != NULL;
    for (size_t i = 0; made && i < a->move_count; i++) {
        const Move *move = &a->moves[order[i]];
        out->changes[out->change_count++] = (PedalChange){.note = move->note,
            .at = a->blocks[move->at],
            .earliest = a->blocks[move->earliest],
            .letter = move->lane,
            .from = move->from,
            .to = move->to,
            .left_foot = move->side == 0,
            .crowded = move->crowded,
            .milliseconds = slot_milliseconds(a, move->at)};
    }
    free(order);
    if (made)
        tell_all_crowded(a, out);
    return made;
}

char *pedal_change_text(const Passage *p, const PedalChange *c, char *out, size_t size)
{
    char at[PLACE_MAX], from[PLACE_MAX + 32] = "", earliest[PLACE_MAX];
    if (c->earliest != p->notes[c->note].block)
        snprintf(from, sizeof from, ", at any time from just before %s to %s",
            place_text(p, c->earliest, earliest), place_text(p, c->note, at));
    snprintf(out, size, "just before %s: %c %s (%s foot)%s%s", place_text(p, c->at, at),
        "CDEFGAB"[c->letter], alter_word(c->to), c -> left_foot ? "left" : "right",
        c->crowded ? ", with another pedal of this foot" : "", from);
    return out;
}
