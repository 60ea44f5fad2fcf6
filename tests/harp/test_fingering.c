/* The planner against the rules of the trade; each check carries its source. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "evenhand/harp/fingering.h"

#include <stdio.h>
#include <string.h>

static Fingering plan_of(const Passage *p)
{
    Fingering f;
    Error error = {0};
    assert_true(fingering_plan(p, NULL, &f, &error));
    return f;
}

/* Fingers of the whole plan as digits. */
static const char *digits(const Fingering *f, char *out)
{
    for (size_t i = 0; i < f->note_count; i++)
        out[i] = (char)('0' + f->notes[i].finger);
    out[f->note_count] = '\0';
    return out;
}

static void check_scale(int count, int step, const char *grouping, const char *fingers)
{
    char text[200];
    Passage *p = passage_scale(step > 0 ? 20 : 50, count, step, ratio(1, 2));
    Fingering f = plan_of(p);
    assert_string_equal(fingering_grouping(&f, text, sizeof text), grouping);
    if (fingers != NULL)
        assert_string_equal(digits(&f, text), fingers);
    fingering_free(&f);
    passage_free(p);
}

static void standard_groupings(void **state)
{
    (void)state;
    /* 8 and 15 notes: S. Curcio, Little Lessons 58; the rest common practice or calculated. */
    check_scale(8, 1, "4+4", "43214321");
    check_scale(8, -1, "4+4", "12341234");
    check_scale(15, 1, "4+4+4+3", "432143214321321");
    check_scale(15, -1, "3+4+4+4", "123123412341234");
    check_scale(6, 1, "3+3", "321321");
    check_scale(7, 1, "4+3", "4321321");
    check_scale(7, -1, "3+4", "1231234");
    check_scale(10, 1, "4+3+3", NULL);
    check_scale(22, 1, "4+4+4+4+3+3", NULL);
    check_scale(4, 1, "4", "4321");
    check_scale(3, -1, "3", "123");
    check_scale(2, 1, "2", "21");
    check_scale(1, 1, "1", NULL);
}

static void never_a_group_of_one_in_a_scale(void **state)
{
    (void)state;
    for (int count = 2; count <= 47; count++)
        for (int step = -1; step <= 1; step += 2) {
            Passage *p = passage_scale(step > 0 ? 7 : 54, count, step, ratio(1, 4));
            Fingering f = plan_of(p);
            assert_int_equal(f.group_count, (count + 3) / 4); /* fewest groups [calc] */
            for (size_t g = 0; g < f.group_count; g++)
                assert_in_range(f.groups[g].size, 2, 4);
            fingering_free(&f);
            passage_free(p);
        }
}

static void links_have_their_names(void **state)
{
    (void)state;
    Passage *up = passage_scale(28, 8, 1, ratio(1, 2)),
            *down = passage_scale(35, 8, -1, ratio(1, 2));
    Fingering f = plan_of(up), g = plan_of(down);
    for (int i = 0; i < 8; i++) {
        Link inside = i == 0 ? LINK_START : LINK_WITHIN;
        assert_int_equal(f.notes[i].link, i == 4 ? LINK_CROSS_UNDER : inside);
        assert_int_equal(g.notes[i].link, i == 4 ? LINK_CROSS_OVER : inside);
        assert_int_equal(f.notes[i].place, i % 4 + 1);
        assert_int_equal(f.notes[i].size, 4);
        assert_int_equal(f.notes[i].group, i / 4);
    }
    fingering_free(&f);
    fingering_free(&g);
    passage_free(up);
    passage_free(down);
}

static void a_turn_replaces_and_plays_its_note_once(void **state)
{
    (void)state;
    /* ... 4 3 2 [1] 2 3 4 ...: common practice. Up eight, down seven more. */
    int strings[15];
    Ratio lengths[15];
    char text[32];
    for (int i = 0; i < 15; i++) {
        strings[i] = i < 8 ? 28 + i : 42 - i;
        lengths[i] = ratio(1, 2);
    }
    Passage *p = passage_of(strings, lengths, 15, metre(4, 4), ratio_int(0));
    Fingering f = plan_of(p);
    assert_string_equal(digits(&f, text), "432143212341234");
    assert_int_equal(f.notes[8].link, LINK_REPLACE);
    assert_int_equal(f.notes[8].place, 2);
    assert_int_equal(f.groups[2].pivot, 7);
    assert_int_equal(f.groups[2].size, 4);
    assert_int_equal(f.notes[11].link, LINK_CROSS_OVER);
    fingering_free(&f);
    passage_free(p);
    /* The bottom: 1 2 3 [4] 3 2 1. */
    for (int i = 0; i < 7; i++)
        strings[i] = i < 4 ? 31 - i : 25 + i;
    p = passage_of(strings, lengths, 7, metre(4, 4), ratio_int(0));
    f = plan_of(p);
    assert_string_equal(digits(&f, text), "1234321");
    assert_int_equal(f.notes[4].link, LINK_REPLACE);
    fingering_free(&f);
    passage_free(p);
}

