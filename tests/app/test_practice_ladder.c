/* The ladder beside the drill, and judging: what is heard next after clean and missed repetitions,
 * on the frame; what is handed to the record. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/drill/timeline.h"
#include "stand.h"

#include <stdlib.h>
#include <string.h>

enum { KEPT_MAX = 2000 };

/* A record in memory. */
typedef struct {
    Repetition kept[KEPT_MAX];
    size_t at[KEPT_MAX]; /* frames rendered when it was handed in */
    uint64_t count;
    const Stand *stand;
    bool refuses, keeps_verdicts;
} Shelf;

static uint64_t shelve(void *to, const Repetition *r)
{
    Shelf *shelf = to;
    if (shelf->refuses)
        return 0;
    assert_true(shelf->count < KEPT_MAX);
    shelf->kept[shelf->count] = *r;
    shelf->at[shelf->count] = shelf->stand->count;
    return ++shelf->count;
}

static bool judge(void *to, uint64_t ticket, bool clean)
{
    Shelf *shelf = to;
    assert_true(ticket >= 1 && ticket <= shelf->count);
    if (shelf->keeps_verdicts)
        return false;
    shelf->kept[ticket - 1].clean = clean;
    return true;
}

static Shelf shelf;

static Stand stand_with_record(const char *file)
{
    Stand s = stand_of(file);
    memset(&shelf, 0, sizeof shelf);
    const RecordSink sink = {&shelf, shelve, judge};
    practice_record_to(s.p, &sink);
    practice_attach(s.p, s.engine);
    return s;
}

static const ModelItem *row(Stand *s, const char *begins)
{
    const Model *m = turn(s);
    for (int i = 0; i < m->rungs.count; i++)
        if (strncmp(m->rungs.items[i].title, begins, strlen(begins)) == 0)
            return &m->rungs.items[i];
    fail_msg("no setting begins with '%s'", begins);
    return NULL;
}

/* Sets a line of the ladder's screen by `steps` presses. */
static void set(Stand *s, const char *begins, int steps)
{
    const Model *m = practice_model(s->p);
    while (m->rungs.items + m->rungs.cursor != row(s, begins)) {
        act(s, ACTION_DOWN);
        assert_true(m->rungs.cursor < m->rungs.count);
    }
    for (int i = 0; i < abs(steps); i++)
        act(s, steps > 0 ? ACTION_SET_UP : ACTION_SET_DOWN);
    while (m->rungs.cursor > 0)
        act(s, ACTION_UP);
}

/* From 60 by tens to 90, one above; up after two clean ones. */
static Stand small_ladder(const char *file)
{
    Stand s = stand_with_record(file); /* nothing is kept before start() */
    act(&s, ACTION_LADDER);
    assert_int_equal(turn(&s)->screen, SCREEN_LADDER);
    for (int i = 0; i < 400 && strcmp(row(&s, "from:")->title, "from: 1/4 = 60") != 0; i++)
        set(&s, "from:", strcmp(row(&s, "from:")->title, "from: 1/4 = 60") > 0 ? -1 : 1);
    for (int i = 0; i < 400 && strcmp(row(&s, "goal:")->title, "goal: 1/4 = 90") != 0; i++)
        set(&s, "goal:", 1);
    set(&s, "steps:", -1); /* by ten beats */
    set(&s, "clean in a row", -1);
    assert_string_equal(row(&s, "steps:")->title, "steps: 10 beats a minute");
    assert_string_equal(row(&s, "clean in a row")->title, "clean in a row to go up: 2");
    return s;
}

static void start(Stand *s)
{
    shelf.stand = s;
    act(s, ACTION_LADDER_SWITCH);
    assert_int_equal(turn(s)->screen, SCREEN_PRACTICE);
    assert_true(practice_model(s->p)->ladder.on);
    act(s, ACTION_GO);
    run_until(s, RUN_PLAYING);
}

