/* Placing drills outside the console: the sheet, the timeline and the files tell the same notes. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/export.h"
#include "evenhand/formats/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char octave[] = "presets/02-one-octave-up.abc"; /* crotchets, 4/4 */

static Loaded load(const char *drill)
{
    Options o = options_default();
    Loaded l;
    Error error = {0};
    o.drill = drill;
    o.repetitions = 1;
    assert_true(drill_parse(drill, &o.spec, &error));
    assert_true(load_passage(octave, &o, &l, &error));
    return l;
}

/* Round the link of 4 3 2 1|4 3 2 1 [Curcio 58]: two notes either side, four times. */
static void the_sheet_draws_what_is_played(void **state)
{
    (void)state;
    Loaded l = load("links");
    Text text = {0};
    Error error = {0};
    SheetStyle style = {.utf8 = false};
    assert_true(
        sheet_show(&text, l.passage, &l.fingering, &l.rotation, &l.session, &style, &error));
    const char *drawn = strstr(text.bytes, "\nLinks: 2 notes either side, 4 times each\n");
    assert_non_null(drawn);
    assert_non_null(strstr(text.bytes, "links: 2 notes either side, 4 times each")); /* session */
    assert_non_null(strstr(drawn, "note    | E4  F4  G4  A4  | E4  F4  G4  A4"));
    assert_non_null(strstr(drawn, "finger  | 2   1   4   3   | 2   1   4   3"));
    text_free(&text);
    loaded_free(&l);
}

static void the_timeline_has_them_on_their_frames(void **state)
{
    (void)state;
    static const int fingers[] = {2, 1, 4, 3};
    Loaded l = load("links+finger-4");
    Error error = {0};
    Timeline *t = loaded_timeline(&l, 0, NULL, 48000, &error);
    assert_non_null(t);
    int notes = 0;
    int64_t first = timeline_repetition_frame(t, 0);
    Tempo tempo = timeline_step(t)->tempo;
    for (size_t i = 0; i < timeline_count(t); i++) {
        TimelineEvent e = timeline_event(t, i);
        if (e.note < 0)
            continue;
        /* two bars a loop: four crotchets, and the rest in which the hand comes back */
        int64_t onset = tempo_frame(tempo, ratio_int(notes / 4 * 8 + notes % 4), 48000);
        assert_true(e.frame - first - onset <= 1 && e.frame - first - onset >= -1);
        assert_int_equal(e.finger, fingers[notes % 4]);
        assert_int_equal(e.kind, e.finger == 4 ? EVENT_ACCENT : EVENT_NOTE);
        notes++;
    }
    assert_int_equal(notes, 16);
    timeline_free(t);
    loaded_free(&l);
}

/* Each group together, then broken, as another program reads it from the file. */
static void a_midi_file_has_blocks(void **state)
{
    (void)state;
    char directory[] = "/tmp/evenhand-placing-XXXXXX", path[64], command[200], line[80];
    assert_non_null(mkdtemp(directory));
    snprintf(path, sizeof path, "%s/blocks.mid", directory);
    Loaded l = load("blocks");
    Options o = options_default();
    Error error = {0};
    assert_true(export_write(&l, &o, path, false, &error));
    loaded_free(&l);
    snprintf(command, sizeof command, "/usr/bin/python3 tests/tools/midi_notes.py %s", path);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    static const int keys[] = {60, 62, 64, 65, 60, 62, 64, 65, 67, 69, 71, 72, 67, 69, 71, 72};
    int count = 0, key, onsets[16];
    while (fgets(line, sizeof line, pipe) != NULL)
        if (count < 16 && sscanf(line, "%d %d", &key, &onsets[count]) == 2) {
            assert_int_equal(key, keys[count]);
            if (count % 8 != 0 && count % 8 < 4)
                assert_int_equal(onsets[count], onsets[count - 1]); /* together */
            else if (count % 8 != 0)
                assert_true(onsets[count] > onsets[count - 1]); /* one after the other */
            count++;
        }
    unlink(path);
    rmdir(directory);
    if (pclose(pipe) != 0 || count != 16)
        fail_msg("%d notes read; midi_notes.py needs python3-mido", count);
}

static void what_a_passage_lacks_is_told(void **state)
{
    (void)state;
    static const struct {
        const char *drill;
        ErrorKind error;
    } bad[] = {
        {"link-2", ERROR_RANGE}, {"crossing-2", ERROR_RANGE}, {"links+beat-99", ERROR_RANGE}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        Options o = options_default();
        Loaded l;
        Error error = {0};
        o.drill = bad[i].drill;
        assert_true(drill_parse(o.drill, &o.spec, &error));
        assert_false(load_passage(octave, &o, &l, &error));
        assert_int_equal(error.kind, bad[i].error);
        assert_string_equal(error.source, octave);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_sheet_draws_what_is_played),
        cmocka_unit_test(the_timeline_has_them_on_their_frames),
        cmocka_unit_test(a_midi_file_has_blocks),
        cmocka_unit_test(what_a_passage_lacks_is_told),
    };
    return cmocka_run_group_tests_name("placing_out", tests, NULL, NULL);
}
