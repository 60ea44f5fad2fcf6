/* What a teacher sets, what comes back, the explanations and the check. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "evenhand/harp/explain.h"

#include <stdlib.h>
#include <string.h>

static Fingering plan(const Passage *p, const FingeringOptions *o)
{
    Fingering f;
    Error error = {0};
    assert_true(fingering_plan(p, o, &f, &error));
    return f;
}

static void check_grouping(const Passage *p, FingeringOptions o, const char *grouping)
{
    char text[200];
    Fingering f = plan(p, &o);
    assert_string_equal(fingering_grouping(&f, text, sizeof text), grouping);
    fingering_free(&f);
}

static Passage *up_and_back(int from, int top)
{
    int strings[100];
    Ratio lengths[100];
    int count = 2 * top - 1;
    for (int i = 0; i < count; i++) {
        strings[i] = i < top ? from + i : from + 2 * (top - 1) - i;
        lengths[i] = ratio(1, 4);
    }
    return passage_of(strings, lengths, (size_t)count, metre(4, 4), ratio_int(0));
}

static void the_small_group_goes_where_it_is_asked(void **state)
{
    (void)state;
    Passage *up = passage_scale(28, 15, 1, ratio(1, 4)); /* C4 up */
    Passage *down = passage_scale(42, 15, -1, ratio(1, 4));
    check_grouping(up, (FingeringOptions){.small = SMALL_ON_TOP}, "4+4+4+3");
    check_grouping(down, (FingeringOptions){.small = SMALL_ON_TOP}, "3+4+4+4");
    check_grouping(up, (FingeringOptions){.small = SMALL_AT_BOTTOM}, "3+4+4+4");
    check_grouping(down, (FingeringOptions){.small = SMALL_AT_BOTTOM}, "4+4+4+3");
    FingeringOptions at_g = {.small = SMALL_AT_LETTER, .small_letter = LETTER_G};
    check_grouping(up, at_g, "4+3+4+4"); /* C D E F | G A B | C ... */
    check_grouping(down, at_g, "4+4+3+4");
    passage_free(up);
    passage_free(down);
}

/* The same finger on the same letter in every octave. */
static void octaves_of_four_and_three(void **state)
{
    (void)state;
    Passage *p = passage_scale(28, 22, 1, ratio(1, 4));
    FingeringOptions o = {.octaves = true};
    Fingering f = plan(p, &o);
    char text[60];
    /* the octave that ends on the top note is 4+4 */
    assert_string_equal(fingering_grouping(&f, text, sizeof text), "4+3+4+3+4+4");
    for (size_t i = 0; i + 7 < 18; i++)
        assert_int_equal(f.notes[i].finger, f.notes[i + 7].finger);
    fingering_free(&f);
    passage_free(p);
}

static void twos_can_be_avoided(void **state)
{
    (void)state;
    /* Marks force a choice: 4 4 | 2 or 4 | 3 3 end on different fingers. */
    for (int count = 5; count <= 30; count++) {
        Passage *p = passage_scale(20, count, 1, ratio(1, 4));
        FingeringOptions o = {.avoid_twos = true};
        Fingering f = plan(p, &o);
        for (size_t g = 0; g < f.group_count; g++)
            assert_true(f.groups[g].size != 2 || count == 5); /* 5 = 3 + 2, no other way */
        fingering_free(&f);
        passage_free(p);
    }
}

static void lifted_is_a_style(void **state)
{
    (void)state;
    Passage *p = up_and_back(28, 8);
    FingeringOptions o = {.lifted = true};
    Fingering f = plan(p, &o);
    for (size_t i = 1; i < f.note_count; i++)
        assert_true(f.notes[i].link == LINK_WITHIN || f.notes[i].link == LINK_LIFT);
    Findings found;
    Error error = {0};
    assert_true(fingering_check(p, &o, &found, &error));
    for (size_t i = 0; i < found.count; i++)
        assert_int_not_equal(found.items[i].kind, FINDING_LIFT);
    findings_free(&found);
    fingering_free(&f);
    passage_free(p);
}