static void until_kept(Stand *s, uint64_t count)
{
    shelf.stand = s;
    for (int turns = 0; shelf.count < count; turns++) {
        assert_true(turns < 400000);
        turn(s);
    }
}

static int64_t number(const Repetition *r)
{
    assert_int_equal(r->tempo.per_minute.den, 1);
    return r->tempo.per_minute.num;
}

/* Clean twice: up. Missed: down. All the way to one above the goal, and then it ends. */
static void up_when_clean_down_after_a_miss(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/01-first-crossing.abc");
    start(&s);
    until_kept(&s, 2); /* 60 60 */
    run_until(&s, RUN_PLAYING);
    until_kept(&s, 3); /* 70 */
    while (practice_model(s.p)->judge.count == 3 && practice_model(s.p)->now != 2)
        turn(&s); /* well into the fourth: a press is for it */
    for (int i = 0; i < RATE * 2 / BLOCK; i++)
        turn(&s);
    act(&s, ACTION_MISSED);
    assert_true(turn(&s)->judge.told);
    until_kept(&s, 4);
    static const int64_t then[] = {60, 60, 70, 70, 60, 60, 70, 70, 80, 80, 90, 90, 100, 100};
    enum { THEN = sizeof then / sizeof then[0] };
    run_until(&s, RUN_FINISHED);
    assert_int_equal(shelf.count, THEN);
    for (int i = 0; i < THEN; i++) {
        assert_int_equal(number(&shelf.kept[i]), then[i]);
        assert_int_equal(shelf.kept[i].clean, i != 3);
        assert_string_equal(shelf.kept[i].drill, "plain");
        assert_string_equal(shelf.kept[i].passage, practice_model(s.p)->title);
    }
    assert_true(turn(&s)->ladder.done);
    stand_free(&s);
}

/* Each repetition begins on the frame where the one before ends: no rest, no count-in, no gap. The
 * passage is eight crotchets, clicked one by one, at 60 60 70 70 80 80 90 90 100 100: each click of
 * the whole climb is held against the exact sum of what lies before it, rounded as each timeline
 * rounds its length. */
static void no_stop_between_tempos(void **state)
{
    (void)state;
    enum { COUNT_IN = 4, NOTES = 8, TIMES = 10 };
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    run_until(&s, RUN_FINISHED);
    int64_t begin = 0, first = -1;
    int click = 0;
    for (size_t i = 0; i < s.count; i++) {
        if (!is_click(s.heard, s.count, i) || click++ < COUNT_IN)
            continue;
        int note = click - 1 - COUNT_IN, in = note % NOTES;
        Tempo tempo_now = tempo(ratio_int(1), ratio_int(60 + 10 * (note / NOTES / 2)));
        first = first < 0 ? (int64_t)i : first;
        if (in == 0 && note > 0) {
            Tempo before = tempo(ratio_int(1), ratio_int(60 + 10 * ((note - 1) / NOTES / 2)));
            begin += tempo_frame(before, ratio_int(NOTES), RATE);
        }
        int64_t wanted = first + begin + tempo_frame(tempo_now, ratio_int(in), RATE);
        assert_int_equal((int64_t)i, wanted);
    }
    assert_int_equal(click, COUNT_IN + TIMES * NOTES);
    stand_free(&s);
}

/* Handed to the record before the next one begins. */
static void recorded_before_the_next_begins(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 1);
    int64_t heard = (int64_t)shelf.at[0] - LATENCY, end = 0;
    for (size_t i = 0, clicks = 0; i < s.count && clicks < 5; i++)
        if (is_click(s.heard, s.count, i) && ++clicks == 5)
            end = (int64_t)i + 8 * RATE; /* eight crotchets at 60 */
    assert_true(end > 0);
    assert_true(heard < end && heard > end - RATE);
    stand_free(&s);
}

/* A press in the first moments is for the one before: it is judged anew, and the tempo after the
 * one that is heard follows from it. */
