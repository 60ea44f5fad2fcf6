/* When pedals and levers move: places, windows, feet. */
#include "setting_fixture.h"

/* Quavers at 60: F4 G4 A4 B4 | C5 D5 E5 F#5: one pedal, at any time after F4. */
static void a_change_with_its_place_and_window(void **state)
{
    (void)state;
    Passage *p = passage_scale(31, 8, 1, ratio(1, 1));
    p->notes[7].pitch.alter = 1;
    Setting s = set(p, "pedal-47");
    assert_int_equal(s.change_count, 1);
    PedalChange c = s.changes[0];
    assert_int_equal(c.note, 7);
    assert_int_equal(c.at, 7); /* the latest */
    assert_int_equal(c.earliest, 1);
    assert_int_equal(c.from, 0);
    assert_int_equal(c.to, 1);
    assert_false(c.left_foot);
    assert_false(c.crowded);
    assert_int_equal(c.milliseconds, 1000);
    char text[200];
    assert_string_equal(pedal_change_text(p, &c, text, sizeof text),
        "just before bar 2, beat 4: F sharp (right foot), at any time from just before bar 1, "
        "beat 2 to bar 2, beat 4");
    setting_free(&s);
    passage_free(p);
}

/* Two pedals wanted at once on one side go one after the other; on two sides they may coincide. */
static void the_window_keeps_a_foot_from_two_moves(void **state)
{
    (void)state;
    /* C D E F G | D# C# */
    static const int strings[] = {28, 29, 30, 31, 32, 29, 28};
    Ratio lengths[7];
    for (int i = 0; i < 7; i++)
        lengths[i] = ratio(1, 1);
    Passage *p = passage_of(strings, lengths, 7, metre(4, 4), ratio_int(0));
    p->notes[5].pitch.alter = 1;
    p->notes[6].pitch.alter = 1;
    Setting s = set(p, "pedal-47");
    assert_int_equal(s.change_count, 2);
    assert_int_equal(s.changes[0].at, 5);
    assert_int_equal(s.changes[1].at, 6);
    setting_free(&s);

    passage_free(p);

    /* C, D, then C# and D# in one chord: D has one slot, C goes before it. */
    static const Pitch pitches[] = {
        {LETTER_C, 0, 4}, {LETTER_D, 0, 4}, {LETTER_C, 1, 4}, {LETTER_D, 1, 4}};
    static const int sizes[] = {1, 1, 2};
    p = chords(pitches, sizes, 3, ratio_int(1));
    s = set(p, "pedal-47");
    assert_int_equal(s.change_count, 2);
    assert_int_equal(s.changes[0].letter, LETTER_C);
    assert_int_equal(s.changes[0].at, 1);
    assert_int_equal(s.changes[1].letter, LETTER_D);
    assert_int_equal(s.changes[1].at, 2);
    assert_true(s.playable && s.trouble_count == 0);
    setting_free(&s);
    passage_free(p);
}

/* Where nothing helps it is called out: both letters in both chords. */
static void two_at_once_on_one_side_are_called_out(void **state)
{
    (void)state;
    static const Pitch left[] = {
        {LETTER_C, 0, 4}, {LETTER_D, 0, 4}, {LETTER_C, 1, 4}, {LETTER_D, 1, 4}};
    static const Pitch both[] = {
        {LETTER_C, 0, 4}, {LETTER_E, 0, 4}, {LETTER_C, 1, 4}, {LETTER_E, -1, 4}};
    static const int sizes[] = {2, 2};
    Passage *p = chords(left, sizes, 2, ratio_int(1));
    Setting s = set(p, "pedal-47");
    assert_int_equal(s.change_count, 2);
    assert_true(s.changes[0].crowded && s.changes[1].crowded);
    assert_true(s.changes[0].left_foot && s.changes[1].left_foot);
    assert_int_equal(s.trouble_count, 1);
    assert_int_equal(s.troubles[0].kind, TROUBLE_CROWDED);
    assert_string_equal(
        s.troubles[0].text, "bar 1, beat 2: before it the left foot moves C and D at once");
    assert_true(s.playable);
    setting_free(&s);
    passage_free(p);
    p = chords(both, sizes, 2, ratio_int(1));
    s = set(p, "pedal-47");
    assert_int_equal(s.change_count, 2);
    assert_false(s.changes[0].crowded || s.changes[1].crowded);
    assert_int_equal(s.trouble_count, 0);
    setting_free(&s);
    passage_free(p);
}

/* Quick notes before the needed one: the pedal goes where there is time. */
static void the_place_is_a_comfortable_one(void **state)
{
    (void)state;
    static const int strings[] = {31, 32, 33, 34, 35, 38};
    const Ratio lengths[] = {
        ratio(1, 4), ratio(1, 1), ratio(1, 8), ratio(1, 8), ratio(1, 8), ratio(1, 1)};
    Passage *p = passage_of(strings, lengths, 6, metre(4, 4), ratio_int(0));
    p->notes[5].pitch.alter = 1; /* F ... F# */
    Setting s = set(p, "pedal-47");
    assert_int_equal(s.changes[0].at, 2); /* after the long G */
    assert_int_equal(s.changes[0].earliest, 1);
    assert_int_equal(s.changes[0].milliseconds, 1000);
    setting_free(&s);
    p->notes[0].length = ratio_int(2); /* F rings over G and into what follows */
    s = set(p, "pedal-47");
    assert_int_equal(s.changes[0].earliest, 5);
    assert_int_equal(s.changes[0].at, 5);
    assert_int_equal(s.trouble_count, 1); /* 2 quarters: beyond its F# at 1 5/8 */
    assert_int_equal(s.troubles[0].kind, TROUBLE_REMARK);
    assert_true(s.playable);
    setting_free(&s);
    passage_free(p);
}

