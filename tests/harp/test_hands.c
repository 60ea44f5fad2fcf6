#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/harp/hands.h"
#include "tools/passages.h"

#include <string.h>

static Passage *line(const int *strings, size_t count)
{
    Ratio lengths[16];
    for (size_t i = 0; i < count; i++)
        lengths[i] = ratio(1, 2);
    return passage_of(strings, lengths, count, metre(4, 4), ratio_int(0));
}

static void words_name_hands(void **state)
{
    static const char *const words[HANDS_KINDS] = {
        "right", "left", "octaves", "thirds", "sixths", "tenths", "alternate"};
    static const char *const wrong[] = {"", "r", "righ", "rights", "Right", "bot"};
    (void)state;
    for (int i = 0; i < HANDS_KINDS; i++) {
        Hands hands = HANDS_KINDS;
        assert_true(hands_parse(words[i], strlen(words[i]), &hands));
        assert_int_equal(hands, i);
        assert_non_null(strstr(HANDS_CHOICES, words[i]));
    }
    Hands both = HANDS_RIGHT;
    assert_true(hands_parse("both", 4, &both));
    assert_int_equal(both, HANDS_OCTAVES);
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        Hands hands;
        assert_false(hands_parse(wrong[i], strlen(wrong[i]), &hands));
    }
}

/* What begins low is begun by the left hand, and the groups go by turns. */
static void the_lower_hand_begins(void **state)
{
    static const int up[] = {28, 29, 30, 31, 32, 33, 34, 35};
    static const int down[] = {35, 34, 33, 32, 31, 30, 29, 28};
    static const int same[] = {30, 30, 30, 30};
    static const struct {
        const int *strings;
        size_t count;
        bool left;
    } rows[] = {{up, 8, true}, {down, 8, false}, {same, 4, false}, {up, 1, false}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Passage *p = line(rows[i].strings, rows[i].count);
        bool first = hands_left_first(p);
        assert_int_equal(first, rows[i].left);
        for (size_t g = 0; g < 6; g++)
            assert_true(hands_left_group(first, g) == (g % 2 == 0 ? first : !first));
        passage_free(p);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_name_hands),
        cmocka_unit_test(the_lower_hand_begins),
    };
    return cmocka_run_group_tests_name("hands", tests, NULL, NULL);
}
