/* Figures to and fro on one placement of the hand [common practice]: what is one, its fingers and
 * what is said of it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "evenhand/formats/abc.h"
#include "evenhand/harp/explain.h"

#include <stdio.h>
#include <string.h>

static Passage *read_body(const char *body)
{
    char text[400];
    Error error = {0};
    snprintf(text, sizeof text, "X:1\nT:row\nM:4/4\nL:1/8\nQ:1/4=80\nK:C\n%s\n", body);
    Passage *p = abc_read(text, strlen(text), 0, &error);
    assert_non_null(p);
    return p;
}

static Fingering plan_with(const Passage *p, const FingeringOptions *o)
{
    Fingering f;
    Error error = {0};
    assert_true(fingering_plan(p, o, &f, &error));
    return f;
}

static size_t across_count(const Fingering *f)
{
    size_t count = 0;
    for (size_t g = 0; g < f->group_count; g++)
        count += f->groups[g].across;
    return count;
}

static void one_placement(void **state)
{
    (void)state;
    static const struct {
        const char *body, *fingers, *places, *grouping;
    } rows[] = {
        {"CGEG", "3121", "1232", "3<>"}, {"CGEGCGEG", "31213121", "12321232", "3<>"},
        {"cEGEcEGE", "13231323", "12321232", "3<>"}, {"cdcdcd", "212121", "121212", "2<>"},
        {"C2GGE2G2", "31121", "12232", "3<>"}, /* a string struck again */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Passage *p = read_body(rows[i].body);
        Fingering f = plan_with(p, NULL);
        char grouping[40], words[EXPLAIN_TEXT_MAX];
        assert_int_equal(f.group_count, 1);
        assert_true(f.groups[0].across && f.groups[0].direction == 0);
        for (size_t k = 0; k < f.note_count; k++) {
            assert_int_equal(f.notes[k].finger, rows[i].fingers[k] - '0');
            assert_int_equal(f.notes[k].place, rows[i].places[k] - '0');
            assert_int_equal(f.notes[k].link, k == 0 ? LINK_START : LINK_WITHIN);
        }
        assert_string_equal(fingering_grouping(&f, grouping, sizeof grouping), rows[i].grouping);
        fingering_explain(p, &f, false, words);
        assert_non_null(strstr(words, "; to and fro from "));
        assert_non_null(strstr(words, " on one placement"));
        fingering_free(&f);
        passage_free(p);
    }
}

/* It begins and ends on a turn, or at a rest, where no run goes on. */
static void a_rest_frees_the_hand(void **state)
{
    (void)state;
    static const char *const bodies[] = {"CDEz GcBcGcBc", "GcBcGcBcz efg"};
    for (size_t i = 0; i < sizeof bodies / sizeof bodies[0]; i++) {
        Passage *p = read_body(bodies[i]);
        Fingering f = plan_with(p, NULL);
        assert_int_equal(f.group_count, 2);
        assert_int_equal(across_count(&f), 1);
        assert_true(f.groups[i == 0 ? 1 : 0].across);
        fingering_free(&f);
        passage_free(p);
    }
}

/* A run that turns is replaced; hands that are placed beforehand have no need of it. */
static void others_as_ever(void **state)
{
    (void)state;
    static const char *const bodies[] = {"CDEFEDC", "CDEDC", "CEGEC", "CEGECEGE", "CEGcGECEGcGEC",
        "CDEDEFG", "CDEFDEFGEFGA", "CECz4CEC", "CDC", "CEDFEGFA"};
    for (size_t i = 0; i < sizeof bodies / sizeof bodies[0]; i++) {
        Passage *p = read_body(bodies[i]);
        Fingering f = plan_with(p, NULL);
        if (across_count(&f) > 0)
            fail_msg("%s: to and fro", bodies[i]);
        fingering_free(&f);
        passage_free(p);
    }
    Passage *p = read_body("CGEGCGEG");
    FingeringOptions lifted = {.lifted = true};
    Fingering f = plan_with(p, &lifted);
    assert_int_equal(across_count(&f), 0);
    fingering_free(&f);
    p->hands = HANDS_ALTERNATE;
    f = plan_with(p, NULL);
    assert_int_equal(across_count(&f), 0);
    fingering_free(&f);
    passage_free(p);
}

static bool same_string(const Passage *p, int32_t a, int32_t b)
{
    return pitch_string(p->notes[a].pitch) == pitch_string(p->notes[b].pitch);
}

