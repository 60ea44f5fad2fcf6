/* The whole of it, end to end: the program in a terminal, played through a sound card made of
 * software, recorded and looked at while it plays. What is heard is measured in frames of the
 * recording; what is seen is held against what was heard at that moment. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "concert.h"
#include "e2e/glance.h"

enum { NAMES_MAX = 64, TURN = 8 }; /* note 8, the highest, is in two groups */

/* A picture is some of the past: the program draws 40 times a second and tmux needs its time;
 * the recording knows when a frame was heard to about 10 ms. */
#define OLD_AT_MOST (70 * MILLISECOND)
#define NEW_AT_MOST (20 * MILLISECOND)

static Glances seen_all;
static char names[NAMES_MAX][8];

/* ---- looking -------------------------------------------------------------------------------- */

static void glance_for(int64_t duration, int64_t every)
{
    for (int64_t until = monotonic_now() + duration; monotonic_now() < until; pause_for(every))
        glance_cast(&seen_all, &terminal);
}

/* Names of the notes, from `evenhand notes`. */
static void read_names(const char *words)
{
    char command[COMMAND_ROOM], line[256], name[8];
    int index;
    snprintf(command, sizeof command, "'%s' notes %s", program_path(), words);
    FILE *rows = popen(command, "r");
    assert_non_null(rows);
    while (fgets(line, sizeof line, rows) != NULL)
        if (sscanf(line, "%d %*s %*s %7s", &index, name) == 2 && index < NAMES_MAX)
            snprintf(names[index], sizeof names[index], "%s", name);
    assert_int_equal(pclose(rows), 0);
}

/* ---- what was to be seen -------------------------------------------------------------------- */

/* What holds from one frame of the timeline to the next event's. */
typedef struct {
    int64_t from, to; /* CLOCK_MONOTONIC */
    int step, repetition, bar, beat, note, finger, group;
    bool accent;
} Stretch;

static Stretch stretches[EVENTS_MAX];
static size_t stretch_count;

/* Events [first, last) as stretches in time; the recording's first click is the first event. */
static void make_stretches(size_t first, size_t last)
{
    Stretch now = {0};
    stretch_count = 0;
    for (size_t i = first; i < last; i++) {
        const Event *e = &events.event[i];
        int64_t frame = heard.click[0].frame + e->frame - events.event[first].frame;
        now.from = heard_time(&heard, frame);
        if (e->count_in && now.step != e->step)
            now = (Stretch){.from = now.from, .step = e->step};
        if (e->pulse)
            now.beat = e->beat;
        if (e->pulse && !e->count_in && e->bar == 0) /* the rest after the last note */
            now.note = now.bar = 0;
        if (e->strikes) {
            now.repetition += e->note == 1;
            now.note = e->note;
            now.bar = e->bar;
            now.finger = e->finger;
            now.group = e->group;
            now.accent = e->accent;
        }
        if (stretch_count > 0 && stretches[stretch_count - 1].from == now.from)
            stretch_count--;
        if (stretch_count > 0)
            stretches[stretch_count - 1].to = now.from;
        assert_true(stretch_count < EVENTS_MAX);
        stretches[stretch_count++] = now;
    }
    stretch_count--; /* where the last one ends is not known */
}

/* The one stretch in which the glance was cast; stretch_count where there may be two. */
static size_t stretch_of(const Glance *g)
{
    for (size_t i = 0; i < stretch_count; i++)
        if (stretches[i].from <= g->before - OLD_AT_MOST &&
            g->after + NEW_AT_MOST < stretches[i].to)
            return i;
    return stretch_count;
}

/* First and last note of a group of the timeline. */
static void group_ends(int group, int *from, int *to)
{
    *from = *to = 0;
    for (size_t i = 0; i < events.count; i++) {
        const Event *e = &events.event[i];
        if (!e->strikes || e->group != group)
            continue;
        if (*from == 0 || e->note < *from)
            *from = e->note;
        if (e->note > *to)
            *to = e->note;
    }
}

/* ---- seen against heard --------------------------------------------------------------------- */

