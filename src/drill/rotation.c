#include "evenhand/drill/rotation.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

/* The base pattern of one metre, cut down to its least period. */
typedef struct {
    Metre metre;
    Ratio period; /* > 0 */
    Ratio at[METRE_NUM_MAX];
    int count;
} Base;

static bool holds(const Ratio *at, int count, Ratio position)
{
    for (int i = 0; i < count; i++)
        if (ratio_equal(at[i], position))
            return true;
    return false;
}

/* Whether moving the whole pattern by `shift` inside the bar gives the pattern again. */
static bool returns_after(const Ratio *at, int count, Ratio shift, Ratio bar)
{
    for (int i = 0; i < count; i++)
        if (!holds(at, count, ratio_mod(ratio_add(at[i], shift), bar)))
            return false;
    return true;
}

static int user_beats(const BeatPattern *beats, const Metre *m, Ratio at[METRE_NUM_MAX])
{
    int count = 0;
    for (int i = 0; i < beats->count; i++) {
        Ratio position = ratio_mul(ratio_sub(beats->at[i], ratio_int(1)), metre_unit(m));
        if (ratio_cmp(position, metre_bar(m)) < 0 && !holds(at, count, position))
            at[count++] = position;
    }
    return count;
}

static Base base_of(const Metre *m, const BeatPattern *beats)
{
    Base b = {.metre = *m};
    if (metre_free(m)) {
        b.period = ratio_int(1);
        b.at[0] = ratio_int(0);
        b.count = 1;
        return b;
    }
    Ratio all[METRE_NUM_MAX], bar = metre_bar(m);
    int count = beats != NULL ? user_beats(beats, m, all) : 0;
    if (count == 0)
        count = metre_strong(m, all);
    int repeats = count;
    while (repeats > 1 && (count % repeats != 0 ||
                              !returns_after(all, count, ratio_div(bar, ratio_int(repeats)), bar)))
        repeats--;
    b.period = ratio_div(bar, ratio_int(repeats));
    for (int i = 0; i < count; i++) {
        Ratio position = ratio_mod(all[i], b.period);
        if (!holds(b.at, b.count, position))
            b.at[b.count++] = position;
    }
    return b;
}

static bool check_beats(const BeatPattern *beats, Error *error)
{
    if (beats == NULL)
        return true;
    if (beats->count < 0 || beats->count > BEAT_PATTERN_MAX)
        return error_set(
            error, ERROR_RANGE, "a pattern of strong beats has at most %d beats", BEAT_PATTERN_MAX);
    for (int i = 0; i < beats->count; i++)
        if (!ratio_valid(beats->at[i]) || ratio_cmp(beats->at[i], ratio_int(1)) < 0)
            return error_set(error, ERROR_RANGE, "beats are counted from 1");
    return true;
}

static bool on_grid(Ratio shift, Ratio subdivision)
{
    return shift.num == 0 || ratio_divides(subdivision, shift);
}

/* Grid places first, each kind rising. */
static int by_place(const void *a, const void *b)
{
    const RotationPlace *x = a, *y = b;
    if (x->on_grid != y->on_grid)
        return x->on_grid ? -1 : 1;
    return ratio_cmp(x->shift, y->shift);
}

/* Index of the shift among places[0..count), -1 if it is new. Few places: a walk is quickest. */
static int32_t find_shift(const RotationPlace *places, size_t count, Ratio shift)
{
    for (size_t i = 0; i < count; i++)
        if (ratio_equal(places[i].shift, shift))
            return (int32_t)i;
    return -1;
}

static int32_t place_for(Rotation *r, Ratio shift, Error *error)
{
    int32_t at = find_shift(r->places, r->place_count, shift);
    if (at >= 0)
        return at;
    if (!ratio_valid(shift) || r->place_count >= ROTATION_PLACES_MAX) {
        error_set(error, ERROR_LIMIT, "the notes stand on more than %d different places of the bar",
            ROTATION_PLACES_MAX);
        return -1;
    }
    r->places[r->place_count] =
        (RotationPlace){.shift = shift, .on_grid = on_grid(shift, r->subdivision), .first = -1};
    return (int32_t)r->place_count++;
}

/* The pattern that count-ins, rests and announcements follow. */
static void keep_pattern(Rotation *r, const Passage *p, const BeatPattern *beats)
{
    Metre m = metre_free(&p->metre) ? metre(4, 4) : p->metre;
    Base base = base_of(&m, beats);
    r->period = base.period;
    r->beat_count = base.count;
    memcpy(r->beats, base.at, sizeof r->beats);
}

/* The places of every block's head, in order of discovery. */
static bool find_places(Rotation *r, const Passage *p, const BeatPattern *beats, Error *error)
{
    Base base = base_of(&p->metre, beats);
    for (size_t i = 0; i < p->note_count; i++) {
        if (p->notes[i].block != (int32_t)i) {
            memcpy(r->place_of + i * r->reach, r->place_of + (size_t)p->notes[i].block * r->reach,
                r->reach * sizeof *r->place_of);
            continue;
        }
        const Metre *m = &p->bars[p->notes[i].bar].metre;
        if (!metre_equal(&base.metre, m))
            base = base_of(m, beats);
        Ratio position = passage_in_bar(p, i);
        for (int k = 0; k < base.count; k++) {
            Ratio shift = ratio_mod(ratio_sub(position, base.at[k]), base.period);
            int32_t place = place_for(r, shift, error);
            if (place < 0)
                return false;
            r->place_of[i * r->reach + (size_t)k] = place;
        }
    }
    return true;
}

