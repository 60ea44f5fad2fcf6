/* A whole routine, end to end: three short blocks, a ladder that climbs and falls back, bells
 * between them; recorded through the sound card, seen on the screen, read back from the practice
 * record. Everything in it is invented. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "concert.h"
#include "e2e/ledger.h"
#include "e2e/promise.h"

/* What is seen may be as old as the sound's way, a turn and a look are long, and as young as the
 * clocks of recording and screen differ. */
#define SEEN_LATE (150 * MILLISECOND)
#define SEEN_EARLY (30 * MILLISECOND)

enum {
    SEEN_MAX = 8192,
    ATTEMPTS = 3,
    JUDGED_AHEAD = RATE * 3 / 10,
    TAKES = 6,
    BLOCKS = 3,
    REPETITIONS = 9
};

static const char routine[] = "[routine]\ntitle = Three short blocks\n\n"
                              "[student]\nname = Student A\n\n"
                              "[block]\ntitle = Steps\nrepetitions = 2\npassage = walk.abc:2\n"
                              "drills = plain\ntempo = 1/4=160\nrest = 3\n\n"
                              "[block]\ntitle = Up the ladder\nminutes = 0.35\nrest = 3\n"
                              "passage = walk.abc:1\ndrills = plain\nladder = 1/4=168 to 1/4=208\n"
                              "pattern = clean-1\nabove = 0\n\n"
                              "[block]\ntitle = The walk\nminutes = 0.15\nrest = 2\n"
                              "passage = walk.abc:1\ndrills = finger-3\ntempo = 1/4=208\n";

/* On the ladder: up, up, a miss, back, up, up. Time is up in the sixth, after its first bar. */
static const int tempos[TAKES] = {168, 176, 184, 176, 184, 192};
static const int rungs[TAKES] = {1, 2, 3, 2, 3, 4};
static const Entry played[REPETITIONS] = {{"Four steps", "plain", 160, true},
    {"Four steps", "plain", 160, true}, {"Walk", "plain", 168, true}, {"Walk", "plain", 176, true},
    {"Walk", "plain", 184, false}, {"Walk", "plain", 176, true}, {"Walk", "plain", 184, true},
    {"Walk", "finger-3", 208, true}, {"Walk", "finger-3", 208, true}};

/* ---- what is due ---------------------------------------------------------------------------- */

static Promise promise;
static struct {
    int64_t begin, bell, planned, end; /* of each block: frames; where its work was meant to end */
} due[BLOCKS];
static int64_t take_ends[TAKES], ends[REPETITIONS];

static void promise_blocks(void)
{
    int64_t at;
    promise = (Promise){.end = 0};
    /* Two bars are counted in, of 2/4 here; one for each repetition, one of rest. */
    promise_music(&promise, FOUR_STEPS " --drill plain --repetitions 2", 160, 10);
    ends[0] = quarters_frames(6, 160);
    ends[1] = quarters_frames(8, 160);
    due[0].bell = due[0].planned = promise.end;
    due[0].end = promise.end + 3 * RATE;
    promise_rest(&promise, due[0].end);

    at = due[1].begin = promise.end;
    promise_music(&promise, WALK " --drill plain --repetitions 1", tempos[0], 16);
    take_ends[0] = promise.end;
    for (int i = 1; i < TAKES; i++) {
        promise_music(&promise, WALK " --drill plain --repetitions 1 --count-in 0 --rest 0",
            tempos[i], i == TAKES - 1 ? 4 : 8);
        take_ends[i] = promise.end;
    }
    memcpy(&ends[2], take_ends, (TAKES - 1) * sizeof ends[0]);
    due[1].bell = promise.end;
    due[1].planned = at + 18 * RATE;
    due[1].end = at + 21 * RATE;
    promise_rest(&promise, due[1].end);

    at = due[2].begin = promise.end;
    promise_music(&promise, WALK " --drill finger-3 --repetitions 2", 208, 24);
    ends[7] = at + quarters_frames(16, 208);
    ends[8] = due[2].bell = promise.end;
    due[2].planned = at + 7 * RATE;
    due[2].end = at + 9 * RATE;
    promise_rest(&promise, due[2].end);
}

