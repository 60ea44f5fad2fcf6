/* test_abc.c - what the ABC reader makes of each construct, where test_abc_peer.c cannot tell:
 * spelling, fingers, accents, breaths, bars, texts, and where we read by ABC 2.1 (December 2011)
 * and abc2midi does not. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "abc_reading.h"

static void expect(const char *body, const char *line)
{
    Error error = {0};
    char out[READING_MAX];
    Passage *p = read_body(body, &error);
    if (p == NULL)
        fail_msg("%s: %d:%d %s", body, error.line, error.column, error.text);
    passage_line(p, out);
    if (strcmp(out, line) != 0)
        fail_msg("%s\n  reads   %s\n  and not %s", body, out, line);
    passage_free(p);
}

static void pitches_are_spelled(void **state)
{
    (void)state;
    expect("^C _D =E ^^F __G", "C#4+1/2 Db4+1/2 E4+1/2 F##4+1/2 Gbb4+1/2");
    expect("C,, C c c''", "C2+1/2 C4+1/2 C5+1/2 C7+1/2");
    expect("[K:Cb]C [K:C#]B", "Cb4+1/2 B#4+1/2");
    expect("[K:G#]F", "F##4+1/2"); /* eight sharps: the first letter gets its second */
    expect("c,' C',", "C5+1/2 C4+1/2");
}

/* Transposition keeps intervals, so it may not turn an E flat into a D sharp. */
static void transposition_spells_as_a_transposed_part(void **state)
{
    (void)state;
    expect("[K:C transpose=2]C E ^F", "D4+1/2 F#4+1/2 G#4+1/2");
    expect("[K:Eb transpose=-3]E A B", "C4+1/2 F4+1/2 G4+1/2");
    expect("[K:C transpose=12]B", "B5+1/2");
    expect("[K:C octave=-1]C [K:D]F", "C3+1/2 F#3+1/2");
    expect("[K:C clef=treble-8]c", "C4+1/2");
}

static void accidentals_spread_as_told(void **state)
{
    (void)state;
    expect("^C c|C", "C#4+1/2 C#5+1/2 C4+1/2");
    expect("^C Z C", "C#4+1/2 @9/2:C4+1/2,");
    expect("[I:propagate-accidentals octave]^C c C", "C#4+1/2 C5+1/2 C#4+1/2");
    expect("[I:propagate-accidentals not]^C C", "C#4+1/2 C4+1/2");
    expect("%%propagate-accidentals not\n^C C", "C#4+1/2 C4+1/2");
    expect("[I:propagate-accidentals pitch]^C c", "C#4+1/2 C#5+1/2");
}

/* A tie joins equal pitches only; what abc2midi joins (C-^C, E4-|1 E8:|2 G8) are two notes. */
static void ties_follow_the_playing_order(void **state)
{
    (void)state;
    expect("^F-|F F", "F#4+1 F4+1/2");
    expect("C-^C", "C4+1/2 C#4+1/2");
    expect("C-z C", "C4+1/2 @1:C4+1/2,");
    expect("|:C4 E4-|1E8:|2G8|]", "C4+2 E4+6 C4+2 E4+2 G4+4");
    expect("|:C4 E4-|1E8:|2E4 G4|]", "C4+2 E4+6 C4+2 E4+4 G4+2");
    expect("[CE]-[CG]", "C4+1 @0:E4+1/2 G4+1/2");
}

/* ABC 2.1, 4.17: lengths inside and after the brackets are multiplied. */
static void chords_multiply_their_lengths(void **state)
{
    (void)state;
    expect("[C2E2]3", "C4+3 @0:E4+3");
    expect("[CE]/", "C4+1/4 @0:E4+1/4");
    expect("[C4E2]D", "C4+2 @0:E4+2 D4+1/2");
    expect("[GEC]", "C4+1/2 @0:E4+1/2 @0:G4+1/2");
    expect("[zz]2C", "@1:C4+1/2");
}

static void lengths_need_no_power_of_two(void **state)
{
    (void)state;
    expect("C2/3 D4/3 E/3", "C4+1/3 D4+2/3 E4+1/6");
    expect("C// D5/ E3//F", "C4+1/8 D4+5/4 E4+3/8 F4+1/2");
}

/* ABC 2.1, 4.13: the metre in force decides; (abc2midi keeps to the header's.) */
static void tuplets_go_by_the_metre_in_force(void **state)
{
    (void)state;
    expect("(5CDEFG", "C4+1/5 D4+1/5 E4+1/5 F4+1/5 G4+1/5");
    expect("[M:6/8](5CDEFG", "C4+3/10 D4+3/10 E4+3/10 F4+3/10 G4+3/10");
    expect("(3:2:2CD E", "C4+1/3 D4+1/3 E4+1/2");
}

