#include "evenhand/music/ratio.h"

#include <inttypes.h>
#include <stdio.h>

typedef RatioWide Wide;

static const Ratio invalid = {0, 0};

int64_t gcd64(int64_t a, int64_t b)
{
    uint64_t x = a < 0 ? 0 - (uint64_t)a : (uint64_t)a;
    uint64_t y = b < 0 ? 0 - (uint64_t)b : (uint64_t)b;
    if ((x | y) <= UINT32_MAX) { /* 32-bit division is quicker still */
        uint32_t p = (uint32_t)x, q = (uint32_t)y;
        while (q != 0) {
            uint32_t rest = p % q;
            p = q;
            q = rest;
        }
        return (int64_t)p;
    }
    while (y != 0) {
        uint64_t rest = x % y;
        x = y;
        y = rest;
    }
    return x > INT64_MAX ? INT64_MAX : (int64_t)x;
}

/* Lowest terms in 64 bits; den > 0, num not INT64_MIN. Nearly all of music is small numbers, and
 * most lengths are halves of halves, which need no division. */
static Ratio reduce_small(int64_t num, int64_t den)
{
    if ((den & (den - 1)) == 0) {
        int shift = __builtin_ctzll((unsigned long long)(num | den));
        return (Ratio){num >> shift, den >> shift}; /* exact: these bits are zero */
    }
    int64_t common = gcd64(num, den);
    return common == 1 ? (Ratio){num, den} : (Ratio){num / common, den / common};
}

/* Lowest terms of num / den with den > 0; the invalid ratio where 64 bits do not hold it.
 * INT64_MIN is left out so that a negation never overflows. */
static Ratio reduce(Wide num, Wide den)
{
    if (den == 0)
        return invalid;
    if (den < 0) {
        num = -num;
        den = -den;
    }
    if (den <= INT64_MAX && num <= INT64_MAX && num >= -INT64_MAX)
        return reduce_small((int64_t)num, (int64_t)den);
    Wide x = num < 0 ? -num : num;
    Wide y = den;
    while (y != 0) {
        if (x <= INT64_MAX && y <= INT64_MAX) { /* 64-bit division is quick */
            x = gcd64((int64_t)x, (int64_t)y);
            break;
        }
        Wide rest = x % y;
        x = y;
        y = rest;
    }
    if (x > 1) {
        num /= x;
        den /= x;
    }
    if (num > INT64_MAX || num < -INT64_MAX || den > INT64_MAX)
        return invalid;
    return (Ratio){(int64_t)num, (int64_t)den};
}

/* Sums and products of such numbers stay inside 64 bits. */
static bool small(Ratio a)
{
    return a.num >= -INT32_MAX && a.num <= INT32_MAX && a.den <= INT32_MAX;
}

Ratio ratio(int64_t num, int64_t den)
{
    return den > 0 && num != INT64_MIN ? reduce_small(num, den) : reduce(num, den);
}

Ratio ratio_add(Ratio a, Ratio b)
{
    if (a.den == 0 || b.den == 0)
        return invalid;
    int64_t sum;
    if (a.den == b.den && !__builtin_add_overflow(a.num, b.num, &sum) && sum != INT64_MIN)
        return reduce_small(sum, a.den);
    if (small(a) && small(b))
        return reduce_small(a.num * b.den + b.num * a.den, a.den * b.den);
    /* Halves of the products: each below 2^126, so that the sum cannot overflow. */
    return reduce((Wide)a.num * b.den + (Wide)b.num * a.den, (Wide)a.den * b.den);
}

Ratio ratio_sub(Ratio a, Ratio b)
{
    return ratio_add(a, (Ratio){-b.num, b.den});
}

Ratio ratio_mul(Ratio a, Ratio b)
{
    if (a.den == 0 || b.den == 0)
        return invalid;
    if (small(a) && small(b))
        return reduce_small(a.num * b.num, a.den * b.den);
    return reduce((Wide)a.num * b.num, (Wide)a.den * b.den);
}

Ratio ratio_div(Ratio a, Ratio b)
{
    if (a.den == 0 || b.den == 0)
        return invalid;
    return reduce((Wide)a.num * b.den, (Wide)a.den * b.num);
}

int64_t ratio_floor(Ratio a)
{
    if (a.den == 0)
        return 0;
    int64_t whole = a.num / a.den;
    return a.num % a.den < 0 ? whole - 1 : whole;
}

Ratio ratio_mod(Ratio a, Ratio b)
{
    Ratio times = ratio_div(a, b);
    if (!ratio_valid(times))
        return invalid;
    return ratio_sub(a, ratio_mul(b, ratio_int(ratio_floor(times))));
}

bool ratio_divides(Ratio a, Ratio b)
{
    Ratio times = ratio_div(b, a);
    return times.den == 1;
}

Ratio ratio_max(Ratio a, Ratio b)
{
    return ratio_cmp(a, b) >= 0 ? a : b;
}

double ratio_double(Ratio a)
{
    return a.den == 0 ? 0.0 : (double)a.num / (double)a.den;
}

char *ratio_text(Ratio a, char out[RATIO_TEXT_MAX])
{
    if (a.den == 0)
        snprintf(out, RATIO_TEXT_MAX, "?");
    else if (a.den == 1)
        snprintf(out, RATIO_TEXT_MAX, "%" PRId64, a.num);
    else
        snprintf(out, RATIO_TEXT_MAX, "%" PRId64 "/%" PRId64, a.num, a.den);
    return out;
}