/* All that is compared, as numbers. */
typedef enum {
    STEP,
    REPETITION,
    BAR,
    BEAT,
    NOTE,
    FINGER,
    LARGE_FINGER,
    ACCENT,
    LARGE_ACCENT,
    NAMED,
    GROUP_FROM,
    GROUP_TO,
    TOLD
} Told;
static const char *const told_words[TOLD] = {"step", "repetition", "bar", "large beat", "note",
    "finger", "large finger", "accent", "large accent", "note's name", "group from", "group to"};

/* Between the notes there is no large finger; what the mark then says is another matter. */
static void what_is_due(const Stretch *s, int due[TOLD])
{
    int from, to;
    memset(due, 0, TOLD * sizeof due[0]);
    due[STEP] = s->step;
    due[BEAT] = s->beat;
    due[LARGE_FINGER] = -1;
    if (s->note == 0)
        return;
    group_ends(s->group, &from, &to);
    due[REPETITION] = s->repetition;
    due[BAR] = s->bar;
    due[NOTE] = due[NAMED] = s->note;
    due[FINGER] = due[LARGE_FINGER] = s->finger;
    due[ACCENT] = due[LARGE_ACCENT] = s->accent;
    due[GROUP_FROM] = from;
    due[GROUP_TO] = to;
}

static void what_is_seen(const Glance *g, const Stretch *s, int seen[TOLD])
{
    const Marked *m = &g->marked;
    memset(seen, 0, TOLD * sizeof seen[0]);
    seen[STEP] = g->step;
    seen[BEAT] = figure_number(&seen_all, &g->beat);
    seen[LARGE_FINGER] = figure_number(&seen_all, &g->finger);
    if (s->note == 0)
        return;
    seen[REPETITION] = g->repetition;
    seen[BAR] = g->bar;
    seen[NOTE] = m->order;
    seen[NAMED] = strcmp(m->name, names[m->order]) == 0 ? m->order : -1;
    seen[FINGER] = m->finger;
    seen[ACCENT] = m->accent;
    seen[LARGE_ACCENT] = g->wedge.ink[0] != '\0';
    seen[GROUP_FROM] = m->group_from;
    seen[GROUP_TO] = m->group_to;
    /* A bracket may begin with the note that ends the one before: the turn, replaced. */
    if (m->group_from == TURN && m->order > TURN)
        seen[GROUP_FROM]++;
    if (m->beat != 0 && m->beat != s->beat) /* the small number below the note */
        seen[BEAT] = m->beat;
}

/* Whether all is as is due. What is not may be late, as it was one stretch before; never wrong. */
static bool in_time(const Glance *g, size_t stretch)
{
    int due[TOLD], before[TOLD], seen[TOLD];
    bool all = true;
    what_is_seen(g, &stretches[stretch], seen);
    what_is_due(&stretches[stretch], due);
    what_is_due(&stretches[stretch > 0 ? stretch - 1 : 0], before);
    for (int i = 0; i < TOLD; i++) {
        const Stretch *s = &stretches[stretch];
        if (seen[i] != due[i] && seen[i] != before[i])
            fail_msg("step %d bar %d beat %d note %d is heard: %s %d is shown, not %d", s->step,
                s->bar, s->beat, s->note, told_words[i], seen[i], due[i]);
        all = all && seen[i] == due[i];
    }
    return all;
}

/* How many of the glances tell of one moment, and how many of those of a note. On a busy machine
 * a picture may come late: no more than two in a hundred. */
static void check_glances(size_t *seen, size_t *notes)
{
    size_t late = 0;
    *seen = *notes = 0;
    learn_figures(&seen_all);
    for (size_t i = 0; i < seen_all.count; i++) {
        size_t stretch = stretch_of(&seen_all.glance[i]);
        if (stretch == stretch_count)
            continue;
        late += !in_time(&seen_all.glance[i], stretch);
        ++*seen;
        *notes += stretches[stretch].note > 0;
    }
    print_message("%zu glances at the screen, %zu within one moment, %zu of these at a note; "
                  "%zu late\n",
        seen_all.count, *seen, *notes, late);
    assert_true(late * 50 <= *seen);
}

/* ---- the tests ------------------------------------------------------------------------------ */

static int setup(void **state)
{
    seen_all.count = 0;
    return concert_set_up(state);
}