static void fingers_accents_and_breaths_are_kept(void **state)
{
    (void)state;
    expect("!4!C!3!D +2+E!1!F", "C4+1/2f4 D4+1/2f3 E4+1/2f2 F4+1/2f1");
    expect("!>!C !accent!D !emphasis!E LF", "C4+1/2' D4+1/2' E4+1/2' F4+1/2'");
    expect("!1!!>!C D", "C4+1/2'f1 D4+1/2");
    expect("[!4!C!2!E!1!c]", "C4+1/2f4 @0:E4+1/2f2 @0:C5+1/2f1");
    expect("!4!!1![Cc]", "C4+1/2f4 @0:C5+1/2f1");
    expect("!>![CE]", "C4+1/2' @0:E4+1/2'");
    expect("!3!{d}C", "C4+1/2f3");
    /* A breath mark stands after its note, so it excuses the lift before the next. */
    expect("C!breath!D E", "C4+1/2 D4+1/2 E4+1/2,");
    expect("C !shortphrase!|D !longphrase!E F", "C4+1/2 D4+1/2, E4+1/2 F4+1/2,");
    expect("C z D", "C4+1/2 @1:D4+1/2,");
}

static void user_symbols_stand_for_decorations(void **state)
{
    (void)state;
    expect("U:W=!1!\nU:n = !>!\nWC nD TE", "C4+1/2f1 D4+1/2' E4+1/2");
    expect("U:L=!nil!\nLC", "C4+1/2");
}

static void macros_are_put_in(void **state)
{
    (void)state;
    expect("m: ~C2 = C/D/C/B,/\n~C2 C2", "C4+1/4 D4+1/4 C4+1/4 B3+1/4 C4+1");
    expect("m: ~n2 = n/o/n/m/\n~C2 ~b2", "C4+1/4 D4+1/4 C4+1/4 B3+1/4 B5+1/4 C6+1/4 B5+1/4 A5+1/4");
}

/* What a macro makes may define; that outlives the line. */
static void macros_may_define(void **state)
{
    (void)state;
    expect("m:~=[U:W=!3!]\n~C\nWD", "C4+1/2 D4+1/2f3");
    expect("m:~=[m:k=EF]\n~C\nkG", "C4+1/2 E4+1/2 F4+1/2 G4+1/2");
}

/* Played otherwise than written by abc2midi; we keep what is written. */
static void ornaments_leave_the_notes_alone(void **state)
{
    (void)state;
    expect("~C2 .D TE !trill!F", "C4+1 D4+1/2 E4+1/2 F4+1/2");
    expect("R:hornpipe\nC D HE !fermata!F", "C4+1/2 D4+1/2 E4+1/2 F4+1/2");
    expect("{gef}C {/d}E", "C4+1/2 E4+1/2");
    expect("r:a b c\nC+:\nD", "C4+1/2 D4+1/2");
}

/* A line break of older ABC is no decoration, so that the notes after it are kept. */
static void old_line_breaks_cost_no_note(void **state)
{
    (void)state;
    expect("C!DE|FG!A", "C4+1/2 D4+1/2 E4+1/2 F4+1/2 G4+1/2 A4+1/2");
    expect("C D!\nE! F", "C4+1/2 D4+1/2 E4+1/2 F4+1/2");
    expect("C \"unclosed D\nE", "C4+1/2 E4+1/2");
}

/* Bars keep the page's numbers, in repeats too; a pickup is 0. */
static void bars_are_numbered_as_on_the_page(void **state)
{
    (void)state;
    static const struct {
        const char *body;
        int numbers[12]; /* of the bar of each note; -1 ends */
    } cases[] = {
        {"C8|D8|E8|", {1, 2, 3, -1}},
        {"C2|D8|E8|", {0, 1, 2, -1}},
        {"|:C8|D8:|E8|", {1, 2, 1, 2, 3, -1}},
        {"|:C2|D8|E6:|F2|G8|", {0, 1, 2, 0, 1, 2, 2, 3, -1}},
        {"C8|1D8:|2E8|F8|", {1, 2, 1, 3, 4, -1}},
        {"C8|Z3|D8|", {1, 5, -1}},
        {"C4||D4|E8|", {0, 1, 2, -1}},
        {"E8|C4||D4|E8|", {1, 2, 2, 3, -1}},
        {"C8", {1, -1}},
        {"C4", {1, -1}},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Passage *p = read_body(cases[i].body, NULL);
        assert_non_null(p);
        for (size_t n = 0; cases[i].numbers[n] >= 0; n++) {
            assert_true(n < p->note_count);
            if (p->bars[p->notes[n].bar].number != cases[i].numbers[n])
                fail_msg("%s: note %zu stands in bar %d, not %d", cases[i].body, n,
                    p->bars[p->notes[n].bar].number, cases[i].numbers[n]);
        }
        passage_free(p);
    }
}

static void a_pickup_begins_inside_its_bar(void **state)
{
    (void)state;
    Passage *p = read_body("z/C/D|E8|F6|", NULL);
    assert_non_null(p);
    assert_true(ratio_equal(p->bars[0].offset, ratio_int(3)));
    assert_true(ratio_equal(p->notes[0].onset, ratio(1, 4))); /* the rest is written first */
    assert_true(ratio_equal(passage_in_bar(p, 1), ratio(7, 2)));
    passage_free(p);
}

