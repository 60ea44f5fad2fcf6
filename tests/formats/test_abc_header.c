/* test_abc_header.c - files, tunes and headers: what stands around the music. ABC 2.1 (December
 * 2011), sections 2 and 3. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "abc_reading.h"
#include "evenhand/music/text.h"

static void the_header_is_kept(void **state)
{
    (void)state;
    Passage *p = must_read("X:7\nT:Caf\\'e &eacute; \\u00e9\nT:other\nC:S\xf8ren\nM:6/8\n"
                           "Q:\"Slow\" 3/8=66.5\nK:F# mixolydian % x\nF3\n");
    assert_int_equal(p->reference, 7);
    assert_string_equal(p->title, "Caf\xc3\xa9 \xc3\xa9 \xc3\xa9");
    assert_string_equal(p->composer, "S\xc3\xb8ren");
    assert_string_equal(p->key, "F# mixolydian");
    assert_true(p->has_tempo);
    assert_true(ratio_equal(p->tempo.beat, ratio(3, 2)));
    assert_true(ratio_equal(p->tempo.per_minute, ratio(133, 2)));
    assert_int_equal(p->metre.num, 6);
    assert_int_equal(p->metre.den, 8);
    passage_free(p);
}

static void keys_have_names(void **state)
{
    (void)state;
    static const char *const keys[][2] = {{"G", "G"}, {"F#m", "F#m"}, {"Ador", "A dorian"},
        {"E minor", "Em"}, {"Bb lydian", "Bb lydian"}, {"none", "none"}, {"Hp", "Hp"}, {"", "none"},
        {"D exp _b", "D"}, {"g", "G"}, {"am", "Am"}, {"E\xe2\x99\xad", "Eb"}, {"C clef=bass", "C"},
        {"bass", "none"}, {"Dm=c", "Dm"}};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        char text[128];
        snprintf(text, sizeof text, "X:1\nK:%s\nC\n", keys[i][0]);
        Passage *p = must_read(text);
        assert_string_equal(p->key, keys[i][1]);
        passage_free(p);
    }
}

static void remarks_are_kept(void **state)
{
    (void)state;
    Passage *p = must_read("X:1\nN:Slowly;\nT:x\nN:then twice\nK:C\nC\nN:as fast\n");
    assert_string_equal(p->remark, "Slowly; then twice as fast");
    passage_free(p);
    char text[2000] = "X:1\n";
    for (int i = 0; i < 60; i++)
        strcat(text, "N:\303\251\303\251 word\n"); /* é é: never cut inside a character */
    strcat(text, "K:C\nC\n");
    p = must_read(text);
    char clean[PASSAGE_REMARK_MAX];
    assert_in_range(strlen(p->remark), PASSAGE_REMARK_MAX - 3, PASSAGE_REMARK_MAX - 1);
    assert_string_equal(text_clean(p->remark, clean, sizeof clean), p->remark);
    passage_free(p);
}

/* What a field says and nobody can read is told, once. */
static void unread_fields_are_told(void **state)
{
    static const char *const told[][2] = {{"K:H\n", "K:D or K:Em"}, {"Q:fast\nK:C\n", "Q:1/4=72"},
        {"Q:\"Allegro\"\nK:C\n", "Q:1/4=72"}, {"K:quick\n", "K:D or K:Em"}};
    static const char *const quiet[] = {"Q:\nK:C\n", "K:\n", "K:none\n", "K:bass\n", "K:treble\n",
        "K:clef=alto\n", "K:exp ^f\n", "K:_b\n", "K:Gmaj middle=d\n", "K:Hp\n", "K:D staves=2\n"};
    (void)state;
    for (size_t i = 0; i < sizeof told / sizeof *told; i++) {
        char text[128];
        snprintf(text, sizeof text, "X:1\nL:1/4\n%sC4\n", told[i][0]);
        Passage *p = must_read(text);
        assert_int_equal(p->notice_count, 1);
        assert_non_null(strstr(p->notices[0].text, told[i][1]));
        passage_free(p);
    }
    for (size_t i = 0; i < sizeof quiet / sizeof *quiet; i++) {
        char text[128];
        snprintf(text, sizeof text, "X:1\nL:1/4\n%sC4\n", quiet[i]);
        Passage *p = must_read(text);
        if (p->notice_count > 0)
            fail_msg("%s: %s", quiet[i], p->notices[0].text);
        passage_free(p);
    }
}

