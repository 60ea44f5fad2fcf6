/* The whole of it, end to end: the program in a terminal, played through a sound card made of
 * software, recorded and looked at while it plays. What is heard is measured in frames of the
 * recording; what is seen is held against what was heard at that moment. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "e2e/heard.h"
#include "e2e/picture.h"
#include "e2e/tmux.h"

enum { GLANCES_MAX = 4096, FIGURES = 10, NAMES_MAX = 64 };

/* A picture is some of the past: the program draws 40 times a second and tmux needs its time;
 * the recording knows when a frame was heard to about 10 ms. */
#define OLD_AT_MOST (70 * MILLISECOND)
#define NEW_AT_MOST (20 * MILLISECOND)

/* The screen at some moment between two times. */
typedef struct {
    int64_t before, after;
    int step, repetition, bar;
    Marked marked;
    Figure finger, beat, wedge;
} Glance;

static Loopback loop;
static Tmux terminal;
static Recording heard;
static Events events;
static Clicks clicks;
static Glance glances[GLANCES_MAX];
static size_t glance_count;
static char names[NAMES_MAX][8];

/* ---- looking -------------------------------------------------------------------------------- */

static void glance(void)
{
    static char text[PANE_ROOM];
    static Picture p;
    assert_true(glance_count < GLANCES_MAX);
    Glance *g = &glances[glance_count++];
    g->before = monotonic_now();
    tmux_capture(&terminal, false, text);
    g->after = monotonic_now();
    picture_read(text, &p);
    g->step = picture_number(&p, "step ");
    g->repetition = picture_number(&p, "repetition ");
    g->bar = picture_number(&p, " bar ");
    g->marked = picture_marked(&p);
    g->finger = picture_figure(&p, "finger");
    g->beat = picture_figure(&p, "beat of ");
    g->wedge = picture_figure(&p, "accent");
}

