#include "evenhand/music/rune.h"

#include <stddef.h>

int rune_decode(const char *s, uint32_t *rune)
{
    static const uint32_t least[5] = {0, 0, 0x80, 0x800, 0x10000}; /* no overlong forms */
    const unsigned char *u = (const unsigned char *)s;
    int bytes = u[0] < 0x80 ? 1 : u[0] < 0xC0 ? 0 : u[0] < 0xE0 ? 2 : u[0] < 0xF0 ? 3 : 4;

    *rune = u[0];
    if (bytes == 0 || u[0] >= 0xF8)
        return 0;
    uint32_t value = bytes == 1 ? u[0] : u[0] & (0x7Fu >> bytes);
    for (int i = 1; i < bytes; i++) {
        if ((u[i] & 0xC0) != 0x80)
            return 0;
        value = value << 6 | (u[i] & 0x3Fu);
    }
    if (value < least[bytes] || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF))
        return 0;
    *rune = value;
    return bytes;
}

int rune_encode(uint32_t rune, char out[RUNE_BYTES_MAX])
{
    if (rune < 0x80) {
        out[0] = (char)rune;
        return 1;
    }
    int bytes = rune < 0x800 ? 2 : rune < 0x10000 ? 3 : 4;
    for (int i = bytes - 1; i > 0; i--) {
        out[i] = (char)(0x80 | (rune & 0x3F));
        rune >>= 6;
    }
    out[0] = (char)((0xF00 >> bytes & 0xFF) | (int)rune);
    return bytes;
}

typedef struct {
    uint32_t first, last;
} Range;

static int in_ranges(uint32_t rune, const Range *ranges, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (rune >= ranges[i].first && rune <= ranges[i].last)
            return 1;
    return 0;
}

#define IN(rune, ranges) in_ranges(rune, ranges, sizeof(ranges) / sizeof(ranges)[0])

uint32_t rune_clean(uint32_t rune)
{
    static const Range hostile[] = {{0x00, 0x1F}, {0x7F, 0x9F}, {0x061C, 0x061C}, {0x200E, 0x200F},
        {0x2028, 0x202E}, {0x2066, 0x2069}, {0xFFF9, 0xFFFB}, {0xE0000, 0xE007F}};
    return IN(rune, hostile) || rune > 0x10FFFF ? '?' : rune;
}

/* [Unicode 15, general categories and East Asian Width, by blocks: rare signs may be off by one.
 * The curses driver shows '?' where the terminal library has another idea.] */
int rune_columns(uint32_t rune)
{
    static const Range none[] = {{0x0300, 0x036F}, {0x0483, 0x0489}, {0x0591, 0x05BD},
        {0x0610, 0x061A}, {0x064B, 0x065F}, {0x0E31, 0x0E31}, {0x0E34, 0x0E3A}, {0x0E47, 0x0E4E},
        {0x1AB0, 0x1AFF}, {0x1DC0, 0x1DFF}, {0x200B, 0x200D}, {0x20D0, 0x20FF}, {0xFE00, 0xFE0F},
        {0xFE20, 0xFE2F}, {0xFEFF, 0xFEFF}, {0xE0100, 0xE01EF}};
    static const Range wide[] = {{0x1100, 0x115F}, {0x2E80, 0x303E}, {0x3041, 0x33FF},
        {0x3400, 0x4DBF}, {0x4E00, 0x9FFF}, {0xA000, 0xA4CF}, {0xA960, 0xA97F}, {0xAC00, 0xD7A3},
        {0xF900, 0xFAFF}, {0xFE30, 0xFE6F}, {0xFF00, 0xFF60}, {0xFFE0, 0xFFE6}, {0x1F300, 0x1F64F},
        {0x1F680, 0x1F6FF}, {0x1F900, 0x1F9FF}, {0x20000, 0x3FFFD}};
    if (rune < 0x300)
        return 1;
    if (IN(rune, none))
        return 0;
    return IN(rune, wide) ? 2 : 1;
}
