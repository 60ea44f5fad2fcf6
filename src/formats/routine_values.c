#include "routine_values.h"

#include <stdio.h>
#include <string.h>

enum { DECIMALS_MAX = 3, SHOWN = 60, WORD_ROOM = 80, NEAR = 2 };

static bool read_digits(const char *text, size_t size, int64_t *out)
{
    *out = 0;
    if (size == 0 || size > 6)
        return false;
    for (size_t i = 0; i < size; i++) {
        if (text[i] < '0' || text[i] > '9')
            return false;
        *out = *out * 10 + (text[i] - '0');
    }
    return true;
}

/* "72", "66.5" in text[0 .. size). */
static bool read_decimal(const char *text, size_t size, Ratio *out)
{
    const char *point = memchr(text, '.', size);
    size_t whole_size = point != NULL ? (size_t)(point - text) : size;
    int64_t whole = 0, part = 0, scale = 1;
    if (!read_digits(text, whole_size, &whole))
        return false;
    if (point != NULL) {
        size_t decimals = size - whole_size - 1;
        if (decimals > DECIMALS_MAX || !read_digits(point + 1, decimals, &part))
            return false;
        while (decimals-- > 0)
            scale *= 10;
    }
    *out = ratio_add(ratio_int(whole), ratio(part, scale));
    return true;
}

static const char *skip_blanks(const char *s)
{
    return s + strspn(s, " \t");
}

bool routine_whole(const IniEntry *e, int min, int max, int *out, Error *error)
{
    int64_t value;
    if (!read_digits(e->value, strlen(e->value), &value) || value < min || value > max)
        return error_at(error, ERROR_SYNTAX, e->line, 0,
            "%s is a whole number from %d to %d, such as %s = %d, not '%.*s'", e->key, min, max,
            e->key,
            min > 4   ? min
            : max < 4 ? max
                      : 4,
            SHOWN, e->value);
    *out = (int)value;
    return true;
}

bool routine_minutes(const IniEntry *e, int most, int *seconds, Error *error)
{
    Ratio minutes, all;
    bool good = read_decimal(e->value, strlen(e->value), &minutes);
    if (good) {
        all = ratio_mul(minutes, ratio_int(60));
        good = all.den == 1 && all.num > 0 && all.num <= (int64_t)most * 60;
        *seconds = (int)all.num;
    }
    return good || error_at(error, ERROR_SYNTAX, e->line, 0,
                       "minutes are more than 0 and at most %d, such as minutes = 5 or 2.5, and "
                       "whole seconds, not '%.*s'",
                       most, SHOWN, e->value);
}

/* "1/4" as quarters. */
static bool read_beat(const char *text, size_t size, Ratio *out)
{
    const char *slash = memchr(text, '/', size);
    size_t first = slash != NULL ? (size_t)(slash - text) : size;
    int64_t num, den = 1;
    if (!read_digits(text, first, &num) ||
        (slash != NULL && !read_digits(slash + 1, size - first - 1, &den)))
        return false;
    if (num < 1 || den < 1 || den > 128 || num > 2 * den)
        return false;
    *out = ratio(4 * num, den);
    return true;
}

/* The length of text[0 .. size) without blanks behind. */
static size_t trimmed(const char *text, size_t size)
{
    while (size > 0 && (text[size - 1] == ' ' || text[size - 1] == '\t'))
        size--;
    return size;
}

static bool read_tempo(const char *text, size_t size, Tempo *out)
{
    Tempo t = {ratio_int(0), ratio_int(0)};
    const char *equals = memchr(text, '=', size), *number = text;
    if (equals != NULL) {
        if (!read_beat(text, trimmed(text, (size_t)(equals - text)), &t.beat))
            return false;
        number = skip_blanks(equals + 1);
    }
    if (number > text + size ||
        !read_decimal(number, (size_t)(text + size - number), &t.per_minute))
        return false;
    *out = t;
    return ratio_cmp(t.per_minute, ratio_int(TEMPO_MIN)) >= 0 &&
           ratio_cmp(t.per_minute, ratio_int(TEMPO_MAX)) <= 0;
}

bool routine_tempo(const IniEntry *e, Tempo *out, Error *error)
{
    return read_tempo(e->value, strlen(e->value), out) ||
           error_at(error, ERROR_SYNTAX, e->line, 0,
               "a tempo is %d to %d beats a minute, such as tempo = 72 or tempo = 1/4=72, not "
               "'%.*s'",
               TEMPO_MIN, TEMPO_MAX, SHOWN, e->value);
}

