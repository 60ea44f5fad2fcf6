/* Words of placing drills: the short ones of the command line and the plain ones for people. */
#include "evenhand/drill/placing.h"

#include <stdio.h>
#include <string.h>

/* What is left to read of a word. */
typedef struct {
    const char *text;
    size_t size;
} Rest;

static bool take(Rest *rest, const char *word)
{
    size_t size = strlen(word);
    if (rest->size < size || memcmp(rest->text, word, size) != 0)
        return false;
    rest->text += size;
    rest->size -= size;
    return true;
}

static bool take_number(Rest *rest, int low, int high, int *out)
{
    int value = 0;
    size_t digits = 0;
    while (
        digits < rest->size && digits < 6 && rest->text[digits] >= '0' && rest->text[digits] <= '9')
        value = value * 10 + (rest->text[digits++] - '0');
    if (digits == 0 || value < low || value > high)
        return false;
    rest->text += digits;
    rest->size -= digits;
    *out = value;
    return true;
}

/* "-3" and "-3x8" behind "links" or "link-2". */
static bool take_sides(Rest *rest, Placing *out)
{
    if (rest->size == 0)
        return true;
    if (!take(rest, "-") || !take_number(rest, 2, 3, &out->size))
        return false;
    return !take(rest, "x") || take_number(rest, 1, PLACING_LOOPS_MAX, &out->loops);
}

static bool read_word(Rest *rest, Placing *out)
{
    if (take(rest, "crossing")) {
        out->kind = PLACING_CROSSING;
        return !take(rest, "-") || take_number(rest, 1, PLACING_WHICH_MAX, &out->which);
    }
    if (take(rest, "links")) {
        out->kind = PLACING_LINKS;
        return take_sides(rest, out);
    }
    if (take(rest, "link-")) {
        out->kind = PLACING_LINKS;
        return take_number(rest, 1, PLACING_WHICH_MAX, &out->which) && take_sides(rest, out);
    }
    if (take(rest, "bursts")) {
        out->kind = PLACING_BURSTS;
        return !take(rest, "-") || take_number(rest, 2, PLACING_BURST_MAX, &out->size);
    }
    static const char *const words[PLACING_KINDS] = {[PLACING_BLOCKS] = "blocks",
        [PLACING_BUILD_UP] = "build-up",
        [PLACING_BUILD_BACK] = "build-back",
        [PLACING_PAIR] = "scale-arpeggio"};
    for (int kind = 0; kind < PLACING_KINDS; kind++)
        if (words[kind] != NULL && take(rest, words[kind])) {
            out->kind = (PlacingKind)kind;
            return true;
        }
    return false;
}

bool placing_parse(const char *text, size_t size, Placing *out)
{
    Rest rest = {text, size};
    Placing read = {0};
    if (!read_word(&rest, &read) || rest.size > 0)
        return false;
    *out = read;
    return true;
}

static int sides(const Placing *p)
{
    return p->size > 0 ? p->size : 2;
}

static int loops(const Placing *p)
{
    return p->loops > 0 ? p->loops : PLACING_LOOPS;
}

static int burst(const Placing *p)
{
    return p->size > 0 ? p->size : 5;
}

static void links_word(const Placing *p, char *out, size_t size)
{
    char which[16] = "s", notes[32] = "";
    if (p->which > 0)
        snprintf(which, sizeof which, "-%d", p->which);
    if (loops(p) != PLACING_LOOPS)
        snprintf(notes, sizeof notes, "-%dx%d", sides(p), loops(p));
    else if (sides(p) != 2)
        snprintf(notes, sizeof notes, "-%d", sides(p));
    snprintf(out, size, "link%s%s", which, notes);
}

char *placing_word(const Placing *p, char *out, size_t size)
{
    switch (p->kind) {
    case PLACING_CROSSING:
        if (p->which > 1)
            snprintf(out, size, "crossing-%d", p->which);
        else
            snprintf(out, size, "crossing");
        return out;
    case PLACING_BLOCKS: snprintf(out, size, "blocks"); return out;
    case PLACING_LINKS: links_word(p, out, size); return out;
    case PLACING_BUILD_UP: snprintf(out, size, "build-up"); return out;
    case PLACING_BUILD_BACK: snprintf(out, size, "build-back"); return out;
    case PLACING_BURSTS:
        if (burst(p) != 5)
            snprintf(out, size, "bursts-%d", burst(p));
        else
            snprintf(out, size, "bursts");
        return out;
    case PLACING_PAIR: snprintf(out, size, "scale-arpeggio"); return out;
    case PLACING_NONE:
    case PLACING_KINDS: break;
    }
    snprintf(out, size, "%s", "");
    return out;
}

static const char *ordinal(int n)
{
    return n == 2 ? "nd" : n == 3 ? "rd" : "th"; /* of 2 .. 16 */
}

char *placing_title(const Placing *p, char *out, size_t size)
{
    const char *each = p->which > 0 ? "" : " each";
    switch (p->kind) {
    case PLACING_CROSSING:
        if (p->which > 1)
            snprintf(out, size, "crossing %d: its group and the landing", p->which);
        else
            snprintf(out, size, "first crossing: one group and the landing");
        return out;
    case PLACING_BLOCKS:
        snprintf(out, size, "blocks: each group together, then broken");
        return out;
    case PLACING_LINKS:
        if (p->which > 0)
            snprintf(out, size, "link %d: ", p->which);
        else
            snprintf(out, size, "links: ");
        size_t used = strlen(out);
        snprintf(out + used, size - used, "%d notes either side, %d time%s%s", sides(p), loops(p),
            loops(p) == 1 ? "" : "s", each);
        return out;
    case PLACING_BUILD_UP: snprintf(out, size, "build-up: one note more each time"); return out;
    case PLACING_BUILD_BACK: snprintf(out, size, "build-back: one note more each time"); return out;
    case PLACING_BURSTS:
        snprintf(
            out, size, "bursts: %d fast, hold the %d%s", burst(p) - 1, burst(p), ordinal(burst(p)));
        return out;
    case PLACING_PAIR: snprintf(out, size, "scale and arpeggio back to back"); return out;
    case PLACING_NONE:
    case PLACING_KINDS: break;
    }
    snprintf(out, size, "%s", "");
    return out;
}

bool placing_equal(const Placing *a, const Placing *b)
{
    if (a->kind != b->kind)
        return false;
    char x[PLACING_TEXT_MAX], y[PLACING_TEXT_MAX];
    return strcmp(placing_word(a, x, sizeof x), placing_word(b, y, sizeof y)) == 0;
}
