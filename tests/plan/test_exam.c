/* Plans of an exam: properties of random ones, cases by hand, and that advice is true. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "plan/exam_made.h"

#include <stdlib.h>
#include <string.h>

enum { ROUNDS = 1500, ADVICE_ROUNDS = 120 };

static ExamMade made;

static ExamPlan planned(const ExamSpec *spec)
{
    ExamPlan plan;
    Error error = {0};
    if (!exam_plan(spec, &plan, &error))
        fail_msg("seed %u: %s", made.seed, error.text);
    return plan;
}

static bool slower(Tempo a, Tempo b)
{
    return ratio_cmp(a.per_minute, b.per_minute) < 0;
}

static bool same(Tempo a, Tempo b)
{
    return ratio_equal(a.per_minute, b.per_minute);
}

static bool missed(const ExamSpec *s, Day day)
{
    for (int i = 0; i < s->missed_count; i++)
        if (s->missed[i] == day)
            return true;
    return false;
}

/* The days of practice, counted from the calendar alone. */
static int practice_days(const ExamSpec *s)
{
    int count = 0;
    for (Day day = s->today; day < s->exam; day++)
        count += (s->weekdays >> (date_weekday(day) - 1) & 1u) && !missed(s, day);
    return count;
}

/* No other passage comes after it on its day. */
static bool ends_its_day(const ExamPlan *p, size_t i)
{
    size_t k = i;
    while (k < p->count && p->entries[k].day == p->entries[i].day &&
           p->entries[k].passage == p->entries[i].passage)
        k++;
    return k == p->count || p->entries[k].day != p->entries[i].day;
}

/* What every entry must be, whatever the spec. */
static void check_days(const ExamSpec *s, const ExamPlan *p, uint32_t seed)
{
    int sum = 0, most = 0;
    for (size_t i = 0; i < p->count; i++) {
        const ExamEntry *e = &p->entries[i];
        bool next_day = i == 0 || e->day != p->entries[i - 1].day;
        sum = next_day ? e->minutes : sum + e->minutes;
        most = sum > most ? sum : most;
        bool good = e->day >= s->today && e->day < s->exam && !missed(s, e->day) &&
                    (s->weekdays >> (date_weekday(e->day) - 1) & 1u) && e->minutes >= 1 &&
                    sum <= s->minutes && e->passage >= 0 && e->passage < s->passage_count &&
                    (i == 0 || e->day >= p->entries[i - 1].day) && tempo_valid(e->tempo) &&
                    (s->block == 0 || e->what == EXAM_REVIEW || e->what == EXAM_EASY ||
                        e->minutes <= s->block || ends_its_day(p, i));
        if (!good)
            fail_msg(
                "seed %u: entry %zu, day %d of %d", seed, i, e->day - s->today, s->exam - s->today);
    }
    assert_true(most <= s->minutes);
    for (Day day = s->today; day < s->exam; day++) { /* no day of practice goes by empty */
        size_t i = 0;
        while (i < p->count && p->entries[i].day != day)
            i++;
        if ((i < p->count) != exam_practises(s, day))
            fail_msg("seed %u: day %d of %d", seed, day - s->today, s->exam - s->today);
    }
    assert_int_equal(p->learning_days + p->easy_days, practice_days(s));
    assert_int_equal(
        p->easy_days, practice_days(s) < EXAM_EASY_DAYS ? practice_days(s) : EXAM_EASY_DAYS);
}

static void test_days_and_minutes(void **state)
{
    (void)state;
    for (uint32_t seed = 1; seed <= ROUNDS; seed++) {
        exam_random(&made, seed);
        ExamPlan plan = planned(&made.spec);
        check_days(&made.spec, &plan, seed);
        exam_plan_free(&plan);
    }
}

