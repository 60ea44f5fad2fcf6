/* Any keys at any time over a ladder, a routine, other passages and other fingerings: nothing is
 * lent that does not come back, every repetition is handed in once, no rung that the ladder does
 * not have. Invented passages. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/app/practice_parts.h"
#include "app/stand.h"
#include "tools/passages.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { TURNS = 260, PUTS_APART_MS = 500, STILL_MS = 2000 };

static char folder[] = "/tmp/evenhand-keys-XXXXXX";
static const char *const names[] = {"four.abc", "one.abc", "short.abc", "run.ini"};

/* What the record was handed, and when. */
typedef struct {
    uint64_t tickets, refused;
    uint64_t clean;
    bool verdicts[20000];
    int64_t latest_ms; /* of the latest one */
    int64_t now_ms, least_apart;
    int64_t still_ms; /* when the console last stood still: what went by is handed in at once */
    Random random;
} Shelf;

static uint64_t shelve(void *to, const Repetition *r)
{
    Shelf *s = to;
    if (s->now_ms - s->still_ms > STILL_MS && s->now_ms - s->latest_ms < s->least_apart)
        s->least_apart = s->now_ms - s->latest_ms;
    s->latest_ms = s->now_ms;
    s->clean += r->clean;
    assert_true(tempo_valid(r->tempo));
    assert_true(r->passage[0] != '\0' && r->drill[0] != '\0');
    if (random_between(&s->random, 0, 9) == 0) {
        s->refused++;
        return 0;
    }
    assert_true(s->tickets + 1 < sizeof s->verdicts / sizeof s->verdicts[0]);
    s->verdicts[++s->tickets] = r->clean;
    return s->tickets;
}

static bool amend(void *to, uint64_t ticket, bool clean)
{
    Shelf *s = to;
    assert_true(ticket >= 1 && ticket <= s->tickets);
    assert_true(s->verdicts[ticket] != clean);
    s->verdicts[ticket] = clean;
    return true;
}

typedef struct {
    Stand s;
    Shelf shelf;
    int64_t rendered, latency;
} Hall;

static void path_of(const char *name, char out[200])
{
    snprintf(out, 200, "%s/%s", folder, name);
}

static void put(const char *name, const char *text)
{
    char path[200];
    path_of(name, path);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs(text, f);
    assert_int_equal(fclose(f), 0);
}

static Hall *hall_of(const char *name, uint64_t seed)
{
    static char path[200];
    Hall *h = calloc(1, sizeof *h);
    assert_non_null(h);
    path_of(name, path);
    h->s = strcmp(name, "run.ini") == 0 ? stand_of_routine(path) : stand_of(path);
    h->shelf = (Shelf){
        .latest_ms = -1000000, .still_ms = -1000000, .least_apart = 1000000, .random = {seed}};
    h->latency = random_between(&h->shelf.random, 1, 40) * (int64_t)BLOCK; /* 5 to 200 ms */
    const RecordSink sink = {&h->shelf, shelve, amend};
    practice_record_to(h->s.p, &sink);
    practice_attach(h->s.p, h->s.engine);
    return h;
}

static void hall_close(Hall *h)
{
    stand_free(&h->s);
    free(h);
}

static bool stands(const Ladder *l, Climb at)
{
    return at.visit >= 0 && at.visit < l->visit_count && at.rung == l->visits[at.visit] &&
           at.clean_in_row >= 0 &&
           at.clean_in_row <=
               (l->spec.pattern == LADDER_CLEAN ? l->spec.clean : l->spec.repetitions);
}

static const char *what_is_wrong(Hall *h)
{
    const Practice *p = h->s.p;
    const Model *m = &p->model;
    if ((uint64_t)m->judge.count != h->shelf.tickets + h->shelf.refused)
        return "judged is not what was handed in";
    if (m->judge.clean < 0 || m->judge.clean > m->judge.count)
        return "more clean ones than repetitions";
    if (p->ladder.on && !stands(&p->ladder.ladder, p->ladder.at))
        return "the player stands beside the ladder";
    if (p->ladder.on && (m->ladder.rung < 1 || m->ladder.rung > m->ladder.rungs))
        return "a rung is shown that the ladder does not have";
    if (p->running && p->ladder.on && p->leading != NULL && !p->leading->gap &&
        p->awaited == NULL && !stands(&p->ladder.ladder, p->leading->climb))
        return "what leads is played beside the ladder";
    return NULL;
}