/* Sorts the places and renames them in place_of. */
static bool sort_places(Rotation *r, Error *error)
{
    RotationPlace *before = malloc(r->place_count * sizeof *before);
    int32_t *renamed = calloc(r->place_count, sizeof *renamed);
    bool done = before != NULL && renamed != NULL;
    if (done) {
        memcpy(before, r->places, r->place_count * sizeof *before);
        qsort(r->places, r->place_count, sizeof *r->places, by_place);
        for (size_t i = 0; i < r->place_count; i++)
            renamed[i] = find_shift(r->places, r->place_count, before[i].shift);
        for (size_t i = 0; i < r->note_count * r->reach; i++)
            if (r->place_of[i] >= 0)
                r->place_of[i] = renamed[r->place_of[i]];
    } else {
        error_set(error, ERROR_MEMORY, "out of memory for the rotation");
    }
    free(before);
    free(renamed);
    return done;
}

static void count_landings(Rotation *r, const Passage *p, const Fingering *f)
{
    for (size_t i = 0; i < r->note_count; i++) {
        if (p->notes[i].block != (int32_t)i)
            continue;
        for (size_t k = 0; k < r->reach; k++) {
            int32_t place = r->place_of[i * r->reach + k];
            if (place < 0)
                continue;
            RotationPlace *landing = &r->places[place];
            if (landing->notes++ == 0)
                landing->first = (int32_t)i;
            landing->by_finger[f != NULL ? f->notes[i].finger : 0]++;
        }
    }
}

static size_t widest_reach(const Passage *p, const BeatPattern *beats)
{
    int widest = 1;
    for (size_t i = 0; i < p->bar_count; i++) {
        if (i > 0 && metre_equal(&p->bars[i].metre, &p->bars[i - 1].metre))
            continue;
        Base base = base_of(&p->bars[i].metre, beats);
        widest = base.count > widest ? base.count : widest;
    }
    return (size_t)widest;
}

bool rotation_plan(const Passage *p, const Fingering *f, const BeatPattern *beats,
    Ratio subdivision, Rotation *out, Error *error)
{
    *out = (Rotation){.note_count = p->note_count};
    if (!check_beats(beats, error))
        return false;
    bool given = ratio_valid(subdivision) && subdivision.num > 0;
    out->subdivision = given ? subdivision : passage_common_length(p);
    out->reach = widest_reach(p, beats);
    keep_pattern(out, p, beats);
    out->places = calloc(ROTATION_PLACES_MAX, sizeof *out->places);
    out->place_of = calloc(p->note_count, out->reach * sizeof *out->place_of);
    if (out->places == NULL || out->place_of == NULL) {
        rotation_free(out);
        return error_set(error, ERROR_MEMORY, "out of memory for the rotation");
    }
    for (size_t i = 0; i < p->note_count * out->reach; i++)
        out->place_of[i] = -1;
    if (!find_places(out, p, beats, error) || !sort_places(out, error)) {
        rotation_free(out);
        return false;
    }
    RotationPlace *fitted = realloc(out->places, out->place_count * sizeof *fitted);
    out->places = fitted != NULL ? fitted : out->places;
    count_landings(out, p, f);
    return true;
}

void rotation_free(Rotation *r)
{
    free(r->places);
    free(r->place_of);
    *r = (Rotation){0};
}

bool rotation_accents(const Rotation *r, size_t note, int place)
{
    for (size_t k = 0; k < r->reach; k++)
        if (r->place_of[note * r->reach + k] == place)
            return true;
    return false;
}

/* A whole number or a fraction; false if there is none. Moves *text behind it. */
static bool read_beat(const char **text, Ratio *out)
{
    long part[2] = {0, 1};
    const char *s = *text;
    for (int i = 0; i < 2; i++) {
        if (!isdigit((unsigned char)*s))
            return false;
        char *end;
        part[i] = strtol(s, &end, 10);
        if (end - s > 4)
            return false;
        s = end;
        if (*s != '/')
            break;
        if (i == 0)
            s++;
    }
    *text = s;
    *out = ratio(part[0], part[1]);
    return ratio_valid(*out);
}

bool beat_pattern_parse(const char *text, BeatPattern *out, Error *error)
{
    BeatPattern beats = {0};
    const char *s = text;
    for (;;) {
        if (beats.count == BEAT_PATTERN_MAX)
            return error_set(error, ERROR_USAGE, "at most %d strong beats", BEAT_PATTERN_MAX);
        if (!read_beat(&s, &beats.at[beats.count]) ||
            ratio_cmp(beats.at[beats.count], ratio_int(1)) < 0 || (*s != ',' && *s != '\0'))
            return error_set(error, ERROR_USAGE,
                "strong beats are written as numbers from 1, with commas: 1,3 or 1,5/2");
        beats.count++;
        if (*s++ == '\0')
            break;
    }
    *out = beats;
    return true;
}
