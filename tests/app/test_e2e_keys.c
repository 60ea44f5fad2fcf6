/* Hands and keys, end to end: one Space carries a player through the whole session; keys in
 * mid-drill do what they say, measured on a recording of what is heard. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "concert.h"
#include "e2e/picture.h"

/* From a key's press to the first click that it causes: tmux, the program's turn, the sound's
 * way out. And to the last click from before that can no longer be called back. */
#define REACTION_AT_MOST (300 * MILLISECOND)

/* Clocks of the recording and of the key agree to within this. */
#define UNSURE (20 * MILLISECOND)

static int64_t click_time(size_t i)
{
    return heard_time(&heard, heard.click[i].frame);
}

/* ---- hands-free ----------------------------------------------------------------------------- */

/* Looks until the session is done; that time. The steps must come in order, each announced by
 * the screen of the one before. */
static int64_t watch_to_the_end(int steps, int64_t patience)
{
    static char text[PANE_ROOM];
    static Picture p;
    int step = 1;
    bool announced = false;
    for (int64_t give_up = monotonic_now() + patience;; pause_for(10 * MILLISECOND)) {
        tmux_capture(&terminal, false, text);
        int64_t now = monotonic_now();
        picture_read(text, &p);
        int seen = picture_number(&p, "step ");
        if (seen != step) {
            assert_int_equal(seen, step + 1);
            assert_true(announced);
            announced = false;
            step = seen;
        }
        announced = announced || strstr(text, " next: ") != NULL;
        if (strstr(text, "the session is done") != NULL) {
            assert_int_equal(step, steps);
            assert_false(announced); /* nothing comes after the last */
            return now;
        }
        if (now > give_up)
            fail_msg("the session does not end; the terminal shows\n%s", text);
    }
}

/* Twelve drills, dotted ones and moved accents too, joined without a frame too many. */
static void one_space_from_count_in_to_the_end(void **state)
{
    (void)state;
    const char *words = FOUR_STEPS " --tempo 300 --repetitions 1 --count-in 1 --rest 1";

    concert_expect(words);
    /* What is left after the last event, a pulse of the last rest, is that pulse's length. */
    int64_t length = events.event[events.count - 1].frame + 60 * RATE / 300;
    concert_begin(SCREEN_WIDTH, SCREEN_HEIGHT, words, "");
    tmux_keys(&terminal, "Space");
    int64_t seen = watch_to_the_end(12, 30 * SECOND);
    loopback_hear(&card.loop, CLICK_THRESHOLD, &heard);
    expect_all(&heard, &clicks);

    int64_t due = heard_time(&heard, heard.click[0].frame + length);
    print_message("%zu clicks of 12 drills; the end is seen %lld ms after its time\n", clicks.count,
        (long long)((seen - due) / MILLISECOND));
    assert_true(seen > due - UNSURE && seen < due + 250 * MILLISECOND);
}

/* ---- tempo ---------------------------------------------------------------------------------- */

enum { TEMPOS = 4 };
static const char *const tempos[TEMPOS] = {"137", "138", "144", "152"};
static Events tempo_events[TEMPOS];
static Clicks tempo_clicks[TEMPOS];

static bool stands_at(size_t i, size_t anchor, int tempo)
{
    const Clicks *c = &tempo_clicks[tempo];
    if (i >= heard.count || i >= c->count)
        return false;
    int64_t off =
        (heard.click[i].frame - heard.click[anchor].frame) - (c->frame[i] - c->frame[anchor]);
    return off >= -CLICK_TOLERANCE && off <= CLICK_TOLERANCE;
}

/* Follows the recording along the first tempo's timeline, then, from some pulse on, along a
 * later one's, and so on. Where it was changed goes to `changed` (0: never this tempo). Returns
 * how many clicks follow. */
static size_t follow_tempos(size_t changed[TEMPOS])
{
    size_t anchor = 0, i = 1;
    int tempo = 0;
    memset(changed, 0, TEMPOS * sizeof changed[0]);
    for (; i < heard.count; i++) {
        if (stands_at(i, anchor, tempo))
            continue;
        int next = tempo + 1;
        while (next < TEMPOS && !stands_at(i, i - 1, next))
            next++;
        if (next == TEMPOS)
            break;
        tempo = next;
        anchor = i - 1;
        changed[tempo] = anchor;
    }
    return i;
}

static bool is_pulse(const Event *note)
{
    for (size_t i = 0; i < tempo_events[0].count; i++)
        if (tempo_events[0].event[i].frame == note->frame && tempo_events[0].event[i].pulse)
            return true;
    return false;
}

/* The change came at a pulse: the first one after the key, unless that was too near. */
static void check_change(size_t at, int64_t key, const char *tempo)
{
    assert_true(at > 0);
    assert_true(is_pulse(tempo_clicks[0].event[at]));
    double after = (double)(click_time(at) - key) / (double)MILLISECOND;
    print_message("%s from click %zu on, %.0f ms after the key\n", tempo, at + 1, after);
    assert_true(after > -20 && after < 60000.0 / 137 + (double)REACTION_AT_MOST / MILLISECOND);
}

/* ---- segments: from one key to the next ----------------------------------------------------- */

