/* What a passage asks of pedals and levers: keys, examples with their sentences, way out. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "setting_fixture.h"

#include <stdio.h>
#include <string.h>

static void check_text(const Setting *s, bool utf8, const char *want)
{
    char text[300];
    assert_string_equal(setting_text(s, utf8, text, sizeof text), want);
}

/* Alterations of a major key by its place in the circle of fifths: -7 C flat .. 7 C sharp. */
static void key_alterations(int fifths, int8_t alter[7])
{
    static const int sharps[7] = {
        LETTER_F, LETTER_C, LETTER_G, LETTER_D, LETTER_A, LETTER_E, LETTER_B};
    memset(alter, 0, 7);
    for (int i = 0; i < fifths; i++)
        alter[sharps[i]] = 1;
    for (int i = 0; i < -fifths; i++)
        alter[sharps[6 - i]] = -1;
}

static Passage *scale_in(int fifths, int from, int count)
{
    Passage *p = passage_scale(from, count, 1, ratio(1, 4));
    key_alterations(fifths, p->key_alter);
    for (size_t i = 0; i < p->note_count; i++)
        p->notes[i].pitch.alter = p->key_alter[p->notes[i].pitch.letter];
    return p;
}

/* [calculated] Over every string with a disc. */
static void pedals_play_all_15_major_keys_without_a_change(void **state)
{
    (void)state;
    static const char *const harps[] = {"pedal-46", "pedal-47", "pedal-48"};
    for (int fifths = -7; fifths <= 7; fifths++)
        for (int k = 0; k < 3; k++) {
            Passage *p = scale_in(fifths, 9, k == 2 ? 46 : 45); /* E1 to the top */
            Setting s = set(p, harps[k]);
            assert_true(s.playable);
            assert_int_equal(s.change_count, 0);
            assert_memory_equal(s.pedals, p->key_alter, sizeof s.pedals);
            setting_free(&s);
            passage_free(p);
        }
}

/* Harmonic and rising melodic minor: only those of G sharp, D sharp and A sharp need a double
 * sharp and cannot be set. [calculated] */
static void three_minor_keys_need_another_spelling(void **state)
{
    (void)state;
    for (int fifths = -7; fifths <= 7; fifths++)
        for (int melodic = 0; melodic < 2; melodic++) {
            Passage *p = scale_in(fifths, 28, 15);
            int major = ((fifths * 4) % 7 + 7) % 7; /* letter of the relative major */
            for (size_t i = 0; i < p->note_count; i++) {
                Pitch *n = &p->notes[i].pitch;
                bool raised =
                    n->letter == (major + 4) % 7 || (melodic == 1 && n->letter == (major + 3) % 7);
                n->alter = (int8_t)(n->alter + raised);
            }
            Setting s = set(p, "pedal-47");
            assert_int_equal(s.playable, fifths < 5); /* 5, 6, 7 sharps: G#, D#, A# minor */
            assert_int_equal(s.change_count, 0);
            for (size_t i = 0; i < s.trouble_count; i++)
                assert_int_equal(s.troubles[i].kind, TROUBLE_DOUBLE);
            setting_free(&s);
            passage_free(p);
        }
}

/* [calculated]: the tuning key and seven steps sharpward; the other 7 not. */
static void levers_play_eight_major_keys(void **state)
{
    (void)state;
    static const struct {
        const char *tuning;
        int first, keys; /* fifths; of the 15 keys */
    } rows[] = {{"Eb", -3, 8}, {"C", 0, 8}, {"F", -1, 8}, {"Bb", -2, 8}, {"Ab", -4, 8},
        {"G", 1, 7}}; /* G's eighth is G sharp major, none of the 15 */
    for (size_t r = 0; r < sizeof rows / sizeof *rows; r++)
        for (int fifths = -7; fifths <= 7; fifths++) {
            char name[40];
            snprintf(name, sizeof name, "lever-34-%s", rows[r].tuning);
            Passage *p = scale_in(fifths, 14, 34);
            Setting s = set(p, name);
            bool want = fifths >= rows[r].first && fifths < rows[r].first + rows[r].keys;
            if (s.playable != want)
                fail_msg("%s, %d fifths: playable %d", name, fifths, s.playable);
            assert_int_equal(s.flip_count, 0);
            setting_free(&s);
            passage_free(p);
        }
}