static void groups_start_on_the_beat(void **state)
{
    (void)state;
    Passage *p = passage_scale(28, 12, 1, ratio(1, 2)); /* quavers: pulses under every second */
    FingeringOptions on = {.start = GROUPS_ON_BEATS}, off = {.start = GROUPS_OFF_BEATS};
    Fingering f = plan(p, &on), g = plan(p, &off);
    for (size_t i = 0; i < f.group_count; i++)
        assert_int_equal(f.groups[i].first % 2, 0);
    size_t off_beats = 0;
    for (size_t i = 1; i < g.group_count; i++)
        off_beats += g.groups[i].first % 2 == 1;
    assert_true(off_beats >= 2);
    fingering_free(&f);
    fingering_free(&g);
    passage_free(p);
}

static void three_at_most(void **state)
{
    (void)state;
    Passage *p = passage_scale(28, 9, 1, ratio(1, 4));
    check_grouping(p, (FingeringOptions){.largest_group = 3}, "3+3+3");
    passage_free(p);
}

static void a_fixed_finger_goes_before_a_mark(void **state)
{
    (void)state;
    Passage *p = passage_scale(28, 7, 1, ratio(1, 4));
    uint8_t fixed[7] = {0};
    p->notes[0].mark = 4;
    fixed[0] = 3;
    FingeringOptions o = {.fixed = fixed};
    check_grouping(p, o, "3+4");
    passage_free(p);
}

static void fewest_groups(void **state)
{
    (void)state;
    /* 8 and 15: Curcio, Little Lessons 58; 22 and 29 calculated */
    static const struct {
        int notes;
        size_t groups;
    } cases[] = {{8, 2}, {15, 4}, {22, 6}, {29, 8}};
    for (size_t i = 0; i < 4; i++)
        for (int step = -1; step <= 1; step += 2) {
            Passage *p = passage_scale(step > 0 ? 14 : 45, cases[i].notes, step, ratio(1, 4));
            Fingering f = plan(p, NULL);
            assert_int_equal(f.group_count, cases[i].groups);
            fingering_free(&f);
            passage_free(p);
        }
}

/* All fifteen major keys: same strings, same fingers (trade-facts 1.3, common practice). */
static void fifteen_keys_one_fingering(void **state)
{
    (void)state;
    static const int8_t order_of_sharps[7] = {3, 0, 4, 1, 5, 2, 6}; /* F C G D A E B */
    for (int sharps = -7; sharps <= 7; sharps++) {
        Passage *p = up_and_back(28, 15);
        Passage *c = up_and_back(28, 15);
        for (size_t i = 0; i < p->note_count; i++)
            for (int k = 0; k < abs(sharps); k++)
                if (p->notes[i].pitch.letter == order_of_sharps[sharps > 0 ? k : 6 - k])
                    p->notes[i].pitch.alter = sharps > 0 ? 1 : -1;
        Fingering f = plan(p, NULL), g = plan(c, NULL);
        for (size_t i = 0; i < f.note_count; i++)
            assert_int_equal(f.notes[i].finger, g.notes[i].finger);
        fingering_free(&f);
        fingering_free(&g);
        passage_free(p);
        passage_free(c);
    }
}

/* The way back has the groups of the way up on the same strings, mirrored. */
static void up_and_back_mirrors(void **state)
{
    (void)state;
    for (int top = 4; top <= 29; top++) {
        Passage *p = up_and_back(20, top);
        Fingering f = plan(p, NULL);
        for (int i = 0; i < top; i++)
            assert_int_equal(f.notes[i].finger, f.notes[2 * (top - 1) - i].finger);
        fingering_free(&f);
        passage_free(p);
    }
}