/* All the 4s, 3s, 2s and thumbs of the default session, at 137: a quaver is 10510.9 frames. */
static void a_rotation_of_finger_accents_is_heard_and_seen(void **state)
{
    (void)state;
    const char *words = WALK " --tempo 137 --repetitions 1 --count-in 1 --rest 1";
    int fingers_accented[NAMES_MAX] = {0};
    size_t seen, notes;

    read_events(words, &events);
    read_names(WALK);
    size_t first = step_begin(&events, 2), last = step_begin(&events, 6);
    expect_clicks(&events, first, last, &clicks);
    for (size_t i = 0; i < clicks.count; i++)
        fingers_accented[clicks.event[i]->note] += clicks.event[i]->accent;
    for (int note = 1; note <= 15; note++)
        assert_int_equal(fingers_accented[note], 1);

    concert_begin(SCREEN_WIDTH, SCREEN_HEIGHT, words, "--accent 6");
    tmux_keys(&terminal, "n");
    tmux_want(&terminal, "step 2 of ", 2 * SECOND);
    tmux_keys(&terminal, "Space");
    int64_t length = events.event[last].frame - events.event[first].frame;
    glance_for(length * SECOND / RATE - 3 * SECOND / 10, 30 * MILLISECOND);
    tmux_want(&terminal, "step 5 of ", SECOND); /* the rest after the thumbs */
    tmux_keys(&terminal, "q");
    loopback_hear(&card.loop, CLICK_THRESHOLD, &heard);

    expect_all(&heard, &clicks);
    expect_levels(&heard, &clicks, 6);
    make_stretches(first, last);
    check_glances(&seen, &notes);
    assert_true(seen > 100 && notes > 40);
}

/* When a note is first seen, against when it was heard. */
static void check_changes(void)
{
    double sum = 0, earliest = 1e9, latest = -1e9;
    int count = 0;
    for (size_t i = 1; i < seen_all.count; i++) {
        const Glance *a = &seen_all.glance[i - 1], *b = &seen_all.glance[i];
        if (!a->marked.marked || !b->marked.marked || a->marked.order == b->marked.order)
            continue;
        for (size_t s = 0; s < stretch_count; s++) {
            if (stretches[s].note != b->marked.order || stretches[s].repetition != b->repetition)
                continue;
            double middle = (double)(a->before + b->after) / 2;
            double off = (middle - (double)stretches[s].from) / (double)MILLISECOND;
            sum += off;
            earliest = off < earliest ? off : earliest;
            latest = off > latest ? off : latest;
            count++;
            break;
        }
    }
    print_message("%d changes are seen %.0f ms after they are heard, %.0f to %.0f\n", count,
        sum / count, earliest, latest);
    assert_true(count >= 13);
    assert_true(sum / count > -20 && sum / count < 1000.0 / 30 + 20);
    assert_true(earliest > -50 && latest < 120);
}

/* At 63 each quaver is there for 476 ms: looked at as often as can be. */
static void the_screen_shows_what_is_heard(void **state)
{
    (void)state;
    const char *words = WALK " --tempo 63 --drill finger-3 --repetitions 1 --count-in 1 --rest 0";
    size_t seen, notes;

    concert_expect(words);
    read_names(WALK);
    concert_begin(SCREEN_WIDTH, SCREEN_HEIGHT, words, "--accent 9");
    tmux_keys(&terminal, "Space");
    glance_for(events.event[events.count - 1].frame * SECOND / RATE, 5 * MILLISECOND);
    tmux_want(&terminal, "the session is done", 3 * SECOND);
    loopback_hear(&card.loop, CLICK_THRESHOLD, &heard);

    expect_all(&heard, &clicks);
    expect_levels(&heard, &clicks, 9);
    make_stretches(0, events.count);
    check_glances(&seen, &notes);
    assert_true(notes > seen_all.count / 4);
    check_changes();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(
            a_rotation_of_finger_accents_is_heard_and_seen, setup, concert_tear_down),
        cmocka_unit_test_setup_teardown(the_screen_shows_what_is_heard, setup, concert_tear_down),
    };
    program_surroundings();
    return cmocka_run_group_tests_name("e2e_rotation", tests, NULL, NULL);
}