static void drawn_as_the_trade_draws_it(void **state)
{
    (void)state;
    Passage *p = scale_in(-3, 28, 8);
    Setting s = set(p, "pedal-47");
    check_text(&s, false, "D C Bb | Eb F G Ab");
    check_text(&s, true, "D♮ C♮ B♭ | E♭ F♮ G♮ A♭");
    setting_free(&s);
    passage_free(p);
    p = scale_in(7, 28, 3); /* letters never needed: the key's */
    s = set(p, "pedal-47");
    check_text(&s, true, "D♯ C♯ B♯ | E♯ F♯ G♯ A♯");
    setting_free(&s);
    passage_free(p);
}

static void levers_in_words(void **state)
{
    (void)state;
    static const struct {
        int fifths;
        const char *says;
    } rows[] = {{-3, "all levers down"}, {-2, "raise every A"}, {2, "raise every C, E, F, A, B"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Passage *p = scale_in(rows[i].fifths, 28, 8);
        Setting s = set(p, "lever-34-Eb");
        check_text(&s, false, rows[i].says);
        setting_free(&s);
        passage_free(p);
    }
    Passage *p = scale_in(-3, 28, 15); /* C4-C6 */
    p->notes[3].pitch.alter = 1;       /* F#4, not F#5 */
    p->notes[2].pitch.alter = 0;       /* E4 */
    Setting s = set(p, "lever-34-Eb");
    check_text(&s, true, "raise E♭4 F4");
    char text[100];
    assert_string_equal(
        setting_text_named(&s, NAMES_HARP, false, text, sizeof text), "raise Eb4 F3");
    assert_true(s.playable);
    setting_free(&s);
    for (size_t i = 0; i < p->note_count; i++)
        if (p->notes[i].pitch.letter == LETTER_A)
            p->notes[i].pitch.alter = 0;
    p->key_alter[LETTER_A] = 0;
    s = set(p, "lever-34-Eb");
    check_text(&s, false, "raise every A and Eb4 F4");
    setting_free(&s);
    passage_free(p);
}

/* Each trouble on a passage of one chord, with its sentence. [enharmonics calculated] */
static void troubles_with_their_way_out(void **state)
{
    (void)state;
    static const struct {
        const char *on;
        Pitch chord[3];
        int size;
        TroubleKind kind;
        const char *says;
    } rows[] = {
        {"pedal-47", {{LETTER_C, 0, 4}, {LETTER_C, 1, 5}}, 2, TROUBLE_TWO_STATES,
            "C#5 (bar 1, beat 1): the letter C cannot be natural and sharp at once; play C#5 as "
            "Db5"},
        {"pedal-47", {{LETTER_C, 0, 4}, {LETTER_C, 1, 5}, {LETTER_D, 0, 5}}, 3,
            TROUBLE_TWO_STATES, /* D is taken: the other one moves */
            "C#5 (bar 1, beat 1): the letter C cannot be natural and sharp at once; play C4 as "
            "B#3"},
        {"pedal-47", {{LETTER_C, 0, 4}, {LETTER_C, 1, 5}, {LETTER_D, -1, 5}}, 3,
            TROUBLE_TWO_STATES, /* so is the string of D flat */
            "C#5 (bar 1, beat 1): the letter C cannot be natural and sharp at once; play C4 as "
            "B#3"},
        {"pedal-47", {{LETTER_G, 0, 4}, {LETTER_G, -1, 5}, {LETTER_F, 0, 5}}, 3,
            TROUBLE_TWO_STATES, /* G has no other name, F is taken */
            "Gb5 (bar 1, beat 1): the letter G cannot be natural and flat at once; leave one out, "
            "or play them one after the other"},
        {"pedal-47", {{LETTER_F, 2, 4}}, 1, TROUBLE_DOUBLE,
            "F##4 (bar 1, beat 1): no pedal gives a double sharp; write it as G4"},
        {"pedal-47", {{LETTER_C, -2, 4}}, 1, TROUBLE_DOUBLE,
            "Cbb4 (bar 1, beat 1): no pedal gives a double flat; write it as Bb3"},
        {"lever-34-C", {{LETTER_B, 2, 3}}, 1, TROUBLE_DOUBLE,
            "B##3 (bar 1, beat 1): no lever gives a double sharp; write it as C#4"},
        {"pedal-47", {{LETTER_D, 1, 1}}, 1, TROUBLE_NO_DISC,
            "D#1 (bar 1, beat 1): this string has no disc, its pedal does not change it; play it "
            "as Eb1"},
        {"pedal-47", {{LETTER_C, 1, 1}}, 1, TROUBLE_NO_DISC, /* Db1 has no disc either */
            "C#1 (bar 1, beat 1): this string has no disc, its pedal does not change it; tune it "
            "by hand before, or play an octave higher"},
        {"pedal-47", {{LETTER_B, 0, 0}}, 1, TROUBLE_LOW,
            "B0 (bar 1, beat 1): below the lowest string, C1; it is there 1 octave higher"},
        {"pedal-47", {{LETTER_A, 0, 7}}, 1, TROUBLE_HIGH,
            "A7 (bar 1, beat 1): above the highest string, G7; it is there 1 octave lower"},
        {"lever-22", {{LETTER_B, 0, 2}}, 1, TROUBLE_LOW,
            "B2 (bar 1, beat 1): below the lowest string, C4; it is there 2 octaves higher"},
        {"lever:C4:3:C", {{LETTER_G, 0, 4}}, 1, TROUBLE_HIGH,
            "G4 (bar 1, beat 1): above the highest string, E4"},
        {"lever-34-Eb", {{LETTER_D, -1, 4}}, 1, TROUBLE_NO_LEVER,
            "Db4 (bar 1, beat 1): the string is tuned natural and its lever only makes it a "
            "semitone higher; play it as C#4"},
        {"lever-34-Eb", {{LETTER_B, 1, 4}}, 1, TROUBLE_NO_LEVER,
            "B#4 (bar 1, beat 1): the string is tuned flat and its lever only makes it a semitone "
            "higher; play it as C5"},
        {"lever-34-G", {{LETTER_F, 0, 4}}, 1, TROUBLE_NO_LEVER, /* E# : E's lever */
            "F4 (bar 1, beat 1): the string is tuned sharp and its lever only makes it a semitone "
            "higher; play it as E#4"},
        {"lever:C4:1:C", {{LETTER_C, -1, 4}}, 1, TROUBLE_NO_LEVER,
            "Cb4 (bar 1, beat 1): the string is tuned natural and its lever only makes it a "
            "semitone higher; another tuning is needed"},
        {"lever-34-C", {{LETTER_C, 0, 4}, {LETTER_C, 1, 4}, {LETTER_D, 0, 5}}, 3,
            TROUBLE_TWO_STATES, /* levers: octaves differ, but one string does not; and Db needs
                                 * another tuning */
            "C#4 (bar 1, beat 1): one string C cannot be natural and sharp at once; play C4 as "
            "B#3"},
    };
    static const TroubleKind one_each[] = {TROUBLE_LOW, TROUBLE_HIGH, TROUBLE_NO_DISC,
        TROUBLE_DOUBLE, TROUBLE_TWO_STATES, TROUBLE_NO_LEVER};
    unsigned seen = 0;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Passage *p = chords(rows[i].chord, &rows[i].size, 1, ratio_int(1));
        p->hands = HANDS_ALTERNATE; /* nothing is said of reach */
        Setting s = set(p, rows[i].on);
        assert_int_equal(s.trouble_count, 1);
        assert_int_equal(s.troubles[0].kind, rows[i].kind);
        assert_string_equal(s.troubles[0].text, rows[i].says);
        assert_false(s.playable);
        seen |= 1u << s.troubles[0].kind;
        setting_free(&s);
        passage_free(p);
    }
    for (size_t i = 0; i < sizeof one_each / sizeof *one_each; i++)
        assert_true(seen >> one_each[i] & 1);
}

