/* The routine's clock: to the frame over hours, whatever is pressed; and who plays which blocks.
 * Invented names. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "evenhand/plan/routine.h"

#include <stdio.h>
#include <string.h>

enum { SECONDS = 2 * 60 * 60 };

static RoutineRun begin(const RoutineSpan *spans, int count, int rate)
{
    RoutineRun run;
    Error error = {0};
    assert_true(routine_begin(&run, spans, count, rate, ROUTINE_BREAK_MINUTES, &error));
    return run;
}

static int64_t spent(const RoutineRun *run)
{
    int64_t sum = 0;
    for (int i = 0; i < run->count; i++)
        sum += run->spent[i];
    return sum;
}

/* Random blocks that come to two hours, to the frame. */
static int two_hours(Random *r, int rate, RoutineSpan spans[ROUTINE_BLOCKS_MAX])
{
    int64_t left = (int64_t)SECONDS * rate;
    int count = 0;
    for (; left > 0; count++) {
        int64_t most = left < 900 * (int64_t)rate ? left : 900 * (int64_t)rate;
        int64_t rest = random_between(r, 0, 30 * rate);
        int64_t work = random_between(r, 1, (int)most);
        if (work + rest > left || count == ROUTINE_BLOCKS_MAX - 1) {
            rest = 0;
            work = left;
        }
        spans[count] = (RoutineSpan){.work = work, .rest = rest, .breaks = count % 5 == 4};
        left -= work + rest;
    }
    return count;
}

/* Heard in whatever pieces, paused wherever: two hours are over after exactly two hours. */
static void two_hours_are_two_hours_to_the_frame(void **state)
{
    (void)state;
    static const int rates[] = {44100, 48000, 96000};
    Random random = {20261125};
    for (int round = 0; round < 60; round++) {
        uint64_t seed = random.state;
        RoutineSpan spans[ROUTINE_BLOCKS_MAX];
        int rate = rates[round % 3], count = two_hours(&random, rate, spans);
        RoutineRun run = begin(spans, count, rate);
        int64_t all = (int64_t)SECONDS * rate, heard = 0, boundary = 0;
        assert_int_equal(routine_total(&run), all);
        int passed = 0, boundaries = 0;
        for (int i = 0; i < count; i++)
            boundaries += spans[i].rest > 0 ? 2 : 1;
        while (heard < all) {
            int64_t frames = random_between(&random, 1, round % 2 == 0 ? 50000 : 20000000);
            if (random_between(&random, 0, 3) == 0) { /* a pause of any length */
                routine_hold(&run, true);
                assert_int_equal(routine_advance(&run, frames), 0);
                routine_hold(&run, false);
                continue;
            }
            frames = frames < all - heard ? frames : all - heard;
            passed += routine_advance(&run, frames);
            heard += frames;
            if (routine_position(&run) != heard || spent(&run) != heard)
                fail_msg("seed %llu: %lld heard, at %lld", (unsigned long long)seed,
                    (long long)heard, (long long)routine_position(&run));
        }
        assert_int_equal(run.phase, ROUTINE_DONE);
        assert_int_equal(passed, boundaries);
        for (int i = 0; i < count; i++) {
            assert_int_equal(run.spent[i], spans[i].work + spans[i].rest);
            boundary += run.spent[i];
        }
        assert_int_equal(boundary, all);
        assert_int_equal(routine_advance(&run, 1000), 0);
        assert_int_equal(spent(&run), all); /* nothing after the end */
    }
}

