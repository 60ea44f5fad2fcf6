/* What is drawn large before a drill, and its few words. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/app/cue.h"
#include "stand.h"

#include "evenhand/app/load.h"

#include <string.h>

static Loaded open_passage(const char *file)
{
    Options options = options_default();
    Error error = {0};
    Loaded l;
    options.file = file;
    if (!load_passage(file, &options, &l, &error))
        fail_msg("%s: %s", file, error.text);
    return l;
}

static ModelCue cue_for(const Loaded *l, const char *word, char brief[MODEL_BRIEF_MAX])
{
    DrillSpec spec = drill_plain();
    Error error = {0};
    assert_true(drill_parse(word, &spec, &error));
    cue_brief(&spec, &l->rotation, brief);
    return cue_of(&spec, &l->rotation, &l->passage->metre);
}

/* Quavers in 4/4: beats 1 and 3, moved by a quaver at a time. */
static void in_four_four(void **state)
{
    (void)state;
    static const struct {
        const char *word, *brief, *accent, *rhythm;
        CueKind kind;
    } rows[] = {
        {"plain", "plain", ">.>.", "", CUE_PATTERN},
        {"finger-3", "all the 3s", "3", "", CUE_FINGER},
        {"beat-1", "place 1 of 4", ">...", "", CUE_PATTERN},
        {"beat-2", "place 2 of 4", ".>..", "", CUE_PATTERN},
        {"beat-4", "place 4 of 4", "...>", "", CUE_PATTERN},
        {"long-short", "long-short 3:1", "", "Ls", CUE_NONE},
        {"long-2-of-3", "2nd of 3 long 3:1", "", "sLs", CUE_NONE},
        {"finger-1+short-long", "1s, short-long 3:1", "1", "sL", CUE_FINGER},
        {"beat-3+long-4-of-4", "place 3, 4th of 4 long 3:1", "..>.", "sssL", CUE_PATTERN},
    };
    Loaded l = open_passage("presets/08-two-octaves.abc");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char brief[MODEL_BRIEF_MAX];
        ModelCue cue = cue_for(&l, rows[i].word, brief);
        assert_string_equal(brief, rows[i].brief);
        assert_string_equal(cue.accent, rows[i].accent);
        assert_string_equal(cue.rhythm, rows[i].rhythm);
        assert_int_equal(cue.kind, rows[i].kind);
    }
    loaded_free(&l);
}

/* Where accents cannot be drawn as a short pattern, the place is a number; a pattern has as many
 * accents in its period as the base pattern has beats. */
static void every_drill_has_a_cue(void **state)
{
    (void)state;
    Choices choices = {0};
    Error error = {0};
    int patterns = 0;
    assert_true(choices_add_bundled(&choices, &error));
    for (size_t i = 0; i < choices.count; i++) {
        Loaded l = open_passage(choices.items[i].given);
        for (size_t k = 0; k < l.session.count; k++) {
            const DrillSpec *spec = &l.session.steps[k].drill;
            char brief[MODEL_BRIEF_MAX];
            ModelCue cue = cue_of(spec, &l.rotation, &l.passage->metre);
            assert_true(strlen(cue_brief(spec, &l.rotation, brief)) <= 20);
            assert_true(cue.kind != CUE_NONE || cue.rhythm[0] != '\0');
            assert_int_equal(cue.kind == CUE_NONE, cue.accent[0] == '\0');
            int wedges = 0;
            for (const char *s = cue.accent; *s != '\0'; s++)
                wedges += *s == '>';
            if (cue.kind == CUE_PATTERN && spec->accent == ACCENT_PLACE)
                assert_int_equal(wedges, l.rotation.beat_count);
            patterns += cue.kind == CUE_PATTERN;
        }
        loaded_free(&l);
    }
    assert_true(patterns > (int)choices.count);
    choices_free(&choices);
}

/* 12/8 is counted in four dotted beats of three quavers: each of the twelve is seen in its turn. */
static void compound_metres_count_dotted_beats(void **state)
{
    (void)state;
    Stand s = stand_of("presets/05-six-notes.abc:2");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_GO);
    run_until(&s, RUN_COUNT_IN);
    int last = 0, turns = 0;
    while (practice_model(s.p)->run != RUN_REST) {
        const Model *m = turn(&s);
        if (m->beat == 0)
            continue;
        assert_int_equal(m->beats, 2); /* six quavers */
        assert_int_equal(m->subs, 3);
        assert_in_range(m->sub, 1, 3);
        int unit = 3 * (m->beat - 1) + m->sub;
        assert_in_range(unit, 1, 6);
        if (last != 0)
            assert_true(unit == last || unit == last % 6 + 1); /* none is passed over */
        turns += unit != last;
        last = unit;
        assert_true(s.count < (size_t)RATE * 120);
    }
    assert_true(turns >= 18); /* three bars and more */
    stand_free(&s);
}

/* The cue is there in count-in and rest, of the drill that comes, and at no other time. */
static void cues_come_in_time(void **state)
{
    (void)state;
    Stand s = stand_of("presets/02-one-octave-up.abc");
    practice_attach(s.p, s.engine);
    act(&s, ACTION_GO);
    run_until(&s, RUN_COUNT_IN);
    assert_string_equal(practice_model(s.p)->cue.accent, ">.>.");
    run_until(&s, RUN_PLAYING);
    assert_int_equal(practice_model(s.p)->cue.kind, CUE_NONE);
    run_until(&s, RUN_REST);
    assert_int_equal(practice_model(s.p)->cue.kind, CUE_FINGER);
    assert_string_equal(practice_model(s.p)->cue.accent, "4");
    assert_string_equal(practice_model(s.p)->next_brief, "all the 4s");
    run_until(&s, RUN_COUNT_IN);
    assert_string_equal(practice_model(s.p)->cue.accent, "4");
    assert_string_equal(practice_model(s.p)->drill_brief, "all the 4s");
    stand_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(in_four_four),
        cmocka_unit_test(every_drill_has_a_cue),
        cmocka_unit_test(compound_metres_count_dotted_beats),
        cmocka_unit_test(cues_come_in_time),
    };
    return cmocka_run_group_tests_name("cue", tests, NULL, NULL);
}