static int block_at(int64_t frame)
{
    int i = 0;
    while (i < BLOCKS - 1 && frame >= due[i].end)
        i++;
    return i;
}

static int take_at(int64_t frame)
{
    int i = 0;
    while (i < TAKES - 1 && frame >= take_ends[i])
        i++;
    return i;
}

/* From its judgement on a repetition shows what it led to. */
static int rung_at(int64_t frame)
{
    int take = take_at(frame);
    bool judged = take < TAKES - 1 && frame >= take_ends[take] - JUDGED_AHEAD;
    return rungs[take + judged];
}

static int tempo_at(int64_t frame)
{
    int block = block_at(frame);
    return block == 0 ? 160 : block == 1 ? tempos[take_at(frame)] : 208;
}

/* Repetitions that ended `ahead` of this frame. */
static int over_at(int64_t frame, int64_t ahead)
{
    int n = 0;
    while (n < REPETITIONS && frame >= ends[n] - ahead)
        n++;
    return n;
}

static int seconds_to(int64_t end, int64_t frame)
{
    return (int)((end - frame + RATE - 1) / RATE);
}

/* ---- what is seen --------------------------------------------------------------------------- */

/* Numbers that are not there are -1. */
typedef struct {
    int64_t before, after;
    int block, blocks, left, rung, tempo, bar, kept;
    bool rests, done, told_missed;
    char large[1024]; /* the rows of a rest's large time */
} Seen;

static Seen seen[SEEN_MAX];
static size_t seen_count;

static const char *line_of(const char *text, int line)
{
    while (line-- > 0 && strchr(text, '\n') != NULL)
        text = strchr(text, '\n') + 1;
    return text;
}

/* "... 0:12 left" */
static int seconds_left(const char *text)
{
    const char *at = strstr(text, " left");
    while (at != NULL && at > text && at[-1] != ' ')
        at--;
    int minutes, seconds;
    return at != NULL && sscanf(at, "%d:%d", &minutes, &seconds) == 2 ? minutes * 60 + seconds : -1;
}

static Seen *look_once(void)
{
    static char text[PANE_ROOM];
    assert_true(seen_count < SEEN_MAX);
    Seen *s = &seen[seen_count++];
    *s = (Seen){.before = monotonic_now()};
    tmux_capture(&terminal, false, text);
    s->after = monotonic_now();
    s->block = text_number(text, "block ");
    s->blocks = s->block > 0 ? text_number(strstr(text, "block "), " of ") : -1;
    s->left = seconds_left(text);
    s->rung = text_number(text, "rung ");
    s->tempo = text_number(text, "1/4 = ");
    s->bar = text_number(line_of(text, 1), " bar ");
    s->kept = text_number(text, "\xE2\x9C\x93 ");
    s->rests = strstr(text, "rest after ") != NULL;
    s->done = strstr(text, "done: ") != NULL;
    s->told_missed = strstr(text, "This one counts missed.") != NULL;
    if (s->rests) {
        const char *from = line_of(text, 3), *to = line_of(text, 19);
        snprintf(s->large, sizeof s->large, "%.*s", (int)(to - from), from);
    }
    return s;
}

static int64_t frame_of(int64_t time)
{
    return (time - heard_time(&heard, heard.click[0].frame)) * RATE / SECOND;
}

static bool tells(const Seen *s, int64_t frame)
{
    int block = block_at(frame);
    bool rests = frame >= due[block].bell;
    int64_t end = rests ? due[block].end : due[block].bell;
    bool left = s->left == seconds_to(end, frame) ||
                (!rests && s->left == seconds_to(due[block].planned, frame));
    return s->block == block + 1 && s->blocks == BLOCKS && s->rests == rests && left &&
           (rests || s->tempo == tempo_at(frame)) &&
           (s->rung < 0 || (block == 1 && s->rung == rung_at(frame)));
}

