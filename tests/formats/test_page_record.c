/* The practice record on paper: where all text stands (none over another, all inside the margins),
 * and that other programs open what is written: pdfinfo (Debian poppler-utils), python3's XML
 * reader. The records are invented. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/formats/page_record.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { ROUNDS = 150, CHARTS = 9, POINTS = 200, EACH_PAGE = 3 };

/* ISO 216 A4, ANSI A (Letter); the margin is the house's. */
static const double papers[2][2] = {{210, 297}, {215.9, 279.4}}, margin = 12;

static RecordLine lines[CHARTS];
static ChartPoint points[CHARTS][POINTS];
static RecordChart charts[CHARTS];
static uint64_t seed_state;

static int64_t draw(int64_t low, int64_t high)
{
    seed_state ^= seed_state << 13;
    seed_state ^= seed_state >> 7;
    seed_state ^= seed_state << 17;
    return low + (int64_t)(seed_state % (uint64_t)(high - low + 1));
}

static void random_name(char out[RECORD_NAME_MAX])
{
    static const char *const pieces[] = {"Run in G", " ", "Étude", "W", "\x1B[2J", "\xFF", "%s",
        "<&>", "\xE2\x80\xAE", "a long title that goes on and on "};
    size_t used = 0;
    out[0] = '\0';
    for (int64_t count = draw(0, 9); count > 0; count--) {
        const char *piece = pieces[draw(0, (int64_t)(sizeof pieces / sizeof pieces[0]) - 1)];
        if (used + strlen(piece) + 1 > RECORD_NAME_MAX)
            return;
        strcpy(out + used, piece);
        used += strlen(piece);
    }
}

/* A chart of `count` days, of which a fast one may be a thousand beats a minute in its unit. */
static void random_chart(int i)
{
    static const int beats[][2] = {{1, 1}, {3, 2}, {2, 1}, {1, 8}};
    const int *beat = beats[draw(0, 3)];
    size_t count = (size_t)draw(1, POINTS);
    Day day = (Day)draw(0, 60000);
    lines[i] = (RecordLine){.count = draw(1, 1000000), .has_best = draw(0, 3) > 0};
    lines[i].clean = draw(0, lines[i].count);
    lines[i].best = tempo(ratio(beat[0], beat[1]), ratio(draw(100, 3200), 8));
    lines[i].changed = draw(0, 1) == 0;
    random_name(lines[i].name);
    for (size_t k = 0; k < count; k++) {
        int64_t all = draw(1, 400), clean = draw(0, 4) == 0 ? 0 : draw(0, all);
        points[i][k] = (ChartPoint){.day = day,
            .count = all,
            .clean = clean,
            .tempo = clean == 0 ? 0 : (double)draw(40, draw(0, 9) == 0 ? 40000 : 1600) / 4};
        day += (Day)draw(1, draw(0, 19) == 0 ? 400 : 3);
    }
    lines[i].day = points[i][count - 1].day;
    charts[i] = (RecordChart){&lines[i], points[i], count, ratio(beat[0], beat[1])};
}

static bool overlap(const PageBox *a, const PageBox *b)
{
    return a->page == b->page && a->x < b->x + b->width && b->x < a->x + a->width &&
           a->y < b->y + b->height && b->y < a->y + a->height;
}

static int of_kind(const PageBox *boxes, size_t count, const char *what)
{
    int found = 0;
    for (size_t i = 0; i < count; i++)
        found += strcmp(boxes[i].what, what) == 0;
    return found;
}

static void check_boxes(const PageBox *boxes, size_t count, const double paper[2], int seed)
{
    for (size_t i = 0; i < count; i++) {
        const PageBox *b = &boxes[i];
        if (b->x < margin - 0.1 || b->x + b->width > paper[0] - margin + 0.1 ||
            b->y < margin - 0.1 || b->y + b->height > paper[1] - margin + 0.1)
            fail_msg("seed %d: '%s' at %.1f, %.1f (%.1f wide) is in the margin", seed, b->what,
                b->x, b->y, b->width);
        for (size_t k = i + 1; k < count; k++)
            if (overlap(b, &boxes[k]))
                fail_msg("seed %d, page %d: '%s' at %.1f, %.1f and '%s' at %.1f, %.1f", seed,
                    b->page, b->what, b->x, b->y, boxes[k].what, boxes[k].x, boxes[k].y);
    }
}

