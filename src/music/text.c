#include "evenhand/music/text.h"

#include "evenhand/music/rune.h"

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

/* The character at s, Latin-1 where the bytes are no UTF-8; returns its bytes. */
static int next_rune(const char *s, uint32_t *rune)
{
    int bytes = rune_decode(s, rune);
    return bytes > 0 ? bytes : 1;
}

char *text_clean(const char *in, char *out, size_t size)
{
    size_t used = 0;
    if (size == 0)
        return out;
    while (*in != '\0') {
        uint32_t rune;
        in += next_rune(in, &rune);
        char coded[RUNE_BYTES_MAX];
        int length = rune_encode(rune_clean(rune), coded);
        if (used + (size_t)length >= size)
            break;
        memcpy(out + used, coded, (size_t)length);
        used += (size_t)length;
    }
    out[used] = '\0';
    return out;
}

int text_columns(const char *utf8)
{
    int columns = 0;
    while (*utf8 != '\0') {
        uint32_t rune;
        utf8 += next_rune(utf8, &rune);
        columns += rune_columns(rune);
    }
    return columns;
}
