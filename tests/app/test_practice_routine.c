/* A routine's time on the bench: blocks, bells and rests on their frames. Invented data. */
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

/* Blocks of music end on a bar line, those of time alone to the frame; each begins where it
 * should, to the frame. */
static void blocks_follow_each_other_to_the_frame(void **state)
{
    (void)state;
    Hall *h = hall_of("[block]\ntitle=A\nminutes=0.85\nrest=10\npassage=four.abc\ndrills=plain\n"
                      "[block]\ntitle=B\nminutes=0.5\nrest=5\n"
                      "[block]\ntitle=C\nminutes=0.75\nrest=6\npassage=four.abc\ndrills=plain,"
                      "finger-4\n[break]\nminutes=0.5\n");
    only_bells(h);
    press(h, ACTION_GO);
    int64_t zero = h->lead, begin = 0;
    static const int seconds[4] = {51, 30, 45, 30}, rest[4] = {10, 5, 6, 10};
    for (int k = 0; k < 4; k++) {
        const Model *m = hear(h, zero + begin * RATE);
        assert_int_equal(m->routine.block, k + 1);
        assert_false(m->routine.rests);
        assert_int_equal(m->routine.idle, k == 1 || k == 3);
        int64_t end = zero + (begin + seconds[k] - rest[k]) * RATE;
        int64_t bell = change_of(h, end - BAR / 2 - 1, end + BAR / 2, rests);
        if (k == 1 || k == 3)
            assert_int_equal(bell, end);
        else
            assert_int_equal((bell - zero - begin * RATE) % BAR, 0);
        hear(h, bell + RATE / 2);
        assert_bell(h, bell);
        begin += seconds[k];
        m = hear(h, zero + begin * RATE - 1);
        assert_int_equal(m->routine.block, k + 1);
        assert_true(m->routine.rests && m->routine.idle);
        assert_int_equal(m->routine.seconds_left, 1);
    }
    const Model *m = hear(h, zero + begin * RATE);
    assert_true(m->routine.done);
    assert_int_equal(m->routine.position, 156);
    assert_int_equal(m->routine.total, 156);
    m = hear(h, zero + begin * RATE + RATE);
    assert_int_equal(m->run, RUN_FINISHED);
    hall_close(h);
}

/* Two hours of music and rests: the last block begins on the frame that the file says. */
static void two_hours_do_not_drift(void **state)
{
    (void)state;
    static char text[20000];
    char *at = text;
    Random random = {20261125};
    int begins[61] = {0};
    for (int k = 0; k < 60; k++) {
        at += sprintf(at,
            "[block]\ntitle=B%d\nminutes=2\nrest=%d\npassage=four.abc\ndrills=plain\ntempo=%d\n", k,
            random_between(&random, 10, 20), random_between(&random, 50, 160));
        begins[k + 1] = begins[k] + 120;
    }
    Hall *h = hall_of(text);
    press(h, ACTION_GO);
    for (int k = 1; k < 60; k++) {
        int64_t frame = h->lead + (int64_t)begins[k] * RATE;
        const Model *m = hear(h, frame - 1);
        if (m->routine.block != k)
            fail_msg("block %d before the beginning of %d", m->routine.block, k + 1);
        m = hear(h, frame);
        assert_int_equal(m->routine.block, k + 1);
        assert_false(m->routine.rests);
        assert_int_equal(m->run, RUN_COUNT_IN); /* the music is there, too */
    }
    const Model *m = hear(h, h->lead + (int64_t)7200 * RATE - 1);
    assert_false(m->routine.done);
    m = hear(h, h->lead + (int64_t)7200 * RATE);
    assert_true(m->routine.done);
    assert_int_equal(m->routine.position, 7200);
    hall_close(h);
}

/* A machine that sleeps hears nothing, and its routine stands still; paused, it does too. */
static void only_what_is_heard_counts(void **state)
{
    (void)state;
    Hall *h = hall_of("[block]\ntitle=A\nminutes=2\npassage=four.abc\ndrills=plain\n");
    press(h, ACTION_GO);
    const Model *m = hear(h, h->lead + 30 * RATE);
    int left = m->routine.seconds_left;
    for (int64_t hour = 0; hour < 3; hour++) { /* clocks jump, no frame is heard */
        practice_tick(h->s.p, h->heard, hour * 3600000);
        assert_int_equal(practice_model(h->s.p)->routine.seconds_left, left);
    }
    press(h, ACTION_GO); /* pause */
    m = hear(h, h->heard + 600 * RATE);
    assert_true(m->routine.held);
    assert_int_equal(m->routine.seconds_left, left);
    press(h, ACTION_GO);                   /* on: counted in, for as long as was left */
    int64_t begin = h->rendered + h->lead; /* decided from the next block on */
    m = hear(h, begin);
    assert_int_equal(m->routine.seconds_left, left);
    m = hear(h, begin + 10 * RATE);
    assert_int_equal(m->routine.seconds_left, left - 10);
    hall_close(h);
}