/* Sound goes on for so long, and the console looks on. */
static const char *hear(Hall *h, int64_t frames)
{
    float block[BLOCK];
    const char *wrong = NULL;
    for (int64_t end = h->rendered + frames; h->rendered < end && wrong == NULL;) {
        engine_render(h->s.engine, block, BLOCK);
        h->rendered += BLOCK;
        h->shelf.now_ms = h->rendered * 1000 / RATE;
        practice_tick(h->s.p, h->rendered - h->latency, h->shelf.now_ms);
        wrong = what_is_wrong(h);
    }
    return wrong;
}

/* The console stands still: nobody looks, and sound goes on. */
static void stand_still(Hall *h, int64_t frames)
{
    float block[BLOCK];
    for (int64_t end = h->rendered + frames; h->rendered < end; h->rendered += BLOCK)
        engine_render(h->s.engine, block, BLOCK);
    h->shelf.still_ms = h->rendered * 1000 / RATE;
}

static void press(Hall *h, Action action)
{
    assert_true(practice_act(h->s.p, action, h->rendered * 1000 / RATE));
}

static int lent(const Practice *p)
{
    int count = 0;
    for (int i = 0; i < TAKES_MAX; i++)
        count += p->takes[i].timeline != NULL;
    return count;
}

/* Stopped and left alone, all that was lent has come back. */
static void assert_all_back(Hall *h, int seed)
{
    Practice *p = h->s.p;
    if (p->running && !p->paused)
        press(h, ACTION_GO);
    takes_stop(p);
    hear(h, (int64_t)2 * RATE);
    if (lent(p) != 0)
        fail_msg("seed %d: %d timelines are still lent", seed, lent(p));
    assert_int_equal(p->piece->users, 1);
}

static const Action keys[] = {ACTION_GO, ACTION_GO, ACTION_GO, ACTION_NEXT, ACTION_PREVIOUS,
    ACTION_AGAIN, ACTION_TEMPO_UP, ACTION_TEMPO_DOWN_NUMBER, ACTION_RHYTHM, ACTION_BEATS,
    ACTION_SUBDIVIDE, ACTION_MISSED, ACTION_MISSED, ACTION_MISSED, ACTION_PEDAL_BACK,
    ACTION_LAYER_GUIDE, ACTION_LADDER, ACTION_LADDER_SWITCH, ACTION_LADDER_SWITCH, ACTION_SET_UP,
    ACTION_SET_DOWN, ACTION_DOWN, ACTION_UP, ACTION_CHOOSE, ACTION_PASSAGES, ACTION_FINGERS,
    ACTION_FINGER_2, ACTION_NOTE_AFTER, ACTION_UNDO, ACTION_DRILLS, ACTION_MORE, ACTION_BLOCK_NEXT,
    ACTION_BLOCK_BEFORE, ACTION_MINUTE, ACTION_ROUTINE, ACTION_BACK};

