#include "abc_key.h"

#include <stdio.h>
#include <string.h>

/* Places on the line of fifths, C = 0: ... F C G D A E B F# ... */
static const int8_t fifths_of[7] = {0, 2, 4, -1, 1, 3, 5}; /* of C D E F G A B */
static const int8_t letter_at[7] = {
    LETTER_F, LETTER_C, LETTER_G, LETTER_D, LETTER_A, LETTER_E, LETTER_B}; /* from place -1 on */

static const struct {
    const char *start; /* first three letters, any case */
    int fifths;        /* how far its signature lies from the major key's */
    const char *name;  /* after the tonic */
} modes[] = {
    {"maj", 0, ""},
    {"ion", 0, ""},
    {"min", -3, "m"},
    {"aeo", -3, "m"},
    {"mix", -1, " mixolydian"},
    {"dor", -2, " dorian"},
    {"phr", -4, " phrygian"},
    {"lyd", 1, " lydian"},
    {"loc", -5, " locrian"},
};

static int floor_div(int a, int b)
{
    return a >= 0 ? a / b : -((b - 1 - a) / b);
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c + 32) : c;
}

static bool same(const char *at, size_t size, const char *word)
{
    if (strlen(word) != size)
        return false;
    for (size_t i = 0; i < size; i++)
        if (lower(at[i]) != lower(word[i]))
            return false;
    return true;
}

static int letter_of(char c)
{
    static const char letters[] = "cdefgab";
    const char *found = c != '\0' ? strchr(letters, lower(c)) : NULL;
    return found != NULL ? (int)(found - letters) : -1;
}

/* A signature `fifths` sharps (or flats, below 0) from C major. */
static void signature(int fifths, int8_t alter[7])
{
    for (int letter = 0; letter < 7; letter++) {
        /* F gets its first sharp in a key of one fifth, its second in one of eight, and so on. */
        int sharps = floor_div(fifths - 1 - (fifths_of[letter] + 1), 7) + 1;
        alter[letter] = (int8_t)(sharps > 2 ? 2 : sharps < -2 ? -2 : sharps);
    }
}

/* One word of letters and digits ("minor", "treble-8") or a name=value; its bytes. */
static size_t word_size(const char *at, size_t size)
{
    size_t n = 0;
    while (n < size && at[n] != ' ' && at[n] != '\t')
        n++;
    return n;
}

static int read_int(const char *at, size_t size)
{
    bool minus = size > 0 && at[0] == '-';
    size_t i = size > 0 && (at[0] == '-' || at[0] == '+') ? 1 : 0;
    int n = 0;
    for (; i < size && at[i] >= '0' && at[i] <= '9' && n < 1000; i++)
        n = n * 10 + (at[i] - '0');
    return minus ? -n : n;
}

static const char *const clefs[] = {
    "treble", "alto", "tenor", "baritone", "bass", "mezzo", "soprano", "perc", "none", NULL};

/* "bass", "treble-8", "alto2"; false if the word names no clef. */
static bool clef_word(const char *at, size_t size, AbcClef *clef)
{
    while (size > 1 && (*at == '"' || *at == '\'')) {
        at++;
        size--;
    }
    for (int i = 0; clefs[i] != NULL; i++) {
        size_t n = strlen(clefs[i]);
        if (size < n || !same(at, n, clefs[i]))
            continue;
        if (strcmp(clefs[i], "bass") == 0)
            clef->bass = true;
        for (size_t k = n; k + 1 < size; k++)
            if ((at[k] == '+' || at[k] == '-') && at[k + 1] == '8') {
                clef->octave_given = true;
                clef->octave = at[k] == '+' ? 1 : -1;
            }
        return true;
    }
    return false;
}

/* True if the word was a clef or a name=value, known or not. */
static bool clef_or_setting(const char *at, size_t size, AbcClef *clef)
{
    const char *equals = memchr(at, '=', size);
    if (equals == NULL)
        return clef_word(at, size, clef);
    size_t name = (size_t)(equals - at), rest = size - name - 1;
    if (name == 0)
        return false;
    if (same(at, name, "clef")) {
        clef_word(equals + 1, rest, clef);
    } else if (same(at, name, "octave")) {
        clef->octave_given = true;
        clef->octave = read_int(equals + 1, rest);
    } else if (same(at, name, "transpose")) {
        clef->transpose_given = true;
        clef->transpose = read_int(equals + 1, rest);
    }
    return at[0] < 'A' || at[0] > 'G'; /* "C=f", "Dm=c" are keys and accidentals */
}

void abc_clef(const AbcLine *value, AbcClef *clef)
{
    for (size_t i = 0; i < value->size;) {
        size_t n = word_size(value->at + i, value->size - i);
        clef_or_setting(value->at + i, n, clef);
        i += n + 1;
    }
}

/* "^c", "_b=e": accidentals written out; false if the word holds none. */
static bool accidentals(const char *at, size_t size, int8_t alter[7])
{
    bool any = false;
    for (size_t i = 0; i < size;) {
        int change = 0;
        bool sign = false;
        for (; i < size && (at[i] == '^' || at[i] == '_' || at[i] == '='); i++) {
            change += at[i] == '^' ? 1 : at[i] == '_' ? -1 : 0;
            sign = true;
        }
        int letter = i < size ? letter_of(at[i]) : -1;
        if (!sign || letter < 0)
            return any;
        alter[letter] = (int8_t)(change > 2 ? 2 : change < -2 ? -2 : change);
        any = true;
        i++;
    }
    return any;
}

