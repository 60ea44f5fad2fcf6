#include "cue.h"

#include <stdio.h>
#include <string.h>

/* "long-short 3:1", "2nd of 3 long 3:1" */
static void brief_rhythm(const Rhythm *r, char *out, size_t size)
{
    static const char *const nth[] = {"1st", "2nd", "3rd", "4th"};
    const char *goal = r->timing == TIMING_GOAL ? ", goal speed" : "";
    if (r->notes == 2)
        snprintf(out, size, "%s %d:%d%s", r->long_at == 0 ? "long-short" : "short-long", r->p, r->q,
            goal);
    else
        snprintf(
            out, size, "%s of %d long %d:%d%s", nth[r->long_at & 3], r->notes, r->p, r->q, goal);
}

char *cue_brief(const DrillSpec *spec, const Rotation *r, char out[MODEL_BRIEF_MAX])
{
    bool even = spec->rhythm.notes == 0;
    int used = 0;
    out[0] = '\0';
    if (spec->accent == ACCENT_FINGER)
        used = snprintf(out, MODEL_BRIEF_MAX, even ? "all the %ds" : "%ds, ", spec->finger);
    else if (spec->accent == ACCENT_PLACE && even)
        used = snprintf(out, MODEL_BRIEF_MAX, "place %d of %zu", spec->place + 1, r->place_count);
    else if (spec->accent == ACCENT_PLACE)
        used = snprintf(out, MODEL_BRIEF_MAX, "place %d, ", spec->place + 1);
    else if (even)
        used = snprintf(out, MODEL_BRIEF_MAX, "plain");
    if (!even)
        brief_rhythm(&spec->rhythm, out + used, MODEL_BRIEF_MAX - (size_t)used);
    return out;
}

/* One sign for each `step` of `length`: '>' where a strong beat, moved by `shift`, falls. False
 * where there are more steps than signs, or an accent falls between them.
 *
 *      4/4, moved by a quaver:  . > . .
 */
static bool pattern(const Rotation *r, Ratio shift, Ratio step, Ratio length, ModelCue *cue)
{
    Ratio slots = step.num > 0 ? ratio_div(length, step) : ratio_int(0);
    if (slots.den != 1 || slots.num < 1 || slots.num > MODEL_CUE_SLOTS)
        return false;
    memset(cue->accent, '.', (size_t)slots.num);
    for (int i = 0; i < r->beat_count; i++)
        for (Ratio at = ratio_mod(ratio_add(r->beats[i], shift), r->period);
             ratio_cmp(at, length) < 0; at = ratio_add(at, r->period)) {
            Ratio slot = ratio_div(at, step);
            if (slot.den != 1)
                return false;
            cue->accent[slot.num] = '>';
        }
    cue->kind = CUE_PATTERN;
    return true;
}

/* A whole bar by its beats. */
static void cue_strong(const Rotation *r, const Metre *metre, ModelCue *cue)
{
    Ratio unit = metre_unit(metre);
    Ratio beat = metre_compound(metre) ? ratio_mul(unit, ratio_int(3)) : unit;
    if (metre_free(metre) || !pattern(r, ratio_int(0), beat, metre_bar(metre), cue))
        memset(cue->accent, 0, sizeof cue->accent);
}

static void cue_place(const Rotation *r, int place, ModelCue *cue)
{
    Ratio shift = r->places[place].shift;
    if (pattern(r, shift, r->subdivision, r->period, cue))
        return;
    memset(cue->accent, 0, sizeof cue->accent);
    snprintf(cue->accent, sizeof cue->accent, "%d", place + 1);
    cue->kind = CUE_NUMBER;
}

ModelCue cue_of(const DrillSpec *spec, const Rotation *r, const Metre *metre)
{
    ModelCue cue = {.kind = CUE_NONE, .p = spec->rhythm.p, .q = spec->rhythm.q};
    int notes = spec->rhythm.notes;
    if (spec->accent == ACCENT_FINGER) {
        cue.kind = CUE_FINGER;
        cue.accent[0] = (char)('0' + spec->finger);
    } else if (spec->accent == ACCENT_PLACE && (size_t)spec->place < r->place_count) {
        cue_place(r, spec->place, &cue);
    } else if (notes == 0) {
        cue_strong(r, metre, &cue);
    }
    for (int i = 0; i < notes && i < MODEL_CUE_NOTES; i++)
        cue.rhythm[i] = i == spec->rhythm.long_at ? 'L' : 's';
    return cue;
}