static void all_text_has_its_place(void **state)
{
    (void)state;
    for (int seed = 1; seed <= ROUNDS; seed++) {
        seed_state = (uint64_t)seed * 0x9E3779B97F4A7C15u;
        int count = (int)draw(1, CHARTS);
        char title[RECORD_NAME_MAX];
        const PageOptions o = {.paper = (Paper)draw(PAPER_A4, PAPER_LETTER)};
        PageBox *boxes;
        size_t box_count;
        Error error = {0};
        for (int i = 0; i < count; i++)
            random_chart(i);
        random_name(title);
        assert_true(
            page_record_boxes(title, charts, (size_t)count, &o, &boxes, &box_count, &error));
        check_boxes(boxes, box_count, papers[o.paper], seed);
        assert_int_equal(of_kind(boxes, box_count, "words"), count);
        assert_true(of_kind(boxes, box_count, "heading") >= 2 * count);
        assert_true(of_kind(boxes, box_count, "figure") >= 5 * count); /* 0 to 100 by 25 */
        assert_int_equal(boxes[box_count - 1].page, (count + EACH_PAGE - 1) / EACH_PAGE);
        free(boxes);
    }
}

/* ---- the files ----------------------------------------------------------------------------- */

static void made(void)
{
    seed_state = 12345;
    for (int i = 0; i < CHARTS; i++) {
        random_chart(i);
        snprintf(lines[i].name, RECORD_NAME_MAX, "Run <%d> & back", i + 1);
    }
}

static Text file_of(PageFormat format, int page, int count, int *pages)
{
    const PageOptions o = {.format = format, .page = page, .dpi = format == PAGE_PNG ? 60 : 0};
    Text out = {0};
    Error error = {0};
    if (!page_record("Practice record", charts, (size_t)count, &o, &out, pages, &error))
        fail_msg("%s", error.text);
    return out;
}

static int read_by(const char *command, const Text *bytes, char *out, size_t size)
{
    char name[] = "/tmp/evenhand-page-XXXXXX", line[200];
    int file = mkstemp(name);
    assert_true(file >= 0);
    assert_int_equal(write(file, bytes->bytes, bytes->size), (ssize_t)bytes->size);
    close(file);
    snprintf(line, sizeof line, command, name);
    FILE *reader = popen(line, "r");
    assert_non_null(reader);
    size_t used = fread(out, 1, size - 1, reader);
    out[used] = '\0';
    int code = pclose(reader);
    unlink(name);
    return code;
}

static void other_programs_open_them(void **state)
{
    (void)state;
    static const unsigned char png_head[] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};
    char said[4000];
    int pages;
    made();
    Text pdf = file_of(PAGE_PDF, 0, CHARTS, &pages);
    assert_int_equal(pages, 3);
    if (read_by("pdfinfo %s 2>&1", &pdf, said, sizeof said) != 0)
        fail_msg("pdfinfo (Debian poppler-utils): %s", said);
    assert_non_null(strstr(said, "Pages:           3\n"));
    assert_non_null(strstr(said, "Practice record"));
    Text svg = file_of(PAGE_SVG, 2, CHARTS, &pages);
    if (read_by("/usr/bin/python3 -c 'import sys, xml.dom.minidom as m;"
                "print(m.parse(sys.argv[1]).documentElement.tagName)' %s 2>&1",
            &svg, said, sizeof said) != 0)
        fail_msg("python3: %s", said);
    assert_string_equal(said, "svg\n");
    Text png = file_of(PAGE_PNG, 1, 2, &pages);
    assert_int_equal(pages, 1);
    assert_true(png.size > 8 && memcmp(png.bytes, png_head, 8) == 0);
    Text again = file_of(PAGE_PNG, 1, 2, &pages);
    assert_true(again.size == png.size && memcmp(again.bytes, png.bytes, png.size) == 0);
    text_free(&pdf);
    text_free(&svg);
    text_free(&png);
    text_free(&again);
}

static void nothing_is_no_page(void **state)
{
    (void)state;
    const PageOptions o = {.format = PAGE_SVG, .page = 2};
    Text out = {0};
    Error error = {0};
    int pages;
    assert_false(page_record("Nothing", charts, 0, &o, &out, &pages, &error));
    assert_int_equal(error.kind, ERROR_RECORD);
    made();
    assert_false(page_record("One", charts, EACH_PAGE, &o, &out, &pages, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    assert_int_equal(out.size, 0);
    text_free(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_text_has_its_place),
        cmocka_unit_test(other_programs_open_them),
        cmocka_unit_test(nothing_is_no_page),
    };
    return cmocka_run_group_tests_name("page_record", tests, NULL, NULL);
}
