#include "options_fingers.h"

#include "evenhand/app/values.h"
#include "evenhand/harp/hands.h"

#include <string.h>

bool read_hands(Options *o, const char *value, Error *error)
{
    o->has_hands = true;
    return hands_parse(value, strlen(value), &o->hands) ||
           error_set(error, ERROR_USAGE, "--hands takes " HANDS_CHOICES ", not '%.60s'", value);
}

bool read_largest_group(Options *o, const char *value, Error *error)
{
    return value_int(value, "--largest-group", 3, 4, &o->fingers.largest_group, error);
}

/* Index of the word among `count`; -1 if it is none of them. */
static int word_index(const char *word, const char *const *words, int count)
{
    for (int i = 0; i < count; i++)
        if (strcmp(word, words[i]) == 0)
            return i;
    return -1;
}

bool read_small(Options *o, const char *value, Error *error)
{
    static const char *const words[] = {"top", "bottom"};
    static const char letters[] = "CDEFGABcdefgab";
    int i = word_index(value, words, 2);
    const char *letter = strlen(value) == 1 ? strchr(letters, value[0]) : NULL;
    if (i < 0 && !letter)
        return error_set(error, ERROR_USAGE,
            "--small takes top, bottom or a letter from A to G, not '%.60s'", value);
    o->has_small = true;
    o->fingers.small = letter ? SMALL_AT_LETTER : i == 0 ? SMALL_ON_TOP : SMALL_AT_BOTTOM;
    o->fingers.small_letter = letter ? (Letter)((letter - letters) % 7) : LETTER_C;
    return true;
}

bool read_each_octave(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->fingers.octaves = true;
    return true;
}

bool read_avoid_twos(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->fingers.avoid_twos = true;
    return true;
}

bool read_lifted(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->fingers.lifted = true;
    return true;
}

bool read_start(Options *o, const char *value, Error *error)
{
    static const char *const words[] = {"on", "off"};
    int i = word_index(value, words, 2);
    if (i < 0)
        return error_set(error, ERROR_USAGE, "--start takes on or off, not '%.60s'", value);
    o->fingers.start = i == 0 ? GROUPS_ON_BEATS : GROUPS_OFF_BEATS;
    return true;
}

bool read_ignore_marks(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->fingers.ignore_marks = true;
    return true;
}

bool read_plans(Options *o, const char *value, Error *error)
{
    return value_int(value, "--plans", 1, FINGERING_PLANS_MAX, &o->plans, error);
}

bool read_check(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->check = true;
    return true;
}

bool read_instrument(Options *o, const char *value, Error *error)
{
    o->has_harp = true;
    return instrument_parse(value, &o->harp, error);
}

bool read_names(Options *o, const char *value, Error *error)
{
    static const char *const words[] = {"scientific", "harp", "syllables"};
    int i = word_index(value, words, 3);
    if (i < 0)
        return error_set(
            error, ERROR_USAGE, "--names takes scientific, harp or syllables, not '%s'", value);
    o->names = (Names)i;
    return true;
}

bool read_paper(Options *o, const char *value, Error *error)
{
    static const char *const words[] = {"a4", "letter"};
    int i = word_index(value, words, 2);
    if (i < 0)
        return error_set(error, ERROR_USAGE, "--paper takes a4 or letter, not '%s'", value);
    o->paper = (Paper)i;
    return true;
}

bool read_page(Options *o, const char *value, Error *error)
{
    return value_int(value, "--page", 1, OPTION_PAGE_MAX, &o->page, error);
}
