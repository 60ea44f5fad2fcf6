#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "midi_read.h"
#include "tools/passages.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void octaves_sound_in_both_hands(void **state)
{
    Piece piece;
    Passage *p = passage_scale(28, 4, 1, ratio_int(1));
    (void)state;
    p->hands = HANDS_OCTAVES;
    piece_open(&piece, p);
    piece_step(&piece, "plain", NULL, tempo(ratio_int(1), ratio_int(60)));
    Reading r = write_and_read(&piece);
    int keys[128] = {0};
    for (size_t i = 0; i < r.count; i++)
        if (r.notes[i].channel == 0)
            keys[r.notes[i].key]++;
    static const int wanted[] = {48, 50, 52, 53, 60, 62, 64, 65}; /* C3 D3 E3 F3, C4 D4 E4 F4 */
    for (int i = 0; i < 8; i++)
        assert_int_equal(keys[wanted[i]], 2);
    free(r.notes);
    piece_close(&piece);
}

/* The left hand's thirds: strings of the key, and what the right hand has made of a letter. */
static void thirds_follow_key_and_passage(void **state)
{
    Piece piece;
    Passage *p = passage_scale(30, 4, 1, ratio_int(1)); /* E4 F4 G4 A4 over C4 D4 E4 F4 */
    (void)state;
    p->hands = HANDS_THIRDS;
    p->key_alter[LETTER_C] = 1;
    p->notes[1].pitch.alter = 1;
    piece_open(&piece, p);
    piece_step(&piece, "plain", NULL, tempo(ratio_int(1), ratio_int(60)));
    Reading r = write_and_read(&piece);
    int keys[128] = {0}, struck = 0;
    for (size_t i = 0; i < r.count; i++)
        if (r.notes[i].channel == 0) {
            keys[r.notes[i].key]++;
            struck++;
        }
    static const int right[] = {64, 66, 67, 69}, left[] = {61, 62, 64, 66};
    int wanted[128] = {0};
    for (int i = 0; i < 4; i++) {
        wanted[right[i]] += 2;
        wanted[left[i]] += 2;
    }
    assert_memory_equal(keys, wanted, sizeof keys);
    assert_int_equal(struck, 16);
    free(r.notes);
    piece_close(&piece);
}

/* One string again and again, and a chord with an octave doubled by the left hand: each key is
 * released before it is struck again (read_back counts faults). */
static void keys_are_released_before_they_are_struck(void **state)
{
    static const int strings[] = {28, 28, 28, 28, 29, 29, 28, 28};
    Ratio lengths[8];
    Piece piece;
    (void)state;
    for (int i = 0; i < 8; i++)
        lengths[i] = ratio(1, 3);
    Passage *p = passage_of(strings, lengths, 8, metre(4, 4), ratio_int(0));
    p->hands = HANDS_OCTAVES;
    piece_open(&piece, p);
    piece_step(&piece, "long-short", "2:1", tempo(ratio_int(1), ratio_int(97)));
    Reading r = write_and_read(&piece);
    assert_int_equal(r.faults, 0);
    free(r.notes);
    piece_close(&piece);
}

/* Blocks on strings and lengths in quarters, each beginning a quarter after the one before. */
static Passage *held_chords(void)
{
    static const struct {
        int at, string, length;
    } notes[] = {{0, 30, 3}, {0, 32, 1}, {1, 33, 1}, {2, 34, 1}, {3, 29, 1}, {3, 35, 2}, {4, 31, 1},
        {5, 32, 1}, {6, 33, 1}, {7, 34, 1}};
    Passage *p = passage_new();
    Metre m = metre(4, 4);
    Error error = {0};
    assert_non_null(p);
    for (int bar = 0; bar < 2; bar++)
        assert_true(passage_add_bar(p, ratio_int(4 * bar), &m, bar + 1, &error));
    for (size_t i = 0; i < sizeof notes / sizeof notes[0]; i++) {
        Note n = {.onset = ratio_int(notes[i].at),
            .length = ratio_int(notes[i].length),
            .pitch = pitch_on(notes[i].string)};
        assert_true(passage_add_note(p, &n, &error));
    }
    assert_true(passage_finish(p, ratio_int(8), &error));
    return p;
}

static void check_lengths(const char *drill, const double wanted[10])
{
    Piece piece;
    piece_open(&piece, held_chords());
    piece_step(&piece, drill, NULL, tempo(ratio_int(1), ratio_int(83)));
    Reading r = write_and_read(&piece);
    assert_int_equal(r.faults, 0);
    for (size_t k = 0; k < 10; k++) {
        int key = pitch_midi(piece.p->notes[k].pitch);
        size_t before = 0, i = 0; /* strokes of that key before note k */
        for (size_t j = 0; j < k; j++)
            before += pitch_midi(piece.p->notes[j].pitch) == key;
        while (i < r.count && (r.notes[i].channel != 0 || r.notes[i].key != key || before-- > 0))
            i++;
        assert_true(i < r.count);
        if (llabs(r.notes[i].length - llround(wanted[k] * r.ticks)) > 1)
            fail_msg("%s: note %zu lasts %lld ticks, not %g quarters of %d", drill, k,
                r.notes[i].length, wanted[k], r.ticks);
    }
    free(r.notes);
    piece_close(&piece);
}

/* A note held under others, or over them, keeps its own length; a rhythm stretches the chord as a
 * whole. */
static void each_note_of_a_chord_has_its_length(void **state)
{
    (void)state;
    static const double plain[10] = {3, 1, 1, 1, 1, 2, 1, 1, 1, 1};
    static const double shaped[10] = {4.5, 1.5, 0.5, 1.5, 0.5, 1, 1.5, 0.5, 1.5, 0.5};
    check_lengths("plain", plain);
    check_lengths("long-short", shaped);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(octaves_sound_in_both_hands),
        cmocka_unit_test(thirds_follow_key_and_passage),
        cmocka_unit_test(keys_are_released_before_they_are_struck),
        cmocka_unit_test(each_note_of_a_chord_has_its_length),
    };
    return cmocka_run_group_tests_name("midi notes", tests, NULL, NULL);
}