static void octaves_may_differ_on_levers_only(void **state)
{
    (void)state;
    static const Pitch chord[] = {{LETTER_C, 0, 4}, {LETTER_C, 1, 5}};
    static const int size = 2;
    Passage *p = chords(chord, &size, 1, ratio_int(1));
    Setting s = set(p, "lever-34-C");
    assert_true(s.playable && s.flip_count == 0);
    check_text(&s, false, "raise C5");
    setting_free(&s);
    passage_free(p);
}

static void a_flip_says_what_it_takes(void **state)
{
    (void)state;
    Passage *p = passage_scale(31, 8, 1, ratio(1, 2)); /* F4 .. F5, quavers at 60 */
    p->notes[7].pitch = (Pitch){LETTER_F, 1, 4};
    static const struct {
        Hands hands;
        const char *says;
    } rows[] = {
        {HANDS_RIGHT, "just before bar 1, beat 9/2: flip a lever up for F#4 (bar 1, beat 9/2); the "
                      "left hand is free for it, 500 ms"},
        {HANDS_LEFT, "just before bar 1, beat 9/2: flip a lever up for F#4 (bar 1, beat 9/2); the "
                     "left hand leaves the strings, 500 ms"},
    };
    for (size_t i = 0; i < 2; i++) {
        p->hands = rows[i].hands;
        Setting s = set(p, "lever-34-Eb");
        assert_int_equal(s.flip_count, 1);
        assert_int_equal(s.flips[0].string, 31);
        assert_true(s.flips[0].raise);
        assert_int_equal(s.flips[0].earliest, 1);
        assert_int_equal(s.flips[0].at, 7);
        assert_int_equal(s.trouble_count, 1);
        assert_int_equal(s.troubles[0].kind, TROUBLE_FLIP);
        assert_string_equal(s.troubles[0].text, rows[i].says);
        assert_true(s.playable);
        setting_free(&s);
    }
    passage_free(p);
}

