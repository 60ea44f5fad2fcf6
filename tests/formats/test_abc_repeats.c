/* test_abc_repeats.c - the order in which a page is played.
 *
 * Balanced signs: ABC 2.1, sections 4.8 to 4.10. Unbalanced ones: where abc2midi 4.84 plays them
 * without an error, as it does (test_abc_peer.c compares such tunes; here are more, found by
 * running it); where it stops with an error, what is left is our own choice, marked [own]. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "abc_reading.h"

#include "tools/passages.h"

static void expect(const char *body, const char *letters)
{
    Error error = {0};
    char out[READING_MAX];
    Passage *p = read_body(body, &error);
    if (p == NULL)
        fail_msg("%s: %d:%d %s", body, error.line, error.column, error.text);
    passage_letters(p, out);
    if (strcmp(out, letters) != 0)
        fail_msg("%s plays %s and not %s", body, out, letters);
    passage_free(p);
}

static void balanced_signs_are_played_as_written(void **state)
{
    (void)state;
    expect("|:C|D:|E|", "CDCDE");
    expect("|:C::D:|", "CCDD");
    expect("|:C:||:D:|", "CCDD");
    expect("|:C:|:D:|", "CCDD");
    expect("|:C|1D:|2E|F|", "CDCEF");
    expect("|:C|[1D:|[2E|]F|", "CDCEF");
    expect("|:C|[1,3D:|[2E:|[4F|]", "CDCECDCF");
    expect("|:C|[1-3D:|[4E||F|", "CDCDCDCEF");
    expect("|:C|[1,2D:|[3E|]F|", "CDCDCEF");
    expect("|:C|[\"1\"D:|[\"2\"E|]", "CDCE");
    expect("C|:D:|E|:F:|", "CDDEFF");
    expect("||:C:||D|", "CCD");
    expect("[|:C:|]D|", "CCD");
}

/* ABC 2.1, 4.8: |:: and ::| play a section three times; abc2midi plays it twice. */
static void more_colons_are_more_plays(void **state)
{
    (void)state;
    expect("|::C::|D|", "CCCD");
    expect("|:::C:::|D|", "CCCCD");
    expect("|:C::D:|", "CCDD");
}

/* Five endings and more: abc2midi stops at the fourth time. */
static void many_endings_are_all_played(void **state)
{
    (void)state;
    expect("|:C|1D:|2E:|3F:|4G:|5A||B|", "CDCECFCGCAB");
    expect("|:C|[1-5D:|[6E||F|", "CDCDCDCDCDCEF");
    expect("|:C|[1-3D:|[2E|F|", "CDCDCDC"); /* no fourth ending, and no way back */
}

static void missing_left_signs_are_put_in(void **state)
{
    (void)state;
    expect("C|D:|E|", "CDCDE");
    expect("C|D:|E|F:|G|", "CDCDEFEFG");
    expect("C||D:|E|", "CDCDE");     /* the first goes back to the start, whatever stands */
    expect("C:|D||E:|F|", "CCDEEF"); /* later ones to the double bar */
    expect("C:|D|]E:|F|", "CCDEEF");
    expect("C:|D||E||F:|", "CCDEFF");
    expect("C|1D:|2E|F|", "CDCEF");
    expect("C:|D|1E:|2F|", "CCDEDF");
    expect("C:|D||E|1F:|2G|", "CCDEFEG");
    expect("C:|D||E::F:|", "CCDEEFF");
}

static void missing_right_signs_are_put_in_before_a_left_one(void **state)
{
    (void)state;
    expect("|:C|:D:|E|", "CCDDE");
    expect("|:C|D||E|", "CDE");
    expect("C|:D|E|", "CDE");
}

/* Read literally, as abc2midi does: the sign goes back to the last |: there is. */
static void signs_after_endings_are_read_literally(void **state)
{
    (void)state;
    expect("|:C|1D:|2E:|F|", "CDCECF");
    expect("|:C|1D:|2E||F:|G|", "CDCEFCFG");
    expect("|:C|1D:|2E||F|1G:|2A|", "CDCEFA");
    expect("|:C|1D:|2E|:F:|", "CDCEFF");
    expect("|:C|1D:|2E::F:|", "CDCEFF");
    expect("|:C|1D:|E:|F|", "CDCEF");
    expect("|:C|1D|E:|2F|G|", "CDECFG");
}

static void endings_out_of_order(void **state)
{
    (void)state;
    expect("|:C|[2D:|[1E||F|", "CEF");
    expect("|:C:|2D|E|", "CCDE"); /* [own] no first ending: plain music */
    expect("|:C|1D|2E:|F|", "CDF");
}

