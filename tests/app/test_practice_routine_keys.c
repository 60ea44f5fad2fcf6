/* A routine on the bench while keys are pressed; whose repetitions they are; the break. Invented
 * data. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "hall.h"
#include "tools/passages.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool rests(const Model *m)
{
    return m->routine.rests;
}

static void keys_go_to_blocks_and_give_minutes(void **state)
{
    (void)state;
    Hall *h = hall_of("[block]\ntitle=A\nminutes=1\nrest=10\npassage=four.abc\ndrills=plain\n"
                      "[block]\ntitle=B\nminutes=1\n"
                      "[block]\ntitle=C\nminutes=1\npassage=four.abc\ndrills=finger-4\n");
    const Model *m = practice_model(h->s.p);
    press(h, ACTION_GO);
    m = hear(h, h->lead + 20 * RATE);
    assert_int_equal(m->routine.seconds_left, 30);
    assert_int_equal(m->routine.total, 180);
    press(h, ACTION_MINUTE);
    m = hear(h, h->heard + RATE);
    assert_int_equal(m->routine.seconds_left, 89);
    assert_int_equal(m->routine.total, 240);
    /* It plays on through the minute. */
    int64_t end = h->lead + 110 * RATE;
    int64_t bell = change_of(h, end - BAR / 2 - 1, end + BAR / 2, rests);
    assert_int_equal((bell - h->lead) % BAR, 0);
    press(h, ACTION_MINUTE); /* of rest */
    m = hear(h, h->lead + 180 * RATE - 1);
    assert_true(m->routine.block == 1 && m->routine.rests);
    m = hear(h, h->lead + 180 * RATE);
    assert_int_equal(m->routine.block, 2);
    press(h, ACTION_BLOCK_NEXT);
    m = hear(h, h->heard + RATE);
    assert_int_equal(m->routine.block, 3);
    assert_non_null(strstr(m->drill, "4"));
    assert_int_equal(m->run, RUN_COUNT_IN);
    press(h, ACTION_BLOCK_BEFORE);
    m = hear(h, h->heard + RATE);
    assert_int_equal(m->routine.block, 2);
    assert_true(m->routine.idle);
    m = hear(h, h->heard + 5 * RATE); /* 1 s was heard but for the lead and the latency */
    assert_in_range(m->routine.seconds_left, 44, 45);
    press(h, ACTION_ROUTINE);
    press(h, ACTION_UP);
    press(h, ACTION_CHOOSE);
    m = hear(h, h->heard + RATE);
    assert_int_equal(m->routine.block, 1);
    press(h, ACTION_ROUTINE_END);
    m = hear(h, h->heard + RATE);
    assert_false(m->routine.done); /* it asks first */
    hear(h, h->heard + 20 * RATE);
    press(h, ACTION_ROUTINE_END); /* too late to be the second */
    assert_false(hear(h, h->heard + RATE)->routine.done);
    press(h, ACTION_ROUTINE_END);
    m = hear(h, h->heard + RATE);
    assert_true(m->routine.done);
    assert_int_equal(m->run, RUN_FINISHED);
    press(h, ACTION_GO); /* all of it again */
    m = hear(h, h->heard + RATE);
    assert_int_equal(m->routine.block, 1);
    assert_false(m->routine.done);
    hall_close(h);
}

/* Whose practice it is at the beginning: the first block's student, or the only one there is. */
static void the_practice_is_the_students(void **state)
{
    (void)state;
    static const struct {
        const char *text, *student;
    } whose[] = {{"[block]\ntitle=A\nminutes=1\n", ""},
        {"[routine]\nstudent=Ann\n[block]\ntitle=A\nminutes=1\n", "Ann"},
        {"[block]\ntitle=A\nminutes=1\n[student]\nname=Ann\n[block]\ntitle=B\nminutes=1\n", "Ann"},
        {"[student]\nname=Ann\n[block]\ntitle=A\nminutes=1\n[student]\nname=Ben\n[block]\n"
         "title=B\nminutes=1\n",
            "Ann"},
        {"[block]\ntitle=A\nminutes=1\n[student]\nname=Ann\n[block]\ntitle=B\nminutes=1\n"
         "[student]\nname=Ben\n[block]\ntitle=C\nminutes=1\n",
            ""}};
    for (size_t i = 0; i < sizeof whose / sizeof whose[0]; i++) {
        Hall *h = hall_of(whose[i].text);
        assert_string_equal(practice_student(h->s.p), whose[i].student);
        hall_close(h);
    }
}