/* Every key at random: no frame is counted twice or lost, and the bar's parts are the whole. */
static void no_key_loses_or_doubles_a_frame(void **state)
{
    (void)state;
    Random random = {7};
    for (int round = 0; round < 200; round++) {
        RoutineSpan spans[ROUTINE_BLOCKS_MAX];
        int rate = round % 2 == 0 ? 44100 : 96000, count = two_hours(&random, rate, spans);
        RoutineRun run = begin(spans, count, rate);
        int64_t counted = 0;
        for (int turn = 0; turn < 400; turn++) {
            int64_t before = routine_total(&run);
            switch (random_between(&random, 0, 9)) {
            case 0: routine_skip(&run); break;
            case 1: routine_back(&run); break;
            case 2: routine_go(&run, random_between(&random, -1, count)); break;
            case 3: before += routine_add(&run, 60 * (int64_t)rate) ? 60 * (int64_t)rate : 0; break;
            case 4: routine_hold(&run, random_between(&random, 0, 1)); break;
            default: {
                int64_t frames = random_between(&random, 0, 400 * rate);
                bool held = run.held, done = run.phase == ROUTINE_DONE;
                int64_t left = routine_total(&run) - routine_position(&run);
                routine_advance(&run, frames);
                if (!held && !done)
                    counted += frames < left ? frames : left;
            }
            }
            assert_int_equal(routine_total(&run), before);
            assert_int_equal(spent(&run), counted);
            assert_true(routine_position(&run) >= 0 && routine_position(&run) <= before);
            assert_true(run.block >= 0 && run.block < count);
            assert_true(run.phase == ROUTINE_DONE || routine_phase_left(&run) > 0);
            if (run.phase == ROUTINE_DONE)
                assert_int_equal(routine_position(&run), before);
        }
    }
}

/* A block that ends on a bar line a little off gives or takes from what follows. */
static void ends_on_bar_lines_do_not_add_up(void **state)
{
    (void)state;
    Random random = {11};
    for (int round = 0; round < 300; round++) {
        const int rate = 48000;
        RoutineSpan spans[20];
        for (int i = 0; i < 20; i++)
            spans[i] = (RoutineSpan){.work = (int64_t)rate * random_between(&random, 60, 600),
                .rest = random_between(&random, 0, 1) ? 0 : rate * random_between(&random, 2, 20),
                .by_count = random_between(&random, 0, 5) == 0};
        spans[19].by_count = false;
        RoutineRun run = begin(spans, 20, rate);
        int64_t whole = routine_total(&run), heard = 0;
        while (run.block < 19 || run.phase != ROUTINE_WORK) {
            if (run.phase == ROUTINE_WORK && !run.span[run.block].by_count) {
                int64_t at = random_between(&random, 0, rate);
                routine_advance(&run, at);
                heard += at;
                int64_t end =
                    run.span[run.block].work + random_between(&random, -2 * rate, 2 * rate);
                routine_settle(&run, run.block, end);
                assert_int_equal(run.span[run.block].work, end);
                assert_int_equal(routine_total(&run), whole);
                assert_true(run.span[run.block].rest == 0 ||
                            run.span[run.block].rest >= ROUTINE_BELL * rate);
            }
            int64_t left = routine_phase_left(&run);
            assert_int_equal(routine_advance(&run, left), 1);
            heard += left;
        }
        assert_int_equal(routine_position(&run), heard);
        assert_int_equal(routine_total(&run), whole);
    }
}

static void keys_do_what_they_say(void **state)
{
    (void)state;
    const RoutineSpan spans[3] = {
        {.work = 1000, .rest = 100}, {.work = 2000, .rest = 0, .by_count = true}, {.work = 500}};
    RoutineRun run = begin(spans, 3, 1000);
    routine_back(&run);
    assert_int_equal(run.block, 0);
    assert_int_equal(routine_advance(&run, 1000), 1);
    assert_int_equal(run.phase, ROUTINE_RESTING);
    assert_int_equal(routine_phase_left(&run), 100);
    assert_true(routine_add(&run, 60000));
    assert_int_equal(routine_phase_left(&run), 60100);
    routine_skip(&run);
    assert_int_equal(run.block, 1);
    assert_false(routine_add(&run, 60000)); /* it ends with its repetitions */
    routine_settle(&run, 1, 0);
    assert_int_equal(routine_phase_left(&run), 2000);
    assert_int_equal(routine_advance(&run, 2000), 1); /* no rest: at once to the next */
    assert_int_equal(run.block, 2);
    routine_back(&run);
    assert_int_equal(run.block, 1);
    routine_go(&run, 2);
    routine_skip(&run);
    assert_int_equal(run.phase, ROUTINE_DONE);
    assert_int_equal(routine_phase_left(&run), 0);
    assert_false(routine_add(&run, 60000));
    routine_back(&run); /* from the end into the last block */
    assert_int_equal(run.block, 2);
    assert_int_equal(run.phase, ROUTINE_WORK);
    routine_end(&run);
    assert_int_equal(routine_position(&run), routine_total(&run));
}

