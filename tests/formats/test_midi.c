#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/formats/midi.h"
#include "tools/passages.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { RATE = 1000000, NOTES_MAX = 20000 };

/* A passage with all that its timelines need. */
typedef struct {
    Passage *p;
    Fingering f;
    Rotation r;
    Timeline *t[64];
    size_t count;
} Piece;

static void piece_open(Piece *piece, Passage *p)
{
    Error error = {0};
    memset(piece, 0, sizeof *piece);
    piece->p = p;
    assert_true(fingering_plan(p, NULL, &piece->f, &error));
    assert_true(rotation_plan(p, &piece->f, NULL, ratio(0, 1), &piece->r, &error));
}

static void piece_step(Piece *piece, const char *drill, const char *ratio_text, Tempo t)
{
    Error error = {0};
    SessionStep step = {
        .drill = drill_plain(), .tempo = t, .repetitions = 2, .count_in_bars = 1, .rest_bars = 1};
    assert_true(drill_parse(drill, &step.drill, &error));
    if (ratio_text)
        assert_true(rhythm_parse_ratio(ratio_text, &step.drill.rhythm, &error));
    Timeline *made = timeline_new(piece->p, &piece->f, &piece->r, &step, NULL, RATE, &error);
    if (!made)
        print_message("%s\n", error.text);
    assert_non_null(made);
    piece->t[piece->count++] = made;
}

static void piece_close(Piece *piece)
{
    for (size_t i = 0; i < piece->count; i++)
        timeline_free(piece->t[i]);
    rotation_free(&piece->r);
    fingering_free(&piece->f);
    passage_free(piece->p);
}

/* What mido reads in a file that we wrote. */
typedef struct {
    double seconds;
    long long tick, length;
    int channel, key, velocity;
} Heard;

typedef struct {
    int type, tracks, ticks;
    int tempos, metres, faults, program;
    int tempo[64];
    long long metre[64][3];
    Heard *notes;
    size_t count;
    long long end;
} Reading;

static void take_line(Reading *r, const char *line)
{
    Heard h;
    int channel;
    long long tick;
    if (sscanf(line, "note %lf %lld %lld %d %d %d", &h.seconds, &h.tick, &h.length, &h.channel,
            &h.key, &h.velocity) == 6) {
        assert_true(r->count < NOTES_MAX);
        r->notes[r->count++] = h;
    } else if (sscanf(line, "tempo %lld %d", &tick, &r->tempo[r->tempos]) == 2) {
        r->tempos++;
    } else if (sscanf(line, "metre %lld %lld %lld", &r->metre[r->metres][0],
                   &r->metre[r->metres][1], &r->metre[r->metres][2]) == 3) {
        r->metres++;
    } else if (strncmp(line, "fault", 5) == 0) {
        print_message("%s", line);
        r->faults++;
    } else if (sscanf(line, "head %d %d %d", &r->type, &r->tracks, &r->ticks) != 3 &&
               sscanf(line, "program %d %d", &channel, &r->program) != 2) {
        sscanf(line, "end %lld", &r->end);
    }
}

static Reading read_back(const unsigned char *bytes, size_t size)
{
    char path[] = "/tmp/evenhand-midi-XXXXXX", command[128], line[256];
    Reading r = {.notes = calloc(NOTES_MAX, sizeof *r.notes)};
    int fd = mkstemp(path);
    assert_true(fd >= 0 && r.notes);
    assert_int_equal(write(fd, bytes, size), (ssize_t)size);
    close(fd);
    snprintf(command, sizeof command, "/usr/bin/python3 tests/tools/midi_events.py %s", path);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    while (fgets(line, sizeof line, pipe))
        take_line(&r, line);
    if (pclose(pipe) != 0)
        fail_msg("midi_events.py failed: install Debian's python3-mido");
    unlink(path);
    return r;
}

static Reading write_and_read(const Piece *piece)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    Error error = {0};
    bool done = midi_write((const Timeline *const *)piece->t, piece->count, &bytes, &size, &error);
    if (!done)
        print_message("%s\n", error.text);
    assert_true(done);
    Reading r = read_back(bytes, size);
    free(bytes);
    return r;
}

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

/* Every event of the timelines is found in the file at its own second: at most half a frame,
 * half a tick and half a microsecond a quarter off. */
static void assert_same_seconds(const Piece *piece, const Reading *r)
{
    double start = 0, quarters = 0;
    size_t next_note[2] = {0, 0};
    for (size_t k = 0; k < piece->count; k++) {
        const Timeline *t = piece->t[k];
        double quarter = ratio_double(tempo_seconds_per_quarter(timeline_step(t)->tempo));
        for (size_t i = 0; i < timeline_count(t); i++) {
            TimelineEvent e = timeline_event(t, i);
            bool note = e.kind == EVENT_NOTE || e.kind == EVENT_ACCENT;
            double wanted = start + (double)e.frame / RATE;
            double here = quarters + (double)e.frame / RATE / quarter;
            double allowed = 0.5 / RATE + 0.5 * quarter / r->ticks + 0.5e-6 * here + 1e-9;
            size_t at = next_note[note ? 0 : 1];
            while (at < r->count && (r->notes[at].channel == 9) == note)
                at++;
            assert_true(at < r->count);
            const Heard *h = &r->notes[at];
            next_note[note ? 0 : 1] = at + 1;
            if (fabs(h->seconds - wanted) > allowed)
                fail_msg("step %zu event %zu: %.9f s in the file, %.9f s wanted, %.9f allowed", k,
                    i, h->seconds, wanted, allowed);
            if (note) {
                assert_int_equal(h->key, pitch_midi(piece->p->notes[e.note].pitch));
                assert_int_equal(h->velocity > 100, e.kind == EVENT_ACCENT);
            }
        }
        start += (double)timeline_frames(t) / RATE;
        quarters += (double)timeline_frames(t) / RATE / quarter;
    }
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
        cmocka_unit_test(octaves_sound_in_both_hands),
        cmocka_unit_test(thirds_follow_key_and_passage),
        cmocka_unit_test(keys_are_released_before_they_are_struck),
        cmocka_unit_test(each_note_of_a_chord_has_its_length),
        cmocka_unit_test(long_beats_stay_in_a_byte),
        cmocka_unit_test(what_does_not_fit_is_told),
    };
    return cmocka_run_group_tests_name("midi", tests, NULL, NULL);
}
