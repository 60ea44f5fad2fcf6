#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/formats/sheet.h"
#include "tools/golden.h"
#include "tools/passages.h"

#include <string.h>

/* A passage with all that a sheet needs. */
typedef struct {
    Passage *p;
    Fingering f;
    Rotation r;
    Session s;
} Piece;

static Piece piece_of(Passage *p)
{
    Piece piece = {.p = p};
    Error error = {0};
    p->tempo = tempo(metre_compound(&p->metre) ? ratio(3, 2) : ratio_int(1), ratio_int(60));
    SessionOptions options = {.tempo = p->tempo, .base = drill_plain()};
    assert_true(fingering_plan(p, NULL, &piece.f, &error));
    assert_true(rotation_plan(p, &piece.f, NULL, ratio(0, 1), &piece.r, &error));
    assert_true(session_default(p, &piece.f, &piece.r, &options, &piece.s, &error));
    return piece;
}

static void piece_free(Piece *piece)
{
    session_free(&piece->s);
    rotation_free(&piece->r);
    fingering_free(&piece->f);
    passage_free(piece->p);
}

static char *show(const Piece *piece, bool utf8, int width)
{
    Text text = {0};
    Error error = {0};
    SheetStyle style = {.utf8 = utf8, .width = width};
    assert_true(sheet_show(&text, piece->p, &piece->f, &piece->r, &piece->s, &style, &error));
    return text.bytes;
}

/* One octave up and back in eighths. */
static Passage *up_and_back(void)
{
    int strings[15];
    Ratio lengths[15];
    for (int i = 0; i < 15; i++) {
        strings[i] = 28 + (i < 8 ? i : 14 - i);
        lengths[i] = i < 14 ? ratio(1, 2) : ratio_int(1);
    }
    Passage *p = passage_of(strings, lengths, 15, metre(4, 4), ratio_int(0));
    strcpy(p->title, "One octave up and back");
    strcpy(p->key, "C");
    return p;
}

/* Chords with accidentals, after a pickup, in six-eight. */
static Passage *chords(void)
{
    static const int strings[] = {28, 28, 30, 32, 33, 31, 33, 35, 36};
    static const int starts[] = {0, 1, 1, 1, 2, 3, 3, 3, 4};
    Passage *p = passage_new();
    Error error = {0};
    Metre m = metre(6, 8);
    assert_non_null(p);
    p->metre = m;
    strcpy(p->title, "Chords after a pickup");
    strcpy(p->composer, "invented for this test");
    strcpy(p->key, "D");
    assert_true(passage_add_bar(p, ratio_int(0), &m, 0, &error));
    assert_true(passage_add_bar(p, ratio(1, 2), &m, 1, &error));
    for (int i = 0; i < 9; i++) {
        Note n = {.onset = ratio(starts[i], 2), .length = ratio(1, 2)};
        n.pitch = pitch_on(strings[i]);
        if (n.pitch.letter == LETTER_F || n.pitch.letter == LETTER_C)
            n.pitch.alter = 1;
        assert_true(passage_add_note(p, &n, &error));
    }
    assert_true(passage_finish(p, ratio_int(3), &error));
    return p;
}

static void sheet_as_text(void **state)
{
    (void)state;
    Piece piece = piece_of(up_and_back());
    char *text = show(&piece, true, 0);
    golden_check("sheet-up-and-back.txt", text);
    free(text);
    text = show(&piece, false, 0);
    golden_check("sheet-up-and-back-ascii.txt", text);
    free(text);
    piece_free(&piece);
}

static bool shows(const Piece *piece, const char *words)
{
    char *text = show(piece, true, 0);
    bool found = strstr(text, words) != NULL;
    if (!found)
        print_error("no \"%s\" in\n%s", words, text);
    free(text);
    return found;
}

