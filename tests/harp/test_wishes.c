/* What a teacher sets, in words. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/harp/wishes.h"

#include <string.h>

static void every_word_is_read(void **state)
{
    (void)state;
    FingeringOptions o = {0};
    Error error = {0};
    assert_true(fingering_wishes(
        " small=G each-octave\tavoid-twos lifted\nstart=off largest-group=3 ", &o, &error));
    assert_int_equal(o.small, SMALL_AT_LETTER);
    assert_int_equal(o.small_letter, LETTER_G);
    assert_true(o.octaves && o.avoid_twos && o.lifted);
    assert_int_equal(o.start, GROUPS_OFF_BEATS);
    assert_int_equal(o.largest_group, 3);
    assert_true(fingering_wishes("small=bottom start=on largest-group=4", &o, &error));
    assert_int_equal(o.small, SMALL_AT_BOTTOM);
    assert_int_equal(o.start, GROUPS_ON_BEATS);
    assert_int_equal(o.largest_group, 4);
    assert_true(o.lifted); /* what is not named stays */
    assert_true(fingering_wishes("", &o, &error));
    assert_true(fingering_wishes("small=top", &o, &error));
    assert_int_equal(o.small, SMALL_ON_TOP);
}

static void other_words_change_nothing(void **state)
{
    (void)state;
    static const char *const bad[] = {"small", "small=", "small=H", "small=g", "small=GG", "Lifted",
        "lifted now", "start=", "largest-group=5", "small=G\x01"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        FingeringOptions o = {.largest_group = 3}, before = o;
        Error error = {0};
        char words[64] = "avoid-twos ";
        strcat(words, bad[i]);
        assert_false(fingering_wishes(words, &o, &error));
        assert_int_equal(error.kind, ERROR_SYNTAX);
        assert_memory_equal(&o, &before, sizeof o);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_word_is_read),
        cmocka_unit_test(other_words_change_nothing),
    };
    return cmocka_run_group_tests_name("wishes", tests, NULL, NULL);
}
