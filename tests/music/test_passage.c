/* Passages: bars, pickups, blocks, breaths, limits; errors and texts. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../tools/passages.h"
#include "evenhand/music/passage.h"
#include "evenhand/music/text.h"

#include <stdio.h>
#include <string.h>

static bool put(Passage *p, Ratio onset, Ratio length, int string, Error *error)
{
    Note note = {
        .onset = onset, .length = length, .pitch = pitch_on(string), .line = 3, .column = 7};
    return passage_add_note(p, &note, error);
}

static void a_pickup_begins_inside_its_bar(void **state)
{
    (void)state;
    int strings[5] = {28, 29, 30, 31, 32};
    Ratio lengths[5];
    for (int i = 0; i < 5; i++)
        lengths[i] = ratio_int(1);
    Passage *p = passage_of(strings, lengths, 5, metre(4, 4), ratio_int(1));
    assert_int_equal(p->bar_count, 2);
    assert_true(ratio_equal(p->bars[0].offset, ratio_int(3)));
    assert_int_equal(p->bars[0].number, 0);
    assert_true(ratio_equal(passage_beat(p, 0), ratio_int(4)));
    assert_true(ratio_equal(passage_beat(p, 1), ratio_int(1)));
    assert_int_equal(p->notes[1].bar, 1);
    passage_free(p);
}

static void a_bar_split_by_a_repeat_plays_as_one(void **state)
{
    (void)state;
    Passage *p = passage_new();
    Error error = {0};
    Metre m = metre(4, 4);
    /* pickup 1, bar 3 | 1, bar 4: the second and third make one bar of four */
    static const int lines[] = {0, 1, 4, 5};
    for (int i = 0; i < 4; i++)
        assert_true(passage_add_bar(p, ratio_int(lines[i]), &m, i, &error));
    for (int i = 0; i < 9; i++)
        assert_true(put(p, ratio_int(i), ratio_int(1), 28 + i, &error));
    assert_true(passage_finish(p, ratio_int(9), &error));
    assert_int_equal(p->bar_count, 4);
    assert_true(ratio_equal(p->bars[0].offset, ratio_int(3)));
    assert_int_equal(p->bars[1].offset.num, 0);
    assert_true(ratio_equal(p->bars[2].offset, ratio_int(3)));
    assert_int_equal(p->bars[3].offset.num, 0);
    passage_free(p);
}

static void empty_bars_are_dropped(void **state)
{
    (void)state;
    Passage *p = passage_new();
    Error error = {0};
    Metre m = metre(3, 4);
    assert_true(passage_add_bar(p, ratio_int(0), &m, 1, &error));
    assert_true(passage_add_bar(p, ratio_int(0), &m, 1, &error));
    assert_true(put(p, ratio_int(0), ratio_int(3), 28, &error));
    assert_true(passage_add_bar(p, ratio_int(3), &m, 2, &error));
    assert_true(passage_finish(p, ratio_int(3), &error));
    assert_int_equal(p->bar_count, 1);
    passage_free(p);
}

static void blocks_are_sorted_and_named(void **state)
{
    (void)state;
    Passage *p = passage_new();
    Error error = {0};
    assert_true(put(p, ratio_int(0), ratio_int(1), 32, &error));
    assert_true(put(p, ratio_int(0), ratio_int(1), 28, &error));
    assert_true(put(p, ratio_int(1), ratio_int(1), 30, &error));
    assert_true(passage_finish(p, ratio_int(2), &error));
    assert_int_equal(pitch_string(p->notes[0].pitch), 28);
    assert_int_equal(p->notes[1].block, 0);
    assert_int_equal(p->notes[2].block, 2);
    assert_int_equal(passage_block_end(p, 0), 2);
    passage_free(p);
}

static void rests_are_breaths(void **state)
{
    (void)state;
    int strings[4] = {28, -1, 29, 30};
    Ratio lengths[4] = {ratio_int(1), ratio_int(1), ratio_int(1), ratio_int(1)};
    Passage *p = passage_of(strings, lengths, 4, metre(4, 4), ratio_int(0));
    assert_false(p->notes[0].breath);
    assert_true(p->notes[1].breath);
    assert_false(p->notes[2].breath);
    passage_free(p);
}

/* Bars of these lengths in 3/4, each one note; `section` is the index of a bar after a repeat sign
 * (0: none). The notices, of which there is at most one. */