/* Each climb begins where the last one ended, from what stands today to what the outcome says. */
static void test_rungs_rise(void **state)
{
    int climbs = 0;
    (void)state;
    for (uint32_t seed = 1; seed <= ROUNDS; seed++) {
        exam_random(&made, seed);
        const ExamSpec *s = &made.spec;
        ExamPlan p = planned(s);
        for (int k = 0; k < s->passage_count; k++) {
            const ExamOutcome *o = &p.outcomes[k];
            Tempo at = exam_standing(&s->passages[k]);
            Day today = -1, first = -1, stands = slower(at, s->passages[k].goal) ? -1 : s->today;
            int rungs = 0;
            assert_true(same(o->start, at));
            for (size_t i = 0; i < p.count; i++) {
                const ExamEntry *e = &p.entries[i];
                if (e->passage != k || e->what == EXAM_EASY)
                    continue;
                rungs = e->day == today ? rungs + e->to - e->from : e->to - e->from;
                today = e->day;
                bool good = same(e->tempo, at) && !slower(e->end, e->tempo) &&
                            (e->what == EXAM_CLIMB || same(e->end, e->tempo)) &&
                            rungs <= EXAM_RUNGS_A_DAY && (e->from < e->to) == slower(at, e->end);
                if (!good)
                    fail_msg("seed %u: passage %d, entry %zu", seed, k, i);
                climbs += e->what == EXAM_CLIMB && e->to > e->from;
                at = e->end;
                if (first < 0 && e->what != EXAM_REVIEW)
                    first = e->day;
                if (stands < 0 && !slower(at, s->passages[k].goal))
                    stands = e->day;
            }
            assert_true(same(o->end, at));
            assert_int_equal(o->first, first);
            assert_int_equal(o->stands, stands);
        }
        bool fits = true;
        for (int k = 0; k < s->passage_count; k++)
            fits = fits && !slower(p.outcomes[k].end, s->passages[k].goal);
        assert_int_equal(p.fits, fits);
        exam_plan_free(&p);
    }
    assert_true(climbs > ROUNDS);
}

/* Passages join in the order given: of two that have something to climb, the earlier one does not
 * begin after the later one; and one more a day is enough where a third of the days holds all. */
static void test_later_passages_join(void **state)
{
    int joined = 0;
    (void)state;
    for (uint32_t seed = 1; seed <= ROUNDS; seed++) {
        exam_random(&made, seed);
        const ExamSpec *s = &made.spec;
        ExamPlan p = planned(s);
        Day before = 0;
        bool waits = false;
        for (int k = 0; k < s->passage_count; k++) {
            const ExamOutcome *o = &p.outcomes[k];
            bool climbs = slower(o->start, o->goal);
            if (!climbs)
                continue;
            if ((o->first >= 0 && (o->first < before || waits)))
                fail_msg("seed %u: passage %d begins before an earlier one", seed, k);
            waits = waits || o->first < 0;
            joined += o->first > before && before > 0;
            before = o->first >= 0 ? o->first : before;
        }
        exam_plan_free(&p);
    }
    assert_true(joined > ROUNDS / 2);
}

/* The last two practice days: slower than what stands, at most half the minutes. */
static void test_last_days_are_easy(void **state)
{
    (void)state;
    for (uint32_t seed = 1; seed <= ROUNDS; seed++) {
        exam_random(&made, seed);
        const ExamSpec *s = &made.spec;
        ExamPlan p = planned(s);
        int practice = 0, easy_entries = 0;
        for (Day day = s->exam - 1; day >= s->today; day--) {
            int sum = 0;
            bool is_practice = exam_practises(s, day);
            practice += is_practice;
            for (size_t i = 0; i < p.count; i++) {
                const ExamEntry *e = &p.entries[i];
                if (e->day != day)
                    continue;
                sum += e->minutes;
                bool easy = practice <= EXAM_EASY_DAYS;
                Tempo stands = p.outcomes[e->passage].end;
                easy_entries += easy;
                assert_int_equal(e->what == EXAM_EASY, easy);
                if (easy && ratio_cmp(stands.per_minute, ratio_int(TEMPO_MIN)) > 0)
                    assert_true(slower(e->tempo, stands));
            }
            if (practice <= EXAM_EASY_DAYS)
                assert_true(sum <= s->minutes / 2);
        }
        assert_true(easy_entries > 0 || p.easy_days == 0);
        exam_plan_free(&p);
    }
}

static void test_same_spec_same_plan(void **state)
{
    (void)state;
    for (uint32_t seed = 1; seed <= 200; seed++) {
        exam_random(&made, seed);
        ExamPlan a = planned(&made.spec), b = planned(&made.spec);
        assert_int_equal(a.count, b.count);
        for (size_t i = 0; i < a.count; i++) {
            const ExamEntry *x = &a.entries[i], *y = &b.entries[i];
            assert_true(x->day == y->day && x->passage == y->passage && x->what == y->what &&
                        x->minutes == y->minutes && same(x->tempo, y->tempo) &&
                        same(x->end, y->end) && strcmp(x->drill, y->drill) == 0);
        }
        exam_plan_free(&a);
        exam_plan_free(&b);
    }
}

