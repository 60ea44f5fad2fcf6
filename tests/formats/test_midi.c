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

/* Standard MIDI File 1.0, "variable-length quantities": the table of boundaries. */
static void variable_lengths(void **state)
{
    static const struct {
        uint32_t value;
        const char *bytes;
    } published[] = {{0x00, "00"}, {0x40, "40"}, {0x7F, "7F"}, {0x80, "8100"}, {0x2000, "C000"},
        {0x3FFF, "FF7F"}, {0x4000, "818000"}, {0x100000, "C08000"}, {0x1FFFFF, "FFFF7F"},
        {0x200000, "81808000"}, {0x8000000, "C0808000"}, {0xFFFFFFF, "FFFFFF7F"}};
    (void)state;
    for (size_t i = 0; i < sizeof published / sizeof published[0]; i++) {
        unsigned char out[4];
        char hex[9] = "";
        size_t size = midi_varlen(published[i].value, out);
        for (size_t k = 0; k < size; k++)
            snprintf(hex + 2 * k, 3, "%02X", out[k]);
        assert_string_equal(hex, published[i].bytes);
    }
}

/* Tempo bytes of the first FF 51 03 in a file for one plain step. */
static uint32_t tempo_bytes(Tempo t)
{
    Piece piece;
    unsigned char *bytes = NULL;
    size_t size = 0;
    uint32_t found = 0;
    piece_open(&piece, passage_scale(28, 8, 1, ratio(1, 2)));
    piece_step(&piece, "plain", NULL, t);
    assert_true(midi_write((const Timeline *const *)piece.t, 1, &bytes, &size, NULL));
    for (size_t i = 0; i + 6 <= size && found == 0; i++)
        if (bytes[i] == 0xFF && bytes[i + 1] == 0x51 && bytes[i + 2] == 3)
            found = (uint32_t)bytes[i + 3] << 16 | (uint32_t)bytes[i + 4] << 8 | bytes[i + 5];
    free(bytes);
    piece_close(&piece);
    return found;
}

/* 72 and 120: trade-facts 6.2 [calc]; the others: 60,000,000 / (beat x per minute), nearest. */
static void tempo_is_per_quarter(void **state)
{
    (void)state;
    assert_int_equal(tempo_bytes(tempo(ratio_int(1), ratio_int(72))), 0x0CB735);
    assert_int_equal(tempo_bytes(tempo(ratio_int(1), ratio_int(120))), 0x07A120);
    assert_int_equal(tempo_bytes(tempo(ratio(3, 2), ratio_int(60))), 666667);
    assert_int_equal(tempo_bytes(tempo(ratio_int(2), ratio_int(60))), 500000);
    assert_int_equal(tempo_bytes(tempo(ratio(1, 2), ratio_int(400))), 300000);
    assert_int_equal(tempo_bytes(tempo(ratio_int(1), ratio(133, 2))), 902256);
}

static void seconds_are_the_timeline_s(void **state)
{
    static const char *const drills[] = {"plain", "finger-4", "beat-1", "long-short",
        "finger-1+short-long", "long-2-of-3", "long-4-of-4"};
    static const char *const ratios[] = {"3:1", "2:1", "7:1", "5:3"};
    Random random = {.state = 20240611};
    (void)state;
    for (int round = 0; round < 12; round++) {
        uint64_t seed = random.state;
        Piece piece;
        piece_open(&piece, passage_random(&random, 60));
        for (int k = 0; k < 4; k++)
            piece_step(&piece, drills[random_between(&random, 0, 6)],
                ratios[random_between(&random, 0, 3)],
                tempo(ratio(random_between(&random, 1, 3), 2),
                    ratio(random_between(&random, 80, 400), 2)));
        print_message("random passage from state %llu\n", (unsigned long long)seed);
        Reading r = write_and_read(&piece);
        assert_int_equal(r.type, 1);
        assert_int_equal(r.tracks, 3);
        assert_int_equal(r.tempos, 4);
        assert_int_equal(r.faults, 0);
        assert_int_equal(r.program, 46);
        assert_same_seconds(&piece, &r);
        free(r.notes);
        piece_close(&piece);
    }
}

static Passage *metres_passage(void)
{
    static const int metres[][2] = {{4, 4}, {3, 4}, {6, 8}, {6, 8}, {5, 4}};
    Passage *p = passage_new();
    Error error = {0};
    Ratio at = ratio_int(0);
    int string = 28;
    assert_non_null(p);
    p->metre = metre(4, 4);
    for (int i = 0; i < 5; i++) {
        Metre m = metre(metres[i][0], metres[i][1]);
        Ratio end = ratio_add(at, metre_bar(&m));
        assert_true(passage_add_bar(p, at, &m, i + 1, &error));
        for (; ratio_cmp(at, end) < 0; at = ratio_add(at, ratio(1, 2))) {
            Note n = {.onset = at, .length = ratio(1, 2), .pitch = pitch_on(string++)};
            assert_true(passage_add_note(p, &n, &error));
        }
    }
    assert_true(passage_finish(p, at, &error));
    return p;
}