/* The definition, note by note; a string struck again at once counts once. */
static void check_group(const Passage *p, const Fingering *f, const FingerGroup *g, int largest)
{
    int32_t start = g->pivot >= 0 ? g->pivot : g->first, stops[200];
    int count = 0, before = 0, strings = 0;
    bool even = true, odd = true;
    for (int32_t i = start; i <= g->last; i++) {
        bool first = true;
        for (int32_t k = start; k < i; k++) {
            int step = pitch_string(p->notes[i].pitch) - pitch_string(p->notes[k].pitch);
            int x = f->notes[i].finger, y = f->notes[k].finger;
            assert_true(step == 0 ? x == y : (step > 0) == (x < y));
            first = first && step != 0;
        }
        strings += first;
        assert_true(i == start || !p->notes[i].breath);
        if (count == 0 || !same_string(p, i, stops[count - 1]))
            stops[count++] = i;
    }
    for (int k = 1; k < count; k++) {
        int way = f->notes[stops[k]].finger < f->notes[stops[k - 1]].finger ? 1 : -1;
        assert_true(way == -before || k == 1);
        before = way;
        if (k >= 2 && !same_string(p, stops[k], stops[k - 2]))
            *(k % 2 == 0 ? &even : &odd) = false;
    }
    assert_true(count >= 4 && (even || odd));
    assert_int_equal(strings, g->size);
    assert_in_range(strings, 2, largest);
}

static void fingers_stay_on_their_strings(void **state)
{
    (void)state;
    Random r = {.state = 5150};
    int met = 0;
    for (int round = 0; round < 3000; round++) {
        Passage *p = passage_to_and_fro(&r, 60);
        FingeringOptions o = {.largest_group = random_between(&r, 3, 4)};
        Fingering f = plan_with(p, &o);
        for (size_t g = 0; g < f.group_count; g++)
            if (f.groups[g].across) {
                check_group(p, &f, &f.groups[g], o.largest_group);
                met++;
            }
        for (size_t i = 0; i < f.note_count; i++)
            assert_in_range(f.notes[i].place, 1, f.notes[i].size);
        for (size_t i = 0; i < p->note_count; i++)
            p->notes[i].mark = f.notes[i].finger;
        Fingering again = plan_with(p, &o); /* marked so: the same placements */
        assert_int_equal(again.group_count, f.group_count);
        assert_memory_equal(again.groups, f.groups, f.group_count * sizeof *f.groups);
        fingering_free(&again);
        fingering_free(&f);
        passage_free(p);
    }
    assert_true(met > 3000);
}

/* The same backwards: a figure costs what its mirror costs. */
static void mirrored(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {{"CGEGCGEGC", "CGEGCGEGC"}, {"CGEG", "GEGC"},
        {"cEGEcE", "EcEGEc"}, {"CGEGCGEGFGDG", "GDGFGEGCGEGC"}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        Passage *p = read_body(pairs[i][0]), *q = read_body(pairs[i][1]);
        Fingering f = plan_with(p, NULL), g = plan_with(q, NULL);
        assert_int_equal(f.cost, g.cost);
        assert_int_equal(across_count(&f), across_count(&g));
        fingering_free(&f);
        fingering_free(&g);
        passage_free(p);
        passage_free(q);
    }
}

/* However long, and however quick: nothing to be said against it. */
static void a_long_one_is_one_group(void **state)
{
    (void)state;
    enum { NOTES = 1000 };
    static const int figure[] = {28, 32, 30, 32};
    static int strings[NOTES];
    static Ratio lengths[NOTES];
    for (int i = 0; i < NOTES; i++) {
        strings[i] = figure[i % 4];
        lengths[i] = ratio(1, 8);
    }
    Passage *p = passage_of(strings, lengths, NOTES, metre(4, 4), ratio_int(0));
    Fingering f = plan_with(p, NULL);
    Findings found;
    Error error = {0};
    assert_int_equal(f.group_count, 1);
    assert_int_equal(f.groups[0].size, 3);
    assert_int_equal(f.notes[NOTES - 1].finger, 1);
    assert_true(fingering_check(p, NULL, &found, &error));
    assert_int_equal(found.count, 0);
    findings_free(&found);
    fingering_free(&f);
    passage_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_placement),
        cmocka_unit_test(a_rest_frees_the_hand),
        cmocka_unit_test(others_as_ever),
        cmocka_unit_test(fingers_stay_on_their_strings),
        cmocka_unit_test(mirrored),
        cmocka_unit_test(a_long_one_is_one_group),
    };
    return cmocka_run_group_tests_name("fingering across", tests, NULL, NULL);
}
