/* Words of drills: the short ones of the command line and the plain ones for people. */
#include "evenhand/drill/drill.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

DrillSpec drill_plain(void)
{
    return (DrillSpec){.accent = ACCENT_STRONG,
        .subdivision = {0, 1},
        .rhythm = {.p = 3, .q = 1, .timing = TIMING_TOTAL}};
}

static bool beats_equal(const BeatPattern *a, const BeatPattern *b)
{
    if (a->count != b->count)
        return false;
    for (int i = 0; i < a->count; i++)
        if (!ratio_equal(a->at[i], b->at[i]))
            return false;
    return true;
}

bool drill_spec_equal(const DrillSpec *a, const DrillSpec *b)
{
    const Rhythm *x = &a->rhythm, *y = &b->rhythm;
    bool same_rhythm =
        x->notes == y->notes && (x->notes == 0 || (x->long_at == y->long_at && x->p == y->p &&
                                                      x->q == y->q && x->timing == y->timing));
    return same_rhythm && a->accent == b->accent &&
           (a->accent != ACCENT_FINGER || a->finger == b->finger) &&
           (a->accent != ACCENT_PLACE || a->place == b->place) &&
           beats_equal(&a->beats, &b->beats) && ratio_equal(a->subdivision, b->subdivision) &&
           placing_equal(&a->placing, &b->placing);
}

static void rhythm_word(const Rhythm *r, char *out, size_t size)
{
    if (r->notes == 2)
        snprintf(out, size, "%s", r->long_at == 0 ? "long-short" : "short-long");
    else
        snprintf(out, size, "long-%d-of-%d", r->long_at + 1, r->notes);
}

/* Adds a part behind a '+'; nothing for an empty one. */
static void join(char out[DRILL_TEXT_MAX], const char *joint, const char *part)
{
    size_t used = strlen(out);
    if (part[0] != '\0')
        snprintf(out + used, DRILL_TEXT_MAX - used, "%s%s", used > 0 ? joint : "", part);
}

char *drill_word(const DrillSpec *spec, char out[DRILL_TEXT_MAX])
{
    char placing[PLACING_TEXT_MAX], accent[32] = "", rhythm[32] = "";
    if (spec->accent == ACCENT_FINGER)
        snprintf(accent, sizeof accent, "finger-%d", spec->finger);
    else if (spec->accent == ACCENT_PLACE)
        snprintf(accent, sizeof accent, "beat-%d", spec->place + 1);
    if (spec->rhythm.notes > 0)
        rhythm_word(&spec->rhythm, rhythm, sizeof rhythm);
    out[0] = '\0';
    join(out, "+", placing_word(&spec->placing, placing, sizeof placing));
    join(out, "+", accent);
    join(out, "+", rhythm);
    join(out, "+", out[0] == '\0' ? "plain" : "");
    return out;
}

/* A number from low to high that is the whole of text[0..size). -1: it is not. */
static int whole_number(const char *text, size_t size, int low, int high)
{
    int value = 0;
    if (size == 0 || size > 5)
        return -1;
    for (size_t i = 0; i < size; i++) {
        if (text[i] < '0' || text[i] > '9')
            return -1;
        value = value * 10 + (text[i] - '0');
    }
    return value >= low && value <= high ? value : -1;
}

static bool is_word(const char *part, size_t size, const char *word)
{
    return strlen(word) == size && strncmp(part, word, size) == 0;
}

static bool set_pair(DrillSpec *spec, int notes, int long_at)
{
    spec->rhythm.notes = notes;
    spec->rhythm.long_at = long_at;
    return true;
}

/* One part between '+' signs. */
static bool parse_part(const char *part, size_t size, DrillSpec *spec)
{
    int number;
    if (is_word(part, size, "plain")) {
        spec->accent = ACCENT_STRONG;
        return true;
    }
    if (is_word(part, size, "long-short"))
        return set_pair(spec, 2, 0);
    if (is_word(part, size, "short-long"))
        return set_pair(spec, 2, 1);
    if (size > 7 && strncmp(part, "finger-", 7) == 0 &&
        (number = whole_number(part + 7, size - 7, 1, 4)) > 0) {
        spec->accent = ACCENT_FINGER;
        spec->finger = number;
        return true;
    }
    if (size > 5 && strncmp(part, "beat-", 5) == 0 &&
        (number = whole_number(part + 5, size - 5, 1, ROTATION_PLACES_MAX)) > 0) {
        spec->accent = ACCENT_PLACE;
        spec->place = number - 1;
        return true;
    }
    /* long-K-of-N */
    if (size == 11 && strncmp(part, "long-", 5) == 0 && strncmp(part + 6, "-of-", 4) == 0) {
        int notes = whole_number(part + 10, 1, 2, 4);
        int at = notes > 0 ? whole_number(part + 5, 1, 1, notes) : -1;
        return at > 0 && set_pair(spec, notes, at - 1);
    }
    return placing_parse(part, size, &spec->placing);
}

