/* What the check says of a figure that comes back under other fingers: where, and why. */
#include "figures_fixture.h"

#include "evenhand/harp/explain.h"

static bool tells(const Findings *all, int32_t note)
{
    for (size_t i = 0; i < all->count; i++)
        if (all->items[i].kind == FINDING_CHANGED && all->items[i].note == note)
            return true;
    return false;
}

static size_t changes_told(const Findings *all)
{
    size_t count = 0;
    for (size_t i = 0; i < all->count; i++)
        count += all->items[i].kind == FINDING_CHANGED;
    return count;
}

/* The first stop of a figure with another finger than its model, from its first; -1: none. */
static int32_t first_change(const Rules *r, const Fingering *f, const Return *figure)
{
    for (int32_t k = 0; k < figure->count; k++)
        if (f->notes[r->stops[figure->first + k].first].finger !=
            f->notes[r->stops[figure->earlier + k].first].finger)
            return k;
    return -1;
}

/* The same fingers, or a remark that says why; and no remark where nothing differs. */
static void the_same_or_told(void **state)
{
    (void)state;
    Random random = {.state = 7};
    size_t told = 0;
    for (int round = 0; round < 800; round++) {
        Line line = {.count = 0};
        put_random(&line, &random, random_between(&random, 10, 40));
        put_again(&line, 2, random_between(&random, 4, 8), random_between(&random, 0, 1));
        put_random(&line, &random, 8);
        Passage *p = passage_of_line(&line);
        for (size_t i = 0; round % 2 == 1 && i < p->note_count; i++)
            p->notes[i].mark =
                (uint8_t)(random_between(&random, 0, 5) ? 0 : random_between(&random, 1, 4));
        FingeringOptions o = {0};
        Findings all;
        Fingering f;
        Error error = {0};
        assert_true(fingering_plan(p, &o, &f, &error));
        assert_true(fingering_check(p, &o, &all, &error));
        Rules r = rules_of(p, &o);
        size_t found = 0;
        Return *returns = figures_find(&r, p, &found);
        size_t expected = 0;
        for (size_t i = 0; i < found; i++) {
            int32_t k = first_change(&r, &f, &returns[i]);
            bool again = false; /* another figure has told it */
            for (size_t j = 0; k >= 0 && j < i; j++) {
                int32_t other = first_change(&r, &f, &returns[j]);
                again = again || (other >= 0 && returns[j].first + other == returns[i].first + k);
            }
            if (k >= 0 && !tells(&all, r.stops[returns[i].first + k].first))
                fail_msg("round %d: stop %d changes, nothing is said", round, returns[i].first + k);
            expected += k >= 0 && !again;
        }
        assert_int_equal(changes_told(&all), expected);
        told += expected;
        free(returns);
        rules_free(&r);
        findings_free(&all);
        fingering_free(&f);
        passage_free(p);
    }
    assert_true(told > 100);
}

static void reasons_in_words(void **state)
{
    (void)state;
    static const struct {
        const char *body;
        int32_t note; /* -1: nothing is said */
        const char *said;
    } cases[] = {
        {"CDEFGAB z CDEFGABc", 11,
            "G4 (bar 1, beat 7): finger 4, but 3 in the same figure at G4 "
            "(bar 1, beat 3); here it goes on, there it ends: the same "
            "fingers would leave a note by itself"},
        {"CDEFGABc CDEFGAB z", 12,
            "here it ends, there it goes on: the same fingers would leave "
            "the thumb out"},
        {"CDEFGABc | z6 A,B, | CDEFGABc", 10,
            "here it is under way, there it begins after a rest: "
            "the same fingers would leave a group of two"},
        {"CDEFGA z2 CDE!2!FGA z2", 7, "for the finger marked on F4 (bar 1, beat 13/2)"},
        {"!3!C!2!D!1!E!3!F!2!G!1!A z2 !4!C!3!D!2!E!1!F!2!G!1!A z2", 6, "change the mark"},
        {"!4!C!3!D!2!E!1!F!2!G!1!A z2 CDEFGA z2", -1, ""}, /* the marks are a model to follow */
        {"CDEFGA z2 DEFG!4!A!3!B z2", 6, "by the same steps at C4 (bar 1, beat 1)"},
        {"CDEFGABcdefg z4 CDEFGABcdefgabc'", -1, ""}, /* 4+4+4, and goes on */
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        Passage *p = tune(cases[i].body);
        Findings all;
        Error error = {0};
        const Finding *told = NULL;
        assert_true(fingering_check(p, NULL, &all, &error));
        for (size_t k = all.count; k-- > 0;)
            told = all.items[k].kind == FINDING_CHANGED ? &all.items[k] : told;
        if ((told == NULL) != (cases[i].note < 0))
            fail_msg("%s: %s", cases[i].body, told == NULL ? "nothing is said" : told->text);
        if (told != NULL && strstr(told->text, cases[i].said) == NULL)
            fail_msg("%s: %s", cases[i].body, told->text);
        if (told != NULL)
            assert_int_equal(told->note, cases[i].note);
        findings_free(&all);
        passage_free(p);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_same_or_told),
        cmocka_unit_test(reasons_in_words),
    };
    return cmocka_run_group_tests_name("fingering changed", tests, NULL, NULL);
}