/* What the passage says of itself, and what the tables mean. */
static void sheet_says_what_is_what(void **state)
{
    (void)state;
    Passage *p = up_and_back();
    strcpy(p->key, "Bb");
    strcpy(p->remark, "First one hand,\x1b then the other.");
    p->hands = HANDS_OCTAVES;
    Piece piece = piece_of(p);
    assert_true(shows(&piece, "One octave up and back\nFirst one hand,? then the other.\nkey B♭,"));
    assert_true(shows(&piece, "C4 is middle C (scientific octaves)."));
    assert_true(shows(&piece, "the left plays the same an octave lower"));
    assert_true(shows(&piece, "    1  C4 (4), G4 (4), "));
    assert_true(shows(&piece, "place 1 of 4 (the strong beats)"));
    assert_true(shows(&piece, "Over all places each note is accented once."));
    assert_true(shows(&piece, "In all 4:48 minutes, count-ins and rests included."));
    piece_free(&piece);
}

/* The same with plans, a harp and names as they are asked for. */
static char *show_all(const Piece *piece, const char *harp, Names names)
{
    Fingering plans[3];
    Setting setting;
    Instrument instrument;
    Text text = {0};
    Error error = {0};
    SheetStyle style = {.utf8 = true, .names = names, .plans = plans, .setting = &setting};
    assert_true(instrument_parse(harp, &instrument, &error));
    assert_true(setting_make_named(piece->p, &instrument, names, &setting, &error));
    assert_true(fingering_plans(piece->p, NULL, 3, plans, &style.plan_count, &error));
    assert_true(sheet_show(&text, piece->p, &piece->f, &piece->r, &piece->s, &style, &error));
    for (int i = 0; i < style.plan_count; i++)
        fingering_free(&plans[i]);
    setting_free(&setting);
    return text.bytes;
}

static void says(const char *text, const char *words)
{
    if (!strstr(text, words))
        fail_msg("no \"%s\" in\n%s", words, text);
}

static void plans_and_pedals(void **state)
{
    (void)state;
    Passage *p = up_and_back();
    p->notes[11].pitch.alter = 1; /* F4 on the way back */
    Piece piece = piece_of(p);
    char *text = show_all(&piece, "pedal-46", NAMES_SCIENTIFIC);
    says(text, "\nplan    cost  fingers in groups\n   1");
    says(text, "\n   2");
    says(text, "unlike plan 1: ");
    says(text, "pedal harp, 46 strings");
    says(text, "pedals  D♮ C♮ B♮ | E♮ F♮ G♮ A♮\n");
    says(text, "F sharp (right foot)");
    says(text, "plays on  pedal 46 47 48 with 1 change; lever in Eb");
    free(text);
    piece_free(&piece);
}

static void names_are_labelled(void **state)
{
    (void)state;
    Piece piece = piece_of(up_and_back());
    char *text = show_all(&piece, "lever-34-C", NAMES_SYLLABLES);
    says(text, "do4 is middle C (fixed do).");
    says(text, "note    │ do4  re4  mi4 ");
    says(text, "levers  all levers down\n");
    says(text, "Links and replaces are named in scientific octaves.");
    free(text);
    text = show_all(&piece, "lever-34-C", NAMES_HARP);
    says(text, "C4 is middle C (harp octaves).");
    says(text, "│ C4  D4  E4  F3  G3");
    free(text);
    piece_free(&piece);
}

static void the_hands_by_turns(void **state)
{
    (void)state;
    Passage *p = up_and_back();
    p->hands = HANDS_ALTERNATE;
    Piece piece = piece_of(p);
    assert_true(shows(&piece, "\nhand    │ L   L   L   L   R   R   R   R   │ L"));
    assert_true(
        shows(&piece, "   1  up   C4 D4 E4 F4         4 3 2 1    left hand, placed beforehand"));
    Text text = {0};
    Error error = {0};
    assert_true(sheet_notes(&text, p, &piece.f, &error));
    says(text.bytes, "\t1\tleft\n");
    says(text.bytes, "\t2\tright\n");
    says(text.bytes, "\t3\tleft\n");
    text_free(&text);
    piece_free(&piece);
    p = up_and_back();
    p->hands = HANDS_SIXTHS;
    piece = piece_of(p);
    assert_true(shows(&piece, "the left plays a sixth lower, the same fingers."));
    piece_free(&piece);
}