static const char *told_of_bars(const int *lengths, int count, int section)
{
    static char said[sizeof((Notice *)0)->text];
    Passage *p = passage_new();
    Error error = {0};
    Metre m = metre(3, 4);
    int at = 0;
    for (int i = 0; i < count; i++) {
        assert_true(passage_add_bar(p, ratio_int(at), &m, i + 1, &error));
        p->bars[p->bar_count - 1].section = i > 0 && i == section;
        assert_true(put(p, ratio_int(at), ratio_int(lengths[i]), 28 + i, &error));
        at += lengths[i];
    }
    assert_true(passage_finish(p, ratio_int(at), &error));
    assert_true(p->notice_count <= 1);
    snprintf(said, sizeof said, "%s", p->notice_count > 0 ? p->notices[0].text : "");
    if (p->notice_count > 0)
        assert_int_equal(p->notices[0].line, 3);
    passage_free(p);
    return said;
}

static void bars_that_do_not_fit_are_told_once(void **state)
{
    (void)state;
    assert_string_equal(told_of_bars((int[]){3, 3, 3}, 3, 0), "");
    assert_string_equal(told_of_bars((int[]){1, 3, 2}, 3, 0), ""); /* pickup and its completion */
    assert_string_equal(told_of_bars((int[]){3, 2, 1, 3}, 4, 0), ""); /* one bar in two */
    assert_string_equal(told_of_bars((int[]){3, 2, 3, 3}, 4, 2), ""); /* before a repeat sign */
    assert_string_equal(told_of_bars((int[]){3, 1, 3, 3}, 4, 1), ""); /* pickup after it */
    assert_string_equal(
        told_of_bars((int[]){3, 2, 3, 3}, 4, 0), "bar 2 lasts 2/4, but the metre is 3/4");
    assert_string_equal(told_of_bars((int[]){4, 3}, 2, 0), "bar 1 lasts 4/4, but the metre is 3/4");
    assert_string_equal(
        told_of_bars((int[]){3, 3, 5}, 3, 0), "bar 3 lasts 5/4, but the metre is 3/4");
    assert_string_equal(told_of_bars((int[]){3, 4, 3, 2, 3}, 5, 0),
        "bar 2 lasts 4/4, but the metre is 3/4; 1 more bar does not fit");
}

static void keys_are_shown_with_signs(void **state)
{
    static const char *const keys[][2] = {{"Bb", "B♭"}, {"F#m", "F♯m"}, {"Eb lydian", "E♭ lydian"},
        {"D dorian", "D dorian"}, {"none", "none"}, {"C", "C"}};
    (void)state;
    Passage *p = passage_new();
    char out[PASSAGE_KEY_MAX + 4];
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        strcpy(p->key, keys[i][0]);
        assert_string_equal(passage_key(p, true, out), keys[i][1]);
        assert_string_equal(passage_key(p, false, out), keys[i][0]);
    }
    passage_free(p);
}

static void limits_are_kept(void **state)
{
    (void)state;
    Error error = {0};
    Passage *p = passage_new();
    assert_false(passage_finish(p, ratio_int(0), &error));
    assert_int_equal(error.kind, ERROR_EMPTY);
    for (int i = 0; i < PASSAGE_NOTES_MAX; i++)
        assert_true(put(p, ratio_int(i), ratio_int(1), 28, &error));
    assert_false(put(p, ratio_int(PASSAGE_NOTES_MAX), ratio_int(1), 28, &error));
    assert_int_equal(error.kind, ERROR_LIMIT);
    assert_int_equal(error.line, 3);
    assert_int_equal(error.column, 7);
    assert_true(passage_finish(p, ratio_int(PASSAGE_NOTES_MAX), &error));
    passage_free(p);
    p = passage_new();
    assert_true(put(p, ratio_int(0), ratio(1, 9973), 28, &error));
    assert_true(put(p, ratio(1, 9973), ratio(1, 10007), 28, &error)); /* two primes */
    assert_true(passage_finish(p, ratio_int(1), &error));
    passage_free(p);
    p = passage_new();
    assert_true(put(p, ratio_int(0), ratio(1, 9973), 28, &error));
    assert_true(put(p, ratio(1, 9973), ratio(1, 10009), 28, &error));
    assert_true(put(p, ratio(1, 2), ratio(1, 10007), 28, &error));
    assert_false(passage_finish(p, ratio_int(1), &error));
    assert_int_equal(error.kind, ERROR_LIMIT);
    passage_free(p);
    p = passage_new();
    for (int i = 0; i <= PASSAGE_BLOCK_MAX; i++)
        assert_true(put(p, ratio_int(0), ratio_int(1), 20 + i, &error));
    assert_false(passage_finish(p, ratio_int(1), &error));
    passage_free(p);
}