static void wander(const char *name, int seed)
{
    Hall *h = hall_of(name, (uint64_t)seed * 104729);
    Random random = {(uint64_t)seed * 7919};
    press(h, ACTION_LADDER);
    press(h, ACTION_LADDER_SWITCH);
    press(h, ACTION_GO);
    for (int turn = 0; turn < TURNS; turn++) {
        const char *wrong =
            hear(h, random_between(&random, 0, 3) > 0 ? random_between(&random, 1, RATE / 3)
                                                      : random_between(&random, 1, 8 * RATE));
        if (wrong == NULL) {
            press(h, keys[random_between(&random, 0, sizeof keys / sizeof keys[0] - 1)]);
            wrong = what_is_wrong(h);
        }
        if (wrong != NULL)
            fail_msg("%s, seed %d, turn %d: %s", name, seed, turn, wrong);
        if (random_between(&random, 0, 11) == 0)
            stand_still(h, random_between(&random, 1, 6 * RATE));
        if (h->s.p->paused && turn % 3 == 0)
            press(h, ACTION_GO);
    }
    if (h->shelf.least_apart < PUTS_APART_MS)
        fail_msg(
            "%s, seed %d: handed in %d ms after another", name, seed, (int)h->shelf.least_apart);
    assert_all_back(h, seed);
    hall_close(h);
}

static void any_keys_beside_a_ladder(void **state)
{
    (void)state;
    for (int seed = 1; seed <= 16; seed++)
        wander(names[seed % 3], seed);
}

static void any_keys_in_a_routine(void **state)
{
    (void)state;
    for (int seed = 1; seed <= 16; seed++)
        wander("run.ini", seed);
}

/* Paused where nothing is played any more, behind the last note of a bar that is not full: the
 * same drill goes on, with the repetition that comes next. */
static void paused_behind_the_last_note(void **state)
{
    (void)state;
    Hall *h = hall_of("short.abc", 5);
    const Practice *p = h->s.p;
    press(h, ACTION_LADDER);
    press(h, ACTION_LADDER_SWITCH);
    press(h, ACTION_GO);
    while (p->model.judge.count < 2 || p->model.run == RUN_PLAYING)
        assert_null(hear(h, BLOCK));
    int rung = p->model.ladder.rung, step = p->model.step;
    press(h, ACTION_GO);
    hear(h, RATE);
    press(h, ACTION_GO);
    hear(h, RATE);
    assert_int_equal(p->model.step, step);
    assert_int_equal(p->model.ladder.rung, rung);
    while (p->model.judge.count < 3)
        assert_null(hear(h, BLOCK));
    hall_close(h);
}

/* Paused anywhere and gone on, the player is in the same drill and on the same rung, and what was
 * judged stays judged once: in the count-in, in the notes, behind the last one. */
static void paused_anywhere(void **state)
{
    (void)state;
    int seen[RUN_FINISHED + 1] = {0};
    for (int seed = 1; seed <= 9; seed++) {
        Hall *h = hall_of(names[seed % 3], (uint64_t)seed * 31);
        const Practice *p = h->s.p;
        const Model *m = &p->model;
        Random random = {(uint64_t)seed};
        press(h, ACTION_LADDER);
        press(h, ACTION_LADDER_SWITCH);
        press(h, ACTION_GO);
        while (m->run != RUN_COUNT_IN)
            hear(h, BLOCK);
        for (int turn = 0; turn < 60 && m->run != RUN_FINISHED; turn++) {
            assert_null(hear(h, random_between(&random, 1, 9 * RATE)));
            int rung = m->ladder.rung, step = m->step, count = m->judge.count;
            if (m->run == RUN_FINISHED)
                break;
            seen[m->run]++;
            press(h, ACTION_GO);
            hear(h, random_between(&random, RATE / 3, RATE));
            press(h, ACTION_GO);
            while (m->run != RUN_COUNT_IN)
                assert_null(hear(h, BLOCK));
            if (m->step != step || m->ladder.rung != rung || m->judge.count != count)
                fail_msg("seed %d, turn %d: step %d to %d, rung %d to %d, %d judged to %d", seed,
                    turn, step, m->step, rung, m->ladder.rung, count, m->judge.count);
        }
        hall_close(h);
    }
    if (seen[RUN_COUNT_IN] < 5 || seen[RUN_PLAYING] < 5 || seen[RUN_REST] < 5)
        fail_msg("paused %d times in the count-in, %d in the notes, %d behind them",
            seen[RUN_COUNT_IN], seen[RUN_PLAYING], seen[RUN_REST]);
}

