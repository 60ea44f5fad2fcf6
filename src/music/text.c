#include "evenhand/music/text.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool make_room(Text *t, size_t more)
{
    if (more > SIZE_MAX / 4 || t->size > SIZE_MAX / 4)
        return false;
    size_t need = t->size + more + 1;
    if (need <= t->room)
        return true;
    size_t room = t->room < 256 ? 256 : t->room;
    while (room < need)
        room *= 2;
    char *bytes = realloc(t->bytes, room);
    if (bytes == NULL)
        return false;
    t->bytes = bytes;
    t->room = room;
    return true;
}

bool text_add_bytes(Text *t, const char *bytes, size_t size)
{
    if (!make_room(t, size))
        return false;
    if (size > 0)
        memcpy(t->bytes + t->size, bytes, size);
    t->size += size;
    t->bytes[t->size] = '\0';
    return true;
}

bool text_add(Text *t, const char *format, ...)
{
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    int need = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    bool done = need >= 0 && make_room(t, (size_t)need);
    if (done) {
        vsnprintf(t->bytes + t->size, (size_t)need + 1, format, again);
        t->size += (size_t)need;
    }
    va_end(again);
    return done;
}

void text_free(Text *t)
{
    free(t->bytes);
    *t = (Text){0};
}

/* One character of UTF-8 at s: its code and (through *bytes) its length; false where the bytes
 * are no valid UTF-8 (RFC 3629: no overlong forms, no surrogates, at most U+10FFFF). */
static bool decode(const unsigned char *s, uint32_t *code, int *bytes)
{
    static const uint32_t least[5] = {0, 0, 0x80, 0x800, 0x10000};
    int size = s[0] < 0x80 ? 1 : s[0] < 0xC0 ? 0 : s[0] < 0xE0 ? 2 : s[0] < 0xF0 ? 3 : 4;
    if (size == 0 || s[0] >= 0xF8)
        return false;
    uint32_t value = size == 1 ? s[0] : s[0] & (0x7Fu >> size);
    for (int i = 1; i < size; i++) {
        if ((s[i] & 0xC0) != 0x80)
            return false;
        value = value << 6 | (s[i] & 0x3Fu);
    }
    if (value < least[size] || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF))
        return false;
    *code = value;
    *bytes = size;
    return true;
}

static int encode(uint32_t code, char out[4])
{
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    if (code < 0x800) {
        out[0] = (char)(0xC0 | code >> 6);
        out[1] = (char)(0x80 | (code & 0x3F));
        return 2;
    }
    if (code < 0x10000) {
        out[0] = (char)(0xE0 | code >> 12);
        out[1] = (char)(0x80 | (code >> 6 & 0x3F));
        out[2] = (char)(0x80 | (code & 0x3F));
        return 3;
    }
    out[0] = (char)(0xF0 | code >> 18);
    out[1] = (char)(0x80 | (code >> 12 & 0x3F));
    out[2] = (char)(0x80 | (code >> 6 & 0x3F));
    out[3] = (char)(0x80 | (code & 0x3F));
    return 4;
}

typedef struct {
    uint32_t first, last;
} Range;

static bool in_ranges(uint32_t code, const Range *ranges, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (code >= ranges[i].first && code <= ranges[i].last)
            return true;
    return false;
}

/* What could move the cursor, ring, or turn the line's direction around. */
static bool hostile(uint32_t code)
{
    static const Range ranges[] = {{0x00, 0x1F}, {0x7F, 0x9F}, {0x061C, 0x061C}, {0x200E, 0x200F},
        {0x2028, 0x202E}, {0x2066, 0x2069}, {0xFFF9, 0xFFFB}, {0xE0000, 0xE007F}};
    return in_ranges(code, ranges, sizeof ranges / sizeof ranges[0]);
}

char *text_clean(const char *in, char *out, size_t size)
{
    const unsigned char *s = (const unsigned char *)in;
    size_t used = 0;
    if (size == 0)
        return out;
    while (*s != '\0') {
        uint32_t code;
        int bytes;
        if (!decode(s, &code, &bytes)) {
            code = *s; /* Latin-1 */
            bytes = 1;
        }
        s += bytes;
        char coded[4];
        int length = encode(hostile(code) ? '?' : code, coded);
        if (used + (size_t)length >= size)
            break;
        memcpy(out + used, coded, (size_t)length);
        used += (size_t)length;
    }
    out[used] = '\0';
    return out;
}

/* Combining marks and joiners take no column; East Asian wide and emoji take two. [Unicode
 * 15 East Asian Width and general categories, by blocks; rare signs may be off by one] */
static int columns_of(uint32_t code)
{
    static const Range none[] = {{0x0300, 0x036F}, {0x0483, 0x0489}, {0x0591, 0x05BD},
        {0x0610, 0x061A}, {0x064B, 0x065F}, {0x0E31, 0x0E31}, {0x0E34, 0x0E3A}, {0x0E47, 0x0E4E},
        {0x1AB0, 0x1AFF}, {0x1DC0, 0x1DFF}, {0x200B, 0x200D}, {0x20D0, 0x20FF}, {0xFE00, 0xFE0F},
        {0xFE20, 0xFE2F}, {0xFEFF, 0xFEFF}, {0xE0100, 0xE01EF}};
    static const Range wide[] = {{0x1100, 0x115F}, {0x2E80, 0x303E}, {0x3041, 0x33FF},
        {0x3400, 0x4DBF}, {0x4E00, 0x9FFF}, {0xA000, 0xA4CF}, {0xA960, 0xA97F}, {0xAC00, 0xD7A3},
        {0xF900, 0xFAFF}, {0xFE30, 0xFE6F}, {0xFF00, 0xFF60}, {0xFFE0, 0xFFE6}, {0x1F300, 0x1F64F},
        {0x1F680, 0x1F6FF}, {0x1F900, 0x1F9FF}, {0x20000, 0x3FFFD}};
    if (code < 0x300)
        return 1;
    if (in_ranges(code, none, sizeof none / sizeof none[0]))
        return 0;
    return in_ranges(code, wide, sizeof wide / sizeof wide[0]) ? 2 : 1;
}

int text_columns(const char *utf8)
{
    const unsigned char *s = (const unsigned char *)utf8;
    int columns = 0;
    while (*s != '\0') {
        uint32_t code = 0;
        int bytes = 1;
        if (!decode(s, &code, &bytes))
            code = *s;
        columns += columns_of(code);
        s += bytes;
    }
    return columns;
}
