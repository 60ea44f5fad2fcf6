/* The bundled passages that ask for decisions: hands together, runs of odd lengths, pedals and
 * levers, what comes back. Each is about what its remark says. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/load.h"
#include "evenhand/harp/instrument.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static Loaded load(const char *name)
{
    char given[200];
    Loaded l;
    Error error = {0};
    Options o = options_default();
    setenv("EVENHAND_DATA", ".", 1);
    snprintf(given, sizeof given, "presets/%s", name);
    if (!load_passage(given, &o, &l, &error))
        fail_msg("%s:%d:%d: %s", error.source, error.line, error.column, error.text);
    return l;
}

static Setting setting_on(const Passage *p, const char *harp)
{
    Instrument instrument;
    Setting setting;
    Error error = {0};
    assert_true(instrument_parse(harp, &instrument, &error));
    assert_true(setting_make(p, &instrument, &setting, &error));
    return setting;
}

static bool has_trouble(const Setting *s, TroubleKind kind)
{
    for (size_t i = 0; i < s->trouble_count; i++)
        if (s->troubles[i].kind == kind)
            return true;
    return false;
}

static size_t count_links(const Fingering *f, Link link)
{
    size_t count = 0;
    for (size_t i = 0; i < f->note_count; i++)
        count += f->notes[i].link == link;
    return count;
}

/* The first note that begins in or after this bar, by the number on the page. */
static size_t first_of_bar(const Passage *p, int number)
{
    size_t i = 0;
    while (i < p->note_count && p->bars[p->notes[i].bar].number < number)
        i++;
    return i;
}

/* `count` notes from a and from b on have the same fingers. */
static void same_fingers(const Fingering *f, size_t a, size_t b, size_t count)
{
    assert_true(a + count <= f->note_count && b + count <= f->note_count);
    for (size_t i = 0; i < count; i++)
        if (f->notes[a + i].finger != f->notes[b + i].finger)
            fail_msg("note %zu: finger %d, but %d at note %zu", b + i + 1, f->notes[b + i].finger,
                f->notes[a + i].finger, a + i + 1);
}

/* ---- both hands -------------------------------------------------------------------------- */

static void hands_lie_as_their_titles_say(void **state)
{
    static const struct {
        const char *given;
        Hands hands;
        int below; /* strings: an octave 7, a third 2, a sixth 5, a tenth 9 [calc] */
    } said[] = {{"21-octaves-with-twists.abc", HANDS_OCTAVES, 7},
        {"22-thirds-both-hands.abc", HANDS_THIRDS, 2},
        {"23-sixths-both-hands.abc", HANDS_SIXTHS, 5},
        {"24-tenths-both-hands.abc", HANDS_TENTHS, 9},
        {"27-hand-over-hand.abc", HANDS_ALTERNATE, 0}};
    (void)state;
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++) {
        Loaded l = load(said[i].given);
        assert_int_equal(l.passage->hands, said[i].hands);
        assert_int_equal(hands_below(l.passage->hands), said[i].below);
        assert_true(
            count_links(&l.fingering, LINK_REPLACE) + count_links(&l.fingering, LINK_HAND) > 0);
        loaded_free(&l);
    }
}

/* All 47 strings between the hands; eight up and four back in each of nine bars; bars two to
 * eight have the same fingers. */
static void twists_cover_the_harp_alike(void **state)
{
    bool touched[128] = {false};
    int strings = 0;
    (void)state;
    Loaded l = load("21-octaves-with-twists.abc");
    for (size_t i = 0; i < l.passage->note_count; i++) {
        int string = pitch_string(l.passage->notes[i].pitch);
        touched[string] = touched[string - 7] = true;
    }
    for (int i = 0; i < 128; i++)
        strings += touched[i];
    assert_int_equal(strings, 47);
    assert_true(count_links(&l.fingering, LINK_REPLACE) >= 17);
    for (int bar = 3; bar <= 8; bar++)
        same_fingers(&l.fingering, first_of_bar(l.passage, 2), first_of_bar(l.passage, bar), 12);
    loaded_free(&l);
}