typedef struct {
    char students[200]; /* of the repetitions handed in, with a comma behind each */
    uint64_t tickets;
} Register;

static uint64_t enter(void *to, const Repetition *r)
{
    Register *all = to;
    size_t used = strlen(all->students);
    snprintf(all->students + used, sizeof all->students - used, "%s,", r->student);
    return ++all->tickets;
}

static bool amend(void *to, uint64_t ticket, bool clean)
{
    (void)to, (void)ticket, (void)clean;
    return true;
}

/* In a studio's afternoon each repetition is its own student's; of a block for all, nobody's. */
static void each_repetition_is_its_students(void **state)
{
    (void)state;
    static const char work[] = "repetitions=1\nrest=2\npassage=four.abc\ndrills=plain\ntempo=200\n";
    char text[1000];
    Register all = {.tickets = 0};
    const RecordSink sink = {.to = &all, .put = enter, .judge = amend};
    snprintf(text, sizeof text,
        "[block]\ntitle=A\n%s[student]\nname=Ann\n[block]\ntitle=B\n%s[block]\ntitle=C\n%s"
        "[student]\nname=Ben\n[block]\ntitle=D\n%s",
        work, work, work, work);
    Hall *h = hall_of(text);
    practice_record_to(h->s.p, &sink);
    press(h, ACTION_GO);
    const Model *m = hear(h, h->lead + 60 * RATE);
    assert_true(m->routine.done);
    assert_string_equal(all.students, ",Ann,Ann,Ben,");
    assert_string_equal(practice_student(h->s.p), "Ben");
    hall_close(h);

    Options named = options_default(); /* a routine for anyone, practised by one who is named */
    Error error = {0};
    named.file = hall_put("run.ini", "[block]\ntitle=A\nminutes=1\n");
    named.command = COMMAND_ID_ROUTINE;
    named.student = "Cleo";
    Practice *p = practice_new(&named, true, &error);
    if (p == NULL)
        fail_msg("%s", error.text);
    assert_string_equal(practice_student(p), "Cleo");
    practice_free(p);
}

/* Feet are all that is free at the harp: in a routine the pedal's back half says missed, with a
 * ladder or without. */
static void the_pedal_says_missed(void **state)
{
    (void)state;
    Hall *h = hall_of("[block]\ntitle=A\nminutes=3\npassage=four.abc\ndrills=plain,finger-4\n");
    press(h, ACTION_GO);
    hear(h, h->lead + 8 * RATE);
    press(h, ACTION_PEDAL_BACK);
    const Model *m = hear(h, h->heard + RATE);
    assert_non_null(strstr(m->message, "counts missed"));
    assert_int_equal(m->run, RUN_PLAYING); /* and nothing begins anew */
    hall_close(h);
}

static void a_break_is_proposed_once(void **state)
{
    (void)state;
    Hall *h = hall_of("[routine]\nbreak-after=1\n[block]\ntitle=A\nminutes=3\npassage=four.abc\n"
                      "drills=plain\n");
    press(h, ACTION_GO);
    const Model *m = hear(h, h->lead + 59 * RATE);
    assert_null(strstr(m->message, "break"));
    m = hear(h, h->lead + 61 * RATE);
    assert_non_null(strstr(m->message, "take a break"));
    assert_non_null(strstr(m->message, "professional"));
    assert_non_null(strstr(m->message, "1 minute of playing"));
    m = hear(h, h->lead + 110 * RATE);
    assert_string_equal(m->message, "");
    hall_close(h);
}

