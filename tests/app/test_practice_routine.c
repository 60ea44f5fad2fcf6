/* A routine on the bench: the engine's frames are the clock. Invented data. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "app/stand.h"
#include "tools/passages.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[] = "/tmp/evenhand-routine-XXXXXX";
static char path[200];

enum { STEP = 400, BAR = 4 * RATE /* of the passage at 60 */, RECENT = 1 << 16 };

/* A practice whose samples are thrown away but for the latest, so that hours fit. */
typedef struct {
    Stand s;
    float recent[RECENT];
    int64_t rendered, heard, lead;
} Hall;

static void put(const char *name, const char *text)
{
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs(text, f);
    assert_int_equal(fclose(f), 0);
}

static Hall *hall_of(const char *routine)
{
    Hall *h = calloc(1, sizeof *h);
    assert_non_null(h);
    put("four.abc", "X:1\nT:Four bars\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\nCDEF|GABc|cBAG|FEDC|\n");
    put("run.ini", routine);
    h->s = stand_of_routine(path);
    h->lead = engine_lead(h->s.engine);
    practice_attach(h->s.p, h->s.engine);
    return h;
}

static void hall_close(Hall *h)
{
    stand_free(&h->s);
    free(h);
}

static const Model *hear(Hall *h, int64_t frame)
{
    while (h->rendered < frame + LATENCY) {
        float block[STEP];
        engine_render(h->s.engine, block, STEP);
        for (int i = 0; i < STEP; i++)
            h->recent[(h->rendered + i) % RECENT] = block[i];
        h->rendered += STEP;
        if (frame - h->heard > STEP) /* the console looks on meanwhile */
            look(&h->s, h->heard += STEP);
    }
    h->heard = frame;
    return look(&h->s, frame);
}

static void press(Hall *h, Action action)
{
    assert_true(practice_act(h->s.p, action, h->heard * 1000 / RATE));
}

/* The frame at which what the model says changes, between `from` and `to`. */
static int64_t change_of(Hall *h, int64_t from, int64_t to, bool (*says)(const Model *))
{
    assert_false(says(hear(h, from)));
    for (int64_t frame = from; frame <= to; frame++)
        if (says(hear(h, frame)))
            return frame;
    fail_msg("no change between %lld and %lld", (long long)from, (long long)to);
    return -1;
}

static bool rests(const Model *m)
{
    return m->routine.rests;
}

/* A bell is struck here: the loudest sample far and wide. */
static void assert_bell(const Hall *h, int64_t frame)
{
    float size = fabsf(h->recent[frame % RECENT]);
    assert_true(size > 0.01F);
    for (int64_t k = frame - RATE / 50; k <= frame + RATE / 50; k++)
        assert_true(fabsf(h->recent[k % RECENT]) <= size);
}

static void only_bells(Hall *h)
{
    practice_act(h->s.p, ACTION_LAYER_ANNOUNCE, 0);
    practice_act(h->s.p, ACTION_LAYER_NOTES, 0);
    practice_act(h->s.p, ACTION_LAYER_ACCENT, 0);
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
    put("run.ini", "[block]\ntitle=A\nminutes=1\n");
    named.file = path;
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

static int make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) != NULL ? 0 : -1;
}

static int remove_folder(void **state)
{
    static const char *const names[] = {"four.abc", "run.ini"};
    (void)state;
    for (int i = 0; i < 2; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        unlink(path);
    }
    return rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blocks_follow_each_other_to_the_frame),
        cmocka_unit_test(two_hours_do_not_drift),
        cmocka_unit_test(only_what_is_heard_counts),
        cmocka_unit_test(keys_go_to_blocks_and_give_minutes),
        cmocka_unit_test(repetitions_and_ladders_have_their_blocks),
        cmocka_unit_test(the_pedal_says_missed),
        cmocka_unit_test(a_break_is_proposed_once),
        cmocka_unit_test(a_break_stays_proposed),
        cmocka_unit_test(a_slower_tempo_stretches_a_counted_block),
        cmocka_unit_test(the_practice_is_the_students),
        cmocka_unit_test(each_repetition_is_its_students),
        cmocka_unit_test(a_console_that_stood_still_goes_on),
        cmocka_unit_test(any_keys_keep_it_whole),
    };
    return cmocka_run_group_tests_name("practice routine", tests, make_folder, remove_folder);
}