static void glance_for(int64_t duration, int64_t every)
{
    for (int64_t until = monotonic_now() + duration; monotonic_now() < until; pause_for(every))
        glance();
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

/* The one stretch in which the glance was cast; NULL where there may be two. */
static const Stretch *stretch_of(const Glance *g)
{
    for (size_t i = 0; i < stretch_count; i++)
        if (stretches[i].from <= g->before - OLD_AT_MOST &&
            g->after + NEW_AT_MOST < stretches[i].to)
            return &stretches[i];
    return NULL;
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

/* Each number has one figure, the same for fingers and beats, and no other has it. */
static Figure figures[FIGURES];

static void check_figure(const Figure *seen, int number, const char *of, const Stretch *s)
{
    assert_in_range(number, 1, FIGURES - 1);
    if (seen->ink[0] == '\0')
        fail_msg("step %d bar %d note %d: no large %s", s->step, s->bar, s->note, of);
    if (figures[number].ink[0] == '\0')
        figures[number] = *seen;
    for (int i = 1; i < FIGURES; i++)
        if ((strcmp(figures[i].ink, seen->ink) == 0) != (i == number))
            fail_msg("step %d bar %d note %d: the large %s is not %d's figure", s->step, s->bar,
                s->note, of, number);
}

static void expect_seen(const Stretch *s, const char *what, int seen, int wanted)
{
    if (seen != wanted)
        fail_msg("step %d bar %d beat %d note %d is heard: %s %d is shown, not %d", s->step, s->bar,
            s->beat, s->note, what, seen, wanted);
}

static void check_note(const Glance *g, const Stretch *s)
{
    const Marked *m = &g->marked;
    int from, to;
    group_ends(s->group, &from, &to);
    expect_seen(s, "mark", m->marked, true);
    expect_seen(s, "repetition", g->repetition, s->repetition);
    expect_seen(s, "bar", g->bar, s->bar);
    expect_seen(s, "note", m->order, s->note);
    expect_seen(s, "finger", m->finger, s->finger);
    expect_seen(s, "accent", m->accent, s->accent);
    expect_seen(s, "large accent", g->wedge.ink[0] != '\0', s->accent);
    if (strcmp(m->name, names[s->note]) != 0)
        fail_msg("note %d is %s; %s is shown", s->note, names[s->note], m->name);
    /* A note with which one hand's place ends and the next begins stands in both brackets. */
    if (m->group_from != from - 1 || m->group_from == 0 || s->note < from)
        expect_seen(s, "group from", m->group_from, from);
    expect_seen(s, "group to", m->group_to, to);
    if (m->beat != 0)
        expect_seen(s, "beat below the note", m->beat, s->beat);
    check_figure(&g->finger, s->finger, "finger", s);
}

/* How many of the glances tell of one moment, and how many of those of a note. */
static void check_glances(size_t *seen, size_t *notes)
{
    *seen = *notes = 0;
    for (size_t i = 0; i < glance_count; i++) {
        const Stretch *s = stretch_of(&glances[i]);
        if (s == NULL)
            continue;
        expect_seen(s, "step", glances[i].step, s->step);
        check_figure(&glances[i].beat, s->beat, "beat", s);
        if (s->note > 0)
            check_note(&glances[i], s);
        else
            expect_seen(s, "large finger", glances[i].finger.ink[0] != '\0', 0);
        ++*seen;
        *notes += s->note > 0;
    }
    print_message("%zu glances at the screen, %zu within one moment, %zu of these at a note\n",
        glance_count, *seen, *notes);
}

/* ---- the tests ------------------------------------------------------------------------------ */

static int setup(void **state)
{
    (void)state;
    loopback_start(&loop);
    glance_count = 0;
    memset(figures, 0, sizeof figures);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    tmux_end(&terminal);
    loopback_stop(&loop);
    return 0;
}

/* All the 4s, 3s, 2s and thumbs of the default session, at 137: a quaver is 10510.9 frames. */
static void a_rotation_of_finger_accents_is_heard_and_seen(void **state)
{
    (void)state;
    const char *words = WALK " --tempo 137 --repetitions 1 --count-in 1 --rest 1";
    char line[512];
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

    snprintf(line, sizeof line, "%s " ONE_CLICK_LAYERS " --accent 6", words);
    tmux_begin_practice(&terminal, SCREEN_WIDTH, SCREEN_HEIGHT, line);
    loopback_record(&loop);
    tmux_keys(&terminal, "n");
    tmux_want(&terminal, "step 2 of ", 2 * SECOND);
    tmux_keys(&terminal, "Space");
    int64_t length = events.event[last].frame - events.event[first].frame;
    glance_for(length * SECOND / RATE - 3 * SECOND / 10, 30 * MILLISECOND);
    tmux_want(&terminal, "step 5 of ", SECOND); /* the rest after the thumbs */
    tmux_keys(&terminal, "q");
    loopback_hear(&loop, CLICK_THRESHOLD, &heard);

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
    for (size_t i = 1; i < glance_count; i++) {
        const Glance *a = &glances[i - 1], *b = &glances[i];
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
    char line[512];
    size_t seen, notes;

    read_events(words, &events);
    read_names(WALK);
    expect_clicks(&events, 0, events.count, &clicks);
    snprintf(line, sizeof line, "%s " ONE_CLICK_LAYERS " --accent 9", words);
    tmux_begin_practice(&terminal, SCREEN_WIDTH, SCREEN_HEIGHT, line);
    loopback_record(&loop);
    tmux_keys(&terminal, "Space");
    glance_for(events.event[events.count - 1].frame * SECOND / RATE, 5 * MILLISECOND);
    tmux_want(&terminal, "the session is done", 3 * SECOND);
    loopback_hear(&loop, CLICK_THRESHOLD, &heard);

    expect_all(&heard, &clicks);
    expect_levels(&heard, &clicks, 9);
    make_stretches(0, events.count);
    check_glances(&seen, &notes);
    assert_true(notes > glance_count / 4);
    check_changes();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(
            a_rotation_of_finger_accents_is_heard_and_seen, setup, teardown),
        cmocka_unit_test_setup_teardown(the_screen_shows_what_is_heard, setup, teardown),
    };
    program_surroundings();
    return cmocka_run_group_tests_name("e2e_rotation", tests, NULL, NULL);
}
