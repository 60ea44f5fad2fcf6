/* The usual harps, and harps out of words. */
#include "evenhand/harp/instrument.h"

#include <stdio.h>
#include <string.h>

enum {
    LOWEST = 0,     /* C0 */
    HIGHEST = 62,   /* B8 */
    C1 = 7,         /* lowest string of a pedal harp of 47 */
    FIRST_DISC = 9, /* E1: the C and D below have no discs [common practice] */
    DEFAULT_TUNING = 3
};

/* Alterations of C D E F G A B, levers down. */
static const struct {
    char word[3];
    int8_t alter[7];
} tunings[] = {
    {"C", {0, 0, 0, 0, 0, 0, 0}},
    {"F", {0, 0, 0, 0, 0, 0, -1}},
    {"Bb", {0, 0, -1, 0, 0, 0, -1}},
    {"Eb", {0, 0, -1, 0, 0, -1, -1}},
    {"Ab", {0, -1, -1, 0, 0, -1, -1}},
    {"G", {0, 0, 0, 1, 0, 0, 0}},
};
enum { TUNINGS = sizeof tunings / sizeof *tunings };

#define LEVER(name, low, count)                                                                    \
    {name "-Eb", HARP_LEVER, low, count, 0, {0, 0, -1, 0, 0, -1, -1}},                             \
    {                                                                                              \
        name "-C", HARP_LEVER, low, count, 0,                                                      \
        {                                                                                          \
            0                                                                                      \
        }                                                                                          \
    }

/* Pedal harps [src: encyclopaedia entry Concert harp; calculated]; lever harps [from memory, their
 * counts calculated]: makers differ, so players can give their own. */
static const Instrument table[] = {
    {"pedal-46", HARP_PEDAL, C1 + 1, 46, 1, {0}}, /* D1-G7 */
    {"pedal-47", HARP_PEDAL, C1, 47, 2, {0}},     /* C1-G7 */
    {"pedal-48", HARP_PEDAL, C1, 48, 2, {0}},     /* C1-A7 */
    LEVER("lever-22", 28, 22),                    /* C4-C7 */
    LEVER("lever-22-low", 21, 22),                /* C3-C6 */
    LEVER("lever-26", 21, 26),                    /* C3-G6 */
    LEVER("lever-34", 14, 34),                    /* C2-A6 */
    LEVER("lever-36", 14, 36),                    /* C2-C7 */
    LEVER("lever-38", 12, 38),                    /* A1-C7 */
};
enum { HARPS = sizeof table / sizeof *table };

const Instrument *instrument_table(int *count)
{
    *count = HARPS;
    return table;
}

static bool unknown(const char *text, Error *error)
{
    return error_set(error, ERROR_USAGE,
        "no harp \"%.24s\": give pedal-46, -47, -48, lever-22, lever-22-low, lever-26, -34, -36 or "
        "-38 (-C, -F, -Bb, -Eb, -Ab, -G after it tunes it), or your own as lever:C2:34:Eb or "
        "pedal:C1:47",
        text);
}

static bool read_tuning(const char *word, int8_t alter[7])
{
    for (int i = 0; i < TUNINGS; i++)
        if (strcmp(word, tunings[i].word) == 0) {
            memcpy(alter, tunings[i].alter, sizeof tunings[i].alter);
            return true;
        }
    return false;
}

/* "lever-36-F": a harp of the table up to its tuning, and a tuning; none is E flat. */
static bool read_usual(const char *text, Instrument *out)
{
    for (int i = 0; i < HARPS; i++) {
        const char *name = table[i].name;
        bool lever = table[i].kind == HARP_LEVER;
        size_t base = lever ? (size_t)(strrchr(name, '-') - name) : strlen(name);
        if (strncmp(text, name, base) != 0)
            continue;
        const char *rest = text + base;
        *out = table[i];
        if (!lever && *rest == '\0')
            return true;
        const char *tuning = *rest == '\0' ? tunings[DEFAULT_TUNING].word : rest + 1;
        if (!lever || (*rest != '\0' && *rest != '-') || !read_tuning(tuning, out->tuning))
            continue;
        snprintf(out->name, sizeof out->name, "%.*s-%s", (int)base, name, tuning);
        return true;
    }
    return false;
}

