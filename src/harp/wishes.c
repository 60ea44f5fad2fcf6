#include "evenhand/harp/wishes.h"

#include <string.h>

static bool is(const char *word, size_t size, const char *name)
{
    return strlen(name) == size && memcmp(word, name, size) == 0;
}

/* small=G: the letter's index, -1 where it is none. */
static int letter_of(const char *word, size_t size)
{
    static const char letters[] = "CDEFGAB";
    const char *at = size == 7 && memcmp(word, "small=", 6) == 0 ? strchr(letters, word[6]) : NULL;
    return at != NULL && *at != '\0' ? (int)(at - letters) : -1;
}

static bool one_wish(const char *word, size_t size, FingeringOptions *o)
{
    int letter = letter_of(word, size);
    if (letter >= 0) {
        o->small = SMALL_AT_LETTER;
        o->small_letter = (Letter)letter;
    } else if (is(word, size, "small=top"))
        o->small = SMALL_ON_TOP;
    else if (is(word, size, "small=bottom"))
        o->small = SMALL_AT_BOTTOM;
    else if (is(word, size, "each-octave"))
        o->octaves = true;
    else if (is(word, size, "avoid-twos"))
        o->avoid_twos = true;
    else if (is(word, size, "lifted"))
        o->lifted = true;
    else if (is(word, size, "start=on"))
        o->start = GROUPS_ON_BEATS;
    else if (is(word, size, "start=off"))
        o->start = GROUPS_OFF_BEATS;
    else if (is(word, size, "largest-group=3"))
        o->largest_group = 3;
    else if (is(word, size, "largest-group=4"))
        o->largest_group = 4;
    else
        return false;
    return true;
}

bool fingering_wishes(const char *words, FingeringOptions *options, Error *error)
{
    static const char blanks[] = " \t\r\n";
    FingeringOptions read = *options;
    for (const char *at = words + strspn(words, blanks); *at != '\0';) {
        size_t size = strcspn(at, blanks);
        if (!one_wish(at, size, &read))
            return error_set(error, ERROR_SYNTAX,
                "'%.*s' is no setting of fingers; there are small=top, bottom or a letter A to G, "
                "each-octave, avoid-twos, lifted, start=on or off, largest-group=3 or 4",
                (int)(size > 30 ? 30 : size), at);
        at += size;
        at += strspn(at, blanks);
    }
    *options = read;
    return true;
}