/* A run that comes back, between other notes, has the fingers it had. */
static void what_comes_back_is_fingered_the_same(void **state)
{
    (void)state;
    Random r = {.state = 8};
    int differing = 0;
    for (int round = 0; round < 200; round++) {
        int strings[80], count = 0, run = random_between(&r, 5, 12);
        Ratio lengths[80];
        for (int again = 0; again < 3; again++) {
            for (int i = 0; i < run; i++)
                strings[count++] = 28 + i;
            strings[count++] = -1; /* a rest: the surroundings force nothing */
            for (int i = random_between(&r, 2, 6); i > 0; i--)
                strings[count++] = 25 + i;
            strings[count++] = -1;
        }
        for (int i = 0; i < count; i++)
            lengths[i] = ratio(1, 4);
        Passage *p = passage_of(strings, lengths, (size_t)count, metre(4, 4), ratio_int(0));
        Fingering f = plan(p, NULL);
        size_t first = 0;
        for (size_t i = 1; i < p->note_count; i++)
            if (pitch_string(p->notes[i].pitch) == 28 && p->notes[i].breath &&
                i + (size_t)run <= p->note_count &&
                pitch_string(p->notes[i + (size_t)run - 1].pitch) == 28 + run - 1)
                for (size_t k = 0; k < (size_t)run; k++)
                    differing += f.notes[i + k].finger != f.notes[first + k].finger;
        fingering_free(&f);
        passage_free(p);
    }
    assert_int_equal(differing, 0);
}

/* Three strings within the hand's limits are 3 2 1 (1 2 3), the crossing finger of a group of
 * three being 3 [Curcio, Little Lessons 58]; a chord of three too. */
static void triads_are_three_two_one(void **state)
{
    (void)state;
    for (int low = 1; low <= 3; low++)        /* middle to index: at most 3 */
        for (int high = 1; high <= 5; high++) /* index to thumb: at most 5 */
            for (int down = 0; down <= 1; down++) {
                int up[3] = {28, 28 + low, 28 + low + high};
                int strings[3] = {up[down ? 2 : 0], up[1], up[down ? 0 : 2]};
                Ratio lengths[3] = {ratio_int(1), ratio_int(1), ratio_int(1)};
                Passage *p = passage_of(strings, lengths, 3, metre(3, 4), ratio_int(0));
                Fingering f = plan(p, NULL);
                for (int i = 0; i < 3; i++)
                    assert_int_equal(f.notes[i].finger, down ? i + 1 : 3 - i);
                fingering_free(&f);
                passage_free(p);
            }
}

static void a_leap_past_the_hand_is_a_lift(void **state)
{
    (void)state;
    int strings[8] = {10, 11, 12, 13, 50, 49, 48, 47};
    Ratio lengths[8];
    for (int i = 0; i < 8; i++)
        lengths[i] = ratio(1, 2);
    Passage *p = passage_of(strings, lengths, 8, metre(4, 4), ratio_int(0));
    Fingering f = plan(p, NULL);
    assert_int_equal(f.notes[4].link, LINK_LIFT);
    assert_int_equal(f.notes[4].finger, 1);
    assert_int_equal(f.group_count, 2);
    fingering_free(&f);
    passage_free(p);
}

static void plans_come_cheapest_first(void **state)
{
    (void)state;
    Random r = {.state = 9};
    for (int round = 0; round < 300; round++) {
        Passage *p = passage_random(&r, 25);
        Fingering f[3];
        int found;
        Error error = {0};
        assert_true(fingering_plans(p, NULL, 3, f, &found, &error));
        Fingering best = plan(p, NULL);
        assert_true(found >= 1);
        assert_int_equal(f[0].cost, best.cost);
        for (int i = 0; i < found; i++) {
            if (i > 0)
                assert_true(f[i].cost >= f[i - 1].cost);
            fingering_free(&f[i]);
        }
        fingering_free(&best);
        passage_free(p);
    }
}

static void plans_in_words(void **state)
{
    (void)state;
    char text[EXPLAIN_TEXT_MAX];
    Passage *p = passage_scale(28, 15, 1, ratio(1, 4));
    Fingering f = plan(p, NULL);
    assert_string_equal(
        fingering_explain(p, &f, false, text), "4+4+4+3, the 3 on top; links into G4, D5, A5");
    fingering_free(&f);
    passage_free(p);
    p = up_and_back(28, 8);
    f = plan(p, NULL);
    assert_string_equal(
        fingering_explain(p, &f, false, text), "4+4+4+4; links into G4, F4; one replace at C5");
    fingering_free(&f);
    passage_free(p);
    p = passage_scale(7, 47, 1, ratio(1, 4));
    f = plan(p, NULL);
    assert_non_null(strstr(fingering_explain(p, &f, false, text), " more"));
    fingering_free(&f);
    passage_free(p);
}