/* Moves past "C2" and the like; -1: it is none. */
static int read_string(const char **at)
{
    static const char letters[] = "CDEFGAB";
    const char *s = *at;
    const char *letter = *s != '\0' ? strchr(letters, *s) : NULL;
    if (letter == NULL || s[1] < '0' || s[1] > '9')
        return -1;
    *at = s + 2;
    return 7 * (s[1] - '0') + (int)(letter - letters);
}

/* Moves past at most four digits; -1: there is none. */
static int read_count(const char **at)
{
    const char *s = *at;
    int number = -1;
    for (int digits = 0; digits < 4 && *s >= '0' && *s <= '9'; digits++, s++)
        number = (number < 0 ? 0 : number) * 10 + (*s - '0');
    *at = s;
    return number;
}

/* "lever:C2:34:Eb", "pedal:C1:47" */
static bool read_own(const char *text, Instrument *out, Error *error)
{
    const char *at = text + 6;
    *out = (Instrument){.kind = text[0] == 'p' ? HARP_PEDAL : HARP_LEVER};
    out->low = read_string(&at);
    if (out->low < 0 || *at != ':')
        return unknown(text, error);
    at++;
    out->count = read_count(&at);
    if (out->count < 0)
        return unknown(text, error);
    const char *tuning = *at == ':' ? at + 1 : tunings[DEFAULT_TUNING].word;
    if ((*at != '\0' && *at != ':') || (out->kind == HARP_PEDAL && *at == ':'))
        return unknown(text, error);
    if (out->kind == HARP_LEVER && !read_tuning(tuning, out->tuning))
        return unknown(text, error);
    if (out->count < 1 || out->count > STRINGS_MAX)
        return error_set(
            error, ERROR_RANGE, "%d strings; a harp here has 1 to %d", out->count, STRINGS_MAX);
    if (out->low < LOWEST || out->low + out->count - 1 > HIGHEST)
        return error_set(error, ERROR_RANGE, "\"%.24s\" has strings beyond C0 to B8", text);
    int without = FIRST_DISC - out->low;
    if (out->kind == HARP_PEDAL && without > 0)
        out->no_discs = without < out->count ? without : out->count;
    snprintf(out->name, sizeof out->name, "%s", text);
    return true;
}

bool instrument_parse(const char *text, Instrument *out, Error *error)
{
    if (strncmp(text, "pedal:", 6) == 0 || strncmp(text, "lever:", 6) == 0)
        return read_own(text, out, error);
    return read_usual(text, out) || unknown(text, error);
}

static Pitch natural(int string)
{
    return (Pitch){.letter = (int8_t)(string % 7), .octave = (int8_t)(string / 7)};
}

char *instrument_text(const Instrument *harp, Names names, bool utf8, char out[INSTRUMENT_TEXT_MAX])
{
    char low[PITCH_NAME_MAX], high[PITCH_NAME_MAX], tuned[24] = "";
    names_pitch(natural(harp->low), names, utf8, low);
    names_pitch(natural(harp->low + harp->count - 1), names, utf8, high);
    for (int i = 0; harp->kind == HARP_LEVER && i < TUNINGS; i++)
        if (memcmp(harp->tuning, tunings[i].alter, sizeof harp->tuning) == 0)
            snprintf(tuned, sizeof tuned, ", tuned in %c%s", tunings[i].word[0],
                tunings[i].word[1] == '\0' ? ""
                : utf8                     ? "♭"
                                           : "b");
    snprintf(out, INSTRUMENT_TEXT_MAX, "%s harp, %d strings %s-%s%s (%s)",
        harp->kind == HARP_PEDAL ? "pedal" : "lever", harp->count, low, high, tuned,
        names_label(names));
    return out;
}