static void a_late_press_is_for_the_one_before(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 2);
    while (practice_model(s.p)->now != 0)
        turn(&s);
    assert_string_equal(practice_model(s.p)->tempo, "1/4 = 70");
    act(&s, ACTION_MISSED);
    assert_false(shelf.kept[1].clean);
    assert_false(turn(&s)->judge.told);
    until_kept(&s, 5);
    assert_int_equal(number(&shelf.kept[2]), 70); /* it plays already */
    assert_int_equal(number(&shelf.kept[3]), 60);
    assert_true(shelf.kept[2].clean);
    act(&s, ACTION_GO);
    stand_free(&s);
}

/* Pressed when the repetition is judged already, a moment before its end: the next one follows
 * from the second thought. */
static void a_second_thought_before_the_end(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 2);
    assert_string_equal(practice_model(s.p)->tempo, "1/4 = 60"); /* it still plays */
    act(&s, ACTION_MISSED);
    assert_false(shelf.kept[1].clean);
    assert_string_equal(practice_model(s.p)->message, "The one before counts missed.");
    until_kept(&s, 4);
    assert_int_equal(number(&shelf.kept[2]), 60);
    assert_int_equal(number(&shelf.kept[3]), 60);
    act(&s, ACTION_GO);
    stand_free(&s);
}

/* The last repetition of all may be told missed when it is over: nothing follows that would need
 * to be quicker than the player. Started again, the ladder goes on from where that leads, in the
 * same drill. */
static void the_last_one_may_be_missed_after_its_end(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    act(&s, ACTION_NEXT);
    run_until(&s, RUN_FINISHED);
    uint64_t last = shelf.count - 1;
    int step = turn(&s)->step;
    assert_int_equal(step, 2);
    assert_true(shelf.kept[last].clean && practice_model(s.p)->ladder.done);
    act(&s, ACTION_MISSED);
    assert_string_equal(practice_model(s.p)->message, "The one before counts missed.");
    assert_false(shelf.kept[last].clean);
    assert_false(turn(&s)->ladder.done);
    act(&s, ACTION_GO);
    until_kept(&s, last + 2);
    assert_int_equal(number(&shelf.kept[last + 1]), 90);
    assert_int_equal(practice_model(s.p)->step, step);
    assert_string_equal(shelf.kept[last + 1].drill, shelf.kept[last].drill);
    stand_free(&s);
}

/* Begun anew with a count-in, there is nothing before its first note that a press could mean. */
static void a_fresh_start_has_nothing_before_it(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 1);
    act(&s, ACTION_AGAIN);
    run_until(&s, RUN_COUNT_IN);
    run_until(&s, RUN_PLAYING);
    act(&s, ACTION_MISSED);
    assert_string_equal(practice_model(s.p)->message, "This one counts missed.");
    until_kept(&s, 2);
    assert_true(shelf.kept[0].clean);
    assert_false(shelf.kept[1].clean);
    stand_free(&s);
}

/* A verdict that the record does not take is not told as if it had. */
static void a_verdict_that_is_not_kept_is_told(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 1);
    shelf.keeps_verdicts = true;
    act(&s, ACTION_MISSED);
    assert_string_equal(practice_model(s.p)->message,
        "The one before counts missed; the record has no room for that and keeps it as clean.");
    assert_true(practice_model(s.p)->message_warns);
    stand_free(&s);
}

static void pressed_twice_is_not_pressed(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    while (practice_model(s.p)->now != 5)
        turn(&s);
    act(&s, ACTION_PEDAL_BACK); /* the pedal's other half does the same while a ladder stands */
    assert_true(turn(&s)->judge.told);
    act(&s, ACTION_MISSED);
    assert_false(turn(&s)->judge.told);
    until_kept(&s, 3);
    assert_true(shelf.kept[0].clean);
    assert_int_equal(number(&shelf.kept[2]), 70);
    stand_free(&s);
}

