/* A setting in a line, and the harps that can play a passage in another. */
#include "evenhand/harp/instrument.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Adds to a text that is cut at its size. */
typedef struct {
    char *out;
    size_t size, used;
} Line;

static Line line_in(char *out, size_t size)
{
    if (size > 0)
        out[0] = '\0';
    return (Line){.out = out, .size = size};
}

__attribute__((format(printf, 2, 3))) static void say(Line *l, const char *format, ...)
{
    if (l->used + 1 >= l->size)
        return;
    va_list arguments;
    va_start(arguments, format);
    int added = vsnprintf(l->out + l->used, l->size - l->used, format, arguments);
    va_end(arguments);
    l->used += added > 0 ? (size_t)added : 0;
    if (l->used >= l->size)
        l->used = l->size - 1;
}

static void say_pedals(Line *l, const Setting *s, bool utf8)
{
    static const int order[7] = {
        LETTER_D, LETTER_C, LETTER_B, LETTER_E, LETTER_F, LETTER_G, LETTER_A};
    static const char *const signs[2][3] = {{"b", "", "#"}, {"♭", "♮", "♯"}};
    for (int i = 0; i < 7; i++)
        say(l, "%s%c%s",
            i == 0   ? ""
            : i == 3 ? " | "
                     : " ",
            "CDEFGAB"[order[i]], signs[utf8][s->pedals[order[i]] + 1]);
}

/* The string with its lever down, as it is tuned: "F4", "Eb5". */
static void say_string(Line *l, const Setting *s, int string, Names names, bool utf8)
{
    Pitch pitch = {.letter = (int8_t)(string % 7),
        .alter = s->harp.tuning[string % 7],
        .octave = (int8_t)(string / 7)};
    char name[PITCH_NAME_MAX];
    say(l, "%s", names_pitch(pitch, names, utf8, name));
}

/* Whether all strings of a letter have their levers up. */
static bool every(const Setting *s, int letter)
{
    int strings = 0;
    for (int i = 0; i < s->harp.count; i++) {
        if ((s->harp.low + i) % 7 != letter)
            continue;
        strings++;
        if (s->levers[i] == 0)
            return false;
    }
    return strings > 1;
}

static const char *letter_word(int letter, Names names)
{
    static const char *const letters[7] = {"C", "D", "E", "F", "G", "A", "B"};
    static const char *const syllables[7] = {"do", "re", "mi", "fa", "sol", "la", "si"};
    return (names == NAMES_SYLLABLES ? syllables : letters)[letter];
}

static void say_levers(Line *l, const Setting *s, Names names, bool utf8)
{
    int said = 0;
    bool whole[7];
    for (int letter = 0; letter < 7; letter++) {
        whole[letter] = every(s, letter);
        if (whole[letter])
            say(l, "%s%s", said++ == 0 ? "raise every " : ", ", letter_word(letter, names));
    }
    bool any_whole = said > 0;
    for (int i = 0; i < s->harp.count; i++) {
        int string = s->harp.low + i;
        if (s->levers[i] == 0 || whole[string % 7])
            continue;
        say(l, "%s", said++ == 0 ? "raise " : " ");
        if (any_whole)
            say(l, "%s", "and ");
        any_whole = false;
        say_string(l, s, string, names, utf8);
    }
    if (said == 0)
        say(l, "%s", "all levers down");
}

char *setting_text_named(const Setting *s, Names names, bool utf8, char *out, size_t size)
{
    Line l = line_in(out, size);
    if (s->harp.kind == HARP_PEDAL)
        say_pedals(&l, s, utf8);
    else
        say_levers(&l, s, names, utf8);
    return out;
}

char *setting_text(const Setting *s, bool utf8, char *out, size_t size)
{
    return setting_text_named(s, NAMES_SCIENTIFIC, utf8, out, size);
}

/* What a run of the table (one kind, one tuning) can do with the passage. */
typedef struct {
    char names[60];
    size_t moves;
    bool failed;
} Able;

static bool one_family(const Instrument *a, const Instrument *b)
{
    return a->kind == b->kind && memcmp(a->tuning, b->tuning, sizeof a->tuning) == 0;
}

static Able able(const Passage *p, const Instrument *table, int count, const Instrument *like)
{
    Able found = {.names = ""};
    Line l = line_in(found.names, sizeof found.names);
    for (int i = 0; i < count; i++) {
        Setting s;
        if (!one_family(&table[i], like))
            continue;
        if (!setting_make(p, &table[i], &s, NULL)) {
            found.failed = true;
            return found;
        }
        size_t moves = s.change_count + s.flip_count;
        if (s.playable) {
            const char *name = table[i].name + strlen("pedal-");
            const char *tuning = table[i].kind == HARP_LEVER ? strrchr(name, '-') : NULL;
            int length = (int)(tuning != NULL ? (size_t)(tuning - name) : strlen(name));
            say(&l, " %.*s", length, name);
            found.moves = moves > found.moves ? moves : found.moves;
        }
        setting_free(&s);
    }
    return found;
}

char *instruments_for(const Passage *p, char *out, size_t size)
{
    int count;
    const Instrument *table = instrument_table(&count);
    static const char *const titles[3] = {"pedal", "lever in Eb", "in C"};
    int said = 0;
    Line l = line_in(out, size);
    for (int i = 0; i < count && said < 3; i++) {
        bool first = true;
        for (int k = 0; k < i; k++)
            first = first && !one_family(&table[k], &table[i]);
        if (!first)
            continue;
        Able found = able(p, table, count, &table[i]);
        if (found.failed) {
            l = line_in(out, size);
            say(&l, "%s", "not known: out of memory");
            return out;
        }
        const char *what = table[i].kind == HARP_PEDAL ? "change" : "flip";
        say(&l, "%s%s%s",
            said == 0   ? ""
            : said == 1 ? "; "
                        : ", ",
            titles[said], found.names[0] == '\0' ? " none" : found.names);
        if (found.moves > 0)
            say(&l, " with %zu %s%s", found.moves, what, found.moves == 1 ? "" : "s");
        said++;
    }
    return out;
}
