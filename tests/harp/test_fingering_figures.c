/* Figures that come back: which do, and that the planner keeps their fingers. What is a figure is
 * common practice, drawn up for this project; all passages are invented. */
#include "figures_fixture.h"

/* ---- which figures come back ---- */

/* "whole 8<0:4 moved 12<4:4": kind, stop, earlier stop, stops. */
static void list_returns(const Passage *p, const FingeringOptions *o, char *out, size_t size)
{
    static const char *const words[] = {"whole", "moved", "begun", "ending"};
    Rules r = rules_of(p, o);
    size_t found = 0, at = 0;
    Return *returns = figures_find(&r, p, &found);
    out[0] = '\0';
    for (size_t i = 0; i < found && at < size; i++)
        at += (size_t)snprintf(out + at, size - at, "%s%s %d<%d:%d", i > 0 ? " " : "",
            words[returns[i].kind], returns[i].first, returns[i].earlier, returns[i].count);
    free(returns);
    rules_free(&r);
}

static void what_comes_back(void **state)
{
    (void)state;
    static const struct {
        const char *body, *returns;
    } cases[] = {
        /* A scale does not come back in itself: nothing in it has an edge at both ends. */
        {"CDEFGABcdefgabc'", ""},
        {"C,,D,,E,,F,,G,,A,,B,,C,D,E,F,G,A,B,CDEFGABcdefgabc'", ""},
        {"c'bagfedcBAGFEDC", ""},
        {"CDEFGABcBAGFEDC", ""}, /* nor does the way back, which is another figure */
        {"CEGcegc'gecGEC", ""},  /* nor an arpeggio */
        {"CDECDECDE z5", "whole 3<0:6"},
        /* Whole, on the same strings: whatever stands beside it, in any rhythm. */
        {"CDEFG z3 CDEFG z3", "whole 5<0:5"},
        {"CDEFGFE CDEFGgfe", "whole 7<0:5"},
        {"CDEFG z3 C/D/E/F/G/ z3", "whole 5<0:5"},
        {"CDE z5 CDE z5", ""}, /* a hand not yet full is no figure */
        {"CDzEFG z CDEzFG z", ""},
        {"CCDDEEFF GG z6 CDEFG z3", "whole 5<0:5"}, /* strokes on one string are one stop */
        /* By the same steps: only where the hand comes to it and leaves it the same way. */
        {"CDEFG z3 DEFGA z3", "moved 5<0:5"},
        {"CDEFG z3 DEFGAGF z", ""},
        {"CEGc z4 FAce z4", ""}, /* G c is a fourth, c e a third */
        {"CEGc z4 FAcf z4", "moved 4<0:4"},
        /* The beginning of another run: while it is most of it. */
        {"CDEFGAB z CDEFGABc", "begun 7<0:7"},
        {"CDEFGABc CDEFGAB z", "begun 8<0:7"},
        {"CDEFG z3 CDEFGAB z", ""},
        {"CDEFGA z2 CDEFGABc", "begun 6<0:6"},
        /* Its end: on the same pulse of the bar only. */
        {"CDEFGABc | z6 A,B, | CDEFGABc", "ending 10<0:8"},
        {"CDEFGABc | z8 | A,B, CDEFGABc", ""},
        {"z6 A,B, | CDEFGABc | z8 | CDEFGABc", "ending 10<2:8"},
        /* Several runs together, and phrases with chords in them. */
        {"CEDF EGFA | G4 BG EC | CEDF EGFA | E4 z4", "whole 12<0:8"},
        {"CEDC z4 CEDC z4", "whole 4<0:4"},
        {"CEDC z4 DFED z4", "moved 4<0:4"},
        {"[CE]DEC z4 [CE]DEC z4", "whole 4<0:4"},
        {"[CE]DEC z4 [CF]DEC z4", ""},
        {"[CE]DEC z4 [DF]EFD z4", "moved 4<0:4"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[400];
        FingeringOptions o = {0};
        Passage *p = tune(cases[i].body);
        list_returns(p, &o, text, sizeof text);
        if (strcmp(text, cases[i].returns) != 0)
            fail_msg("%s: found '%s', not '%s'", cases[i].body, text, cases[i].returns);
        passage_free(p);
    }
}

/* A wish that goes by letters fingers a figure by where it lies. */
static void letters_bind_figures_to_their_strings(void **state)
{
    (void)state;
    const FingeringOptions wishes[] = {
        {.octaves = true}, {.small = SMALL_AT_LETTER, .small_letter = LETTER_G}};
    for (size_t i = 0; i < 2; i++) {
        char text[200];
        Passage *p = tune("CDEFG z3 DEFGA z3 cdefg z3");
        list_returns(p, &wishes[i], text, sizeof text);
        assert_string_equal(text, "moved 10<0:5");
        passage_free(p);
    }
}

/* ---- against trying every pair ---- */

typedef struct {
    size_t first, count;
} Span;

/* Runs as the header has them, told from the strings alone. */
static size_t spans_of(const Rules *r, Span *out)
{
    size_t count = 0;
    for (size_t i = 0; i + 1 < r->count; i++)
        for (size_t k = i + 1; k < r->count; k++) {
            const Stop *a = &r->stops[k - 1], *b = &r->stops[k];
            int step = b->string - a->string;
            int way = r->stops[i + 1].string > r->stops[i].string ? 1 : -1;
            bool on = !b->breath && step * way > 0 && abs(step) <= CROSSING_REACH;
            bool starts = i == 0 || r->stops[i].breath ||
                          (r->stops[i].string - r->stops[i - 1].string) * way <= 0 ||
                          abs(r->stops[i].string - r->stops[i - 1].string) > CROSSING_REACH;
            if (!on || !starts) {
                if (starts && k - i >= FIGURE_STOPS)
                    out[count++] = (Span){i, k - i};
                break;
            }
            if (k + 1 == r->count && k + 1 - i >= FIGURE_STOPS)
                out[count++] = (Span){i, k + 1 - i};
        }
    return count;
}

static bool same_strings(const Rules *r, size_t a, size_t b, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (r->stops[a + i].string != r->stops[b + i].string)
            return false;
    return true;
}

static bool listed(const Return *returns, size_t found, ReturnKind kind, size_t first,
    size_t earlier, size_t count)
{
    for (size_t i = 0; i < found; i++)
        if (returns[i].kind == kind && (size_t)returns[i].first == first &&
            (size_t)returns[i].earlier == earlier && (size_t)returns[i].count == count)
            return true;
    return false;
}

/* Every run that was there before is found, with its first place as the model. */
static void no_run_is_missed(void **state)
{
    (void)state;
    Random random = {.state = 77};
    size_t wholes = 0;
    for (int round = 0; round < 600; round++) {
        Line line = {.count = 0};
        put_random(&line, &random, 50);
        put_again(&line, random_between(&random, 0, 20), 30, random_between(&random, 0, 1));
        put_again(&line, random_between(&random, 0, 20), 30, 0);
        Passage *p = passage_of_line(&line);
        FingeringOptions o = {0};
        Rules r = rules_of(p, &o);
        Span spans[200];
        size_t found = 0, count = spans_of(&r, spans);
        Return *returns = figures_find(&r, p, &found);
        for (size_t b = 1; b < count; b++) {
            size_t a = 0;
            while (a < b && (spans[a].count != spans[b].count ||
                                !same_strings(&r, spans[a].first, spans[b].first, spans[b].count)))
                a++;
            if (a == b)
                continue;
            wholes++;
            if (!listed(
                    returns, found, RETURN_WHOLE, spans[b].first, spans[a].first, spans[b].count))
                fail_msg("round %d: the run on stop %zu was on %zu", round, spans[b].first,
                    spans[a].first);
        }
        free(returns);
        rules_free(&r);
        passage_free(p);
    }
    assert_true(wholes > 500);
}

/* What is found is there: the same steps and rests, on the same strings unless moved. */
static void nothing_is_found_that_is_not_there(void **state)
{
    (void)state;
    Random random = {.state = 78};
    for (int round = 0; round < 1500; round++) {
        Passage *p = passage_random(&random, 150);
        FingeringOptions o = {0};
        Rules r = rules_of(p, &o);
        size_t found = 0;
        Return *returns = figures_find(&r, p, &found);
        for (size_t i = 0; i < found; i++) {
            size_t a = (size_t)returns[i].earlier, b = (size_t)returns[i].first;
            int moved = r.stops[b].string - r.stops[a].string;
            assert_true(a < b && b + (size_t)returns[i].count <= r.count);
            assert_true(returns[i].count >= FIGURE_STOPS);
            assert_true(moved == 0 || returns[i].kind == RETURN_MOVED);
            for (size_t k = 1; k < (size_t)returns[i].count; k++) {
                assert_int_equal(r.stops[b + k].string - r.stops[a + k].string, moved);
                assert_int_equal(r.stops[b + k].breath, r.stops[a + k].breath);
            }
        }
        free(returns);
        rules_free(&r);
        passage_free(p);
    }
}

/* ---- the planner ---- */

static int differing(const Fingering *f, size_t a, size_t b, size_t count)
{
    int differ = 0;
    for (size_t i = 0; i < count; i++)
        differ += f->notes[a + i].finger != f->notes[b + i].finger;
    return differ;
}

/* A phrase between rests is under the same fingers again, and on other strings nearly always. */
static void between_rests_nothing_changes(void **state)
{
    (void)state;
    Random random = {.state = 5};
    int kept = 0, others = 0; /* a run in it may be between the phrases, too, and be kept to that */
    for (int round = 0; round < 500; round++) {
        Line line = {.count = 0};
        int notes = random_between(&random, 4, 14), moved = random_between(&random, -6, 6);
        put_random(&line, &random, notes);
        line.strings[line.count++] = -1;
        int between = random_between(&random, 1, 20);
        put_random(&line, &random, between);
        line.strings[line.count++] = -1;
        put_again(&line, 0, notes, moved);
        Passage *p = passage_of_line(&line);
        Fingering f;
        Error error = {0};
        assert_true(fingering_plan(p, NULL, &f, &error));
        size_t again = p->note_count - (size_t)notes;
        bool same = differing(&f, 0, again, (size_t)notes) == 0;
        if (moved == 0 && !same)
            fail_msg("round %d: %d notes", round, notes);
        kept += moved != 0 && same;
        others += moved != 0;
        fingering_free(&f);
        passage_free(p);
    }
    assert_true(others > 300 && kept * 100 >= others * 97);
}

/* Notes of returns on the same strings that get another finger, by the first search alone and
 * by the whole planner. */
static void count_changed(const Passage *p, int *first_search, int *planned)
{
    FingeringOptions o = {0};
    Rules r = rules_of(p, &o);
    size_t found = 0;
    Return *returns = figures_find(&r, p, &found);
    Fingering f;
    Chain chain;
    Error error = {0};
    assert_true(fingering_plan(p, NULL, &f, &error));
    assert_int_equal(search_chains(&r, 1, &chain), 1);
    uint8_t *fingers = calloc(r.count, 1);
    assert_non_null(fingers);
    for (size_t g = 0; g < chain.count; g++) {
        size_t end = (size_t)chain.groups[g].end, start = (size_t)chain.groups[g].start;
        Hand hand = hand_of(&r, &chain.groups[g]);
        for (size_t i = start; i <= end; i++)
            fingers[i] = (uint8_t)hand_finger(&hand, r.stops[i].string);
    }
    for (size_t i = 0; i < found; i++)
        for (int32_t k = 0; returns[i].kind == RETURN_WHOLE && k < returns[i].count; k++) {
            int32_t here = returns[i].first + k, there = returns[i].earlier + k;
            *first_search += fingers[here] != fingers[there];
            *planned += f.notes[r.stops[here].first].finger != f.notes[r.stops[there].first].finger;
        }
    free(fingers);
    free(returns);
    chain_free(&chain);
    fingering_free(&f);
    rules_free(&r);
}

/* Where surroundings differ the planner keeps most of the fingers all the same. */
static void the_planner_prefers_the_same_fingers(void **state)
{
    (void)state;
    Random random = {.state = 6};
    int first_search = 0, planned = 0;
    for (int round = 0; round < 300; round++) {
        Line line = {.count = 0};
        put_random(&line, &random, 60);
        put_again(&line, 20, random_between(&random, 6, 30), 0);
        put_random(&line, &random, 20);
        Passage *p = passage_of_line(&line);
        count_changed(p, &first_search, &planned);
        passage_free(p);
    }
    print_message("notes changed in figures: %d, without the wish %d\n", planned, first_search);
    assert_true(first_search > 100);
    assert_true(planned * 2 < first_search);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_comes_back),
        cmocka_unit_test(letters_bind_figures_to_their_strings),
        cmocka_unit_test(no_run_is_missed),
        cmocka_unit_test(nothing_is_found_that_is_not_there),
        cmocka_unit_test(between_rests_nothing_changes),
        cmocka_unit_test(the_planner_prefers_the_same_fingers),
    };
    return cmocka_run_group_tests_name("fingering figures", tests, NULL, NULL);
}