static void parts_are_played_in_the_order_of_the_header(void **state)
{
    (void)state;
    static const struct {
        const char *order, *letters;
    } cases[] = {
        {"AB", "CDE"},
        {"ABA", "CDECD"},
        {"A2B", "CDCDE"},
        {"(AB)2", "CDECDE"},
        {"((AB)2B)2", "CDECDEECDECDEE"},
        {"A.B.A", "CDECD"},
        {"B", "E"},
        {"AXB", "CDE"},
        {"Part one", "CDE"},
        {"", "CDE"},
        {"(AB", "CDE"},
        {"AB)", "CDE"},
        {"2A", "CDE"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[256], out[READING_MAX];
        snprintf(text, sizeof text, "X:1\nP:%s\nK:C\nP:A\nCD|\nP:B\nE|\n", cases[i].order);
        Passage *p = abc_read(text, strlen(text), 1, NULL);
        assert_non_null(p);
        if (strcmp(passage_letters(p, out), cases[i].letters) != 0)
            fail_msg("P:%s plays %s and not %s", cases[i].order, out, cases[i].letters);
        passage_free(p);
    }
}

/* Random pages of balanced sections, and what a player makes of them, built side by side. */
typedef struct {
    char page[2048], played[4096];
    Random random;
    int next;
} Page;

static void add(char *out, const char *text)
{
    strcat(out, text);
}

static void bars(Page *page, char *out)
{
    int n = random_between(&page->random, 1, 3);
    for (int i = 0; i < n; i++) {
        char note[4] = {"CDEFGABcdefgab"[page->next++ % 14], '|', '\0'};
        note[1] = i + 1 < n ? '|' : '\0';
        add(out, note);
    }
}

static void letters_only(const char *bars_text, char *out)
{
    size_t n = strlen(out);
    for (; *bars_text != '\0'; bars_text++)
        if (*bars_text != '|')
            out[n++] = *bars_text;
    out[n] = '\0';
}

static void section(Page *page)
{
    char body[64] = "", ending[64] = "";
    int endings = random_between(&page->random, 0, 4);
    bars(page, body);
    if (endings == 0 && random_between(&page->random, 0, 1) == 0) {
        add(page->page, body);
        add(page->page, "||\n");
        letters_only(body, page->played);
        return;
    }
    add(page->page, "|:");
    add(page->page, body);
    if (endings < 2) {
        add(page->page, ":|\n");
        letters_only(body, page->played);
        letters_only(body, page->played);
        return;
    }
    for (int n = 1; n <= endings; n++) {
        char number[16];
        snprintf(number, sizeof number, "%s%d", n == 1 ? "|" : ":|", n);
        ending[0] = '\0';
        bars(page, ending);
        add(page->page, number);
        add(page->page, ending);
        letters_only(body, page->played);
        letters_only(ending, page->played);
    }
    add(page->page, "||\n");
}

static void random_balanced_pages_are_played_as_a_player_would(void **state)
{
    (void)state;
    enum { PAGES = 2000 };
    for (uint64_t seed = 1; seed <= PAGES; seed++) {
        Page page = {.random = {seed * 0x9E3779B97F4A7C15u}};
        int sections = random_between(&page.random, 1, 6);
        add(page.page, "L:1/1\n"); /* each note fills its bar, or it would be told */
        for (int i = 0; i < sections; i++)
            section(&page);
        Passage *p = read_body(page.page, NULL);
        assert_non_null(p);
        char out[READING_MAX];
        if (strcmp(passage_letters(p, out), page.played) != 0)
            fail_msg(
                "seed %u:\n%s plays %s and not %s", (unsigned)seed, page.page, out, page.played);
        assert_int_equal(p->notice_count, 0);
        passage_free(p);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(balanced_signs_are_played_as_written),
        cmocka_unit_test(more_colons_are_more_plays),
        cmocka_unit_test(many_endings_are_all_played),
        cmocka_unit_test(missing_left_signs_are_put_in),
        cmocka_unit_test(missing_right_signs_are_put_in_before_a_left_one),
        cmocka_unit_test(signs_after_endings_are_read_literally),
        cmocka_unit_test(endings_out_of_order),
        cmocka_unit_test(parts_are_played_in_the_order_of_the_header),
        cmocka_unit_test(random_balanced_pages_are_played_as_a_player_would),
    };
    return cmocka_run_group_tests_name("abc_repeats", tests, NULL, NULL);
}
