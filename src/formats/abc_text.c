#include "abc_text.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

typedef struct {
    char *bytes;
    size_t size, room; /* room leaves a byte for the closing NUL */
    bool full;
} Out;

static void put(Out *out, uint32_t c)
{
    unsigned char b[4];
    size_t n = c < 0x80 ? 1 : c < 0x800 ? 2 : c < 0x10000 ? 3 : 4;
    if (n == 1) {
        b[0] = (unsigned char)c;
    } else {
        static const unsigned char lead[] = {0, 0, 0xC0, 0xE0, 0xF0};
        for (size_t i = n; i-- > 1; c >>= 6)
            b[i] = (unsigned char)(0x80 | (c & 0x3F));
        b[0] = (unsigned char)(lead[n] | c);
    }
    if (out->full || n > out->room - out->size) {
        out->full = true;
        return;
    }
    memcpy(out->bytes + out->size, b, n);
    out->size += n;
}

/* The character at in[0] and its bytes; a byte that begins none is Latin-1. */
static uint32_t take(const unsigned char *in, size_t size, size_t *used)
{
    *used = 1;
    size_t n = in[0] >= 0xC2 && in[0] <= 0xDF   ? 2
               : in[0] >= 0xE0 && in[0] <= 0xEF ? 3
               : in[0] >= 0xF0 && in[0] <= 0xF4 ? 4
                                                : 1;
    if (n == 1 || n > size)
        return in[0];
    uint32_t c = in[0] & (0xFFu >> (n + 1));
    for (size_t i = 1; i < n; i++) {
        if ((in[i] & 0xC0) != 0x80)
            return in[0];
        c = c << 6 | (in[i] & 0x3Fu);
    }
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    if (c < least[n] || c > 0x10FFFF || (c >= 0xD800 && c <= 0xDFFF))
        return in[0];
    *used = n;
    return c;
}

/* Accented letters: a mark, the letters it goes on, and what they become (appendix A of ABC 2.1;
 * code points of Unicode). The mark is both the sign of \'e and the word of &eacute;. */
typedef struct {
    char sign;
    const char *word;
    const char *letters;
    uint16_t become[14];
} Accent;

static const Accent accents[] = {
    {'`', "grave", "AEIOUaeiou", {0xC0, 0xC8, 0xCC, 0xD2, 0xD9, 0xE0, 0xE8, 0xEC, 0xF2, 0xF9}},
    {'\'', "acute", "AEIOUYaeiouy",
        {0xC1, 0xC9, 0xCD, 0xD3, 0xDA, 0xDD, 0xE1, 0xE9, 0xED, 0xF3, 0xFA, 0xFD}},
    {'^', "circ", "AEIOUaeiou", {0xC2, 0xCA, 0xCE, 0xD4, 0xDB, 0xE2, 0xEA, 0xEE, 0xF4, 0xFB}},
    {'~', "tilde", "ANOano", {0xC3, 0xD1, 0xD5, 0xE3, 0xF1, 0xF5}},
    {'"', "uml", "AEIOUYaeiouy",
        {0xC4, 0xCB, 0xCF, 0xD6, 0xDC, 0x178, 0xE4, 0xEB, 0xEF, 0xF6, 0xFC, 0xFF}},
    {'c', "cedil", "Cc", {0xC7, 0xE7}},
    {'o', "ring", "AUau", {0xC5, 0x16E, 0xE5, 0x16F}},
    {'/', "slash", "Oo", {0xD8, 0xF8}},
    {'v', "caron", "CSZcsz", {0x10C, 0x160, 0x17D, 0x10D, 0x161, 0x17E}},
    {'u', "breve", "AEGaeg", {0x102, 0x114, 0x11E, 0x103, 0x115, 0x11F}},
    {'H', "", "OUou", {0x150, 0x170, 0x151, 0x171}},
};

/* Pairs of letters after a backslash, and words after an ampersand. */
static const struct {
    const char *pair, *word;
    uint16_t becomes;
} signs[] = {
    {"AA", "Aring", 0xC5},
    {"aa", "aring", 0xE5},
    {"AE", "AElig", 0xC6},
    {"ae", "aelig", 0xE6},
    {"OE", "OElig", 0x152},
    {"oe", "oelig", 0x153},
    {"ss", "szlig", 0xDF},
    {"DH", "ETH", 0xD0},
    {"dh", "eth", 0xF0},
    {"TH", "THORN", 0xDE},
    {"th", "thorn", 0xFE},
    {"", "amp", '&'},
    {"", "quot", '"'},
    {"", "lt", '<'},
    {"", "gt", '>'},
    {"", "copy", 0xA9},
    {"", "nbsp", 0xA0},
    {"", "sharp", 0x266F},
    {"", "flat", 0x266D},
    {"", "natural", 0x266E},
};