/* Clicks from `from` on follow these events' until a key cuts them off. Returns the next
 * segment's first click. `key`: when that key was pressed; 0: nothing did. */
static size_t check_segment(size_t from, const Clicks *c, size_t wanted, int64_t key)
{
    size_t n = clicks_agree(&heard, from, c, wanted);
    assert_true(n > 0);
    if (key == 0)
        return from + n;
    /* Nothing that was due before the key is missing, nothing sounds long after it. */
    assert_true(wanted + n < c->count);
    int64_t missing =
        heard_time(&heard, heard.click[from].frame + c->frame[wanted + n] - c->frame[wanted]);
    if (missing < key - UNSURE)
        fail_msg("click %zu is missing, %lld ms before the key", from + n + 1,
            (long long)((key - missing) / MILLISECOND));
    assert_true(click_time(from + n - 1) < key + REACTION_AT_MOST);
    return from + n;
}

/* The first click after a key that begins something. */
static void check_beginning(size_t first, int64_t key, const char *what)
{
    if (first >= heard.count)
        fail_msg("%s: nothing sounds any more", what);
    print_message("%s: first click %lld ms after the key\n", what,
        (long long)((click_time(first) - key) / MILLISECOND));
    assert_true(click_time(first) > key - UNSURE && click_time(first) < key + REACTION_AT_MOST);
}

static int64_t press(const char *keys)
{
    int64_t now = monotonic_now();
    tmux_keys(&terminal, keys);
    return now;
}

#define AT_152 " --tempo 152 --count-in 1 --rest 1"

static void keys_in_mid_drill(void **state)
{
    (void)state;
    static Events resumed_events, session_events;
    static Clicks resumed, second;
    char words[512];
    size_t changed[TEMPOS];

    for (int i = 0; i < TEMPOS; i++) {
        snprintf(words, sizeof words,
            WALK " --drill plain --tempo %s --repetitions 2 --count-in 1 --rest 1", tempos[i]);
        read_events(words, &tempo_events[i]);
        expect_clicks(&tempo_events[i], 0, tempo_events[i].count, &tempo_clicks[i]);
    }
    read_events(WALK " --drill plain --repetitions 1" AT_152, &resumed_events);
    expect_clicks(&resumed_events, 0, resumed_events.count, &resumed);
    read_events(WALK " --repetitions 2" AT_152, &session_events);
    expect_clicks(
        &session_events, step_begin(&session_events, 2), step_begin(&session_events, 3), &second);

    concert_begin(
        SCREEN_WIDTH, SCREEN_HEIGHT, WALK " --tempo 137 --repetitions 2 --count-in 1 --rest 1", "");
    tmux_keys(&terminal, "Space");
    tmux_want(&terminal, "repetition 1 of 2", 4 * SECOND);
    int64_t key_138 = press("]");
    tmux_want(&terminal, "bar 2", 4 * SECOND);
    int64_t key_152 = press("] ]");
    tmux_want(&terminal, "1/4 = 152", SECOND);
    tmux_want(&terminal, "repetition 2 of 2", 4 * SECOND);
    pause_for(SECOND);
    int64_t key_pause = press("Space");
    tmux_want(&terminal, "Space: go on", SECOND);
    pause_for(SECOND);
    int64_t key_resume = press("Space");
    tmux_want(&terminal, "repetition 2 of 2", 4 * SECOND);
    tmux_want(&terminal, "bar 1", 4 * SECOND);
    pause_for(SECOND / 2);
    int64_t key_next = press("n");
    tmux_want(&terminal, "step 2 of ", SECOND);
    tmux_want(&terminal, "bar 1", 4 * SECOND);
    pause_for(SECOND / 2);
    int64_t key_again = press("r");
    tmux_want(&terminal, "bar to go", SECOND);
    tmux_want(&terminal, "bar 1", 4 * SECOND);
    tmux_want(&terminal, "bar 2", 4 * SECOND);
    int64_t key_quit = press("q");
    pause_for(SECOND / 2);
    loopback_hear(&card.loop, CLICK_THRESHOLD, &heard);

    size_t paused = follow_tempos(changed);
    assert_true(paused < tempo_clicks[0].count);
    check_change(changed[1], key_138, "138");
    check_change(changed[3], key_152, "152");
    assert_true(click_time(paused - 1) < key_pause + REACTION_AT_MOST);
    int64_t missing =
        click_time(changed[3]) +
        (tempo_clicks[3].frame[paused] - tempo_clicks[3].frame[changed[3]]) * SECOND / RATE;
    assert_true(missing > key_pause - UNSURE);

    check_beginning(paused, key_resume, "on after a pause");
    size_t next = check_segment(paused, &resumed, 0, key_next);
    check_beginning(next, key_next, "the next variant");
    size_t again = check_segment(next, &second, 0, key_again);
    check_beginning(again, key_again, "this variant again");
    assert_int_equal(check_segment(again, &second, 0, key_quit), heard.count);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(
            one_space_from_count_in_to_the_end, concert_set_up, concert_tear_down),
        cmocka_unit_test_setup_teardown(keys_in_mid_drill, concert_set_up, concert_tear_down),
    };
    program_surroundings();
    return cmocka_run_group_tests_name("e2e_keys", tests, NULL, NULL);
}