static void sheet_says_how_often_each_note_comes(void **state)
{
    (void)state;
    BeatPattern beats;
    Error error = {0};
    Piece piece = piece_of(up_and_back());
    rotation_free(&piece.r);
    assert_true(beat_pattern_parse("1,4", &beats, &error));
    assert_true(rotation_plan(piece.p, &piece.f, &beats, ratio(1, 2), &piece.r, &error));
    assert_true(shows(&piece, "over all places each note is accented\n2 times."));
    piece_free(&piece);
}

/* The sheet of practice without a terminal. */
static void sheet_in_brief(void **state)
{
    (void)state;
    static const char *const harps[] = {"pedal-47", "lever-34"};
    for (int i = 0; i < 2; i++) {
        Piece piece = piece_of(i == 0 ? up_and_back() : chords());
        Setting setting;
        Instrument harp;
        Text text = {0};
        Error error = {0};
        SheetStyle style = {.utf8 = i == 0, .setting = &setting, .brief = true};
        assert_true(instrument_parse(harps[i], &harp, &error));
        assert_true(setting_make(piece.p, &harp, &setting, &error));
        assert_true(sheet_show(&text, piece.p, &piece.f, &piece.r, &piece.s, &style, &error));
        golden_check(i == 0 ? "sheet-brief.txt" : "sheet-brief-levers-ascii.txt", text.bytes);
        text_free(&text);
        setting_free(&setting);
        piece_free(&piece);
    }
}

static void sheet_with_chords(void **state)
{
    (void)state;
    Piece piece = piece_of(chords());
    char *text = show(&piece, true, 0);
    golden_check("sheet-chords.txt", text);
    free(text);
    piece_free(&piece);
}

static void notes_and_events(void **state)
{
    (void)state;
    Piece piece = piece_of(chords());
    Text text = {0};
    Error error = {0};
    assert_true(sheet_notes(&text, piece.p, &piece.f, &error));
    golden_check("notes-chords.tsv", text.bytes);
    text_free(&text);
    SessionStep step = piece.s.steps[1];
    step.repetitions = 1;
    Timeline *t = timeline_new(piece.p, &piece.f, &piece.r, &step, NULL, 1000, &error);
    assert_non_null(t);
    assert_true(sheet_timeline_header(&text, &error));
    assert_true(sheet_timeline(&text, t, 0, 0, timeline_count(t), &error));
    golden_check("timeline-chords.tsv", text.bytes);
    text_free(&text);
    timeline_free(t);
    piece_free(&piece);
}

/* Rows asked for in stretches are the rows asked for at once, and frames start where told. */
static void timeline_in_stretches(void **state)
{
    (void)state;
    Piece piece = piece_of(up_and_back());
    Text all = {0}, parts = {0};
    Error error = {0};
    Timeline *t = timeline_new(piece.p, &piece.f, &piece.r, &piece.s.steps[0], NULL, 48000, &error);
    size_t count = timeline_count(t);
    assert_true(sheet_timeline(&all, t, 1234, 0, count, &error));
    for (size_t i = 0; i < count; i++)
        assert_true(sheet_timeline(&parts, t, 1234, i, 1, &error));
    assert_string_equal(all.bytes, parts.bytes);
    assert_memory_equal(all.bytes, "1234\t", 5);
    text_free(&all);
    text_free(&parts);
    timeline_free(t);
    piece_free(&piece);
}

static void check_lines(const char *text, int width, bool ascii)
{
    char line[1024];
    while (*text) {
        size_t size = strcspn(text, "\n");
        assert_true(size < sizeof line && text[size] == '\n');
        memcpy(line, text, size);
        line[size] = '\0';
        if (text_columns(line) > width)
            fail_msg("%d columns: %s", text_columns(line), line);
        if (size > 0 && line[size - 1] == ' ')
            fail_msg("blank at the end: '%s'", line);
        for (size_t i = 0; ascii && i < size; i++)
            assert_in_range((unsigned char)line[i], 32, 126);
        text += size + 1;
    }
}