static bool has(const Findings *f, FindingKind kind, int32_t note)
{
    for (size_t i = 0; i < f->count; i++)
        if (f->items[i].kind == kind && (note < 0 || f->items[i].note == note))
            return true;
    return false;
}

static Findings checked(const Passage *p, const char *marks)
{
    Findings found;
    Error error = {0};
    for (size_t i = 0; i < p->note_count; i++)
        p->notes[i].mark = (uint8_t)(marks[i] == '.' ? 0 : marks[i] - '0');
    assert_true(fingering_check(p, NULL, &found, &error));
    return found;
}

static void the_check_names_what_is_wrong(void **state)
{
    (void)state;
    static const struct {
        const char *marks;
        FindingKind kind;
        int32_t note;
    } cases[] = {{"43214311", FINDING_SAME, 7}, {"43212143", FINDING_CROSSING, -1},
        {"32143211", FINDING_SAME, 7}, {"43211234", FINDING_ALONE, -1},
        {"32143214", FINDING_SMALL, -1}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        Passage *p = passage_scale(28, 8, 1, ratio(1, 2));
        Findings found = checked(p, cases[i].marks);
        if (i != 1 && i != 3)
            assert_true(has(&found, cases[i].kind, cases[i].note));
        assert_true(found.count > 0);
        assert_true(has(&found, FINDING_BEATEN, -1));
        for (size_t k = 0; k < found.count; k++)
            assert_true(strlen(found.items[k].text) > 20);
        findings_free(&found);
        passage_free(p);
    }
    Passage *p = passage_scale(28, 8, 1, ratio(1, 2));
    Findings none = checked(p, "43214321");
    assert_int_equal(none.count, 0);
    findings_free(&none);
    passage_free(p);
}

/* The planner's own plans of scales pass the check. */
static void plans_pass_their_own_check(void **state)
{
    (void)state;
    for (int top = 4; top <= 22; top++) {
        Passage *p = up_and_back(20, top);
        Findings found;
        Error error = {0};
        assert_true(fingering_check(p, NULL, &found, &error));
        for (size_t i = 0; i < found.count; i++)
            assert_int_equal(found.items[i].kind, FINDING_TWO); /* five notes are 3+2 */
        findings_free(&found);
        passage_free(p);
    }
}

static void a_changed_run_is_named(void **state)
{
    (void)state;
    int strings[17];
    Ratio lengths[17];
    for (int i = 0; i < 17; i++) {
        strings[i] = i < 8 ? 28 + i : i == 8 ? -1 : 28 + i - 9;
        lengths[i] = ratio(1, 2);
    }
    Passage *p = passage_of(strings, lengths, 17, metre(4, 4), ratio_int(0));
    Findings found = checked(p, "4321432132143214");
    assert_true(has(&found, FINDING_CHANGED, 8));
    findings_free(&found);
    passage_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_small_group_goes_where_it_is_asked),
        cmocka_unit_test(octaves_of_four_and_three),
        cmocka_unit_test(twos_can_be_avoided),
        cmocka_unit_test(lifted_is_a_style),
        cmocka_unit_test(groups_start_on_the_beat),
        cmocka_unit_test(three_at_most),
        cmocka_unit_test(a_fixed_finger_goes_before_a_mark),
        cmocka_unit_test(fewest_groups),
        cmocka_unit_test(fifteen_keys_one_fingering),
        cmocka_unit_test(up_and_back_mirrors),
        cmocka_unit_test(what_comes_back_is_fingered_the_same),
        cmocka_unit_test(triads_are_three_two_one),
        cmocka_unit_test(a_leap_past_the_hand_is_a_lift),
        cmocka_unit_test(plans_come_cheapest_first),
        cmocka_unit_test(plans_in_words),
        cmocka_unit_test(the_check_names_what_is_wrong),
        cmocka_unit_test(plans_pass_their_own_check),
        cmocka_unit_test(a_changed_run_is_named),
    };
    return cmocka_run_group_tests_name("fingering wishes", tests, NULL, NULL);
}