/* Each thing that the advice says makes the plan fit, when the plan is made with it. */
static void test_advice_is_true(void **state)
{
    int minutes = 0, weekdays = 0, goals = 0;
    (void)state;
    for (uint32_t seed = 1; minutes + weekdays + goals < ADVICE_ROUNDS || weekdays == 0; seed++) {
        ExamAdvice advice;
        Error error = {0};
        exam_random(&made, seed);
        ExamPlan plan = planned(&made.spec);
        bool fits = plan.fits;
        exam_plan_free(&plan);
        if (fits && seed % 8 != 0)
            continue;
        if (fits) { /* then there is nothing to advise */
            assert_true(exam_advise(&made.spec, &advice, &error));
            assert_true(advice.minutes == 0 && advice.weekday == 0 && advice.goal_count == 0);
            continue;
        }
        assert_true(exam_advise(&made.spec, &advice, &error));
        ExamSpec spec = made.spec;
        if (advice.minutes > 0) {
            assert_true(advice.minutes > spec.minutes && advice.minutes <= EXAM_MINUTES_MAX);
            spec.minutes = advice.minutes;
            plan = planned(&spec);
            assert_true(plan.fits);
            exam_plan_free(&plan);
            minutes++;
        }
        spec = made.spec;
        if (advice.weekday > 0) {
            unsigned bit = 1u << (advice.weekday - 1);
            assert_int_equal(spec.weekdays & bit, 0);
            spec.weekdays |= bit;
            plan = planned(&spec);
            assert_true(plan.fits);
            exam_plan_free(&plan);
            weekdays++;
        }
        assert_int_equal(advice.goal_count, made.spec.passage_count);
        int lowered = 0;
        for (int i = 0; i < advice.goal_count; i++) {
            lowered += slower(advice.goals[i], made.passages[i].goal);
            assert_false(slower(made.passages[i].goal, advice.goals[i]));
            made.passages[i].goal = advice.goals[i];
        }
        assert_true(lowered > 0);
        plan = planned(&made.spec);
        assert_true(plan.fits);
        exam_plan_free(&plan);
        goals++;
        exam_advice_free(&advice);
    }
    assert_true(minutes > 0 && weekdays > 0 && goals > 0);
}

/* ---- by hand ------------------------------------------------------------------------------- */

static ExamPassage passage(const char *title, int from, int goal)
{
    return (ExamPassage){.title = title,
        .present = tempo(ratio_int(1), ratio_int(from)),
        .goal = tempo(ratio_int(1), ratio_int(goal)),
        .reached = tempo(ratio_int(1), ratio_int(0)),
        .length = ratio_int(16)};
}

/* What was really reached is where the rest begins; a missed day is left out; the past is past. */
static void test_planned_anew(void **state)
{
    ExamPassage one = passage("Scale, invented", 60, 100);
    Day today = date_day(2026, 11, 25), away = today + 9;
    ExamSpec spec = {.today = today,
        .exam = date_day(2027, 3, 1),
        .weekdays = 0x7F,
        .minutes = 30,
        .passages = &one,
        .passage_count = 1};
    (void)state;
    ExamPlan first = planned(&spec);
    assert_true(first.fits);
    assert_true(same(first.entries[0].tempo, one.present));
    exam_plan_free(&first);

    spec.today = today + 7;
    spec.missed = &away;
    spec.missed_count = 1;
    one.reached = tempo(ratio_int(2), ratio_int(38)); /* minims: 76 crotchets */
    ExamPlan again = planned(&spec);
    assert_true(again.entries[0].day >= spec.today);
    assert_true(same(again.entries[0].tempo, tempo(ratio_int(1), ratio_int(76))));
    for (size_t i = 0; i < again.count; i++)
        assert_true(again.entries[i].day != away);
    exam_plan_free(&again);

    one.present.beat = one.goal.beat = ratio(3, 2); /* 114 crotchets: 76 dotted ones */
    one.reached = tempo(ratio_int(1), ratio_int(114));
    assert_true(same(exam_standing(&one), tempo(ratio(3, 2), ratio_int(76))));
    one.present.beat = one.goal.beat = ratio_int(1);
    one.reached.per_minute = ratio_int(20); /* slower than the player said: changes nothing */
    ExamPlan slow = planned(&spec);
    assert_true(same(slow.outcomes[0].start, one.present));
    exam_plan_free(&slow);
}

/* 28 February, 29 February, 1 March 2028; 31 December, 1 January. [Gregorian calendar] */
static void test_leap_day_and_year_end(void **state)
{
    ExamPassage one = passage("Scale, invented", 60, 66);
    ExamSpec spec = {.today = date_day(2028, 2, 27),
        .exam = date_day(2028, 3, 3),
        .weekdays = 0x7F,
        .minutes = 20,
        .passages = &one,
        .passage_count = 1};
    (void)state;
    assert_true(exam_practises(&spec, date_day(2028, 2, 29)));
    assert_true(exam_practises(&spec, spec.today));
    assert_false(exam_practises(&spec, spec.today - 1));
    assert_false(exam_practises(&spec, spec.exam));
    ExamPlan plan = planned(&spec);
    assert_int_equal(plan.learning_days + plan.easy_days, 5);
    exam_plan_free(&plan);
    spec.today = date_day(2026, 12, 30);
    spec.exam = date_day(2027, 1, 3);
    plan = planned(&spec);
    assert_int_equal(plan.learning_days + plan.easy_days, 4);
    assert_int_equal(plan.entries[plan.count - 1].day, date_day(2027, 1, 2));
    exam_plan_free(&plan);
}

