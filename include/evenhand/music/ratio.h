/* ratio.h - exact fractions: every position and length in the project is one.
 *
 * A Ratio is always in lowest terms with den > 0. A result that does not fit 64 bits (or a
 * division by zero) is the invalid ratio, den == 0, which every later operation hands on: a
 * caller checks once at the end, as with a NaN. Unit where nothing else is said: quarter notes.
 */
#ifndef EVENHAND_MUSIC_RATIO_H
#define EVENHAND_MUSIC_RATIO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct {
    int64_t num;
    int64_t den; /* > 0; 0 only in the invalid ratio */
} Ratio;

enum { RATIO_TEXT_MAX = 44 }; /* two 20-digit numbers, sign, slash, end */

/* Holds any product of two numbers of Ratios. */
__extension__ typedef __int128 RatioWide;

static inline Ratio ratio_int(int64_t whole)
{
    return (Ratio){whole == INT64_MIN ? 0 : whole, whole != INT64_MIN};
}

static inline bool ratio_valid(Ratio a)
{
    return a.den != 0;
}

static inline bool ratio_equal(Ratio a, Ratio b)
{
    return a.num == b.num && a.den == b.den;
}

/* -1, 0, 1; both must be valid. */
static inline int ratio_cmp(Ratio a, Ratio b)
{
    RatioWide left = (RatioWide)a.num * b.den, right = (RatioWide)b.num * a.den;
    return (left > right) - (left < right);
}

Ratio ratio(int64_t num, int64_t den); /* reduced; den may be negative; 0 gives invalid */
Ratio ratio_add(Ratio a, Ratio b);
Ratio ratio_sub(Ratio a, Ratio b);
Ratio ratio_mul(Ratio a, Ratio b);
Ratio ratio_div(Ratio a, Ratio b);
int64_t ratio_floor(Ratio a);         /* largest whole number <= a */
Ratio ratio_mod(Ratio a, Ratio b);    /* a - b*floor(a/b), in [0, b); b > 0 */
bool ratio_divides(Ratio a, Ratio b); /* b is a whole multiple of a (a > 0) */
Ratio ratio_max(Ratio a, Ratio b);
double ratio_double(Ratio a); /* for display only, never for time */
/* "3", "-1/2", "?" for invalid. Returns out. */
char *ratio_text(Ratio a, char out[RATIO_TEXT_MAX]);

int64_t gcd64(int64_t a, int64_t b); /* >= 0; gcd64(0, 0) is 0 */

#endif