static void metres_change_with_the_page(void **state)
{
    (void)state;
    Passage *p = read_body("|:C8|[M:3/4]D6:|E6|", NULL);
    assert_non_null(p);
    static const int nums[] = {4, 3, 4, 3, 3};
    assert_int_equal(p->bar_count, 5);
    for (size_t i = 0; i < 5; i++)
        assert_int_equal(p->bars[i].metre.num, nums[i]);
    passage_free(p);
    p = must_read("X:1\nM:(2+3)/8\nK:C\nCDEFG|\n");
    assert_int_equal(p->metre.part_count, 2);
    assert_int_equal(p->metre.parts[1], 3);
    passage_free(p);
    p = must_read("X:1\nM:none\nK:C\nCDEFG|\n");
    assert_true(metre_free(&p->metre));
    passage_free(p);
}

static void notices_say_what_was_passed_over_once(void **state)
{
    (void)state;
    static const struct {
        const char *body, *notice;
    } cases[] = {
        {"{a}C {b}D", "grace notes"},
        {"C[Q:1/4=90]D[Q:1/4=60]E", "tempo changes"},
        {"!5!C !0!D", "fingers 1 to 4"},
        {"C2>D", "broken rhythm"},
        {"[C2E4]", "as long as its first"},
        {"(3C(3DEFG", "tuplet inside"},
        {"(1CD", "tuplets (2 to (9"},
        {"C D:|E||F:|", "|: is missing"},
        {"|:C|D", "has no :|"},
        {"|:C|:D:|", ":| is missing"},
        {"C ^", "accidental with no note"},
        {"-C", "tie sign"},
        {"C ; D", "no meaning"},
        {"+CEG+ C", "older ABC"},
        {"[K:Cfoo]C", "mode"},
        {"[M:x]C", "metre"},
        {"[L:1/3]C", "unit length"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Passage *p = read_body(cases[i].body, NULL);
        assert_non_null(p);
        if (p->notice_count != 1 || !has_notice(p, cases[i].notice))
            fail_msg("%s: %zu notices, the first: %s", cases[i].body, p->notice_count,
                p->notice_count > 0 ? p->notices[0].text : "none");
        assert_int_equal(p->notices[0].line, 6);
        assert_true(p->notices[0].column >= 1);
        passage_free(p);
    }
}

static void plain_tunes_have_no_notices(void **state)
{
    (void)state;
    static const char *const bodies[] = {
        "|:C!1!D\"Am\"E|1(3FGA:|2B-B|]", "C D:|E|", "$ C` D * y \\"};
    for (size_t i = 0; i < sizeof bodies / sizeof *bodies; i++) {
        Passage *p = read_body(bodies[i], NULL);
        assert_non_null(p);
        if (p->notice_count != 0)
            fail_msg("%s: %s", bodies[i], p->notices[0].text);
        passage_free(p);
    }
}

static void notes_know_their_place_in_the_file(void **state)
{
    (void)state;
    Passage *p = read_body("C [EG]\n  !1!^d \"x\"e", NULL);
    assert_non_null(p);
    static const int places[][2] = {{6, 1}, {6, 4}, {6, 5}, {7, 6}, {7, 12}};
    assert_int_equal(p->note_count, 5);
    for (size_t i = 0; i < 5; i++) {
        assert_int_equal(p->notes[i].line, places[i][0]);
        assert_int_equal(p->notes[i].column, places[i][1]);
    }
    passage_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pitches_are_spelled),
        cmocka_unit_test(transposition_spells_as_a_transposed_part),
        cmocka_unit_test(accidentals_spread_as_told),
        cmocka_unit_test(ties_follow_the_playing_order),
        cmocka_unit_test(chords_multiply_their_lengths),
        cmocka_unit_test(lengths_need_no_power_of_two),
        cmocka_unit_test(tuplets_go_by_the_metre_in_force),
        cmocka_unit_test(fingers_accents_and_breaths_are_kept),
        cmocka_unit_test(user_symbols_stand_for_decorations),
        cmocka_unit_test(macros_are_put_in),
        cmocka_unit_test(macros_may_define),
        cmocka_unit_test(ornaments_leave_the_notes_alone),
        cmocka_unit_test(old_line_breaks_cost_no_note),
        cmocka_unit_test(bars_are_numbered_as_on_the_page),
        cmocka_unit_test(a_pickup_begins_inside_its_bar),
        cmocka_unit_test(metres_change_with_the_page),
        cmocka_unit_test(notices_say_what_was_passed_over_once),
        cmocka_unit_test(plain_tunes_have_no_notices),
        cmocka_unit_test(notes_know_their_place_in_the_file),
    };
    return cmocka_run_group_tests_name("abc", tests, NULL, NULL);
}