/* The mode that a word of letters names; -1: none. */
static int mode_of(const char *at, size_t size)
{
    if (same(at, size, "m") || same(at, size, "mi"))
        return 2;
    for (size_t i = 0; size >= 3 && i < sizeof modes / sizeof *modes; i++)
        if (same(at, 3, modes[i].start))
            return (int)i;
    return -1;
}

static size_t letters_at(const char *at, size_t size)
{
    size_t n = 0;
    while (n < size && lower(at[n]) >= 'a' && lower(at[n]) <= 'z')
        n++;
    return n;
}

/* "F#", "Bb", "E♭": the tonic's place on the line of fifths and how many bytes it takes. */
static size_t tonic(const char *at, size_t size, int letter, int *fifths, char *name)
{
    size_t used = 1;
    int sharps = 0;
    if (size >= 2 && at[1] == '#') {
        sharps = 1;
        used = 2;
    } else if (size >= 2 && at[1] == 'b') {
        sharps = -1;
        used = 2;
    } else if (size >= 4 && memcmp(at + 1, "\xE2\x99", 2) == 0 &&
               (at[3] == '\xAF' || at[3] == '\xAD')) {
        sharps = at[3] == '\xAF' ? 1 : -1;
        used = 4;
    }
    *fifths = fifths_of[letter] + 7 * sharps;
    snprintf(name, 3, "%c%s", "CDEFGAB"[letter], sharps > 0 ? "#" : sharps < 0 ? "b" : "");
    return used;
}

/* "none" and the bagpipe's Hp and HP, whose f and c are sharp, printed or not. */
static bool named_key(const char *at, size_t word, AbcKey *key)
{
    bool none = same(at, word, "none");
    if (!none && !(word == 2 && at[0] == 'H' && lower(at[1]) == 'p'))
        return false;
    key->given = true;
    signature(none ? 0 : 2, key->alter);
    snprintf(key->name, sizeof key->name, "%.*s", (int)word, none ? "none" : at);
    return true;
}

/* The key at the start of the value; returns the bytes it takes. */
static size_t key_itself(const char *at, size_t size, AbcKey *key)
{
    size_t word = word_size(at, size);
    if (named_key(at, word, key))
        return word;
    AbcClef ignored = {0};
    int letter = size > 0 ? letter_of(at[0]) : -1;
    if (letter < 0 || same(at, word, "exp") || clef_or_setting(at, word, &ignored))
        return 0;
    int fifths;
    char name[3];
    size_t used = tonic(at, size, letter, &fifths, name), gap = used;
    while (gap < size && at[gap] == ' ')
        gap++;
    size_t n = letters_at(at + gap, size - gap);
    int mode = mode_of(at + gap, n);
    key->unknown = mode < 0 && gap == used && n > 0 && !same(at + gap, n, "exp");
    if (mode >= 0 || key->unknown)
        used = gap + n;
    key->given = true;
    signature(fifths + (mode >= 0 ? modes[mode].fifths : 0), key->alter);
    snprintf(key->name, sizeof key->name, "%s%s", name, mode >= 0 ? modes[mode].name : "");
    return used;
}

/* Accidentals written out, "exp", a clef or a setting. */
static void key_word(const char *at, size_t size, AbcKey *key)
{
    if (same(at, size, "exp")) {
        signature(0, key->alter);
        key->changes = true;
    } else if (accidentals(at, size, key->alter)) {
        key->changes = true;
    } else if (!clef_or_setting(at, size, &key->clef)) {
        key->unread = true;
    }
}

void abc_key(const AbcLine *value, const int8_t in_force[7], AbcKey *key)
{
    *key = (AbcKey){0};
    memcpy(key->alter, in_force, 7);
    if (value->size == 0) {
        named_key("none", 4, key);
        return;
    }
    size_t i = key_itself(value->at, value->size, key);
    while (i < value->size) {
        size_t n = word_size(value->at + i, value->size - i);
        if (n > 0)
            key_word(value->at + i, n, key);
        i += n + 1;
    }
    key->unread = key->unread && !key->given && !key->changes;
}

Pitch abc_transpose(Pitch p, int semitones)
{
    if (semitones == 0)
        return p;
    /* A fifth is seven semitones, so that semitones are 7 * semitones fifths, an octave aside. */
    int shift = 7 * semitones - 12 * floor_div(7 * semitones + 5, 12);
    int place = fifths_of[p.letter] + 7 * p.alter + shift;
    int midi = pitch_midi(p) + semitones;
    while (floor_div(place + 1, 7) > 2)
        place -= 12;
    while (floor_div(place + 1, 7) < -2)
        place += 12;
    int alter = floor_div(place + 1, 7);
    int letter = letter_at[place + 1 - 7 * alter];
    static const int8_t semitone[7] = {0, 2, 4, 5, 7, 9, 11};
    return (Pitch){.letter = (int8_t)letter,
        .alter = (int8_t)alter,
        .octave = (int8_t)((midi - alter - semitone[letter]) / 12 - 1)};
}
