/* Placing drills in the practice: their own notes on the screen, and the next crossing. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/load.h"
#include "stand.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *word, *title;
} placings[] = {{"crossing", "first crossing"}, {"blocks", "blocks"}, {"links", "links"},
    {"build-up", "build-up"}, {"build-back", "build-back"}, {"bursts", "bursts"},
    {"scale-arpeggio", "scale and arpeggio"}};
enum { PLACINGS = sizeof placings / sizeof placings[0] };

static void expect_rows(const Model *m, const Stage *stage)
{
    int row = 0;
    char name[PITCH_NAME_MAX];
    for (size_t i = 0; i < stage->passage->note_count; row++) {
        size_t end = passage_block_end(stage->passage, i);
        const FingeredNote *note = &stage->fingering->notes[i];
        assert_int_equal(m->notes[row].finger, note->finger);
        assert_int_equal(m->notes[row].group, note->group);
        assert_int_equal(m->notes[row].link, note->link);
        pitch_name(stage->passage->notes[i].pitch, false, name);
        assert_memory_equal(m->notes[row].name, name, strlen(name));
        i = end;
    }
    assert_int_equal(m->note_count, row);
}

/* A placing drill shows the notes that it is made of, lit as they are heard, and goes back to the
 * passage's own with the next drill. */
static void placing_drills_show_their_own_notes(void **state)
{
    (void)state;
    Error error = {0};
    Stand s = stand_of("presets/08-two-octaves.abc");
    Loaded l;
    assert_true(load_passage(s.options.file, &s.options, &l, &error));
    practice_attach(s.p, s.engine);
    for (int i = 0; i < PLACINGS; i++) {
        DrillSpec spec = drill_plain();
        assert_true(drill_parse(placings[i].word, &spec, &error));
        Stage *stage = stage_new(l.passage, &l.fingering, &l.rotation, &spec, &error);
        assert_non_null(stage);
        expect_rows(choose_drill(&s, placings[i].title), stage);
        if (practice_model(s.p)->run == RUN_READY)
            act(&s, ACTION_GO);
        run_until(&s, RUN_COUNT_IN);
        run_until(&s, RUN_PLAYING);
        int lit = -1;
        for (int turns = 0; turns < 4000 && turn(&s)->run == RUN_PLAYING; turns++) {
            const Model *m = practice_model(s.p);
            assert_true(m->now == lit || m->now == (lit + 1) % m->note_count);
            lit = m->now;
        }
        assert_true(lit > 0);
        expect_rows(practice_model(s.p), stage);
        stage_free(stage);
    }
    const Model *m = choose_drill(&s, "plain");
    assert_int_equal(m->note_count, l.passage->note_count);
    loaded_free(&l);
    stand_free(&s);
}

/* A pause late in a placing drill, beyond as many notes as the passage has, is gone on from where
 * that drill's own hand was last placed. */
static void a_pause_goes_on_in_the_drills_own_notes(void **state)
{
    (void)state;
    Stand s = stand_of("presets/08-two-octaves.abc");
    practice_attach(s.p, s.engine);
    int own = turn(&s)->note_count;
    const Model *m = choose_drill(&s, "build-up");
    act(&s, ACTION_GO);
    while (m->now <= own + 3) {
        assert_int_not_equal(m->run, RUN_FINISHED);
        turn(&s);
    }
    int group = m->notes[m->now].group, first = m->now;
    while (first > 0 && m->notes[first - 1].group == group)
        first--;
    act(&s, ACTION_GO);
    turn(&s);
    act(&s, ACTION_GO);
    run_until(&s, RUN_COUNT_IN);
    run_until(&s, RUN_PLAYING);
    assert_int_equal(m->notes[m->now].bar, m->notes[first].bar);
    stand_free(&s);
}

/* What the crossing finger does, until the note it lands on is heard [Curcio 58]. */
static void the_next_crossing_is_told(void **state)
{
    (void)state;
    Stand s = stand_of("presets/01-first-crossing.abc");
    practice_attach(s.p, s.engine);
    const Model *m = choose_drill(&s, "first crossing");
    char expected[MODEL_TEXT_MAX];
    assert_int_equal(m->note_count, 5);
    snprintf(expected, sizeof expected, "4 crosses under the thumb onto %s; down before %s sounds",
        m->notes[4].name, m->notes[3].name);
    assert_string_equal(m->crossing, expected);
    act(&s, ACTION_GO);
    run_until(&s, RUN_PLAYING);
    for (m = turn(&s); m->repetition < m->repetitions; m = turn(&s))
        assert_string_equal(m->crossing, expected); /* and that of the next repetition */
    for (; m->run == RUN_PLAYING; m = turn(&s))
        assert_string_equal(m->crossing, m->now < 4 ? expected : "");
    stand_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(placing_drills_show_their_own_notes),
        cmocka_unit_test(a_pause_goes_on_in_the_drills_own_notes),
        cmocka_unit_test(the_next_crossing_is_told),
    };
    return cmocka_run_group_tests_name("practice_placing", tests, NULL, NULL);
}