bool routine_ladder(const IniEntry *e, LadderSpec *out, Error *error)
{
    const char *to = strstr(e->value, " to ");
    bool good =
        to != NULL && read_tempo(e->value, trimmed(e->value, (size_t)(to - e->value)), &out->start);
    if (good) {
        const char *goal = skip_blanks(to + 4);
        good = read_tempo(goal, strlen(goal), &out->goal);
    }
    if (!good)
        return error_at(error, ERROR_SYNTAX, e->line, 0,
            "a ladder goes from a tempo to another, %d to %d beats a minute, such as "
            "ladder = 60 to 96 or ladder = 1/4=60 to 1/4=96, not '%.*s'",
            TEMPO_MIN, TEMPO_MAX, SHOWN, e->value);
    if (!ratio_equal(out->start.beat, out->goal.beat))
        return error_at(error, ERROR_SYNTAX, e->line, 0,
            "both ends of a ladder count the same beat: write it before both numbers or before "
            "neither");
    if (ratio_cmp(out->start.per_minute, out->goal.per_minute) > 0)
        return error_at(
            error, ERROR_SYNTAX, e->line, 0, "a ladder climbs: write the slower tempo first");
    return true;
}

bool routine_steps(const IniEntry *e, LadderSpec *out, Error *error)
{
    size_t size = strcspn(e->value, " \t%");
    const char *unit = skip_blanks(e->value + size);
    Ratio amount = ratio_int(0);
    bool percent = strcmp(unit, "percent") == 0 || strcmp(unit, "%") == 0;
    out->by = LADDER_BY_NUMBERS;
    if (strcmp(e->value, "numbers") == 0)
        return true;
    bool good = read_decimal(e->value, size, &amount) && (percent || unit[0] == '\0') &&
                ratio_cmp(amount, percent ? ratio_int(1) : ratio(1, 2)) >= 0 &&
                ratio_cmp(amount, ratio_int(50)) <= 0;
    out->by = percent ? LADDER_BY_PERCENT : LADDER_BY_AMOUNT;
    out->amount = amount;
    return good || error_at(error, ERROR_SYNTAX, e->line, 0,
                       "steps are numbers (the metronome's), a percentage such as 5 percent (1 to "
                       "50), or beats a minute such as 4 (0.5 to 50), not '%.*s'",
                       SHOWN, e->value);
}

bool routine_pattern(const IniEntry *e, LadderSpec *out, Error *error)
{
    int64_t clean = out->clean;
    const char *v = e->value;
    bool good = true;
    if (strcmp(v, "straight") == 0)
        out->pattern = LADDER_STRAIGHT;
    else if (strcmp(v, "two-up") == 0)
        out->pattern = LADDER_TWO_UP;
    else if (strncmp(v, "clean", 5) == 0) {
        out->pattern = LADDER_CLEAN;
        good = v[5] == '\0' || (v[5] == '-' && read_digits(v + 6, strlen(v + 6), &clean) &&
                                   clean >= 1 && clean <= LADDER_CLEAN_MAX);
        out->clean = (int)clean;
    } else
        good = false;
    return good || error_at(error, ERROR_SYNTAX, e->line, 0,
                       "a pattern is straight, two-up, or clean-3 (up after 3 clean in a row, 1 to "
                       "%d), not '%.*s'",
                       LADDER_CLEAN_MAX, SHOWN, v);
}

bool routine_drills(const IniEntry *e, RoutineBlock *out, Error *error)
{
    for (const char *s = e->value + strspn(e->value, ", \t"); *s != '\0';) {
        size_t size = strcspn(s, ", \t");
        char word[WORD_ROOM];
        if (out->drill_count == ROUTINE_DRILLS_MAX)
            return error_at(error, ERROR_SYNTAX, e->line, 0,
                "a block has at most %d drills: write the others in a block of their own",
                ROUTINE_DRILLS_MAX);
        snprintf(word, sizeof word, "%.*s", (int)(size < WORD_ROOM ? size : WORD_ROOM - 1), s);
        DrillSpec *spec = &out->drills[out->drill_count++];
        *spec = drill_plain();
        if (!drill_parse(word, spec, error)) {
            if (error != NULL) {
                error->kind = ERROR_SYNTAX;
                error->line = e->line;
            }
            return false;
        }
        s += size;
        s += strspn(s, ", \t");
    }
    return out->drill_count > 0 || error_at(error, ERROR_SYNTAX, e->line, 0,
                                       "write which drills, such as drills = plain, links, or "
                                       "leave the line out for all of the passage's");
}

/* Letters to add, take out or change to make one word the other (Levenshtein; from memory). */
static int distance(const char *a, const char *b)
{
    int row[INI_NAME_MAX + 1];
    int size = (int)strlen(b);
    for (int k = 0; k <= size; k++)
        row[k] = k;
    for (int i = 1; a[i - 1] != '\0'; i++) {
        int corner = row[0];
        row[0] = i;
        for (int k = 1; k <= size; k++) {
            int change = corner + (a[i - 1] != b[k - 1]);
            int other = (row[k] < row[k - 1] ? row[k] : row[k - 1]) + 1;
            corner = row[k];
            row[k] = change < other ? change : other;
        }
    }
    return row[size];
}

const char *routine_nearest(const char *given, const char *const *words)
{
    const char *best = NULL;
    int least = NEAR + 1;
    for (; *words != NULL; words++) {
        int far = distance(given, *words);
        if (far < least) {
            least = far;
            best = *words;
        }
    }
    return best;
}