static void tempo_is_read_in_all_its_forms(void **state)
{
    (void)state;
    static const struct {
        const char *field;
        int beat_num, beat_den, rate; /* beat in quarters; rate 0: no tempo */
    } cases[] = {{"1/4=72", 1, 1, 72}, {"3/8=60", 3, 2, 60}, {"1/4 1/8=50", 3, 2, 50},
        {"\"Allegro\" 1/2=66", 2, 1, 66}, {"1/4=100 \"con moto\"", 1, 1, 100}, {"120", 1, 1, 120},
        {"C=80", 1, 2, 80}, {"C3=80", 3, 2, 80}, {"\"Allegro\"", 1, 1, 0}, {"1/4=9", 1, 1, 0},
        {"1/4=401", 1, 1, 0}, {"", 1, 1, 0}, {"x", 1, 1, 0}, {" 1/4 = 88 ", 1, 1, 88},
        {"88.                          5", 1, 1, 88}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[128];
        snprintf(text, sizeof text, "X:1\nL:1/8\nQ:%s\nK:C\nC\n", cases[i].field);
        Passage *p = must_read(text);
        assert_int_equal(p->has_tempo, cases[i].rate > 0);
        if (cases[i].rate > 0) {
            assert_true(ratio_equal(p->tempo.beat, ratio(cases[i].beat_num, cases[i].beat_den)));
            assert_true(ratio_equal(p->tempo.per_minute, ratio_int(cases[i].rate)));
        }
        passage_free(p);
    }
}

static void hands_are_told_by_directive_or_clef(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        Hands hands;
    } cases[] = {
        {"X:1\nK:C\nC\n", HANDS_RIGHT},
        {"X:1\n%%evenhand hands left\nK:C\nC\n", HANDS_LEFT},
        {"X:1\nK:C\n%%evenhand hands octaves\nC\n", HANDS_OCTAVES},
        {"X:1\n%%evenhand hands thirds\nK:C\nC\n", HANDS_THIRDS},
        {"X:1\n%%evenhand hands sixths \nK:C\nC\n", HANDS_SIXTHS},
        {"X:1\n%%evenhand hands tenths\nK:C\nC\n", HANDS_TENTHS},
        {"X:1\n%%evenhand hands alternate\nK:C bass\nC\n", HANDS_ALTERNATE},
        {"X:1\nK:C\n%%evenhand hands both\nC\n", HANDS_OCTAVES},
        {"X:1\nI:evenhand hands left\nK:C\nC\n", HANDS_LEFT},
        {"X:1\nK:C clef=bass\nC\n", HANDS_LEFT},
        {"X:1\nK:C bass\nC\n", HANDS_LEFT},
        {"X:1\nV:1 clef=bass\nK:C\nC\n", HANDS_LEFT},
        {"X:1\n%%evenhand hands right\nK:C clef=bass\nC\n", HANDS_RIGHT},
        {"%%evenhand hands left\n\nX:1\nK:C\nC\n", HANDS_LEFT},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Passage *p = must_read(cases[i].text);
        assert_int_equal(p->hands, cases[i].hands);
        passage_free(p);
    }
}

/* The signature as it sounds at the first note, for what the left hand adds to the right. */
static void the_key_is_kept_letter_by_letter(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int8_t alter[7]; /* C first */
    } cases[] = {
        {"X:1\nK:C\nC\n", {0}},
        {"X:1\nK:D\nC\n", {1, 0, 0, 1, 0, 0, 0}},
        {"X:1\nK:Cb\nC\n", {-1, -1, -1, -1, -1, -1, -1}},
        {"X:1\nK:D =c ^g\nC\n", {0, 0, 0, 1, 1, 0, 0}},
        {"X:1\nK:C exp _b ^f\nC\n", {0, 0, 0, 1, 0, 0, -1}},
        {"X:1\nK:none\nC\n", {0}},
        {"X:1\nK:C\n[K:G]C[K:F]D\n", {0, 0, 0, 1, 0, 0, 0}},
        {"X:1\nK:C\nC[K:F]D\n", {0}},
        {"X:1\nK:C transpose=-2\nC\n", {0, 0, -1, 0, 0, 0, -1}},
        {"X:1\nK:C\n%%MIDI transpose 2\nC\n", {1, 0, 0, 1, 0, 0, 0}},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Passage *p = must_read(cases[i].text);
        for (int k = 0; k < 7; k++)
            if (p->key_alter[k] != cases[i].alter[k])
                fail_msg("%s: letter %d is %d, not %d", cases[i].text, k, p->key_alter[k],
                    cases[i].alter[k]);
        passage_free(p);
    }
}

