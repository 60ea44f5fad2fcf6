/* Each bundled passage is what its file says it is. */
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

enum { STRINGS = 47 }; /* of a pedal harp, C1 to G7: trade-facts 2.1 */

static Choices bundled(void)
{
    Choices all = {0};
    Error error = {0};
    setenv("EVENHAND_DATA", ".", 1);
    if (!choices_add_bundled(&all, &error))
        fail_msg("%s:%d:%d: %s", error.source, error.line, error.column, error.text);
    return all;
}

static Loaded load(const char *given)
{
    Loaded l;
    Error error = {0};
    Options o = options_default();
    if (!load_passage(given, &o, &l, &error))
        fail_msg("%s:%d:%d: %s", error.source, error.line, error.column, error.text);
    return l;
}

static void there_are_enough_and_graded(void **state)
{
    (void)state;
    Choices all = bundled();
    assert_true(all.count >= 30);
    for (size_t i = 0; i < all.count; i++) {
        const char *name = strrchr(all.items[i].given, '/') + 1;
        assert_true(name[0] >= '0' && name[0] <= '9' && name[1] >= '0' && name[1] <= '9');
        assert_string_not_equal(all.items[i].title, "(no title)");
    }
    choices_free(&all);
}

/* What moves on the way on a pedal harp of 47 strings, or that it cannot be played there. */
typedef struct {
    const char *given;
    size_t changes;
    bool playable;
} Pedals;

static Pedals pedals_of(const char *given)
{
    static const Pedals moved[] = {{"28-pedals-on-the-way.abc:1", 4, true},
        {"29-melodic-minor.abc:1", 6, true}, {"30-flats-and-levers.abc:2", 0, false}};
    for (size_t i = 0; i < sizeof moved / sizeof moved[0]; i++)
        if (strcmp(strrchr(given, '/') + 1, moved[i].given) == 0)
            return moved[i];
    return (Pedals){given, 0, true};
}

/* Every note of both hands is on the harp, and its pedals are set once but where the passage is
 * about moving them; then never two of one side at once (trade-facts 2.1, 2.2). */
static void check_harp(const Passage *p, const char *given)
{
    Instrument harp;
    Setting setting;
    Error error = {0};
    Pedals wanted = pedals_of(given);
    assert_true(instrument_parse("pedal-47", &harp, &error));
    assert_true(setting_make(p, &harp, &setting, &error));
    for (size_t i = 0; i < setting.trouble_count; i++)
        if (wanted.playable && setting.troubles[i].kind != TROUBLE_REMARK)
            fail_msg("%s: %s", given, setting.troubles[i].text);
    if (setting.playable != wanted.playable)
        fail_msg("%s: playable is %d", given, setting.playable);
    if (setting.change_count != wanted.changes)
        fail_msg("%s: %zu pedals move, not %zu", given, setting.change_count, wanted.changes);
    setting_free(&setting);
}

/* Whole bars; with a pickup the last bar and the pickup make one bar. */
static void check_bars(const Passage *p, const char *given)
{
    Ratio bar = metre_bar(&p->metre);
    Ratio total = p->length;
    if (!ratio_divides(bar, total))
        fail_msg("%s: %lld/%lld quarters are no whole bars", given, (long long)total.num,
            (long long)total.den);
}

/* Fingers 4 3 2 1 going up and 1 2 3 4 going down inside a group, no group of one but a last
 * note's, no hand lifted but after a rest (trade-facts 1.2, 1.4, 1.5, 1.15). */
static void check_fingers(const Passage *p, const Fingering *f, const char *given)
{
    if (f->broken_marks > 0)
        fail_msg("%s: %zu written fingers break a rule", given, f->broken_marks);
    for (size_t i = 1; i < p->note_count; i++) {
        const FingeredNote *n = &f->notes[i], *before = n - 1;
        int way = pitch_string(p->notes[i].pitch) - pitch_string(p->notes[i - 1].pitch);
        bool inside = n->link == LINK_WITHIN || n->link == LINK_REPLACE;
        if (inside && (n->finger > before->finger) != (way < 0))
            fail_msg("%s: finger %d after %d at note %zu", given, n->finger, before->finger, i + 1);
        if (n->link == LINK_LIFT)
            fail_msg("%s: the hand is lifted at note %zu", given, i + 1);
        if (n->size == 1 && i + 1 < p->note_count)
            fail_msg("%s: a group of one at note %zu", given, i + 1);
    }
}