static void repetitions_and_ladders_have_their_blocks(void **state)
{
    (void)state;
    Hall *h =
        hall_of("[block]\ntitle=A\nrepetitions=2\nrest=4\npassage=four.abc\ndrills=plain,"
                "finger-3\ntempo=120\n[block]\ntitle=B\nminutes=2\nrest=10\npassage=four.abc\n"
                "drills=plain\nladder=60 to 72\npattern=clean-1\nabove=0\n");
    press(h, ACTION_GO);
    /* two drills of 1 bar in, 8 bars, 1 bar of rest, two seconds a bar */
    int64_t work = 2 * 10 * 2 * RATE;
    const Model *m = hear(h, h->lead + work - 1);
    assert_false(m->routine.rests);
    m = hear(h, h->lead + work);
    assert_true(m->routine.rests);
    m = hear(h, h->lead + work + 4 * RATE);
    assert_int_equal(m->routine.block, 2);
    assert_false(m->routine.rests);
    assert_true(m->ladder.on);
    assert_int_equal(m->ladder.rung, 1);
    assert_int_equal(m->run, RUN_COUNT_IN);
    /* One bar in, four of playing at 60; the next one at 63. */
    int64_t begin = h->heard;
    m = hear(h, begin + 20 * RATE + RATE);
    assert_int_equal(m->ladder.rung, 2);
    m = hear(h, begin + 60 * RATE);
    assert_true(m->ladder.rung >= 4);
    m = hear(h, begin + 105 * RATE);
    assert_false(m->routine.rests);
    assert_true(m->ladder.on);
    m = hear(h, begin + 115 * RATE);
    assert_true(m->routine.rests);
    assert_true(m->judge.count >= 6 && m->judge.clean == m->judge.count);
    m = hear(h, begin + 120 * RATE);
    assert_true(m->routine.done);
    hall_close(h);
}

/* Slowed down, a block by repetitions lasts as long as they do, not as long as was planned. */
static void a_slower_tempo_stretches_a_counted_block(void **state)
{
    (void)state;
    Hall *h = hall_of("[block]\ntitle=A\nrepetitions=2\nrest=4\npassage=four.abc\ndrills=plain,"
                      "finger-3\ntempo=120\n");
    press(h, ACTION_GO);
    hear(h, h->lead + 5 * RATE);
    for (int i = 0; i < 26; i++) /* to 40 */
        press(h, ACTION_TEMPO_DOWN_NUMBER);
    const Model *m = hear(h, h->lead + 44 * RATE); /* 40 s were planned for both drills */
    assert_int_equal(m->step, 1);
    assert_false(m->routine.rests);
    while (!m->routine.rests) {
        assert_true(h->heard < h->lead + 200 * RATE);
        assert_int_not_equal(m->run, RUN_FINISHED);
        m = hear(h, h->heard + STEP);
    }
    assert_int_equal(m->step, 2);
    assert_true(h->heard > h->lead + 80 * RATE);
    hall_close(h);
}

/* A console that stands still over a whole rest, while the sound goes on, finds the music at its
 * end. The routine is not over for that: it goes on with the block that is due. */
static void a_console_that_stood_still_goes_on(void **state)
{
    (void)state;
    Hall *h = hall_of("[block]\ntitle=A\nminutes=0.5\nrest=6\npassage=four.abc\ndrills=plain\n"
                      "[block]\ntitle=B\nminutes=1\npassage=four.abc\ndrills=finger-4\n");
    press(h, ACTION_GO);
    int64_t begin = h->lead + 30 * RATE;
    const Model *m = hear(h, begin - 6 * RATE - 1); /* nothing is queued behind the rest yet */
    for (float block[STEP]; h->rendered < begin + 10 * RATE; h->rendered += STEP)
        engine_render(h->s.engine, block, STEP);
    h->heard = begin + 9 * RATE;
    m = look(&h->s, h->heard);
    m = hear(h, h->heard + 2 * RATE);
    assert_int_equal(m->routine.block, 2);
    assert_false(m->routine.rests || m->routine.done);
    assert_int_equal(m->run, RUN_COUNT_IN);
    assert_non_null(strstr(m->drill, "4"));
    assert_in_range(m->routine.seconds_left, 48, 50); /* nothing of it was played without sound */
    m = hear(h, h->heard + 60 * RATE);
    assert_true(m->routine.done);
    hall_close(h);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blocks_follow_each_other_to_the_frame),
        cmocka_unit_test(two_hours_do_not_drift),
        cmocka_unit_test(only_what_is_heard_counts),
        cmocka_unit_test(repetitions_and_ladders_have_their_blocks),
        cmocka_unit_test(a_slower_tempo_stretches_a_counted_block),
        cmocka_unit_test(a_console_that_stood_still_goes_on),
    };
    return cmocka_run_group_tests_name("practice routine", tests, hall_folder, hall_folder_gone);
}