/* Whole groups by turns: the hand changes and nothing crosses (S. Curcio, Little Lessons 58). */
static void hand_over_hand_crosses_nothing(void **state)
{
    (void)state;
    Loaded l = load("27-hand-over-hand.abc");
    assert_true(count_links(&l.fingering, LINK_HAND) >= 10);
    assert_int_equal(count_links(&l.fingering, LINK_CROSS_UNDER), 0);
    assert_int_equal(count_links(&l.fingering, LINK_CROSS_OVER), 0);
    loaded_free(&l);
}

/* ---- runs -------------------------------------------------------------------------------- */

/* 3+3, 4+3 and 4+3+3 (common practice), mirrored coming down; the six come back joined. */
static void six_seven_and_ten(void **state)
{
    static const char begins[] = "3+3+3+3+4+3+3+4+4+3+3+3+3+4+";
    char grouping[200];
    (void)state;
    Loaded l = load("25-six-seven-ten.abc");
    fingering_grouping(&l.fingering, grouping, sizeof grouping);
    grouping[sizeof begins - 1] = '\0';
    assert_string_equal(grouping, begins);
    int tenths = 0, sevenths = 0, sixths = 0;
    for (size_t i = 0; i < l.passage->note_count; i++) {
        tenths += ratio_equal(l.passage->notes[i].length, ratio(1, 5));
        sevenths += ratio_equal(l.passage->notes[i].length, ratio(1, 7));
        sixths += ratio_equal(l.passage->notes[i].length, ratio(1, 6));
    }
    assert_int_equal(sixths, 3 * 6);
    assert_int_equal(sevenths, 3 * 7);
    assert_int_equal(tenths, 3 * 10);
    loaded_free(&l);
}

/* A group within an arpeggio spans an octave or nearly; the next is of neighbours. */
static void arpeggio_opens_into_scale(void **state)
{
    (void)state;
    Loaded l = load("26-arpeggio-into-scale.abc");
    const Note *notes = l.passage->notes;
    for (int i = 0; i < 2; i++) {
        const FingerGroup *wide = &l.fingering.groups[4 * i], *close = wide + 1;
        assert_int_equal(wide->size, 4);
        assert_true(
            pitch_string(notes[wide->last].pitch) - pitch_string(notes[wide->first].pitch) >= 7);
        assert_int_equal(close->size, 4);
        assert_int_equal(
            pitch_string(notes[close->last].pitch) - pitch_string(notes[close->first].pitch), 3);
    }
    loaded_free(&l);
}

static void a_run_keeps_its_fingers(void **state)
{
    (void)state;
    Loaded l = load("32-a-run-comes-back.abc");
    size_t first = first_of_bar(l.passage, 1);
    same_fingers(&l.fingering, first, first_of_bar(l.passage, 3), 9);
    same_fingers(&l.fingering, first, first_of_bar(l.passage, 5), 9);
    loaded_free(&l);
    /* Four strings, a string higher each time; the last one is left for a long note. */
    l = load("33-steps-of-four.abc");
    for (size_t i = 1; i < 7; i++) {
        same_fingers(&l.fingering, 0, 4 * i, 4);
        same_fingers(&l.fingering, 29, 29 + 4 * i, 4);
    }
    assert_int_equal(count_links(&l.fingering, LINK_CROSS_UNDER), 0);
    assert_int_equal(count_links(&l.fingering, LINK_CROSS_OVER), 0);
    loaded_free(&l);
}

/* ---- pedals and levers ------------------------------------------------------------------- */

typedef struct {
    char letter;
    int to;
    bool left_foot;
} Move;