static void each_is_sound(void **state)
{
    (void)state;
    Choices all = bundled();
    for (size_t i = 0; i < all.count; i++) {
        const char *given = all.items[i].given;
        Loaded l = load(given);
        if (l.passage->notice_count > 0)
            fail_msg("%s: %s", given, l.passage->notices[0].text);
        assert_true(l.passage->has_tempo);
        assert_non_null(strstr(l.passage->composer, "invented for this project"));
        check_harp(l.passage, given);
        check_bars(l.passage, given);
        check_fingers(l.passage, &l.fingering, given);
        loaded_free(&l);
    }
    choices_free(&all);
}

/* Groups by their full size, a turning note counted in both: "4+4+4+4" for eight up, seven down. */
static void each_groups_as_it_says(void **state)
{
    static const struct {
        const char *given, *grouping;
        size_t notes;
    } said[] = {
        {"01-first-crossing.abc", "4+1", 5},
        {"02-one-octave-up.abc", "4+4", 8},
        {"03-one-octave-down.abc", "4+4", 8},
        {"04-up-and-turn.abc", "4+4+4+4", 15},
        {"05-six-notes.abc:1", "3+3", 6},
        {"05-six-notes.abc:2", "2+4", 6},
        {"06-seven-notes.abc:1", "3+4", 7},
        {"06-seven-notes.abc:2", "4+3", 7},
        {"07-ten-notes.abc:1", "3+3+4", 10},
        {"07-ten-notes.abc:2", "4+3+3", 10},
        {"07-ten-notes.abc:3", "4+4+2", 10},
        {"08-two-octaves.abc", "4+4+4+3", 15},
        {"11-threes-in-six-eight.abc", "3+3+3+3+3+3+3+3", 23},
        {"12-threes-against-fours.abc", "3+3+3+3+3+3", 17},
        {"14-fours.abc", "4+4+4+4+4+4+4+4", 31},
    };
    (void)state;
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++) {
        char given[200], grouping[200];
        snprintf(given, sizeof given, "presets/%s", said[i].given);
        Loaded l = load(given);
        assert_int_equal(l.passage->note_count, said[i].notes);
        fingering_grouping(&l.fingering, grouping, sizeof grouping);
        if (strcmp(grouping, said[i].grouping) != 0)
            fail_msg("%s: %s, not %s", given, grouping, said[i].grouping);
        loaded_free(&l);
    }
}

static bool has_link(const Fingering *f, Link link)
{
    for (size_t i = 0; i < f->note_count; i++)
        if (f->notes[i].link == link)
            return true;
    return false;
}

static void links_are_met_in_order(void **state)
{
    (void)state;
    Loaded l = load("presets/01-first-crossing.abc");
    assert_int_equal(l.fingering.notes[4].link, LINK_CROSS_UNDER);
    loaded_free(&l);
    l = load("presets/03-one-octave-down.abc");
    assert_int_equal(l.fingering.notes[4].link, LINK_CROSS_OVER);
    loaded_free(&l);
    l = load("presets/04-up-and-turn.abc");
    assert_int_equal(l.fingering.notes[8].link, LINK_REPLACE);
    assert_true(has_link(&l.fingering, LINK_CROSS_UNDER));
    assert_true(has_link(&l.fingering, LINK_CROSS_OVER));
    loaded_free(&l);
}

static void metres_and_pickup(void **state)
{
    static const struct {
        const char *given;
        int num, den;
    } metres[] = {{"05-six-notes.abc:1", 3, 4}, {"05-six-notes.abc:2", 6, 8},
        {"09-waves-in-three.abc", 3, 4}, {"11-threes-in-six-eight.abc", 6, 8},
        {"13-pairs.abc", 2, 4}, {"15-five-beats.abc", 5, 4}, {"20-four-octave-run.abc", 12, 8}};
    (void)state;
    for (size_t i = 0; i < sizeof metres / sizeof metres[0]; i++) {
        char given[200];
        snprintf(given, sizeof given, "presets/%s", metres[i].given);
        Loaded l = load(given);
        assert_int_equal(l.passage->metre.num, metres[i].num);
        assert_int_equal(l.passage->metre.den, metres[i].den);
        loaded_free(&l);
    }
    Loaded l = load("presets/10-with-a-pickup.abc");
    assert_true(ratio_equal(l.passage->bars[0].offset, ratio_int(3)));
    assert_int_equal(l.passage->bars[0].number, 0);
    loaded_free(&l);
}

/* The moved beat accents of threes against fours land on more than one finger at every place. */
static void accents_drift_over_the_fingers(void **state)
{
    (void)state;
    Loaded l = load("presets/12-threes-against-fours.abc");
    assert_int_equal(l.rotation.place_count, 4);
    for (size_t i = 0; i < 4; i++) {
        int fingers = 0;
        for (int finger = 1; finger <= 4; finger++)
            fingers += l.rotation.places[i].by_finger[finger] > 0;
        assert_true(fingers >= 2);
    }
    loaded_free(&l);
}

