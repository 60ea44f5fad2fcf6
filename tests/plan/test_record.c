/* What a record's figures say. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/plan/record.h"

#include <string.h>

/* 99.99 per cent are not all: only all are 100. */
static void per_cent_is_rounded_down(void **state)
{
    (void)state;
    assert_int_equal(record_percent(0, 0), -1);
    assert_int_equal(record_percent(0, 3), 0);
    assert_int_equal(record_percent(1, 3), 33);
    assert_int_equal(record_percent(2, 3), 66);
    assert_int_equal(record_percent(3, 3), 100);
    assert_int_equal(record_percent(9999, 10000), 99);
    assert_int_equal(record_percent(1, 1000), 0);
    assert_int_equal(record_percent(INT64_MAX / 100, INT64_MAX / 100), 100);
}

/* A record with more than can be, or less than nothing, of another machine perhaps. */
static void figures_that_cannot_be_stay_within_bounds(void **state)
{
    (void)state;
    assert_int_equal(record_percent(1, -1), -1);
    assert_int_equal(record_percent(5, 3), 100);
    assert_int_equal(record_percent(-5, 3), 0);
    assert_int_equal(record_percent(INT64_MAX, INT64_MAX), 100);
    assert_int_equal(record_percent(INT64_MAX - 1, INT64_MAX), 99);
    assert_int_equal(record_percent(1, INT64_MAX), 0);
}

/* Against long division by hand for all small counts. */
static void per_cent_is_the_greatest_that_is_reached(void **state)
{
    (void)state;
    for (int count = 1; count <= 300; count++)
        for (int clean = 0; clean <= count; clean++) {
            int percent = record_percent(clean, count);
            assert_true(percent * count <= clean * 100 && (percent + 1) * count > clean * 100);
        }
}

static void each_way_of_grouping_has_its_own_word(void **state)
{
    (void)state;
    for (int a = 0; a < RECORD_GROUPS; a++) {
        assert_true(record_by_word((RecordBy)a)[0] != '\0');
        for (int b = 0; b < a; b++)
            assert_true(strcmp(record_by_word((RecordBy)a), record_by_word((RecordBy)b)) != 0);
    }
    assert_string_equal(record_by_word(RECORD_GROUPS), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(per_cent_is_rounded_down),
        cmocka_unit_test(figures_that_cannot_be_stay_within_bounds),
        cmocka_unit_test(per_cent_is_the_greatest_that_is_reached),
        cmocka_unit_test(each_way_of_grouping_has_its_own_word),
    };
    return cmocka_run_group_tests_name("record", tests, NULL, NULL);
}