static void notices_are_said_once(void **state)
{
    (void)state;
    Passage *p = passage_new();
    for (int i = 0; i < 100; i++)
        passage_notice(p, i + 1, 1, "grace notes are left out");
    assert_int_equal(p->notice_count, 1);
    assert_int_equal(p->notices[0].line, 1);
    for (int i = 0; i < 100; i++)
        passage_notice(p, i + 1, 1, "number %d", i);
    assert_int_equal(p->notice_count, PASSAGE_NOTICES_MAX);
    passage_free(p);
}

static void every_kind_of_error_says_what_to_do(void **state)
{
    (void)state;
    for (int kind = ERROR_NONE + 1; kind < ERROR_KINDS; kind++) {
        const char *advice = error_advice((ErrorKind)kind);
        size_t length = strlen(advice);
        assert_true(length > 10);
        assert_int_equal(advice[length - 1], '.');
    }
    assert_string_equal(error_advice(ERROR_NONE), "");
    assert_string_equal(error_advice((ErrorKind)999), "");
}

static void errors_print_their_place(void **state)
{
    (void)state;
    Error error = {0};
    char out[400];
    assert_false(error_at(&error, ERROR_SYNTAX, 3, 9, "'%s' is no note", "q\x1b[2J"));
    error_source(&error, "some\afile.abc");
    error_source(&error, "other.abc"); /* the first name stays */
    error_format(&error, out, sizeof out);
    assert_non_null(strstr(out, "some?file.abc:3:9: 'q?[2J' is no note. "));
    error_set(&error, ERROR_READ, "cannot open it");
    error_format(&error, out, sizeof out);
    assert_int_equal(strncmp(out, "cannot open it. ", 16), 0);
    char small[8];
    assert_int_equal(strlen(error_format(&error, small, sizeof small)), 7);
}

static void hostile_text_is_cleaned(void **state)
{
    (void)state;
    char out[64];
    assert_string_equal(text_clean("a\x1b[31mb\x7f\xc2\x9b", out, sizeof out), "a?[31mb??");
    assert_string_equal(text_clean("caf\xe9", out, sizeof out), "café"); /* Latin-1 */
    assert_string_equal(
        text_clean("\xe2\x80\xaex", out, sizeof out), "?x");            /* right-to-left override */
    assert_string_equal(text_clean("\xc0\xaf", out, sizeof out), "À¯"); /* overlong: Latin-1 */
    assert_string_equal(text_clean("ééé", out, 6), "éé"); /* cut at a character's edge */
    assert_int_equal(text_columns("é♯"), 2);
    assert_int_equal(text_columns("e\xcc\x81"), 1); /* combining acute */
    assert_int_equal(text_columns("日本"), 4);
}

static void texts_grow(void **state)
{
    (void)state;
    Text t = {0};
    for (int i = 0; i < 1000; i++)
        assert_true(text_add(&t, "%d,", i));
    assert_int_equal(t.size, 3890);
    assert_int_equal(strlen(t.bytes), 3890);
    assert_true(text_add_bytes(&t, "", 0));
    text_free(&t);
    assert_null(t.bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_pickup_begins_inside_its_bar),
        cmocka_unit_test(a_bar_split_by_a_repeat_plays_as_one),
        cmocka_unit_test(empty_bars_are_dropped),
        cmocka_unit_test(blocks_are_sorted_and_named),
        cmocka_unit_test(rests_are_breaths),
        cmocka_unit_test(bars_that_do_not_fit_are_told_once),
        cmocka_unit_test(keys_are_shown_with_signs),
        cmocka_unit_test(limits_are_kept),
        cmocka_unit_test(notices_are_said_once),
        cmocka_unit_test(every_kind_of_error_says_what_to_do),
        cmocka_unit_test(errors_print_their_place),
        cmocka_unit_test(hostile_text_is_cleaned),
        cmocka_unit_test(texts_grow),
    };
    return cmocka_run_group_tests_name("passage", tests, NULL, NULL);
}