/* Counts the cells of all rows with this label. */
static int cells_of(const char *text, const char *label)
{
    int cells = 0;
    for (const char *line = text; *line; line += strcspn(line, "\n") + 1) {
        if (strncmp(line, label, strlen(label)) != 0)
            continue;
        size_t size = strcspn(line, "\n");
        for (size_t i = strlen(label); i < size; i++)
            cells += line[i] != ' ' && line[i] != '|' && (line[i - 1] == ' ');
    }
    return cells;
}

/* Whatever the passage: lines keep to the width, every note has its name and finger once. */
static void any_passage_keeps_its_sheet(void **state)
{
    Random random = {.state = 77001};
    (void)state;
    for (int round = 0; round < 60; round++) {
        print_message("random passage from state %llu\n", (unsigned long long)random.state);
        Piece piece = piece_of(
            round % 3 == 0 ? passage_to_and_fro(&random, 120) : passage_random(&random, 120));
        char *text = show(&piece, true, 0);
        check_lines(text, 80, false);
        free(text);
        text = show_all(&piece, round % 2 ? "pedal-47" : "lever-26", (Names)(round % NAMES_KINDS));
        check_lines(text, 80, false);
        free(text);
        text = show(&piece, false, 80);
        check_lines(text, 80, true);
        assert_int_equal(cells_of(text, "note    "), (int)piece.p->note_count);
        assert_int_equal(cells_of(text, "finger  "), (int)piece.p->note_count);
        assert_int_equal(cells_of(text, "beat    "), (int)piece.p->note_count);
        free(text);
        piece_free(&piece);
    }
}

/* A figure to and fro for bars is one group wider than any line. */
static void a_long_group_keeps_the_width(void **state)
{
    enum { NOTES = 600 };
    static const int figure[] = {28, 32, 30, 32};
    static int strings[NOTES];
    static Ratio lengths[NOTES];
    (void)state;
    for (int i = 0; i < NOTES; i++) {
        strings[i] = figure[i % 4];
        lengths[i] = ratio(1, 2);
    }
    Piece piece = piece_of(passage_of(strings, lengths, NOTES, metre(4, 4), ratio_int(0)));
    assert_int_equal(piece.f.group_count, 1);
    char *text = show(&piece, false, 80);
    check_lines(text, 80, true);
    assert_int_equal(cells_of(text, "finger  "), NOTES);
    assert_non_null(strstr(text, "   1  fro  C4 G4 E4"));
    assert_non_null(strstr(text, "; 600 notes"));
    free(text);
    piece_free(&piece);
}

/* A title may hold anything; none of it reaches the terminal as a control. */
static void titles_are_cleaned(void **state)
{
    (void)state;
    Passage *p = up_and_back();
    strcpy(p->title, "Red \033[31m title\a");
    strcpy(p->composer, "line\nbreak");
    strcpy(p->key, "C\r");
    Piece piece = piece_of(p);
    char *text = show(&piece, true, 0);
    assert_null(strpbrk(text, "\033\a\r"));
    assert_non_null(strstr(text, "line?break"));
    free(text);
    piece_free(&piece);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sheet_as_text),
        cmocka_unit_test(sheet_says_what_is_what),
        cmocka_unit_test(plans_and_pedals),
        cmocka_unit_test(names_are_labelled),
        cmocka_unit_test(the_hands_by_turns),
        cmocka_unit_test(sheet_says_how_often_each_note_comes),
        cmocka_unit_test(sheet_in_brief),
        cmocka_unit_test(sheet_with_chords),
        cmocka_unit_test(notes_and_events),
        cmocka_unit_test(timeline_in_stretches),
        cmocka_unit_test(any_passage_keeps_its_sheet),
        cmocka_unit_test(a_long_group_keeps_the_width),
        cmocka_unit_test(titles_are_cleaned),
    };
    return cmocka_run_group_tests_name("sheet", tests, NULL, NULL);
}