/* The other way round: missed unless told. */
static void strict_judging(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    set(&s, "a repetition counts", 1);
    assert_non_null(strstr(row(&s, "a repetition")->title, "missed unless"));
    start(&s);
    until_kept(&s, 3);
    for (int i = 0; i < 3; i++) {
        assert_false(shelf.kept[i].clean);
        assert_int_equal(number(&shelf.kept[i]), 60);
    }
    for (uint64_t told = 3; told < 5; told++) {
        while (practice_model(s.p)->now != 6)
            turn(&s);
        act(&s, ACTION_MISSED);
        until_kept(&s, told + 1);
        assert_true(shelf.kept[told].clean);
        while (practice_model(s.p)->now == 6)
            turn(&s);
    }
    until_kept(&s, 6);
    assert_int_equal(number(&shelf.kept[5]), 70);
    stand_free(&s);
}

/* Without a ladder every repetition of every drill is judged and kept, too, and one that a pause
 * broke is not. */
static void every_repetition_is_kept(void **state)
{
    (void)state;
    Stand s = stand_with_record("presets/01-first-crossing.abc");
    shelf.stand = &s;
    act(&s, ACTION_GO);
    run_until(&s, RUN_FINISHED);
    const Model *m = practice_model(s.p);
    assert_int_equal(shelf.count, (uint64_t)m->steps * (uint64_t)m->repetitions);
    assert_int_equal(m->judge.count, shelf.count);
    assert_string_equal(shelf.kept[0].drill, "plain");
    assert_string_not_equal(shelf.kept[2].drill, "plain");
    uint64_t before = shelf.count;
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    while (practice_model(s.p)->now != 3)
        turn(&s);
    act(&s, ACTION_GO); /* pause */
    for (int i = 0; i < 50; i++)
        turn(&s);
    act(&s, ACTION_GO);
    until_kept(&s, before + 1);
    assert_true(practice_model(s.p)->repetition == 2 || shelf.count == before + 1);
    stand_free(&s);
}

/* The model tells what is safely written, and that something is on its way. */
static void what_is_written_is_told(void **state)
{
    (void)state;
    Stand s = stand_with_record("presets/01-first-crossing.abc");
    shelf.stand = &s;
    act(&s, ACTION_GO);
    until_kept(&s, 2);
    const ModelJudge *j = &turn(&s)->judge;
    assert_true(j->kept && !j->recorded && j->written == 0);
    practice_recorded(s.p, 1, 0, true);
    turn(&s);
    assert_true(!j->recorded && j->written == 1);
    practice_recorded(s.p, 2, 0, false);
    turn(&s);
    assert_true(j->recorded && j->written == 2);
    practice_recorded(s.p, 2, 0, true); /* another verdict on the second */
    turn(&s);
    assert_true(!j->recorded && j->written == 2);
    stand_free(&s);
}

/* The sound goes on for so long, and nobody looks. */
static void stand_still(Stand *s, int seconds)
{
    static float unseen[BLOCK];
    for (int i = 0; i < seconds * RATE / BLOCK; i++) {
        engine_render(s->engine, unseen, BLOCK);
        s->count += BLOCK;
    }
    free(s->heard);
    s->room = s->count + (1 << 16);
    s->heard = calloc(s->room, sizeof *s->heard);
    assert_non_null(s->heard);
}

/* A console that stands still over an end judges what was played meanwhile, and knows where on
 * the ladder that has led: begun anew, it goes on from there and from nowhere else. */
static void standing_still_loses_nothing(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    while (practice_model(s.p)->now != 5)
        turn(&s);
    assert_int_equal(shelf.count, 0);
    stand_still(&s, 5); /* two of them in the second repetition */
    turn(&s);
    assert_true(practice_running(s.p));
    assert_int_equal(shelf.count, 1);
    act(&s, ACTION_AGAIN);
    until_kept(&s, 3);
    assert_int_equal(number(&shelf.kept[0]), 60);
    assert_int_equal(number(&shelf.kept[1]), 60);
    assert_int_equal(number(&shelf.kept[2]), 70);
    stand_free(&s);
}

