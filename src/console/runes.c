#include "runes.h"

#include <stddef.h>

int runes_next(const char *s, uint32_t *rune)
{
    int bytes = rune_decode(s, rune);
    if (bytes > 0)
        return bytes;
    *rune = '?';
    return 1;
}

char rune_ascii(uint32_t rune)
{
    /* U+00C0 to U+017F by their base letters */
    static const char latin[] = "AAAAAAACEEEEIIIIDNOOOOOxOUUUUYTsaaaaaaaceeeeiiiidnooooo/ouuuuyty"
                                "AaAaAaCcCcCcCcDdDdEeEeEeEeEeGgGgGgGgHhHhIiIiIiIiIiIiJjKkkLlLlLlL"
                                "lLlNnNnNnnNnOoOoOoOoRrRrRrSsSsSsSsTtTtTtUuUuUuUuUuUuWwYyYZzZzZzs";
    static const struct {
        uint32_t rune;
        char ascii;
    } others[] = {{0xA0, ' '}, {0xA1, '!'}, {0xAB, '"'}, {0xBB, '"'}, {0xB7, '.'}, {0xBF, '?'},
        {0x2010, '-'}, {0x2011, '-'}, {0x2012, '-'}, {0x2013, '-'}, {0x2014, '-'}, {0x2018, '\''},
        {0x2019, '\''}, {0x201C, '"'}, {0x201D, '"'}, {0x2022, '*'}, {0x2026, '.'}, {0x2190, '<'},
        {0x2191, '^'}, {0x2192, '>'}, {0x2193, 'v'}, {0x2212, '-'}, {0x266D, 'b'}, {0x266E, 'n'},
        {0x266F, '#'}};

    if (rune >= 0x20 && rune < 0x7F)
        return (char)rune;
    if (rune >= 0xC0 && rune < 0x180)
        return latin[rune - 0xC0];
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        if (others[i].rune == rune)
            return others[i].ascii;
    return '?';
}

int runes_columns(const char *utf8)
{
    int columns = 0;
    while (*utf8 != '\0') {
        uint32_t rune;
        utf8 += runes_next(utf8, &rune);
        columns += rune_columns(rune_clean(rune));
    }
    return columns;
}