/* Only a rest, a long note or a phrase's end excuses lifting [Melody's Traditional Music,
 * Brackets and Placing, 2013], at any tempo: a scale up and back is all links and one turn. */
static void no_lift_in_a_scale_however_fast(void **state)
{
    (void)state;
    for (int top = 3; top <= 30; top++)
        for (int per_minute = 40; per_minute <= 400; per_minute += 90) {
            int strings[60];
            Ratio lengths[60];
            int count = 2 * top - 1;
            for (int i = 0; i < count; i++) {
                strings[i] = i < top ? 20 + i : 20 + 2 * (top - 1) - i;
                lengths[i] = ratio(1, 4);
            }
            Passage *p = passage_of(strings, lengths, (size_t)count, metre(4, 4), ratio_int(0));
            p->tempo = tempo(ratio_int(1), ratio_int(per_minute));
            Fingering f = plan_of(p);
            int turns = 0;
            for (size_t i = 0; i < f.note_count; i++) {
                assert_int_not_equal(f.notes[i].link, LINK_LIFT);
                turns += f.notes[i].link == LINK_REPLACE;
            }
            assert_int_equal(turns, 1);
            for (size_t g = 0; g < f.group_count; g++)
                assert_in_range(f.groups[g].size, 2, 4);
            fingering_free(&f);
            passage_free(p);
        }
}

static void keys_do_not_matter(void **state)
{
    (void)state;
    char first[32], other[32];
    for (int alter = -1; alter <= 1; alter++) {
        Passage *p = passage_scale(28, 15, 1, ratio(1, 2));
        for (size_t i = 0; i < p->note_count; i++)
            p->notes[i].pitch.alter = (int8_t)alter;
        Fingering f = plan_of(p);
        digits(&f, alter == -1 ? first : other);
        if (alter > -1)
            assert_string_equal(first, other);
        fingering_free(&f);
        passage_free(p);
    }
}

static void marks_are_honoured(void **state)
{
    (void)state;
    Passage *p = passage_scale(28, 7, 1, ratio(1, 2));
    static const uint8_t marks[7] = {3, 2, 1, 4, 3, 2, 1};
    char text[32];
    p->notes[0].mark = 3; /* one mark turns 4+3 into 3+4 */
    Fingering f = plan_of(p);
    assert_string_equal(digits(&f, text), "3214321");
    assert_true(f.notes[0].marked);
    assert_false(f.notes[1].marked);
    fingering_free(&f);
    for (int i = 0; i < 7; i++)
        p->notes[i].mark = marks[i];
    f = plan_of(p);
    assert_string_equal(digits(&f, text), "3214321");
    assert_int_equal(f.broken_marks, 0);
    fingering_free(&f);
    for (int i = 0; i < 7; i++)
        p->notes[i].mark = 1; /* against every rule, and done all the same */
    f = plan_of(p);
    assert_string_equal(digits(&f, text), "1111111");
    assert_true(f.broken_marks > 0);
    fingering_free(&f);
    passage_free(p);
}

static void the_crossing_finger_may_land_alone(void **state)
{
    (void)state;
    /* First crossing: one group and the landing of the crossing finger [common practice]. */
    Passage *p = passage_scale(28, 5, 1, ratio_int(1));
    static const uint8_t marks[5] = {4, 3, 2, 1, 4};
    for (int i = 0; i < 5; i++)
        p->notes[i].mark = marks[i];
    Fingering f = plan_of(p);
    assert_int_equal(f.notes[4].link, LINK_CROSS_UNDER);
    assert_int_equal(f.broken_marks, 0);
    fingering_free(&f);
    passage_free(p);
}