/* F, G, A, F sharp on one string, at 60 quarters a minute. The bounds are [own]. */
static void comfort_begins_at_its_bound(void **state)
{
    (void)state;
    static const struct {
        const char *on;
        int first, second, third; /* the slots, ms */
        int at;                   /* note before which it moves */
    } rows[] = {
        {"pedal-47", 1000, 1000, 200, 3},
        {"pedal-47", 1000, 1000, 199, 2}, /* the latest that is comfortable */
        {"pedal-47", 1000, 200, 199, 2},
        {"pedal-47", 1000, 199, 199, 1},
        {"pedal-47", 150, 150, 150, 3}, /* none is: the latest of the longest */
        {"pedal-47", 150, 151, 150, 2},
        {"lever-34-C", 1000, 1000, 500, 3},
        {"lever-34-C", 1000, 1000, 499, 2},
        {"lever-34-C", 300, 200, 300, 3},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        static const int strings[] = {31, 32, 33, 31};
        const Ratio lengths[] = {ratio(rows[i].first, 1000), ratio(rows[i].second, 1000),
            ratio(rows[i].third, 1000), ratio_int(1)};
        Passage *p = passage_of(strings, lengths, 4, metre(4, 4), ratio_int(0));
        p->notes[3].pitch.alter = 1;
        Setting s = set(p, rows[i].on);
        assert_int_equal(s.change_count + s.flip_count, 1);
        int at = s.change_count == 1 ? s.changes[0].at : s.flips[0].at;
        if (at != rows[i].at)
            fail_msg("row %zu moves before note %d", i, at);
        setting_free(&s);
        passage_free(p);
    }
}

/* The longest of the old notes counts, not the last. */
static void a_ringing_string_is_waited_for(void **state)
{
    (void)state;
    static const int strings[] = {31, 31, 32, 33, 34, 31};
    Ratio lengths[6];
    for (int i = 0; i < 6; i++)
        lengths[i] = ratio_int(1);
    Passage *p = passage_of(strings, lengths, 6, metre(4, 4), ratio_int(0));
    p->notes[0].length = ratio_int(4);
    p->notes[5].pitch.alter = 1;
    Setting s = set(p, "pedal-47");
    assert_int_equal(s.changes[0].earliest, 4);
    assert_int_equal(s.trouble_count, 0);
    setting_free(&s);
    passage_free(p);
}

/* C D B, E, then all three sharp: two slots for three pedals of the left foot. */
static void what_cannot_be_parted_shares_the_latest(void **state)
{
    (void)state;
    static const Pitch pitches[] = {{LETTER_C, 0, 4}, {LETTER_D, 0, 4}, {LETTER_B, -1, 4},
        {LETTER_E, 0, 4}, {LETTER_C, 1, 4}, {LETTER_D, 1, 4}, {LETTER_B, 0, 4}};
    static const int sizes[] = {3, 1, 3};
    Passage *p = chords(pitches, sizes, 3, ratio_int(1));
    Setting s = set(p, "pedal-47");
    assert_int_equal(s.change_count, 3);
    assert_int_equal(s.changes[0].at, 3);
    assert_int_equal(s.changes[1].at, 4);
    assert_int_equal(s.changes[2].at, 4);
    assert_false(s.changes[0].crowded);
    assert_true(s.changes[1].crowded && s.changes[2].crowded);
    assert_int_equal(s.trouble_count, 1);
    setting_free(&s);
    passage_free(p);
}

static void a_hurried_pedal_is_a_remark(void **state)
{
    (void)state;
    Passage *p = passage_scale(28, 2, 0, ratio(1, 17)); /* 58.8 ms at 60 */
    p->notes[1].pitch.alter = 1;
    Setting s = set(p, "pedal-47");
    assert_int_equal(s.trouble_count, 1);
    assert_int_equal(s.troubles[0].kind, TROUBLE_REMARK);
    assert_string_equal(
        s.troubles[0].text, "C#4 (bar 1, beat 18/17): its pedal has only 58 ms to move");
    assert_true(s.playable);
    setting_free(&s);
    passage_free(p);
    p = passage_scale(28, 2, 0, ratio(3, 50)); /* 60 ms */
    p->notes[1].pitch.alter = 1;
    s = set(p, "pedal-47");
    assert_int_equal(s.trouble_count, 0);
    setting_free(&s);
    passage_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_change_with_its_place_and_window),
        cmocka_unit_test(the_window_keeps_a_foot_from_two_moves),
        cmocka_unit_test(two_at_once_on_one_side_are_called_out),
        cmocka_unit_test(the_place_is_a_comfortable_one),
        cmocka_unit_test(a_hurried_pedal_is_a_remark),
        cmocka_unit_test(comfort_begins_at_its_bound),
        cmocka_unit_test(a_ringing_string_is_waited_for),
        cmocka_unit_test(what_cannot_be_parted_shares_the_latest),
    };
    return cmocka_run_group_tests_name("setting_moves", tests, NULL, NULL);
}