/* A block whose ladder is climbed stays at the top, pauses or not, and says so once. */
static void a_climbed_block_stays_at_the_top(void **state)
{
    (void)state;
    put("run.ini", "[block]\ntitle=A\nminutes=2\npassage=one.abc\nladder=150 to 160\n"
                   "pattern=clean-1\n");
    Hall *h = hall_of("run.ini", 5);
    const Practice *p = h->s.p;
    press(h, ACTION_GO);
    while (!p->ladder.at.done)
        assert_null(hear(h, BLOCK));
    assert_string_equal(p->model.message, "The ladder is climbed.");
    press(h, ACTION_AUDIO);
    int count = p->model.judge.count, top = p->model.ladder.rungs;
    while (p->model.judge.count < count + 2)
        assert_null(hear(h, BLOCK));
    assert_string_not_equal(p->model.message, "The ladder is climbed.");
    press(h, ACTION_GO);
    hear(h, RATE);
    press(h, ACTION_GO);
    hear(h, (int64_t)3 * RATE);
    assert_true(top > 1);
    assert_int_equal(p->model.ladder.rung, top);
    hall_close(h);
}

/* The ladder's screen is open when the next block comes: it shows that block's passage. */
static void the_next_block_finds_the_ladders_screen_open(void **state)
{
    (void)state;
    put("run.ini", "[block]\ntitle=A\nminutes=0.5\nrest=2\npassage=four.abc\n"
                   "ladder=60 to 120\n[block]\ntitle=B\nminutes=0.5\npassage=one.abc\n");
    Hall *h = hall_of("run.ini", 5);
    const Practice *p = h->s.p;
    press(h, ACTION_GO);
    press(h, ACTION_LADDER);
    press(h, ACTION_DOWN);
    while (p->model.routine.block < 2)
        assert_null(hear(h, BLOCK));
    assert_int_equal(p->model.screen, SCREEN_LADDER);
    assert_true(p->model.rungs.count > 0);
    assert_true(p->model.rungs.cursor >= 0);
    press(h, ACTION_DOWN);
    press(h, ACTION_DOWN);
    press(h, ACTION_SET_UP);
    hear(h, RATE);
    assert_string_equal(p->model.rungs.items[2].title, "goal: 1/4 = 161");
    hall_close(h);
}

static int make_folder(void **state)
{
    (void)state;
    if (mkdtemp(folder) == NULL)
        return -1;
    put("four.abc", "X:1\nT:Four bars\nM:4/4\nL:1/4\nQ:1/4=120\nK:C\nCDEF|GABc|cBAG|FEDC|\n");
    put("one.abc", "X:1\nT:One bar\nM:4/4\nL:1/4\nQ:1/4=160\nK:C\nCDEF|\n");
    put("short.abc", "X:1\nT:Ends early\nM:3/4\nL:1/8\nQ:1/4=150\nK:C\nA|CDEFGA|BcBAG|\n");
    put("run.ini", "[block]\ntitle=A\nminutes=0.7\nrest=4\npassage=four.abc\n"
                   "ladder=60 to 120\npattern=clean-1\n"
                   "[block]\ntitle=B\nminutes=0.5\nrest=2\npassage=one.abc\n"
                   "ladder=100 to 104\npattern=two-up\n"
                   "[block]\ntitle=C\nminutes=0.2\nrest=3\n"
                   "[block]\ntitle=D\nrepetitions=2\npassage=short.abc\ndrills=plain,links\n");
    return 0;
}

static int remove_folder(void **state)
{
    char path[200];
    (void)state;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        path_of(names[i], path);
        unlink(path);
    }
    return rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_keys_beside_a_ladder),
        cmocka_unit_test(any_keys_in_a_routine),
        cmocka_unit_test(paused_behind_the_last_note),
        cmocka_unit_test(paused_anywhere),
        cmocka_unit_test(a_climbed_block_stays_at_the_top),
        cmocka_unit_test(the_next_block_finds_the_ladders_screen_open),
    };
    return cmocka_run_group_tests_name("practice any keys", tests, make_folder, remove_folder);
}