/* It tells of some moment that it can be of; what it shows as recorded is what was judged, and
 * all that was over. */
static bool in_time(const Seen *s)
{
    int64_t from = frame_of(s->before - SEEN_LATE), to = frame_of(s->after + SEEN_EARLY);
    if (s->kept >= 0 && (s->kept < over_at(from, 0) || s->kept > over_at(to, JUDGED_AHEAD)))
        return false;
    for (int64_t frame = from; frame <= to; frame += RATE / 200)
        if (tells(s, frame))
            return true;
    return false;
}

/* The large figures of a rest are others for each second, and the same for the same. */
static void check_large(void)
{
    const Seen *of[8] = {NULL};
    int known = 0;
    for (size_t i = 0; i < seen_count; i++) {
        const Seen *s = &seen[i];
        if (!s->rests || s->left < 0 || s->left >= 8)
            continue;
        assert_non_null(strstr(s->large, "\xE2\x96\x88"));
        if (of[s->left] == NULL) {
            of[s->left] = s;
            known++;
        }
        /* Caught while it was written, a picture may hold two times. */
        if (i > 0 && seen[i - 1].left == s->left && i + 1 < seen_count &&
            seen[i + 1].left == s->left)
            of[s->left] = s;
    }
    assert_true(known >= 4);
    for (int i = 0; i < 8; i++)
        for (int j = 0; j < i; j++)
            assert_true(of[i] == NULL || of[j] == NULL || strcmp(of[i]->large, of[j]->large) != 0);
}

static void check_seen(void)
{
    size_t late = 0, looks = 0, on_rungs = 0, with_record = 0;
    int missed = 0;
    for (size_t i = 0; i < seen_count; i++) {
        const Seen *s = &seen[i];
        if (s->done || frame_of(s->before - SEEN_LATE) < 0)
            continue;
        looks++;
        late += !in_time(s);
        if (!in_time(s))
            print_message("at %.2f s: block %d%s, %d s left, rung %d, tempo %d, %d recorded\n",
                (double)frame_of(s->before) / RATE, s->block, s->rests ? " rests" : "", s->left,
                s->rung, s->tempo, s->kept);
        on_rungs += s->rung > 0;
        with_record += s->kept >= 0;
        missed += s->told_missed;
    }
    print_message("%zu glances, %zu late; %zu tell a rung, %zu what is recorded\n", looks, late,
        on_rungs, with_record);
    assert_true(looks > 300 && on_rungs > 50 && with_record > 100 && missed > 0);
    assert_true(late * 50 <= looks);
    check_large();
}

/* ---- the whole ------------------------------------------------------------------------------ */

static void open_routine(void)
{
    char line[256];
    concert_file("routine.ini", routine);
    concert_file("walk.abc", NULL);
    snprintf(line, sizeof line, "routine %s/routine.ini " BELL_LAYERS, card.loop.directory);
    tmux_begin_practice(&terminal, 80, 24, line);
    loopback_record(&card.loop); /* the sink is hurried by its listener */
}

/* Plays all of it; the key is pressed in the second bar of the third rung. */
static void play_through(void)
{
    bool pressed = false;
    seen_count = 0;
    open_routine();
    tmux_keys(&terminal, "Space");
    for (int64_t give_up = monotonic_now() + 60 * SECOND;; pause_for(30 * MILLISECOND)) {
        const Seen *s = look_once();
        if (!pressed && s->block == 2 && s->rung == 3 && s->tempo == 184 && s->bar == 2) {
            tmux_keys(&terminal, "m");
            pressed = true;
        }
        if (s->done)
            break;
        assert_true(s->after < give_up);
    }
    assert_true(pressed);
}

/* Again, on a card of its own, only when the player or the recorder lost frames. */
static void play_undisturbed(void)
{
    for (int attempt = 1;; attempt++) {
        play_through();
        if (concert_end(0))
            return;
        assert_true(attempt < ATTEMPTS);
        concert_tear_down(NULL);
        concert_set_up(NULL);
    }
}