/* ABC 2.1, 2.2.2: fields before the first tune hold for every tune of the file. */
static void a_file_header_holds_for_all_tunes(void **state)
{
    (void)state;
    static const char text[] = "L:1/4\nU:W=!2!\n\nX:1\nK:C\nWC\n\nX:2\nL:1/16\nK:C\nC\n";
    char out[READING_MAX];
    Passage *p = abc_read(text, strlen(text), 1, NULL);
    assert_non_null(p);
    assert_string_equal(passage_line(p, out), "C4+1f2");
    passage_free(p);
    p = abc_read(text, strlen(text), 2, NULL);
    assert_non_null(p);
    assert_string_equal(passage_line(p, out), "C4+1/4");
    passage_free(p);
}

static void tunes_are_listed(void **state)
{
    (void)state;
    static const char text[] = "%abc\nwords\n\nX:3\nT:one\nT:two\nK:C\nC\n\n\nX: 12\nK:D\nD\n"
                               "X:12\nT:\xe9\nK:C\nE";
    AbcTune *tunes;
    size_t count;
    assert_true(abc_list(text, strlen(text), &tunes, &count, NULL));
    assert_int_equal(count, 3);
    assert_int_equal(tunes[0].reference, 3);
    assert_string_equal(tunes[0].title, "one");
    assert_int_equal(tunes[0].line, 4);
    assert_int_equal(tunes[1].reference, 12);
    assert_string_equal(tunes[1].title, "");
    assert_string_equal(tunes[2].title, "\xc3\xa9");
    free(tunes);
    char out[READING_MAX];
    Passage *p = abc_read(text, strlen(text), 12, NULL); /* the first of that number */
    assert_non_null(p);
    assert_string_equal(passage_line(p, out), "D4+1/2");
    passage_free(p);
}

static void a_tune_ends_where_the_standard_says(void **state)
{
    (void)state;
    static const char *const texts[] = {"X:1\nK:C\nCD|\n\nEF|\n", "X:1\nK:C\nCD|\n \t\nEF|",
        "X:1\nK:C\nCD|\nX:2\nK:C\nEF|", "words CDE\nX:1\n\nK:C\nCD|",
        "X:1\nwords\nK:C\n%%begintext\nEF\n%%endtext\nCD", "X:1\nK:C\n%EF\nCD",
        "X:1\rK:C\rCD\r\rEF", "\xef\xbb\xbfX:1\r\nK:C\r\nCD\r\n\r\nEF"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        char out[READING_MAX];
        Passage *p = must_read(texts[i]);
        assert_string_equal(passage_line(p, out), "C4+1/2 D4+1/2");
        passage_free(p);
    }
}

static void music_after_a_blank_line_is_missed_aloud(void **state)
{
    (void)state;
    Passage *p = must_read("X:1\nK:C\nCD|\n\nEF|\n");
    assert_true(has_notice(p, "blank line"));
    assert_int_equal(p->notices[0].line, 4);
    passage_free(p);
    p = must_read("X:1\nK:C\nCD|\n\n% E|F\nwords\nX:2\nK:C\nE|F\n");
    assert_int_equal(p->notice_count, 0);
    passage_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_header_is_kept),
        cmocka_unit_test(keys_have_names),
        cmocka_unit_test(remarks_are_kept),
        cmocka_unit_test(unread_fields_are_told),
        cmocka_unit_test(tempo_is_read_in_all_its_forms),
        cmocka_unit_test(hands_are_told_by_directive_or_clef),
        cmocka_unit_test(the_key_is_kept_letter_by_letter),
        cmocka_unit_test(a_file_header_holds_for_all_tunes),
        cmocka_unit_test(tunes_are_listed),
        cmocka_unit_test(a_tune_ends_where_the_standard_says),
        cmocka_unit_test(music_after_a_blank_line_is_missed_aloud),
    };
    return cmocka_run_group_tests_name("abc_header", tests, NULL, NULL);
}
