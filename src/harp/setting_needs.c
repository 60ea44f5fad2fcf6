/* What one pitch needs of a harp, how else it could be spelled, and telling troubles. */
#include "setting.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

static Need pedal_need(const Instrument *harp, Pitch pitch)
{
    int string = pitch_string(pitch);
    Need need = {.lane = pitch.letter, .state = pitch.alter, .trouble = TROUBLE_KINDS};
    if (string < harp->low)
        need.trouble = TROUBLE_LOW;
    else if (string >= harp->low + harp->count)
        need.trouble = TROUBLE_HIGH;
    else if (string < harp->low + harp->no_discs) {
        need.lane = -1;
        need.trouble = pitch.alter != 0 ? TROUBLE_NO_DISC : TROUBLE_KINDS;
    }
    return need;
}

static Need lever_need(const Instrument *harp, Pitch pitch)
{
    int string = pitch_string(pitch), raised = pitch.alter - harp->tuning[pitch.letter];
    Need need = {.lane = -1, .state = raised, .trouble = TROUBLE_KINDS};
    if (string < harp->low)
        need.trouble = TROUBLE_LOW;
    else if (string >= harp->low + harp->count)
        need.trouble = TROUBLE_HIGH;
    else if (raised != 0 && raised != 1)
        need.trouble = TROUBLE_NO_LEVER;
    else
        need.lane = string - harp->low;
    return need;
}

Need harp_need(const Instrument *harp, Pitch pitch)
{
    if (abs(pitch.alter) > 1)
        return (Need){.lane = -1, .trouble = TROUBLE_DOUBLE};
    return harp->kind == HARP_PEDAL ? pedal_need(harp, pitch) : lever_need(harp, pitch);
}

/* Left foot: D C B. */
int lane_side(const Instrument *harp, int lane)
{
    if (harp->kind == HARP_LEVER)
        return 0;
    return lane == LETTER_D || lane == LETTER_C || lane == LETTER_B ? 0 : 1;
}

/* Nothing else in the block wants that string, or its letter otherwise. */
static bool is_free(const Asked *a, size_t u, Pitch other)
{
    Need need = harp_need(a->harp, other);
    if (need.trouble != TROUBLE_KINDS)
        return false;
    size_t first = u;
    while (first > 0 && a->uses[first - 1].block == a->uses[u].block)
        first--;
    for (size_t i = first; i < a->use_count && a->uses[i].block == a->uses[u].block; i++) {
        Need there = harp_need(a->harp, a->uses[i].pitch);
        if (i == u)
            continue;
        if (pitch_string(a->uses[i].pitch) == pitch_string(other))
            return false;
        if (there.lane >= 0 && there.lane == need.lane && there.state != need.state)
            return false;
    }
    return true;
}

bool respell(const Asked *a, size_t u, Pitch *out)
{
    static const int steps[] = {1, -1, 2, -2};
    Pitch pitch = a->uses[u].pitch;
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        int string = pitch_string(pitch) + steps[i];
        if (string < 0)
            continue;
        Pitch other = {.letter = (int8_t)(string % 7), .octave = (int8_t)(string / 7)};
        int alter = pitch_midi(pitch) - pitch_midi(other);
        other.alter = (int8_t)alter;
        if (abs(alter) > 1 || !is_free(a, u, other))
            continue;
        *out = other;
        return true;
    }
    return false;
}

static Trouble *add_trouble(Asked *a, TroubleKind kind, int32_t note)
{
    if ((a->trouble_count & (a->trouble_count - 1)) == 0) {
        size_t room = a->trouble_count == 0 ? 1 : a->trouble_count * 2;
        Trouble *more = realloc(a->troubles, room * sizeof *more);
        if (more == NULL) {
            a->failed = true;
            return NULL;
        }
        a->troubles = more;
    }
    Trouble *trouble = &a->troubles[a->trouble_count++];
    *trouble = (Trouble){.kind = kind, .note = note};
    return trouble;
}

char *place_text(const Passage *p, int32_t note, char out[PLACE_MAX])
{
    char beat[RATIO_TEXT_MAX];
    ratio_text(passage_beat(p, (size_t)note), beat);
    snprintf(out, PLACE_MAX, "bar %d, beat %s", p->bars[p->notes[note].bar].number, beat);
    return out;
}

const char *alter_word(int alter)
{
    return alter < 0 ? "flat" : alter > 0 ? "sharp" : "natural";
}

void tell(Asked *a, TroubleKind kind, size_t use, const char *format, ...)
{
    const Use *u = &a->uses[use];
    Trouble *trouble = add_trouble(a, kind, u->note);
    if (trouble == NULL)
        return;
    char name[PITCH_NAME_MAX], place[PLACE_MAX];
    names_pitch(u->pitch, a->names, false, name);
    place_text(a->p, u->note, place);
    int used = snprintf(trouble->text, sizeof trouble->text, "%s (%s%s): ", name, place,
        u->left ? ", left hand" : "");
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(trouble->text + used, sizeof trouble->text - (size_t)used, format, arguments);
    va_end(arguments);
}

void tell_plain(Asked *a, TroubleKind kind, int32_t note, const char *format, ...)
{
    Trouble *trouble = add_trouble(a, kind, note);
    if (trouble == NULL)
        return;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(trouble->text, sizeof trouble->text, format, arguments);
    va_end(arguments);
}