static uint32_t accented(const Accent *a, char letter)
{
    const char *found = letter != '\0' ? strchr(a->letters, letter) : NULL;
    return found != NULL ? a->become[found - a->letters] : 0;
}

static uint32_t hexadecimal(const char *in, size_t digits)
{
    uint32_t c = 0;
    for (size_t i = 0; i < digits; i++) {
        static const char all[] = "0123456789abcdef";
        const char *d =
            in[i] != '\0' ? strchr(all, in[i] >= 'A' && in[i] <= 'F' ? in[i] + 32 : in[i]) : NULL;
        if (d == NULL)
            return 0;
        c = c << 4 | (uint32_t)(d - all);
    }
    return c > 0x10FFFF || (c >= 0xD800 && c <= 0xDFFF) ? 0 : c;
}

/* in[0] is a backslash. 0: no escape known. */
static uint32_t backslash(const char *in, size_t size, size_t *used)
{
    if (size >= 6 && in[1] == 'u') {
        size_t digits =
            size >= 10 && in[2] == '0' && in[3] == '0' && hexadecimal(in + 2, 8) ? 8 : 4;
        *used = 2 + digits;
        uint32_t c = hexadecimal(in + 2, digits);
        if (c != 0)
            return c;
    }
    if (size >= 2 && (in[1] == '\\' || in[1] == '%' || in[1] == '&')) {
        *used = 2;
        return (uint32_t)in[1];
    }
    if (size < 3)
        return 0;
    *used = 3;
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
        if (signs[i].pair[0] != '\0' && memcmp(in + 1, signs[i].pair, 2) == 0)
            return signs[i].becomes;
    for (size_t i = 0; i < sizeof accents / sizeof *accents; i++)
        if (accents[i].sign == in[1] && accented(&accents[i], in[2]) != 0)
            return accented(&accents[i], in[2]);
    return 0;
}

/* in[0] is an ampersand. 0: no entity known. */
static uint32_t entity(const char *in, size_t size, size_t *used)
{
    enum { LONGEST = 10 };
    size_t n = 1;
    while (n < size && n <= LONGEST && in[n] != ';')
        n++;
    if (n >= size || in[n] != ';' || n < 3)
        return 0;
    *used = n + 1;
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
        if (strlen(signs[i].word) == n - 1 && memcmp(in + 1, signs[i].word, n - 1) == 0)
            return signs[i].becomes;
    for (size_t i = 0; i < sizeof accents / sizeof *accents; i++)
        if (strlen(accents[i].word) == n - 2 && memcmp(in + 2, accents[i].word, n - 2) == 0)
            return accented(&accents[i], in[1]);
    return 0;
}

static bool is_plain(char c)
{
    return (unsigned char)c > 0 && (unsigned char)c < 0x80 && c != '\\' && c != '&';
}

/* Bytes from here on that are copied as they are, at most `most`. */
static size_t plain(const char *in, size_t size, size_t most)
{
    size_t n = 0;
    while (n < size && n < most && is_plain(in[n]))
        n++;
    return n;
}

void abc_text(const char *in, size_t size, char *out, size_t room)
{
    if (room == 0)
        return;
    Out o = {.bytes = out, .room = room - 1};
    for (size_t i = 0; i < size && !o.full;) {
        size_t used = plain(in + i, size - i, o.room - o.size);
        if (used > 0) {
            memcpy(o.bytes + o.size, in + i, used);
            o.size += used;
            i += used;
            continue;
        }
        used = 1;
        uint32_t c = 0;
        if (in[i] == '\\')
            c = backslash(in + i, size - i, &used);
        else if (in[i] == '&')
            c = entity(in + i, size - i, &used);
        if (c == 0)
            c = take((const unsigned char *)in + i, size - i, &used);
        /* A NUL would end the string early for everyone after us. */
        put(&o, c == 0 ? '?' : c);
        i += used;
    }
    out[o.size] = '\0';
}

void abc_text_more(const char *in, size_t size, char *out, size_t room)
{
    size_t used = strlen(out);
    if (used > 0 && used + 1 < room)
        out[used++] = ' ';
    abc_text(in, size, out + used, room - used);
}