static void a_break_is_due_after_the_stretch(void **state)
{
    (void)state;
    const int64_t minute = 60000;
    const RoutineSpan spans[4] = {{.work = 20 * minute, .rest = 30000},
        {.work = 20 * minute, .rest = 30000}, {.work = 3 * minute, .breaks = true},
        {.work = 60 * minute}};
    RoutineRun run = begin(spans, 4, 1000);
    routine_advance(&run, 20 * minute + 30000);
    assert_false(routine_break_due(&run)); /* twenty minutes */
    routine_advance(&run, 5 * minute - 1);
    assert_false(routine_break_due(&run)); /* a rest of half a minute is no break */
    routine_advance(&run, 1);
    assert_true(routine_break_due(&run));
    routine_advance(&run, 15 * minute + 30000); /* and it stays so, into the break */
    assert_int_equal(run.block, 2);
    assert_true(routine_break_due(&run));
    routine_advance(&run, 3 * minute);
    assert_false(routine_break_due(&run));
    routine_advance(&run, 25 * minute);
    assert_true(routine_break_due(&run));
    routine_hold(&run, true); /* a pause that is long enough is a break, too */
    routine_advance(&run, ROUTINE_BREAK_SECONDS * 1000 - 1);
    assert_true(routine_break_due(&run));
    routine_advance(&run, 1);
    assert_false(routine_break_due(&run));
    Error error = {0};
    assert_true(routine_begin(&run, spans, 4, 1000, 0, &error));
    routine_advance(&run, 100 * minute);
    assert_false(routine_break_due(&run)); /* not wanted */
}

static void what_cannot_be_counted_is_refused(void **state)
{
    (void)state;
    RoutineRun run;
    Error error = {0};
    RoutineSpan good = {.work = 1}, none = {.work = 0}, less = {.work = 1, .rest = -1};
    RoutineSpan endless = {.work = ((int64_t)1 << 40) + 1};
    assert_true(routine_begin(&run, &good, 1, 48000, 25, &error));
    assert_false(routine_begin(&run, &good, 0, 48000, 25, &error));
    assert_false(routine_begin(&run, &none, 1, 48000, 25, &error));
    assert_false(routine_begin(&run, &less, 1, 48000, 25, &error));
    assert_false(routine_begin(&run, &endless, 1, 48000, 25, &error));
    assert_false(routine_begin(&run, &good, 1, 999, 25, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
}

static void a_student_has_their_own_blocks_and_everybodys(void **state)
{
    (void)state;
    RoutineBlock blocks[4] = {{.title = "Tune", .seconds = 60},
        {.title = "Scale", .student = "Ann", .seconds = 300},
        {.title = "Steps", .student = "Ben", .seconds = 240},
        {.title = "Again", .student = "ann", .repetitions = 4}};
    const Routine whole = {.title = "Studio", .blocks = blocks, .count = 4, .seconds = 600};
    Routine one;
    Error error = {0};
    int counted;
    assert_true(routine_for(&whole, "ANN", &one, &error));
    assert_int_equal(one.count, 3);
    assert_string_equal(one.blocks[1].title, "Scale");
    assert_string_equal(one.blocks[2].title, "Again");
    assert_int_equal(one.seconds, 0);
    assert_int_equal(routine_seconds(&one, &counted), 360);
    assert_int_equal(counted, 1);
    routine_free(&one);
    assert_false(routine_for(&whole, "Carl", &one, &error));
    assert_null(one.blocks);
    assert_non_null(strstr(error.text, "Ann, Ben"));
    const Routine nobody = {.blocks = blocks, .count = 1};
    assert_true(routine_for(&nobody, "Ann", &one, &error)); /* then anyone's may be Ann's */
    assert_int_equal(one.count, 1);
    routine_free(&one);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_hours_are_two_hours_to_the_frame),
        cmocka_unit_test(no_key_loses_or_doubles_a_frame),
        cmocka_unit_test(ends_on_bar_lines_do_not_add_up),
        cmocka_unit_test(keys_do_what_they_say),
        cmocka_unit_test(a_break_is_due_after_the_stretch),
        cmocka_unit_test(what_cannot_be_counted_is_refused),
        cmocka_unit_test(a_student_has_their_own_blocks_and_everybodys),
    };
    return cmocka_run_group_tests_name("routine", tests, NULL, NULL);
}