bool drill_parse(const char *word, DrillSpec *spec, Error *error)
{
    DrillSpec read = *spec;
    read.accent = ACCENT_STRONG;
    read.rhythm.notes = 0;
    read.placing = (Placing){0};
    for (const char *part = word;;) {
        size_t size = strcspn(part, "+");
        if (!parse_part(part, size, &read))
            return error_set(error, ERROR_USAGE,
                "'%.*s' is no drill; there are plain, finger-1 to finger-4, beat-1 and on, "
                "long-short, short-long, long-1-of-3 to long-4-of-4, crossing, blocks, links, "
                "build-up, build-back, bursts, scale-arpeggio, joined by +",
                (int)(size > 40 ? 40 : size), part);
        if (part[size] == '\0')
            break;
        part += size + 1;
    }
    *spec = read;
    return true;
}

bool rhythm_parse_ratio(const char *text, Rhythm *rhythm, Error *error)
{
    size_t size = strcspn(text, ":");
    int p = -1, q = -1;
    if (text[size] == ':') {
        p = whole_number(text, size, 1, RHYTHM_PART_MAX);
        q = whole_number(text + size + 1, strlen(text + size + 1), 1, RHYTHM_PART_MAX);
    }
    if (p < 0 || q < 0)
        return error_set(error, ERROR_USAGE,
            "a rhythm's ratio is written long:short with numbers from 1 to %d, such as 3:1",
            RHYTHM_PART_MAX);
    rhythm->p = p;
    rhythm->q = q;
    return true;
}

static void accent_title(const DrillSpec *spec, const Rotation *r, char *out, size_t size)
{
    static const char *const fingers[5] = {"", "thumb", "index", "middle", "ring"};
    out[0] = '\0';
    size_t place = (size_t)spec->place;
    bool strong = r != NULL && place < r->place_count && r->places[place].shift.num == 0;
    if (spec->accent == ACCENT_FINGER)
        snprintf(out, size, "finger accents: all the %ds (%s)", spec->finger,
            fingers[spec->finger >= 1 && spec->finger <= 4 ? spec->finger : 0]);
    else if (spec->accent == ACCENT_PLACE && r != NULL)
        snprintf(out, size, "beat accents: place %d of %zu%s", spec->place + 1, r->place_count,
            strong ? " (the strong beats)" : "");
    else if (spec->accent == ACCENT_PLACE)
        snprintf(out, size, "beat accents: place %d", spec->place + 1);
}

static void rhythm_title(const Rhythm *rhythm, char *out, size_t size)
{
    static const char *const order[3] = {"first", "second", "third"};
    const char *goal = rhythm->timing == TIMING_GOAL ? ", short notes at the goal speed" : "";
    out[0] = '\0';
    if (rhythm->notes == 2)
        snprintf(out, size, "%s %d:%d%s", rhythm->long_at == 0 ? "long-short" : "short-long",
            rhythm->p, rhythm->q, goal);
    else if (rhythm->notes > 0)
        snprintf(out, size, "the %s of %s long %d:%d%s",
            rhythm->long_at < 3 ? order[rhythm->long_at] : "fourth",
            rhythm->notes == 3 ? "three" : "four", rhythm->p, rhythm->q, goal);
}

char *drill_title(const DrillSpec *spec, const Rotation *r, char out[DRILL_TEXT_MAX])
{
    char part[DRILL_TEXT_MAX];
    out[0] = '\0';
    join(out, ", ", placing_title(&spec->placing, part, sizeof part));
    accent_title(spec, r, part, sizeof part);
    join(out, ", ", part);
    rhythm_title(&spec->rhythm, part, sizeof part);
    join(out, ", ", part);
    join(out, ", ", out[0] == '\0' ? "plain: strong beats" : "");
    return out;
}