/* Right below C3 [src: orchestrationonline, harp], left above G6 [own bound]: remarks. */
static void reach_of_each_hand_is_a_remark(void **state)
{
    (void)state;
    static const struct {
        int from, count;
        Hands hands;
        const char *says; /* NULL: nothing */
    } rows[] = {
        {21, 8, HANDS_RIGHT, NULL},
        {20, 8, HANDS_RIGHT,
            "B2 (bar 1, beat 1): the right hand is awkward below C3; 1 of its "
            "notes lies there"},
        {19, 8, HANDS_RIGHT,
            "A2 (bar 1, beat 1): the right hand is awkward below C3; 2 of its "
            "notes lie there"},
        {14, 8, HANDS_LEFT, NULL},
        {39, 8, HANDS_LEFT, NULL}, /* to G6 */
        {40, 8, HANDS_LEFT,
            "A6 (bar 2, beat 4): the left hand is clumsy above G6; 1 of its notes "
            "lies there"},
        {21, 8, HANDS_OCTAVES, NULL}, /* the left is an octave lower */
        {14, 8, HANDS_ALTERNATE, NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Passage *p = passage_scale(rows[i].from, rows[i].count, 1, ratio_int(1));
        p->hands = rows[i].hands;
        Setting s = set(p, "pedal-47");
        assert_int_equal(s.trouble_count, rows[i].says != NULL ? 1 : 0);
        if (rows[i].says != NULL) {
            assert_int_equal(s.troubles[0].kind, TROUBLE_REMARK);
            assert_string_equal(s.troubles[0].text, rows[i].says);
        }
        assert_true(s.playable);
        setting_free(&s);
        passage_free(p);
    }
}

static void the_left_hand_counts_where_both_play(void **state)
{
    (void)state;
    Passage *p = passage_scale(14, 8, 1, ratio_int(1)); /* C2 up; the left from C1 */
    Setting s = set(p, "pedal-46");
    assert_true(s.playable);
    setting_free(&s);
    p->hands = HANDS_OCTAVES;
    s = set(p, "pedal-46");
    assert_false(s.playable);
    Instrument h = harp("pedal-46");
    setting_free(&s);
    Error error = {0};
    assert_true(setting_make_named(p, &h, NAMES_HARP, &s, &error));
    assert_string_equal(s.troubles[0].text,
        "C7 (bar 1, beat 1, left hand): below the lowest string, D7; it is there 1 octave higher");
    setting_free(&s);
    passage_free(p);
}

static void an_empty_passage_is_refused(void **state)
{
    (void)state;
    Passage *p = passage_new();
    Instrument h = harp("pedal-47");
    Setting s;
    Error error = {0};
    assert_false(setting_make(p, &h, &s, &error));
    assert_int_equal(error.kind, ERROR_EMPTY);
    passage_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pedals_play_all_15_major_keys_without_a_change),
        cmocka_unit_test(three_minor_keys_need_another_spelling),
        cmocka_unit_test(levers_play_eight_major_keys),
        cmocka_unit_test(drawn_as_the_trade_draws_it),
        cmocka_unit_test(levers_in_words),
        cmocka_unit_test(troubles_with_their_way_out),
        cmocka_unit_test(octaves_may_differ_on_levers_only),
        cmocka_unit_test(a_flip_says_what_it_takes),
        cmocka_unit_test(reach_of_each_hand_is_a_remark),
        cmocka_unit_test(the_left_hand_counts_where_both_play),
        cmocka_unit_test(an_empty_passage_is_refused),
    };
    return cmocka_run_group_tests_name("setting", tests, NULL, NULL);
}
