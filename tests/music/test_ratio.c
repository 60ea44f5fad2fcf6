/* Exact fractions at their boundaries and against 128-bit arithmetic. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "evenhand/music/ratio.h"

static void lowest_terms(void **state)
{
    (void)state;
    Ratio a = ratio(6, -8);
    assert_int_equal(a.num, -3);
    assert_int_equal(a.den, 4);
    assert_int_equal(ratio(0, 5).den, 1);
    assert_false(ratio_valid(ratio(1, 0)));
    assert_false(ratio_valid(ratio(INT64_MIN, 1)));
    assert_int_equal(ratio(INT64_MIN, 2).num, INT64_MIN / 2);
}

static void too_large_is_invalid_and_stays_so(void **state)
{
    (void)state;
    Ratio large = ratio_int(INT64_MAX);
    assert_false(ratio_valid(ratio_add(large, ratio_int(1))));
    assert_false(ratio_valid(ratio_mul(large, ratio_int(2))));
    assert_true(ratio_equal(ratio_mul(large, ratio(1, 2)), ratio(INT64_MAX, 2)));
    assert_true(ratio_equal(ratio_sub(ratio_add(large, ratio_int(-1)), large), ratio_int(-1)));
    assert_false(ratio_valid(ratio_add(ratio(1, INT64_MAX), ratio(1, INT64_MAX - 1))));
    Ratio bad = ratio_div(large, ratio_int(0));
    assert_false(ratio_valid(bad));
    assert_false(ratio_valid(ratio_add(bad, ratio_int(1))));
    assert_false(ratio_valid(ratio_mod(bad, ratio_int(1))));
}

static void laws_hold(void **state)
{
    (void)state;
    Random r = {.state = 11};
    for (int i = 0; i < 20000; i++) {
        Ratio a = ratio(random_between(&r, -999, 999), random_between(&r, 1, 99));
        Ratio b = ratio(random_between(&r, -999, 999), random_between(&r, 1, 99));
        Ratio c = ratio(random_between(&r, 1, 999), random_between(&r, 1, 99));
        assert_true(ratio_equal(ratio_sub(ratio_add(a, b), b), a));
        assert_true(ratio_equal(ratio_div(ratio_mul(a, c), c), a));
        assert_int_equal(ratio_cmp(a, b), -ratio_cmp(b, a));
        Ratio rest = ratio_mod(a, c);
        assert_true(rest.num >= 0 && ratio_cmp(rest, c) < 0);
        assert_true(ratio_divides(c, ratio_sub(a, rest)));
        assert_true(ratio_floor(a) * a.den <= a.num && (ratio_floor(a) + 1) * a.den > a.num);
    }
}

static void printed(void **state)
{
    (void)state;
    char text[RATIO_TEXT_MAX];
    assert_string_equal(ratio_text(ratio(-6, 4), text), "-3/2");
    assert_string_equal(ratio_text(ratio_int(7), text), "7");
    assert_string_equal(ratio_text((Ratio){0, 0}, text), "?");
    assert_string_equal(ratio_text(ratio(-INT64_MAX, INT64_MAX - 1), text),
        "-9223372036854775807/9223372036854775806");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lowest_terms),
        cmocka_unit_test(too_large_is_invalid_and_stays_so),
        cmocka_unit_test(laws_hold),
        cmocka_unit_test(printed),
    };
    return cmocka_run_group_tests_name("ratio", tests, NULL, NULL);
}
