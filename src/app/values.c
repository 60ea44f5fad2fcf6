#include "evenhand/app/values.h"

#include <string.h>

enum { LENGTH_DEN_MAX = 128, LENGTH_WHOLES_MAX = 2, DECIMALS_MAX = 3 };

/* Digits only: strtol alone would also take blanks and signs in odd places. */
static bool read_digits(const char *text, size_t size, long max, long *out)
{
    if (size == 0 || size > 9)
        return false;
    long value = 0;
    for (size_t i = 0; i < size; i++) {
        if (text[i] < '0' || text[i] > '9')
            return false;
        value = value * 10 + (text[i] - '0');
    }
    *out = value;
    return value <= max;
}

bool value_int(const char *text, const char *what, int min, int max, int *out, Error *error)
{
    bool minus = text[0] == '-';
    const char *digits = text + (minus || text[0] == '+' ? 1 : 0);
    long value = 0;
    bool good = read_digits(digits, strlen(digits), 999999999L, &value);
    value = minus ? -value : value;
    if (!good || value < min || value > max)
        return error_set(error, ERROR_USAGE, "%s takes a whole number from %d to %d, not '%s'",
            what, min, max, text);
    *out = (int)value;
    return true;
}

static bool read_decimal(const char *text, Ratio *out)
{
    const char *point = strchr(text, '.');
    size_t whole_size = point ? (size_t)(point - text) : strlen(text);
    long whole = 0, part = 0, scale = 1;
    if (!read_digits(text, whole_size, 1000000L, &whole))
        return false;
    if (point) {
        size_t size = strlen(point + 1);
        if (size > DECIMALS_MAX || !read_digits(point + 1, size, 999L, &part))
            return false;
        for (size_t i = 0; i < size; i++)
            scale *= 10;
    }
    *out = ratio_add(ratio_int(whole), ratio(part, scale));
    return true;
}

bool value_decimal(const char *text, const char *what, int min, int max, Ratio *out, Error *error)
{
    Ratio value;
    if (!read_decimal(text, &value) || ratio_cmp(value, ratio_int(min)) < 0 ||
        ratio_cmp(value, ratio_int(max)) > 0)
        return error_set(error, ERROR_USAGE,
            "%s takes a number from %d to %d with at most %d decimals, not '%s'", what, min, max,
            DECIMALS_MAX, text);
    *out = value;
    return true;
}

static bool read_length(const char *text, size_t size, Ratio *out)
{
    const char *slash = memchr(text, '/', size);
    size_t first = slash ? (size_t)(slash - text) : size;
    long num = 0, den = 1;
    if (!read_digits(text, first, (long)LENGTH_DEN_MAX * LENGTH_WHOLES_MAX, &num))
        return false;
    if (slash && !read_digits(slash + 1, size - first - 1, LENGTH_DEN_MAX, &den))
        return false;
    if (num < 1 || den < 1 || num > den * LENGTH_WHOLES_MAX)
        return false;
    *out = ratio(4 * num, den);
    return true;
}

bool value_length(const char *text, const char *what, Ratio *out, Error *error)
{
    if (!read_length(text, strlen(text), out))
        return error_set(error, ERROR_USAGE,
            "%s takes a fraction of a whole note from 1/%d to %d, such as 1/8, not '%s'", what,
            LENGTH_DEN_MAX, LENGTH_WHOLES_MAX, text);
    return true;
}

bool value_tempo(const char *text, const char *what, Tempo *out, Error *error)
{
    const char *equals = strchr(text, '=');
    const char *number = equals ? equals + 1 : text;
    Tempo t = {ratio_int(0), ratio_int(0)};
    bool good = (!equals || read_length(text, (size_t)(equals - text), &t.beat)) &&
                read_decimal(number, &t.per_minute) &&
                ratio_cmp(t.per_minute, ratio_int(TEMPO_MIN)) >= 0 &&
                ratio_cmp(t.per_minute, ratio_int(TEMPO_MAX)) <= 0;
    if (!good)
        return error_set(error, ERROR_USAGE,
            "%s takes %d to %d beats a minute, such as 72, 66.5 or with its beat 3/8=60, not '%s'",
            what, TEMPO_MIN, TEMPO_MAX, text);
    *out = t;
    return true;
}