static void metre_at_each_change(void **state)
{
    Piece piece;
    (void)state;
    piece_open(&piece, metres_passage());
    piece_step(&piece, "plain", NULL, tempo(ratio_int(1), ratio_int(90)));
    Reading r = write_and_read(&piece);
    /* count-in of one 4/4 bar, then twice 4/4 3/4 6/8 6/8 5/4, in quarters; rest in 4/4 */
    static const int wanted[][3] = {{0, 4, 4}, {8, 3, 4}, {11, 6, 8}, {17, 5, 4}, {22, 4, 4},
        {26, 3, 4}, {29, 6, 8}, {35, 5, 4}, {40, 4, 4}};
    assert_int_equal(r.metres, 9);
    for (int i = 0; i < 9; i++) {
        assert_int_equal(r.metre[i][0], (long long)wanted[i][0] * r.ticks);
        assert_int_equal(r.metre[i][1], wanted[i][1]);
        assert_int_equal(r.metre[i][2], wanted[i][2]);
    }
    free(r.notes);
    piece_close(&piece);
}

static int division_for(const char *drill, const char *ratio_text)
{
    Piece piece;
    piece_open(&piece, passage_scale(28, 16, 1, ratio(1, 2)));
    piece_step(&piece, drill, ratio_text, tempo(ratio_int(1), ratio_int(61)));
    Reading r = write_and_read(&piece);
    int ticks = r.ticks;
    assert_same_seconds(&piece, &r);
    free(r.notes);
    piece_close(&piece);
    return ticks;
}

static void ticks_are_exact_where_they_can(void **state)
{
    (void)state;
    assert_int_equal(division_for("plain", NULL), 960);
    assert_int_equal(division_for("long-short", "3:1"), 960);
    /* 5 + 2 = 7 parts of a quarter, 8 + 3 = 11, 14 + 3 * 9 = 41 of two quarters */
    assert_int_equal(division_for("long-short", "5:2"), 960 * 7);
    assert_int_equal(division_for("long-short", "8:3"), 960 * 11);
    int ticks = division_for("long-1-of-4", "14:9");
    assert_int_equal(ticks % 41, 0);
    assert_true(ticks < 960 * 7);
}

/* One drill of 41 parts and one of 61 and one of 37: no division up to 32767 takes them all. */
static void else_the_nearest_tick(void **state)
{
    Piece piece;
    Tempo t = tempo(ratio_int(1), ratio_int(60));
    (void)state;
    piece_open(&piece, passage_scale(28, 16, 1, ratio(1, 2)));
    piece_step(&piece, "long-short", "30:11", t);
    piece_step(&piece, "long-short", "40:21", t);
    piece_step(&piece, "long-short", "20:17", t);
    Reading r = write_and_read(&piece);
    assert_int_equal(r.ticks, MIDI_TICKS_NEAREST);
    assert_same_seconds(&piece, &r);
    free(r.notes);
    piece_close(&piece);
}

/* Clocks to a click are one byte: 6/1 would have 288 of them. */
static void long_beats_stay_in_a_byte(void **state)
{
    (void)state;
    static const Ratio lengths[] = {{24, 1}, {24, 1}};
    static const int strings[] = {28, 29};
    Piece piece;
    unsigned char *bytes = NULL;
    size_t size = 0;
    Error error = {0};
    piece_open(&piece, passage_of(strings, lengths, 2, metre(6, 1), ratio_int(0)));
    piece_step(&piece, "plain", NULL, tempo(ratio_int(4), ratio_int(60)));
    assert_true(midi_write((const Timeline *const *)piece.t, 1, &bytes, &size, &error));
    static const unsigned char head[] = {0xFF, 0x58, 0x04, 6, 0, 255, 8};
    bool found = false;
    for (size_t i = 0; i + sizeof head <= size; i++)
        found = found || memcmp(bytes + i, head, sizeof head) == 0;
    assert_true(found);
    free(bytes);
    piece_close(&piece);
}

static ErrorKind refusal(Passage *p, Tempo t)
{
    Piece piece;
    unsigned char *bytes = NULL;
    size_t size = 0;
    Error error = {0};
    piece_open(&piece, p);
    piece_step(&piece, "plain", NULL, t);
    assert_false(midi_write((const Timeline *const *)piece.t, 1, &bytes, &size, &error));
    assert_null(bytes);
    piece_close(&piece);
    return error.kind;
}

static void what_does_not_fit_is_told(void **state)
{
    (void)state;
    /* below C-1 there is no key; 10 sixteenths a minute are 24 s a quarter, over 16.7 */
    Passage *low = passage_scale(3, 4, 1, ratio_int(1));
    low->hands = HANDS_OCTAVES;
    low->notes[0].pitch.octave = -1;
    assert_int_equal(refusal(low, tempo(ratio_int(1), ratio_int(60))), ERROR_RANGE);
    assert_int_equal(
        refusal(passage_scale(28, 4, 1, ratio_int(1)), tempo(ratio(1, 4), ratio_int(10))),
        ERROR_LIMIT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(variable_lengths),
        cmocka_unit_test(tempo_is_per_quarter),
        cmocka_unit_test(seconds_are_the_timeline_s),
        cmocka_unit_test(metre_at_each_change),
        cmocka_unit_test(ticks_are_exact_where_they_can),
        cmocka_unit_test(else_the_nearest_tick),
        cmocka_unit_test(long_beats_stay_in_a_byte),
        cmocka_unit_test(what_does_not_fit_is_told),
    };
    return cmocka_run_group_tests_name("midi", tests, NULL, NULL);
}
