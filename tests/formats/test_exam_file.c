/* The file of an exam plan: what it gives, what is said of what is wrong; the plan as text. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/formats/exam_file.h"
#include "evenhand/formats/exam_sheet.h"
#include "plan/exam_made.h"
#include "tools/golden.h"

#include <stdlib.h>
#include <string.h>

static const char good[] = "[exam]\n"
                           "title = A grade\n"
                           "student = Ada\n"
                           "date = 2027-03-13\n"
                           "days = Monday, wed sun\n"
                           "minutes = 30\n"
                           "block = 3\n"
                           "repetitions = 10\n"
                           "[passage]\n"
                           "title = Scale ; a remark\n"
                           "from = 1/4=72.5\n"
                           "goal = 1/4 = 104\n"
                           "length = 29/2\n"
                           "drills = finger-3 links+long-short\n"
                           "[missed]\n"
                           "day = 2026-12-31\n"
                           "[passage]\n"
                           "file = tunes.abc:2\n"
                           "from = 60\n"
                           "goal = 90\n"
                           "[missed]\n"
                           "day = 2026-12-30 to 2027-01-02\n";

static void test_all_that_it_takes(void **state)
{
    ExamFile f;
    Error error = {0};
    ExamPassage passages[EXAM_PASSAGES_MAX];
    ExamSpec spec;
    (void)state;
    if (!exam_file_read(good, strlen(good), &f, &error))
        fail_msg("%d: %s", error.line, error.text);
    assert_string_equal(f.title, "A grade");
    assert_string_equal(f.student, "Ada");
    assert_int_equal(f.exam, date_day(2027, 3, 13));
    assert_int_equal(f.weekdays, 1u | 1u << 2 | 1u << 6);
    assert_int_equal(f.passage_count, 2);
    assert_string_equal(f.passages[1].file, "tunes.abc:2");
    assert_int_equal(f.passages[1].goal.beat.num, 0);
    assert_int_equal(f.missed_count, 5);
    assert_int_equal(f.missed[4], date_day(2027, 1, 2));

    exam_file_spec(&f, date_day(2026, 11, 25), passages, &spec);
    assert_true(spec.minutes == 30 && spec.block == 3 && spec.repetitions == 10);
    assert_string_equal(passages[0].title, "Scale");
    assert_true(ratio_equal(passages[0].present.per_minute, ratio(145, 2)));
    assert_true(ratio_equal(passages[0].length, ratio(29, 2)));
    assert_int_equal(passages[0].drill_count, 2);
    assert_string_equal(passages[0].drills[1], "links+long-short");
    assert_true(ratio_equal(passages[1].present.beat, ratio_int(1)));
    assert_true(ratio_equal(passages[1].length, ratio_int(EXAM_FILE_LENGTH)));
    ExamPlan plan;
    assert_true(exam_plan(&spec, &plan, &error));
    bool drilled = false;
    for (size_t i = 0; i < plan.count; i++)
        drilled = drilled || strcmp(plan.entries[i].drill, "links+long-short") == 0;
    assert_true(drilled);
    exam_plan_free(&plan);
    exam_file_free(&f);
}

/* The good file with its first `from` replaced. */
static Text changed(const char *from, const char *to)
{
    Text out = {0};
    const char *at = strstr(good, from);
    assert_non_null(at);
    assert_true(text_add(&out, "%.*s%s%s", (int)(at - good), good, to, at + strlen(from)));
    return out;
}