static void rhythms_have_their_passages(void **state)
{
    static const struct {
        const char *given, *drill;
        int least; /* notes that the rhythm changes */
    } shown[] = {{"13-pairs.abc", "long-short", 28}, {"13-pairs.abc", "short-long", 28},
        {"11-threes-in-six-eight.abc", "long-1-of-3", 21},
        {"11-threes-in-six-eight.abc", "long-3-of-3", 21}, {"14-fours.abc", "long-1-of-4", 28},
        {"14-fours.abc", "long-4-of-4", 28}, {"16-triplets.abc", "long-2-of-3", 24}};
    (void)state;
    for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++) {
        char given[200];
        Error error = {0};
        Drill drill;
        DrillSpec spec = drill_plain();
        snprintf(given, sizeof given, "presets/%s", shown[i].given);
        Loaded l = load(given);
        assert_true(drill_parse(shown[i].drill, &spec, &error));
        assert_true(drill_build(l.passage, &l.fingering, &l.rotation, &spec, &drill, &error));
        int changed = 0;
        for (size_t k = 0; k < drill.note_count; k++)
            changed += drill.notes[k].change != 0;
        if (changed < shown[i].least)
            fail_msg("%s %s: %d notes changed", given, shown[i].drill, changed);
        drill_free(&drill);
        loaded_free(&l);
    }
}

/* What a note says of the session is in it. */
static void sessions_are_as_their_notes_say(void **state)
{
    static const struct {
        const char *given, *words;
        int threes; /* steps with the long note of three */
        size_t places;
    } said[] = {{"11-threes-in-six-eight.abc", "long note in each place of three", 3, 3},
        {"20-four-octave-run.abc", "long note in each place of three", 3, 3},
        {"14-fours.abc", "choose long-1-of-4", 0, 8},
        {"15-five-beats.abc", "all ten quavers", 0, 10}};
    (void)state;
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++) {
        char given[200];
        int threes = 0;
        snprintf(given, sizeof given, "presets/%s", said[i].given);
        Loaded l = load(given);
        for (size_t k = 0; k < l.session.count; k++)
            threes += l.session.steps[k].drill.rhythm.notes == 3;
        assert_non_null(strstr(l.passage->remark, said[i].words));
        assert_int_equal(threes, said[i].threes);
        assert_int_equal(l.rotation.place_count, said[i].places);
        loaded_free(&l);
    }
}

/* Both hands touch every string of a pedal harp between them, and turn inside. */
static void octaves_cover_the_harp(void **state)
{
    bool touched[128] = {false};
    int strings = 0, turns = 0;
    (void)state;
    Loaded l = load("presets/19-octaves-both-hands.abc");
    assert_int_equal(l.passage->hands, HANDS_OCTAVES);
    for (size_t i = 0; i < l.passage->note_count; i++) {
        int string = pitch_string(l.passage->notes[i].pitch);
        touched[string] = touched[string - 7] = true;
        turns += l.fingering.notes[i].link == LINK_REPLACE;
    }
    for (int i = 0; i < 128; i++)
        strings += touched[i];
    assert_int_equal(strings, STRINGS);
    assert_true(turns >= 6);
    loaded_free(&l);
}

static void sextuplets_are_fast(void **state)
{
    (void)state;
    Loaded l = load("presets/18-fast-sextuplets.abc");
    int sixths = 0;
    for (size_t i = 0; i < l.passage->note_count; i++)
        sixths += ratio_equal(l.passage->notes[i].length, ratio(1, 6));
    assert_int_equal(sixths, 42);
    loaded_free(&l);
}

/* Scale, then arpeggio, each after a rest. */
static void arpeggio_follows_scale(void **state)
{
    (void)state;
    Loaded l = load("presets/17-scale-and-arpeggio.abc");
    assert_int_equal(l.passage->note_count, 15 + 7 + 15 + 7);
    assert_int_equal(l.fingering.notes[15].link, LINK_START);
    assert_int_equal(l.fingering.notes[15].size, 4);
    assert_int_equal(l.fingering.notes[19].size, 3);
    loaded_free(&l);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(there_are_enough_and_graded),
        cmocka_unit_test(each_is_sound),
        cmocka_unit_test(each_groups_as_it_says),
        cmocka_unit_test(links_are_met_in_order),
        cmocka_unit_test(metres_and_pickup),
        cmocka_unit_test(accents_drift_over_the_fingers),
        cmocka_unit_test(rhythms_have_their_passages),
        cmocka_unit_test(sessions_are_as_their_notes_say),
        cmocka_unit_test(octaves_cover_the_harp),
        cmocka_unit_test(sextuplets_are_fast),
        cmocka_unit_test(arpeggio_follows_scale),
    };
    return cmocka_run_group_tests_name("presets", tests, NULL, NULL);
}
