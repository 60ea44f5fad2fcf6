/* Fingers saved from the console: what is written, what is kept, what is refused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "desk.h"
#include "evenhand/app/load.h"
#include "tools/golden.h"

#include <unistd.h>

/* The fingers that the file's first tune gives when it is read now. */
static void expect_read_back(const char *path, const Snapshot *wanted)
{
    Options o = options_default();
    Error error = {0};
    Loaded l;
    assert_true(load_passage(path, &o, &l, &error));
    for (size_t i = 0; i < l.passage->note_count; i++) {
        assert_int_equal(l.passage->notes[i].mark, wanted->finger[i]);
        assert_int_equal(l.fingering.notes[i].finger, wanted->finger[i]);
    }
    loaded_free(&l);
}

static void saving_keeps_the_old_file(void **state)
{
    (void)state;
    Stand s = stand_of(desk_file);
    turn(&s);
    act(&s, ACTION_FINGERS);
    hold(&s, 3, 2);
    Snapshot held = snapshot(&s);
    assert_true(fingers_of(&s)->unsaved);
    act(&s, ACTION_SAVE);
    const Model *m = practice_model(s.p);
    assert_false(m->message_warns);
    assert_non_null(strstr(m->message, "runs.abc; the old file is runs.abc~."));
    assert_false(fingers_of(&s)->unsaved);
    expect_file(in_folder("runs.abc~"), desk_tune);
    expect_read_back(desk_file, &held);
    char *written = golden_read(desk_file);
    assert_non_null(strstr(written, "\r\n\r\nX:2\r\nT:Marked\r\n")); /* the rest as it was */

    act(&s, ACTION_SAVE); /* nothing is new */
    assert_non_null(strstr(practice_model(s.p)->message, "already"));
    assert_int_equal(access(in_folder("runs.abc~2"), F_OK), -1);

    act(&s, ACTION_UNDO); /* in the file these would be no marks: they are the planner's */
    assert_true(fingers_of(&s)->unsaved);
    Snapshot planned = snapshot(&s);
    act(&s, ACTION_SAVE);
    assert_non_null(strstr(practice_model(s.p)->message, "runs.abc~2"));
    expect_file(in_folder("runs.abc~"), desk_tune);
    expect_file(in_folder("runs.abc~2"), written);
    expect_read_back(desk_file, &planned);
    assert_int_equal(clear_folder(), 3); /* no draft is left */
    free(written);
    stand_free(&s);
}

static void expect_refused(const char *given, const char *words)
{
    Stand s = stand_of(given);
    turn(&s);
    act(&s, ACTION_FINGERS);
    act(&s, ACTION_SAVE);
    const Model *m = practice_model(s.p);
    assert_true(m->message_warns);
    assert_non_null(strstr(m->message, words));
    stand_free(&s);
}

/* A bundled passage, under its own name, the default, or a link to it. */
static void bundled_passages_are_not_written(void **state)
{
    (void)state;
    static const char preset[] = "presets/02-one-octave-up.abc";
    static const char *const advice = "stay as they are: use evenhand mark FILE -o OUT.abc";
    char *before = golden_read(preset), here[NAME_ROOM], target[2 * NAME_ROOM];
    assert_non_null(before);
    expect_refused(preset, advice);
    expect_refused(NULL, advice);
    assert_non_null(getcwd(here, sizeof here));
    snprintf(target, sizeof target, "%s/%s", here, preset);
    char *link = in_folder("link.abc");
    assert_int_equal(symlink(target, link), 0);
    char given[2 * NAME_ROOM];
    snprintf(given, sizeof given, "%s", link);
    expect_refused(given, advice);
    expect_file(preset, before);
    assert_int_equal(access("presets/02-one-octave-up.abc~", F_OK), -1);
    free(before);
}

static void standard_input_is_not_written(void **state)
{
    (void)state;
    int kept = dup(STDIN_FILENO);
    assert_true(kept >= 0);
    assert_non_null(freopen(desk_file, "r", stdin));
    expect_refused("-", "Standard input cannot be written to: use evenhand mark FILE -o OUT.abc");
    assert_true(dup2(kept, STDIN_FILENO) >= 0);
    close(kept);
    expect_file(desk_file, desk_tune);
    assert_int_equal(clear_folder(), 1);
}

/* Somebody else wrote other notes meanwhile: these stay. */
static void other_notes_are_not_written_over(void **state)
{
    (void)state;
    static const char other[] = "X:1\nT:Other\nM:4/4\nL:1/8\nK:G\nGABc defa | gfed cBAG |]\n";
    Stand s = stand_of(desk_file);
    turn(&s);
    act(&s, ACTION_FINGERS);
    desk_put(desk_file, other);
    act(&s, ACTION_SAVE);
    assert_true(practice_model(s.p)->message_warns);
    assert_non_null(strstr(practice_model(s.p)->message, "other notes"));
    expect_file(desk_file, other);
    assert_int_equal(clear_folder(), 1);
    act(&s, ACTION_SAVE); /* it is gone */
    assert_true(practice_model(s.p)->message_warns);
    stand_free(&s);
}

/* Inside the chord, each note with its own; read back as they were held. */
static void fingers_of_a_chord_are_saved(void **state)
{
    (void)state;
    char given[2 * NAME_ROOM];
    snprintf(given, sizeof given, "%s:2", desk_file);
    Stand s = stand_of(given);
    turn(&s);
    act(&s, ACTION_FINGERS);
    hold(&s, 8, 4);
    hold(&s, 9, 3);
    Snapshot held = snapshot(&s);
    act(&s, ACTION_SAVE);
    assert_false(practice_model(s.p)->message_warns);
    char *written = golden_read(desk_file);
    char chord[32];
    snprintf(chord, sizeof chord, "|[!4!C!3!E!%d!G]2 |:", held.finger[10]);
    assert_non_null(strstr(written, chord));
    free(written);
    expect_read_back(given, &held);
    stand_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(saving_keeps_the_old_file, desk_set_up),
        cmocka_unit_test_setup(fingers_of_a_chord_are_saved, desk_set_up),
        cmocka_unit_test_setup(bundled_passages_are_not_written, desk_set_up),
        cmocka_unit_test_setup(standard_input_is_not_written, desk_set_up),
        cmocka_unit_test_setup(other_notes_are_not_written_over, desk_set_up),
    };
    return cmocka_run_group_tests_name("practice save", tests, desk_make, desk_drop);
}