static void a_routine_is_heard_seen_and_recorded(void **state)
{
    (void)state;
    promise_blocks();
    play_undisturbed();
    print_message("%zu clicks, the last bell %.3f s after the first\n", heard.count,
        (double)(heard.click[heard.count - 1].frame - heard.click[0].frame) / RATE);
    expect_all(&heard, &promise.clicks);
    for (int i = 0; i < BLOCKS; i++)
        assert_true(fabs(heard.click[promise.bell[i]].level - BELL_LEVEL) < 0.5);
    check_seen();

    ledger_is_whole();
    ledger_expect("Student A", played, REPETITIONS, REPETITIONS);
    ledger_expect(NULL, played, REPETITIONS, REPETITIONS); /* nobody else's */
    ledger_prints("--csv --by drill", "\"plain\",85,1/4,184,", ",6,7");
    ledger_prints("--csv --by drill", "\"finger-3\",100,1/4,208,", ",2,2");
    ledger_prints("--csv --by passage", "\"Four steps\",100,1/4,160,", ",2,2");
    ledger_prints("--csv --student 'Student A'", "\"Walk\",85,1/4,208,", ",6,7");
}

/* ---- keys ----------------------------------------------------------------------------------- */

/* Waits until the screen tells so many seconds. Returns them. */
static int want_left(int from, int to, int64_t patience)
{
    static char text[PANE_ROOM];
    for (int64_t give_up = monotonic_now() + patience;; pause_for(10 * MILLISECOND)) {
        tmux_capture(&terminal, false, text);
        int left = seconds_left(text);
        if (left >= from && left <= to)
            return left;
        if (monotonic_now() > give_up)
            fail_msg("%d to %d s are due; the terminal shows\n%s", from, to, text);
    }
}

static void keys_steer_a_routine(void **state)
{
    (void)state;
    open_routine();
    tmux_keys(&terminal, "Space");
    tmux_want(&terminal, "block 1 of 3: Student A: Steps", SECOND);
    tmux_keys(&terminal, "'>'");
    tmux_want(&terminal, "block 2 of 3: Student A: Up the ladder", SECOND);
    tmux_want(&terminal, "rung 1 of 6", SECOND);
    want_left(15, 17, 2 * SECOND);
    tmux_keys(&terminal, "Space");
    tmux_want(&terminal, "paused  0:1", SECOND);
    int left = want_left(14, 17, 0);
    pause_for(2 * SECOND); /* its time stands still */
    want_left(left, left, 0);
    tmux_keys(&terminal, "Space");
    want_left(left - 1, left - 1, 2 * SECOND);
    tmux_keys(&terminal, "i");
    tmux_want(&terminal, "A minute more.", SECOND);
    want_left(left + 56, left + 59, SECOND);
    tmux_keys(&terminal, "'<'");
    tmux_want(&terminal, "block 1 of 3", SECOND);
    tmux_keys(&terminal, "y"); /* the blocks: the last is chosen */
    tmux_want(&terminal, "Routine: Three short blocks", SECOND);
    tmux_keys(&terminal, "Down Down Enter");
    tmux_want(&terminal, "block 3 of 3: Student A: The walk", SECOND);
    want_left(5, 7, 2 * SECOND);
    tmux_keys(&terminal, "e");
    tmux_want(&terminal, "again to end the routine now", SECOND);
    tmux_keys(&terminal, "e");
    tmux_want(&terminal, "done: block 3 of 3", SECOND);
    tmux_keys(&terminal, "v"); /* the record's screen, whatever is in it */
    tmux_want(&terminal, "Record by ", SECOND);
    concert_leave(&terminal);
    ledger_is_whole();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(
            a_routine_is_heard_seen_and_recorded, concert_set_up, concert_tear_down),
        cmocka_unit_test_setup_teardown(keys_steer_a_routine, concert_set_up, concert_tear_down),
    };
    program_surroundings();
    return cmocka_run_group_tests_name("e2e_routine", tests, NULL, NULL);
}