/* What is said meanwhile, by a key or by a ladder at its top, does not do away with it. */
static void a_break_stays_proposed(void **state)
{
    (void)state;
    Hall *h = hall_of("[routine]\nbreak-after=1\n[block]\ntitle=A\nminutes=3\npassage=four.abc\n"
                      "drills=plain\nladder=190 to 200\npattern=clean-1\nabove=0\n");
    press(h, ACTION_GO);
    const Model *m = hear(h, h->lead + 63 * RATE);
    assert_non_null(strstr(m->message, "take a break"));
    press(h, ACTION_MISSED);
    m = hear(h, h->heard + RATE);
    assert_non_null(strstr(m->message, "counts"));
    m = hear(h, h->heard + 10 * RATE);
    assert_non_null(strstr(m->message, "take a break"));
    m = hear(h, h->heard + 10 * RATE);
    assert_non_null(strstr(m->message, "take a break"));
    press(h, ACTION_GO); /* a pause: it is taken */
    m = hear(h, h->heard + RATE);
    assert_null(strstr(m->message, "break"));
    hall_close(h);
}

/* Any keys at any time: what is told stays sensible, and what was heard is what was counted. */
static void any_keys_keep_it_whole(void **state)
{
    (void)state;
    static const Action keys[] = {ACTION_GO, ACTION_GO, ACTION_BLOCK_NEXT, ACTION_BLOCK_BEFORE,
        ACTION_MINUTE, ACTION_NEXT, ACTION_PREVIOUS, ACTION_AGAIN, ACTION_TEMPO_UP,
        ACTION_TEMPO_DOWN_NUMBER, ACTION_RHYTHM, ACTION_MISSED, ACTION_LAYER_GUIDE,
        ACTION_ROUTINE_END, ACTION_BEATS};
    for (uint64_t seed = 1; seed <= 12; seed++) {
        Random random = {seed * 7919};
        Hall *h = hall_of("[block]\ntitle=A\nminutes=0.7\nrest=4\npassage=four.abc\ndrills=plain,"
                          "links\n[block]\ntitle=B\nminutes=0.2\nrest=3\n[block]\ntitle=C\n"
                          "repetitions=1\npassage=four.abc\ndrills=plain\ntempo=200\n[break]\n"
                          "minutes=0.25\n[block]\ntitle=D\nminutes=1\nrest=5\npassage=four.abc\n"
                          "ladder=80 to 100\npattern=clean-1\n");
        press(h, ACTION_GO);
        for (int turn = 0; turn < 150; turn++) {
            const Model *m = hear(h, h->heard + random_between(&random, 1, 6 * RATE));
            if (m->routine.position < 0 || m->routine.position > m->routine.total ||
                m->routine.block < 1 || m->routine.block > 5 || m->routine.seconds_left < 0 ||
                (m->run == RUN_FINISHED && !m->routine.done))
                fail_msg("seed %d, turn %d", (int)seed, turn);
            if (random_between(&random, 0, 2) > 0)
                press(h, keys[random_between(&random, 0, sizeof keys / sizeof keys[0] - 1)]);
            if (m->run == RUN_PAUSED && turn % 4 == 0)
                press(h, ACTION_GO);
        }
        /* Left alone it comes to its end, wherever it was. */
        const Model *m = practice_model(h->s.p);
        if (m->run == RUN_PAUSED || m->run == RUN_READY || m->run == RUN_FINISHED)
            press(h, ACTION_GO);
        m = hear(h, h->heard + (int64_t)(m->routine.total - m->routine.position + 600) * RATE);
        if (!m->routine.done || m->run != RUN_FINISHED)
            fail_msg("seed %d: block %d, %d s left, run %d", (int)seed, m->routine.block,
                m->routine.seconds_left, (int)m->run);
        hall_close(h);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_go_to_blocks_and_give_minutes),
        cmocka_unit_test(the_pedal_says_missed),
        cmocka_unit_test(a_break_is_proposed_once),
        cmocka_unit_test(a_break_stays_proposed),
        cmocka_unit_test(the_practice_is_the_students),
        cmocka_unit_test(each_repetition_is_its_students),
        cmocka_unit_test(any_keys_keep_it_whole),
    };
    return cmocka_run_group_tests_name(
        "practice routine keys", tests, hall_folder, hall_folder_gone);
}