/* Longer than the one repetition that is queued: then it begins late. */
static void standing_still_for_long_goes_on(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 1);
    stand_still(&s, 9); /* the second lasts 8 */
    turn(&s);
    assert_true(practice_running(s.p));
    until_kept(&s, 3);
    assert_int_equal(number(&shelf.kept[1]), 60);
    assert_int_equal(number(&shelf.kept[2]), 70);
    stand_free(&s);
}

/* Over the end of all: the last repetition is judged, too. */
static void standing_still_over_the_end(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    start(&s);
    until_kept(&s, 9);
    while (practice_model(s.p)->now != 2)
        turn(&s);
    assert_int_equal(shelf.count, 9);
    stand_still(&s, 12);
    assert_int_equal(turn(&s)->run, RUN_FINISHED);
    assert_int_equal(shelf.count, 10);
    assert_int_equal(number(&shelf.kept[9]), 100);
    assert_true(practice_model(s.p)->ladder.done);
    stand_free(&s);
}

/* evenhand practice --from ... --to ...: it stands when the console opens. */
static void the_command_line_puts_it_up(void **state)
{
    (void)state;
    char *words[] = {"evenhand", "practice", "presets/02-one-octave-up.abc", "--from", "60", "--to",
        "90", "--by", "10", "--clean", "2"};
    char *wrong[] = {
        "evenhand", "practice", "presets/02-one-octave-up.abc", "--from", "90", "--to", "60"};
    Options o;
    Error error = {0};
    assert_true(options_parse(sizeof words / sizeof words[0], words, &o, &error));
    Practice *p = practice_new(&o, true, &error);
    assert_non_null(p);
    const Model *m = practice_model(p);
    assert_true(m->ladder.on);
    assert_string_equal(m->tempo, "1/4 = 60");
    assert_int_equal(m->ladder.rungs, 5);
    assert_int_equal(m->ladder.goal, 4);
    assert_string_equal(m->ladder.if_clean, "60 again");
    practice_free(p);
    assert_true(options_parse(sizeof wrong / sizeof wrong[0], wrong, &o, &error));
    assert_null(practice_new(&o, true, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
}

/* A record that takes nothing more does not stop anybody. */
static void a_full_record_stops_nothing(void **state)
{
    (void)state;
    Stand s = small_ladder("presets/02-one-octave-up.abc");
    shelf.refuses = true;
    start(&s);
    run_until(&s, RUN_FINISHED);
    assert_int_equal(turn(&s)->judge.count, 10);
    stand_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(up_when_clean_down_after_a_miss),
        cmocka_unit_test(no_stop_between_tempos),
        cmocka_unit_test(recorded_before_the_next_begins),
        cmocka_unit_test(a_late_press_is_for_the_one_before),
        cmocka_unit_test(a_second_thought_before_the_end),
        cmocka_unit_test(the_last_one_may_be_missed_after_its_end),
        cmocka_unit_test(a_fresh_start_has_nothing_before_it),
        cmocka_unit_test(a_verdict_that_is_not_kept_is_told),
        cmocka_unit_test(pressed_twice_is_not_pressed),
        cmocka_unit_test(strict_judging),
        cmocka_unit_test(every_repetition_is_kept),
        cmocka_unit_test(what_is_written_is_told),
        cmocka_unit_test(standing_still_loses_nothing),
        cmocka_unit_test(standing_still_for_long_goes_on),
        cmocka_unit_test(standing_still_over_the_end),
        cmocka_unit_test(the_command_line_puts_it_up),
        cmocka_unit_test(a_full_record_stops_nothing),
    };
    return cmocka_run_group_tests_name("practice_ladder", tests, NULL, NULL);
}