static void test_what_is_wrong(void **state)
{
    static const struct {
        const char *from, *to;
        int line;
        const char *says;
    } cases[] = {
        {"date = 2027-03-13", "date = 2027-02-29", 4, "date: "},
        {"date = 2027-03-13", "date = tomorrow", 4, "date: "},
        {"date = 2027-03-13\n", "", 0, "date = 2027-03-13"},
        {"Monday, wed sun", "mon, weds", 5, "mon tue thu sat"},
        {"Monday, wed sun", "mo wed", 5, "mon tue thu sat"},
        {"Monday, wed sun", "mondays", 5, "mon tue thu sat"},
        {"Monday, wed sun", "", 5, "mon tue thu sat"},
        {"minutes = 30", "minutes = 301", 6, "from 5 to 300"},
        {"minutes = 30", "minutes = half an hour", 6, "from 5 to 300"},
        {"block = 3", "block = 31", 7, "from 0 to 30"},
        {"repetitions = 10", "tempo = 10", 8, "[exam] does not know 'tempo'"},
        {"title = Scale ; a remark\n", "", 9, "lacks title"},
        {"from = 1/4=72.5\n", "", 9, "lacks from"},
        {"goal = 1/4 = 104\n", "", 9, "lacks goal"},
        {"1/4=72.5", "1/4=401", 11, "such as 1/4=72"},
        {"1/4=72.5", "1/0=72", 11, "such as 1/4=72"},
        {"1/4=72.5", "fast", 11, "such as 1/4=72"},
        {"1/4=72.5", "1/2=72", 9, "different beats"},
        {"1/4=72.5", "1/4=105", 9, "write the slower one as from"},
        {"29/2", "0", 13, "quarters such as 16"},
        {"29/2", "9999", 13, "quarters such as 16"},
        {"links+long-short", "jumps", 14, "'jumps' is no drill"},
        {"day = 2026-12-31", "day = 2026-12-31 until 2027-01-02", 16, "to 2027-01-02"},
        {"day = 2026-12-31", "day = 2026-12-31 to 2026-12-30", 16, "earlier day first"},
        {"day = 2026-12-31", "day = 2020-01-01 to 2026-12-30", 16, "at most 400"},
        {"day = 2026-12-31", "date = 2026-12-31", 16, "it takes day"},
        {"[missed]", "[holidays]", 15, "[exam], [passage] and [missed]"},
        {"[missed]", "[block]", 15, "evenhand routine"},
        {"[missed]", "[exam]", 15, "comes once"},
        {"day = 2026-12-31", "day = 2026-12-31\n[passage]\ntitle = A\nfrom = 50\nfrom = 60", 20,
            "from stands twice in this section; leave one of them out"},
        {"[exam]\n", "title = early\n[exam]\n", 1, "begin with [exam]"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ExamFile f;
        Error error = {0};
        Text text = changed(cases[i].from, cases[i].to);
        if (exam_file_read(text.bytes, text.size, &f, &error))
            fail_msg("case %zu is taken", i);
        if (error.line != cases[i].line || strstr(error.text, cases[i].says) == NULL)
            fail_msg("case %zu: %d: %s", i, error.line, error.text);
        assert_null(f.passages);
        text_free(&text);
    }
}

static void test_no_passage(void **state)
{
    ExamFile f;
    Error error = {0};
    static const char text[] = "[exam]\ndate=2027-03-13\ndays=mon\nminutes=20\n";
    (void)state;
    assert_false(exam_file_read(text, strlen(text), &f, &error));
    assert_non_null(strstr(error.text, "no [passage]"));
}

/* The bundled example, from a fixed day, in all its forms. */
static void test_text_of_the_example(void **state)
{
    ExamFile f;
    Error error = {0};
    ExamPassage passages[EXAM_PASSAGES_MAX];
    ExamSpec spec;
    ExamPlan plan;
    ExamAdvice advice;
    Text out = {0};
    (void)state;
    char *text = golden_read("presets/exam-plan.ini");
    assert_non_null(text);
    if (!exam_file_read(text, strlen(text), &f, &error))
        fail_msg("presets/exam-plan.ini:%d: %s", error.line, error.text);
    exam_file_spec(&f, date_day(2026, 11, 25), passages, &spec);
    assert_true(exam_plan(&spec, &plan, &error));
    assert_true(plan.fits);
    assert_true(exam_sheet_head(&spec, &plan, NULL, f.title, f.student, &out));
    assert_true(exam_sheet_days(&spec, &plan, &out) && exam_sheet_months(&spec, &plan, &out));
    golden_check("exam-plan.txt", out.bytes);
    exam_plan_free(&plan);
    text_free(&out);

    spec.exam = date_day(2026, 12, 8); /* too soon */
    assert_true(
        exam_plan(&spec, &plan, &error) && !plan.fits && exam_advise(&spec, &advice, &error));
    assert_true(exam_sheet_head(&spec, &plan, &advice, "", "", &out));
    golden_check("exam-plan-short.txt", out.bytes);
    exam_advice_free(&advice);
    exam_plan_free(&plan);
    text_free(&out);
    exam_file_free(&f);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_that_it_takes),
        cmocka_unit_test(test_what_is_wrong),
        cmocka_unit_test(test_no_passage),
        cmocka_unit_test(test_text_of_the_example),
    };
    return cmocka_run_group_tests_name("exam file", tests, NULL, NULL);
}