/* By turns: in a day no passage has two blocks in a row while another one still has some. */
static void test_blocks_by_turns(void **state)
{
    ExamPassage two[] = {passage("One, invented", 60, 120), passage("Two, invented", 60, 120)};
    ExamSpec spec = {.today = date_day(2026, 11, 25),
        .exam = date_day(2026, 12, 20),
        .weekdays = 0x7F,
        .minutes = 24,
        .block = 3,
        .passages = two,
        .passage_count = 2};
    (void)state;
    ExamPlan plan = planned(&spec);
    int turns = 0, days = 0;
    for (size_t i = 1; i < plan.count; i++) {
        const ExamEntry *a = &plan.entries[i - 1], *b = &plan.entries[i];
        if (b->what != EXAM_EASY && a->day == b->day)
            turns += a->passage != b->passage;
        if (a->day == b->day && a->passage == b->passage) /* it is the last one: in one go */
            assert_int_not_equal(a->what, b->what);
        days += a->day != b->day;
    }
    assert_true(turns > 2 * days);
    exam_plan_free(&plan);
}

static void test_words(void **state)
{
    char out[EXAM_WORDS_MAX];
    ExamEntry e = {.what = EXAM_CLIMB,
        .from = 2,
        .to = 4,
        .tempo = tempo(ratio_int(1), ratio_int(76)),
        .end = tempo(ratio_int(1), ratio_int(84)),
        .drill = "finger-3"};
    (void)state;
    assert_string_equal(exam_entry_text(&e, out), "climb from 1/4 = 76 to 84");
    assert_string_equal(exam_entry_brief(&e, out), "76 to 84");
    e.to = 2;
    assert_string_equal(exam_entry_brief(&e, out), "on from 76");
    assert_string_equal(exam_entry_text(&e, out), "climb on from 1/4 = 76");
    e.what = EXAM_DRILL;
    assert_string_equal(exam_entry_text(&e, out), "drill finger-3 at 1/4 = 76");
    assert_string_equal(exam_entry_brief(&e, out), "finger-3 76");
    assert_string_equal(exam_weekday(1), "Monday");
    assert_string_equal(exam_weekday(8), "");
}

static void refused(const ExamSpec *spec, const char *word)
{
    ExamPlan plan;
    Error error = {0};
    assert_false(exam_plan(spec, &plan, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    if (strstr(error.text, word) == NULL)
        fail_msg("'%s' does not say '%s'", error.text, word);
    assert_null(plan.entries);
}

static void test_refused(void **state)
{
    ExamPassage one = passage("Scale, invented", 60, 100);
    const ExamSpec good = {.today = date_day(2026, 11, 25),
        .exam = date_day(2027, 3, 1),
        .weekdays = 1,
        .minutes = 30,
        .passages = &one,
        .passage_count = 1};
    ExamSpec spec = good;
    (void)state;
    spec.exam = spec.today;
    refused(&spec, "not after today");
    spec.exam = spec.today + EXAM_DAYS_MAX + 1;
    refused(&spec, "days away");
    spec = good;
    spec.minutes = EXAM_MINUTES_MAX + 1;
    refused(&spec, "minutes");
    spec = good;
    spec.weekdays = 0;
    refused(&spec, "day of the week");
    spec = good;
    spec.passage_count = 0;
    refused(&spec, "passages");
    spec = good;
    one.goal.beat = ratio_int(2);
    refused(&spec, "different beats");
    one = passage("Scale, invented", 60, 401);
    refused(&spec, "tempos");
    one = passage("Scale, invented", 60, 100);
    one.length = ratio_int(0);
    refused(&spec, "quarters");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_days_and_minutes),
        cmocka_unit_test(test_rungs_rise),
        cmocka_unit_test(test_later_passages_join),
        cmocka_unit_test(test_last_days_are_easy),
        cmocka_unit_test(test_same_spec_same_plan),
        cmocka_unit_test(test_advice_is_true),
        cmocka_unit_test(test_planned_anew),
        cmocka_unit_test(test_leap_day_and_year_end),
        cmocka_unit_test(test_blocks_by_turns),
        cmocka_unit_test(test_words),
        cmocka_unit_test(test_refused),
    };
    return cmocka_run_group_tests_name("exam", tests, NULL, NULL);
}