/* As setting_make finds them, with time for each and never two of one side at once. */
static void check_moves(const char *given, const Move *moves, size_t count)
{
    Loaded l = load(given);
    Setting s = setting_on(l.passage, "pedal-47");
    assert_true(s.playable);
    assert_int_equal(s.change_count, count);
    for (size_t i = 0; i < count; i++) {
        assert_int_equal("CDEFGAB"[s.changes[i].letter], moves[i].letter);
        assert_int_equal(s.changes[i].to, moves[i].to);
        assert_int_equal(s.changes[i].left_foot, moves[i].left_foot);
        assert_false(s.changes[i].crowded);
        assert_true(s.changes[i].milliseconds >= 200);
    }
    setting_free(&s);
    loaded_free(&l);
}

static void pedals_move_on_the_way(void **state)
{
    /* Pedals D C B are the left foot's, E F G A the right foot's (trade-facts 2.2). */
    static const Move feet[] = {{'F', 0, false}, {'B', -1, true}, {'F', 1, false}, {'B', 0, true}};
    static const Move minor[] = {{'G', 0, false}, {'F', 0, false}, {'F', 1, false}, {'G', 1, false},
        {'G', 0, false}, {'F', 0, false}};
    (void)state;
    check_moves("28-pedals-on-the-way.abc", feet, sizeof feet / sizeof feet[0]);
    check_moves("29-melodic-minor.abc", minor, sizeof minor / sizeof minor[0]);
}

static void harmonic_minor_is_set_once(void **state)
{
    (void)state;
    Loaded l = load("31-harmonic-minor.abc");
    Setting s = setting_on(l.passage, "pedal-47");
    assert_int_equal(s.pedals[LETTER_D], 1);
    assert_int_equal(s.pedals[LETTER_F], 1);
    assert_int_equal(s.pedals[LETTER_C], 0);
    assert_int_equal(s.change_count, 0);
    setting_free(&s);
    loaded_free(&l);
}

/* No lever lowers a string: a lever harp tuned in E flat or C has neither D flat nor G flat. */
static void five_flats_are_beyond_levers(void **state)
{
    int count, lever_harps = 0;
    (void)state;
    Loaded l = load("30-flats-and-levers.abc:1");
    const Instrument *table = instrument_table(&count);
    for (int i = 0; i < count; i++) {
        Setting s = setting_on(l.passage, table[i].name);
        bool lever = table[i].kind == HARP_LEVER;
        assert_int_equal(s.playable, !lever);
        assert_int_equal(has_trouble(&s, TROUBLE_NO_LEVER), lever);
        lever_harps += lever;
        setting_free(&s);
    }
    assert_true(lever_harps >= 5);
    loaded_free(&l);
}

/* One letter in two states at once: what pedals cannot do and levers can (trade-facts 2.3, 2.4). */
static void two_states_are_beyond_pedals(void **state)
{
    (void)state;
    Loaded l = load("30-flats-and-levers.abc:2");
    Setting pedal = setting_on(l.passage, "pedal-47"), lever = setting_on(l.passage, "lever-34-Eb");
    assert_false(pedal.playable);
    assert_true(has_trouble(&pedal, TROUBLE_TWO_STATES));
    assert_true(lever.playable);
    assert_int_equal(lever.flip_count, 0);
    setting_free(&pedal);
    setting_free(&lever);
    loaded_free(&l);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hands_lie_as_their_titles_say),
        cmocka_unit_test(twists_cover_the_harp_alike),
        cmocka_unit_test(hand_over_hand_crosses_nothing),
        cmocka_unit_test(six_seven_and_ten),
        cmocka_unit_test(arpeggio_opens_into_scale),
        cmocka_unit_test(a_run_keeps_its_fingers),
        cmocka_unit_test(pedals_move_on_the_way),
        cmocka_unit_test(harmonic_minor_is_set_once),
        cmocka_unit_test(five_flats_are_beyond_levers),
        cmocka_unit_test(two_states_are_beyond_pedals),
    };
    return cmocka_run_group_tests_name("presets that ask for decisions", tests, NULL, NULL);
}
