/* How fast a tempo is in the fingers, and numbers that mean another speed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/plan/ladder.h"
#include "tools/passages.h"

#include <string.h>

static Tempo quarters(int64_t num, int64_t den)
{
    return tempo(ratio_int(1), ratio(num, den));
}

static void notes_a_second(void **state)
{
    (void)state;
    char text[LADDER_RATE_MAX];
    /* four semiquavers to a crotchet at 60, eight at a minim of 60; three quavers to 3/8 at 60:
     * calculated */
    assert_true(ratio_equal(ladder_note_rate(quarters(60, 1), ratio(1, 4)), ratio_int(4)));
    assert_true(ratio_equal(
        ladder_note_rate(tempo(ratio_int(2), ratio_int(60)), ratio(1, 4)), ratio_int(8)));
    assert_true(ratio_equal(
        ladder_note_rate(tempo(ratio(3, 2), ratio_int(60)), ratio(1, 2)), ratio_int(3)));
    assert_string_equal(ladder_rate_text(ratio_int(4), text), "4.0");
    assert_string_equal(ladder_rate_text(ratio(449, 100), text), "4.5");
    assert_string_equal(ladder_rate_text(ratio(444, 100), text), "4.4");
    assert_string_equal(ladder_rate_text(ratio(445, 100), text), "4.5");
    assert_string_equal(ladder_rate_text(ratio(999, 100), text), "10.0");
    assert_string_equal(ladder_rate_text(ratio_int(0), text), "0.0");
    assert_string_equal(ladder_rate_text(ratio(1, 0), text), "?");
    int strings[] = {21, 22, 23, 24, 25};
    Ratio lengths[] = {ratio_int(1), ratio(1, 4), ratio_int(1), ratio(1, 4), ratio_int(2)};
    Passage *p = passage_of(strings, lengths, 5, metre(4, 4), ratio_int(0));
    assert_true(ratio_equal(ladder_note_length(p), ratio(1, 4)));
    passage_free(p);
}

static void the_beat_unit_trap(void **state)
{
    (void)state;
    char words[LADDER_WORDS_MAX];
    Ratio semiquaver = ratio(1, 4), quaver = ratio(1, 2);
    assert_true(ladder_trap(tempo(ratio_int(2), ratio_int(60)), ratio_int(1), semiquaver, words));
    assert_string_equal(words,
        "1/2 = 60 is twice as fast as 1/4 = 60 in the metre's own beat: 8.0 notes a second, not "
        "4.0; check which one is meant");
    assert_true(ladder_trap(quarters(120, 1), ratio_int(2), quaver, words));
    assert_string_equal(words,
        "1/4 = 120 is half as fast as 1/2 = 120 in the metre's own beat: 4.0 notes a second, not "
        "8.0; check which one is meant");
    assert_true(ladder_trap(tempo(ratio(3, 2), ratio_int(60)), quaver, quaver, words));
    assert_non_null(strstr(words, "3/8 = 60 is 3 times as fast as 1/8 = 60"));
    assert_true(ladder_trap(quarters(60, 1), ratio(3, 2), quaver, words));
    assert_non_null(strstr(words, "1/4 = 60 is 2/3 as fast as 3/8 = 60"));
    assert_false(ladder_trap(quarters(60, 1), ratio_int(1), quaver, words));
    assert_string_equal(words, "");
    assert_false(ladder_trap(quarters(60, 1), ratio_int(0), quaver, words)); /* free metre */
    /* the longest one: nothing is cut */
    assert_true(ladder_trap(
        tempo(ratio(511, 128), ratio(399999, 1000)), ratio(511, 64), ratio(1, 509), words));
    assert_non_null(strstr(words, "check which one is meant"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(notes_a_second),
        cmocka_unit_test(the_beat_unit_trap),
    };
    return cmocka_run_group_tests_name("ladder speed", tests, NULL, NULL);
}
