/* The metronome's numbers. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/plan/metronome.h"

static void the_series(void **state)
{
    (void)state;
    /* 40 to 208: Oxford Dictionary of Music, Metronome; the steps 2, 3, 4, 6, 8: common practice */
    assert_int_equal(metronome_number(0), 40);
    assert_int_equal(metronome_number(METRONOME_COUNT - 1), 208);
    for (int i = 1; i < METRONOME_COUNT; i++) {
        int low = metronome_number(i - 1), step = metronome_number(i) - low;
        int expected = low < 60 ? 2 : low < 72 ? 3 : low < 120 ? 4 : low < 144 ? 6 : 8;
        assert_int_equal(step, expected);
        /* each 3.4 to 5.6 per cent: calculated */
        assert_in_range(step * 1000 / low, 33, 56);
    }
    assert_int_equal(metronome_number(-1), -1);
    assert_int_equal(metronome_number(METRONOME_COUNT), -1);
}

static void steps_between_marks(void **state)
{
    (void)state;
    assert_true(ratio_equal(metronome_step(ratio_int(72), 1), ratio_int(76)));
    assert_true(ratio_equal(metronome_step(ratio_int(72), -1), ratio_int(69)));
    assert_true(ratio_equal(metronome_step(ratio_int(73), 1), ratio_int(76)));
    assert_true(ratio_equal(metronome_step(ratio(145, 2), -1), ratio_int(72)));
    assert_true(ratio_equal(metronome_step(ratio_int(40), 38), ratio_int(208)));
    assert_true(ratio_equal(metronome_step(ratio_int(208), 1), ratio_int(208)));
    assert_true(ratio_equal(metronome_step(ratio_int(230), 1), ratio_int(230)));
    assert_true(ratio_equal(metronome_step(ratio_int(230), -1), ratio_int(208)));
    assert_true(ratio_equal(metronome_step(ratio_int(30), 1), ratio_int(40)));
    assert_true(ratio_equal(metronome_step(ratio_int(30), -1), ratio_int(30)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_series),
        cmocka_unit_test(steps_between_marks),
    };
    return cmocka_run_group_tests_name("metronome", tests, NULL, NULL);
}
