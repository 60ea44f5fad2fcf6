#include "evenhand/drill/drill.h"

#include "drill_parts.h"

#include <stdlib.h>
#include <string.h>

static const int64_t ticks_max = (int64_t)1 << 40;

int64_t drill_ticks(const Drill *drill, Ratio a)
{
    return a.num * (drill->ticks / a.den);
}

static bool check_spec(const DrillSpec *spec, const Rotation *r, Error *error)
{
    const Rhythm *rhythm = &spec->rhythm;
    if (spec->accent == ACCENT_FINGER && (spec->finger < 1 || spec->finger > 4))
        return error_set(
            error, ERROR_RANGE, "there is no finger %d; fingers are 1 to 4", spec->finger);
    if (spec->accent == ACCENT_PLACE && (spec->place < 0 || (size_t)spec->place >= r->place_count))
        return error_set(error, ERROR_RANGE, "there is no place %d; this rotation has 1 to %zu",
            spec->place + 1, r->place_count);
    if (rhythm->notes == 0)
        return true;
    if (rhythm->notes < 2 || rhythm->notes > 4 || rhythm->long_at < 0 ||
        rhythm->long_at >= rhythm->notes)
        return error_set(error, ERROR_RANGE, "a rhythm has 2 to 4 notes, one of them long");
    if (rhythm->p < 1 || rhythm->p > RHYTHM_PART_MAX || rhythm->q < 1 ||
        rhythm->q > RHYTHM_PART_MAX)
        return error_set(error, ERROR_RANGE, "the ratio's numbers are 1 to %d", RHYTHM_PART_MAX);
    return true;
}

static bool refine(int64_t *common, int64_t den)
{
    int64_t part = *common / gcd64(*common, den);
    if (den > ticks_max / part)
        return false;
    *common = part * den;
    return true;
}

/* Ticks to the quarter in which every position of the drill is whole. */
static bool choose_ticks(Drill *d, const Passage *p, const Rotation *r, Error *error)
{
    const Rhythm *rhythm = &d->spec.rhythm;
    int64_t ticks = 1;
    bool fits = refine(&ticks, r->subdivision.den);
    for (size_t i = 0; fits && i < p->note_count; i++)
        fits = refine(&ticks, p->notes[i].onset.den) && refine(&ticks, p->notes[i].length.den);
    for (size_t i = 0; fits && i < p->bar_count; i++) {
        const Bar *b = &p->bars[i];
        fits = refine(&ticks, b->start.den) && refine(&ticks, b->length.den) &&
               refine(&ticks, b->offset.den) && refine(&ticks, metre_unit(&b->metre).den);
    }
    fits = fits && refine(&ticks, p->length.den);
    /* Fine enough for the announcement's strokes, which follow another drill's rhythm. */
    int64_t finer = ticks;
    if (fits && refine(&finer, 5040) && finer <= ticks_max >> 8)
        ticks = finer;
    if (fits && rhythm->notes > 0)
        ticks *= rhythm->timing == TIMING_TOTAL ? rhythm->p + (rhythm->notes - 1) * rhythm->q
                                                : rhythm->q;
    if (!fits || ticks > ticks_max || p->length.num / p->length.den > ((int64_t)1 << 60) / ticks)
        return error_set(error, ERROR_LIMIT,
            "the note lengths share no common measure fine enough for this drill");
    d->ticks = ticks;
    return true;
}

static bool has_accent(
    const Drill *d, const Passage *p, const Fingering *f, const Rotation *r, size_t note)
{
    switch (d->spec.accent) {
    case ACCENT_FINGER:
        for (size_t i = note; i < passage_block_end(p, note); i++)
            if (f->notes[i].finger == d->spec.finger)
                return true;
        return false;
    case ACCENT_PLACE: return rotation_accents(r, note, d->spec.place);
    case ACCENT_STRONG: break;
    }
    /* Strong beats are the rotation's first place, where any note stands on them. */
    return r->places[0].shift.num == 0 && rotation_accents(r, note, 0);
}

/* One drill note for each block, as written. */
static bool take_notes(
    Drill *d, const Passage *p, const Fingering *f, const Rotation *r, Error *error)
{
    d->notes = malloc(p->note_count * sizeof *d->notes);
    if (d->notes == NULL)
        return error_set(error, ERROR_MEMORY, "out of memory for the drill");
    for (size_t i = 0; i < p->note_count; i++) {
        if (p->notes[i].block != (int32_t)i)
            continue;
        d->notes[d->note_count++] = (DrillNote){
            .onset = drill_ticks(d, p->notes[i].onset) + d->offset,
            .length = drill_ticks(d, p->notes[i].length),
            .note = (int32_t)i,
            .accent = has_accent(d, p, f, r, i),
        };
    }
    return true;
}

/* With TIMING_GOAL the pulses and the cycle's end follow the notes. */
static void move_pulses(Drill *d, const DrillNote *written)
{
    size_t cursor = 0;
    for (size_t i = 0; i < d->pulse_count; i++)
        d->pulses[i].at = rhythm_warp(written, d->notes, d->note_count, d->pulses[i].at, &cursor);
    int64_t end = d->offset + d->cycle;
    d->cycle = rhythm_warp(written, d->notes, d->note_count, end, &cursor) - d->offset;
}

static bool shape(Drill *d, const Passage *p, Error *error)
{
    bool stretches = d->spec.rhythm.notes > 0 && d->spec.rhythm.timing == TIMING_GOAL;
    if (!stretches)
        return rhythm_shape(d, p, error);
    rhythm_cut_overlaps(d);
    DrillNote *written = malloc(d->note_count * sizeof *written);
    if (written == NULL)
        return error_set(error, ERROR_MEMORY, "out of memory for the drill");
    memcpy(written, d->notes, d->note_count * sizeof *written);
    bool done = rhythm_shape(d, p, error);
    if (done)
        move_pulses(d, written);
    free(written);
    return done;
}

bool drill_build(const Passage *p, const Fingering *f, const Rotation *r, const DrillSpec *spec,
    Drill *out, Error *error)
{
    *out = (Drill){.spec = *spec};
    if (!check_spec(spec, r, error) || !choose_ticks(out, p, r, error))
        return false;
    out->offset = drill_ticks(out, p->bars[0].offset);
    if (take_notes(out, p, f, r, error) && pulses_lay(out, p, r->subdivision, error) &&
        shape(out, p, error))
        return true;
    drill_free(out);
    return false;
}

void drill_free(Drill *d)
{
    free(d->notes);
    free(d->pulses);
    *d = (Drill){0};
}