static void chords_take_fingers_from_the_thumb_down(void **state)
{
    (void)state;
    Passage *p = passage_new();
    Error error = {0};
    for (int i = 0; i < 5; i++) {
        Note note = {.onset = ratio_int(0), .length = ratio_int(1), .pitch = pitch_on(28 + i * 2)};
        assert_true(passage_add_note(p, &note, &error));
    }
    assert_true(passage_finish(p, ratio_int(1), &error));
    char text[8];
    Fingering f = plan_of(p);
    assert_string_equal(digits(&f, text), "04321"); /* four fingers, five notes */
    fingering_free(&f);
    p->notes[1].mark = 4; /* above a note without a finger */
    f = plan_of(p);
    assert_string_equal(digits(&f, text), "04321");
    assert_int_equal(f.broken_marks, 0);
    fingering_free(&f);
    p->notes[3].mark = 1; /* the thumb needs the highest: honoured, and counted */
    f = plan_of(p);
    assert_string_equal(digits(&f, text), "04311");
    assert_int_equal(f.broken_marks, 1);
    fingering_free(&f);
    passage_free(p);
}

static void plans_hold_together(void **state)
{
    (void)state;
    Random r = {.state = 20261124};
    for (int round = 0; round < 2000; round++) {
        Passage *p = passage_random(&r, 40);
        Fingering f = plan_of(p);
        assert_int_equal(f.note_count, p->note_count);
        for (size_t i = 0; i < f.note_count; i++) {
            const FingeredNote *note = &f.notes[i];
            assert_in_range(note->finger, 1, 4);
            assert_in_range(note->place, 1, note->size);
            assert_true(note->group >= 0 && (size_t)note->group < f.group_count);
            if (i == 0)
                continue;
            const FingeredNote *before = &f.notes[i - 1];
            assert_true(note->group == before->group || note->group == before->group + 1);
            assert_int_equal(note->group != before->group, note->link != LINK_WITHIN);
            int step = pitch_string(p->notes[i].pitch) - pitch_string(p->notes[i - 1].pitch);
            /* thumb on the higher string in either hand: Curcio 58; Hall, on linking */
            if (note->link == LINK_WITHIN || note->link == LINK_REPLACE)
                assert_true(step == 0 ? note->finger == before->finger
                                      : (step > 0) == (note->finger < before->finger));
            if (note->link == LINK_CROSS_UNDER)
                assert_true(step > 0);
            if (note->link == LINK_CROSS_OVER)
                assert_true(step < 0);
        }
        fingering_free(&f);
        passage_free(p);
    }
}

/* A plan is least: whatever marks are added, the cost never falls; and marking the chosen
 * fingers gives the same plan again. */
static void marks_never_make_it_cheaper(void **state)
{
    (void)state;
    Random r = {.state = 4321};
    for (int round = 0; round < 1500; round++) {
        Passage *p = passage_random(&r, 12);
        Fingering f = plan_of(p);
        for (int tries = 0; tries < 6; tries++) {
            for (size_t i = 0; i < p->note_count; i++)
                p->notes[i].mark =
                    (uint8_t)(random_between(&r, 0, 2) ? 0 : random_between(&r, 1, 4));
            Fingering other = plan_of(p);
            assert_true(other.cost >= f.cost);
            for (size_t i = 0; i < p->note_count; i++)
                if (p->notes[i].mark != 0)
                    assert_int_equal(other.notes[i].finger, p->notes[i].mark);
            fingering_free(&other);
        }
        for (size_t i = 0; i < p->note_count; i++)
            p->notes[i].mark = f.notes[i].finger;
        Fingering again = plan_of(p);
        assert_int_equal(again.cost, f.cost);
        fingering_free(&again);
        fingering_free(&f);
        passage_free(p);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(standard_groupings),
        cmocka_unit_test(never_a_group_of_one_in_a_scale),
        cmocka_unit_test(links_have_their_names),
        cmocka_unit_test(a_turn_replaces_and_plays_its_note_once),
        cmocka_unit_test(no_lift_in_a_scale_however_fast),
        cmocka_unit_test(keys_do_not_matter),
        cmocka_unit_test(marks_are_honoured),
        cmocka_unit_test(the_crossing_finger_may_land_alone),
        cmocka_unit_test(chords_take_fingers_from_the_thumb_down),
        cmocka_unit_test(plans_hold_together),
        cmocka_unit_test(marks_never_make_it_cheaper),
    };
    return cmocka_run_group_tests_name("fingering", tests, NULL, NULL);
}
