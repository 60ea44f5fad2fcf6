/* The page: where everything stands (no text over another, all inside the margins, fingers tall
 * enough), and that other programs open what is written: pdfinfo and pdftotext (Debian
 * poppler-utils), python3's XML reader. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/formats/abc.h"
#include "evenhand/formats/page.h"
#include "evenhand/harp/hands.h"
#include "tools/passages.h"

#include <cairo.h>

#include <glob.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { RANDOM_RUNS = 60, RANDOM_NOTES = 90, PRESETS_WANTED = 20 };

/* The issue's own: digits of at least 5 mm. Margins and paper: ISO 216 A4, ANSI A (Letter). */
static const double finger_least = 5, margin = 12;
static const double papers[2][2] = {{210, 297}, {215.9, 279.4}};

typedef struct {
    Passage *p;
    Fingering f;
    Rotation r;
    Setting setting;
    bool has_setting;
} Piece;

static Piece piece_of(Passage *p, const char *harp)
{
    Piece piece = {.p = p, .has_setting = harp != NULL};
    const BeatPattern own = {0};
    Instrument instrument;
    Error error = {0};
    assert_non_null(p);
    assert_true(fingering_plan(p, NULL, &piece.f, &error));
    assert_true(rotation_plan(p, &piece.f, &own, ratio(0, 1), &piece.r, &error));
    if (harp != NULL) {
        assert_true(instrument_parse(harp, &instrument, &error));
        assert_true(setting_make(p, &instrument, &piece.setting, &error));
    }
    return piece;
}

static void piece_free(Piece *piece)
{
    if (piece->has_setting)
        setting_free(&piece->setting);
    rotation_free(&piece->r);
    fingering_free(&piece->f);
    passage_free(piece->p);
}

static const Setting *setting_of(const Piece *piece)
{
    return piece->has_setting ? &piece->setting : NULL;
}

static Passage *read_text(const char *text)
{
    Error error;
    Passage *p = abc_read(text, strlen(text), 0, &error);
    if (p == NULL)
        fail_msg("%s", error.text);
    return p;
}

static Passage *read_path(const char *path)
{
    static char text[ABC_BYTES_MAX];
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    size_t size = fread(text, 1, sizeof text - 1, file);
    fclose(file);
    text[size] = '\0';
    return read_text(text);
}

/* ---- boxes --------------------------------------------------------------------------------- */

static bool overlap(const PageBox *a, const PageBox *b)
{
    const double touch = 0.01;
    return a->page == b->page && a->x + a->width > b->x + touch && b->x + b->width > a->x + touch &&
           a->y + a->height > b->y + touch && b->y + b->height > a->y + touch;
}

/* Signs may meet at one note's edge; words may not be touched by anything. */
static bool is_sign(const PageBox *b)
{
    return strcmp(b->what, "link") == 0 || strcmp(b->what, "note") == 0;
}

static void check_box(const char *name, const PageBox *b, Paper paper)
{
    const double *size = papers[paper], eps = 0.05;
    if (b->x < margin - eps || b->y < margin - eps || b->x + b->width > size[0] - margin + eps ||
        b->y + b->height > size[1] - margin + eps)
        fail_msg("%s: %s on page %d lies at %.1f, %.1f (%.1f x %.1f), beyond the margin", name,
            b->what, b->page, b->x, b->y, b->width, b->height);
    if (strcmp(b->what, "finger") == 0 && b->height < finger_least)
        fail_msg("%s: a finger of %.2f mm", name, b->height);
}

static void check_apart(const char *name, const PageBox *boxes, size_t count)
{
    for (size_t i = 0; i < count; i++)
        for (size_t k = i + 1; k < count; k++)
            if (!(is_sign(&boxes[i]) && is_sign(&boxes[k])) && overlap(&boxes[i], &boxes[k]))
                fail_msg("%s: %s and %s meet on page %d at %.1f, %.1f and %.1f, %.1f", name,
                    boxes[i].what, boxes[k].what, boxes[i].page, boxes[i].x, boxes[i].y, boxes[k].x,
                    boxes[k].y);
}

static size_t count_of(const PageBox *boxes, size_t count, const char *what)
{
    size_t n = 0;
    for (size_t i = 0; i < count; i++)
        n += strcmp(boxes[i].what, what) == 0;
    return n;
}

static int by_turns(const PageBox *b)
{
    return strcmp(b->what, "left hand") == 0 ? 1 : strcmp(b->what, "right hand") == 0 ? 2 : 0;
}

/* Hand over hand each group says whose it is, in their order; one that goes on in another system
 * once more. */
static void check_hands(const char *name, const Piece *piece, const PageBox *boxes, size_t count)
{
    bool turns = piece->p->hands == HANDS_ALTERNATE, left = turns && hands_left_first(piece->p);
    size_t groups = 0;
    int before = 0;
    for (size_t i = 0; i < count; i++) {
        int hand = by_turns(&boxes[i]);
        if (hand == 0 || hand == before)
            continue;
        before = hand;
        if ((hand == 1) != hands_left_group(left, groups++))
            fail_msg("%s: the wrong hand at %.1f, %.1f", name, boxes[i].x, boxes[i].y);
    }
    assert_int_equal(groups, turns ? piece->f.group_count : 0);
}

static void check_boxes(const char *name, const Piece *piece, Paper paper, Names names)
{
    const PageOptions options = {.format = PAGE_PDF, .paper = paper, .names = names};
    PageBox *boxes;
    size_t count, fingers = 0;
    Error error;
    assert_true(page_boxes(
        piece->p, &piece->f, &piece->r, setting_of(piece), &options, &boxes, &count, &error));
    for (size_t i = 0; i < count; i++)
        check_box(name, &boxes[i], paper);
    check_apart(name, boxes, count);
    check_hands(name, piece, boxes, count);
    for (size_t i = 0; i < piece->f.note_count; i++)
        fingers += piece->f.notes[i].finger > 0;
    assert_int_equal(count_of(boxes, count, "finger"), fingers);
    assert_int_equal(count_of(boxes, count, "name"), piece->p->note_count);
    assert_int_equal(count_of(boxes, count, "note"), piece->p->note_count);
    assert_int_equal(count_of(boxes, count, "title"), 1);
    free(boxes);
}

static void presets_stand_apart(void **state)
{
    (void)state;
    static const char *const harps[] = {NULL, "pedal-47", "lever-34-C"};
    glob_t files = {0};
    assert_int_equal(glob("presets/*.abc", 0, NULL, &files), 0);
    assert_true(files.gl_pathc >= PRESETS_WANTED);
    for (size_t i = 0; i < files.gl_pathc; i++)
        for (int harp = 0; harp < 3; harp++) {
            Piece piece = piece_of(read_path(files.gl_pathv[i]), harps[harp]);
            for (int paper = 0; paper < 2; paper++)
                check_boxes(files.gl_pathv[i], &piece, (Paper)paper, (Names)harp);
            piece_free(&piece);
        }
    globfree(&files);
}

static void random_passages_stand_apart(void **state)
{
    (void)state;
    Random random = {20261124};
    for (int run = 0; run < RANDOM_RUNS; run++) {
        char name[60];
        Passage *p = run % 5 == 0 ? passage_to_and_fro(&random, RANDOM_NOTES)
                                  : passage_random(&random, RANDOM_NOTES);
        p->hands = run % 4 == 3 ? HANDS_ALTERNATE : HANDS_RIGHT;
        Piece piece = piece_of(p, run % 3 == 0 ? NULL : run % 3 == 1 ? "pedal-46" : "lever-36");
        snprintf(name, sizeof name, "random passage %d of seed 20261124", run);
        check_boxes(name, &piece, (Paper)(run % 2), (Names)(run / 2 % 3));
        piece_free(&piece);
    }
}

/* Invented: what strains the layout. */
static void hard_cases_stand_apart(void **state)
{
    (void)state;
    static const char *const tunes[] = {
        "X:1\nT:Chords\nL:1/4\nK:C\n[C,E,G,C][EGc]2[CE]|[CEGBdf]4|z2 [FA]2|]\n",
        "X:1\nT:Pedals\nL:1/8\nK:Eb\nEFGA =B_c^cd|^F=F_F^G =A_A^D_D|=EFGA Bcde|]\n",
        "X:1\nT:A title that is much too long for the head of a page, goes on and on without an "
        "end, and is cut in front of the pedals\nL:1/8\nK:C\nC|]\n",
        "X:1\nT:\nM:none\nL:1/8\nK:none\nCDEFGABcdefgabc'd'e'f'g'a'b'|]\n",
        "X:1\nT:Leaps\nL:1/16\nK:C#\nC,,g''C,,g''C,,g''C,,g''C,,g''C,,g''C,,g''C,,g''|]\n",
        "X:1\nT:Turns\nL:1/8\nK:C\nCDCDCDCD EFEFEFEF|GAGFGAGF CDEDCDED|]\n",
        "X:1\nT:To and fro for bars\nL:1/16\nK:C\nCGEGCGEGCGEGCGEG|CGEGCGEGCGEGCGEG|"
        "CGEGCGEGCGEGCGEG|CGEGCGEGCGEGCGEG|CGEGCGEGCGEGCGEG|CGEGCGEGCGEGCGEG|"
        "CGEGCGEGCGEGCGEG|CGEGCGEGCGEGCGEG|DAFADAFADAFADAFA cdcdcdcdc|]\n",
        "X:1\nT:Tall, every finger\xCC\x81 accent \xC3\x89\nL:1/8\nK:C\n"
        "!1!C!2!D!3!E!4!F!1!G!1!A!1!B!2!c|]\n"};
    for (size_t i = 0; i < sizeof tunes / sizeof tunes[0]; i++)
        for (int harp = 0; harp < 2; harp++) {
            Piece piece = piece_of(read_text(tunes[i]), harp ? "pedal-47" : "lever-26");
            check_boxes(tunes[i], &piece, (Paper)harp, harp ? NAMES_HARP : NAMES_SYLLABLES);
            piece_free(&piece);
        }
}

/* ---- files --------------------------------------------------------------------------------- */

static int draw(const Piece *piece, PageOptions options, Text *out)
{
    int pages;
    Error error;
    *out = (Text){0};
    if (!page_draw(
            piece->p, &piece->f, &piece->r, setting_of(piece), &options, out, &pages, &error))
        fail_msg("%s", error.text);
    return pages;
}

static void write_file(const char *path, const Text *bytes)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes->bytes, 1, bytes->size, file), bytes->size);
    fclose(file);
}

static char *output_of(const char *command)
{
    static char out[1 << 16];
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    size_t size = fread(out, 1, sizeof out - 1, pipe);
    out[size] = '\0';
    if (pclose(pipe) != 0)
        fail_msg("`%s` fails: is Debian's poppler-utils there?", command);
    return out;
}

/* How often the word stands in the text, between blanks. */
static int times(const char *text, const char *word)
{
    int n = 0;
    size_t size = strlen(word);
    for (const char *at = strstr(text, word); at != NULL; at = strstr(at + 1, word)) {
        bool left = at == text || strchr(" \n\f", at[-1]) != NULL;
        n += left && strchr(" \n\f", at[size]) != NULL;
    }
    return n;
}

static void pdf_opens(void **state)
{
    (void)state;
    char path[] = "/tmp/evenhand-page-XXXXXX", command[200], wanted[80];
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    close(fd);
    for (int paper = 0; paper < 2; paper++) {
        Piece piece = piece_of(read_path("presets/19-octaves-both-hands.abc"), "pedal-47");
        Text out;
        int pages = draw(&piece, (PageOptions){.format = PAGE_PDF, .paper = (Paper)paper}, &out);
        assert_true(pages > 1);
        write_file(path, &out);
        snprintf(command, sizeof command, "pdfinfo %s", path);
        const char *info = output_of(command);
        snprintf(wanted, sizeof wanted, "Pages:           %d\n", pages);
        assert_non_null(strstr(info, wanted));
        assert_non_null(strstr(info, paper ? "(letter)" : "(A4)"));
        assert_non_null(strstr(info, "Octaves over the whole harp"));
        snprintf(command, sizeof command, "pdftotext -layout %s -", path);
        const char *text = output_of(command);
        assert_non_null(strstr(text, "Octaves over the whole harp"));
        assert_non_null(strstr(text, "evenhand"));
        for (int finger = 1; finger <= 4; finger++) {
            char digit[2] = {(char)('0' + finger), '\0'};
            int fingers = 0;
            for (size_t i = 0; i < piece.f.note_count; i++)
                fingers += piece.f.notes[i].finger == finger;
            assert_true(times(text, digit) >= fingers);
        }
        text_free(&out);
        piece_free(&piece);
    }
    unlink(path);
}

static void svg_is_well_formed(void **state)
{
    (void)state;
    char path[] = "/tmp/evenhand-page-XXXXXX", command[200];
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    close(fd);
    Piece piece = piece_of(read_text("X:1\nT:<&>\"]]>\nK:C\nCDEFGABc|]\n"), NULL);
    Text out;
    draw(&piece, (PageOptions){.format = PAGE_SVG}, &out);
    write_file(path, &out);
    snprintf(command, sizeof command,
        "/usr/bin/python3 -c 'import sys, xml.dom.minidom as x; "
        "print(x.parse(sys.argv[1]).documentElement.tagName)' %s",
        path);
    assert_string_equal(output_of(command), "svg\n");
    text_free(&out);
    piece_free(&piece);
    unlink(path);
}

typedef struct {
    const Text *text;
    size_t at;
} Feed;

static cairo_status_t feed(void *context, unsigned char *bytes, unsigned size)
{
    Feed *f = context;
    if (f->text->size - f->at < size)
        return CAIRO_STATUS_READ_ERROR;
    memcpy(bytes, f->text->bytes + f->at, size);
    f->at += size;
    return CAIRO_STATUS_SUCCESS;
}

/* Size in dots, white corners and ink between them. */
static void png_opens(void **state)
{
    (void)state;
    Piece piece = piece_of(read_path("presets/01-first-crossing.abc"), "pedal-47");
    Text out;
    draw(&piece, (PageOptions){.format = PAGE_PNG, .paper = PAPER_LETTER, .dpi = 100}, &out);
    Feed source = {&out, 0};
    cairo_surface_t *s = cairo_image_surface_create_from_png_stream(feed, &source);
    assert_int_equal(cairo_surface_status(s), CAIRO_STATUS_SUCCESS);
    int width = cairo_image_surface_get_width(s), height = cairo_image_surface_get_height(s);
    assert_int_equal(width, 850); /* 8.5 by 11 inches */
    assert_int_equal(height, 1100);
    const unsigned char *bytes = cairo_image_surface_get_data(s);
    int stride = cairo_image_surface_get_stride(s);
    long dark = 0;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            bool ink = bytes[y * stride + 4 * x + 1] < 128;
            dark += ink;
            if (ink && (x < 40 || y < 40 || x > width - 40 || y > height - 40))
                fail_msg("ink at %d, %d, outside the margin", x, y);
        }
    assert_true(dark > 5000);
    cairo_surface_destroy(s);
    text_free(&out);
    piece_free(&piece);
}

/* Not SVG: cairo numbers the surfaces of a process in it. */
static void same_bytes_each_time(void **state)
{
    (void)state;
    for (int format = PAGE_PDF; format <= PAGE_PNG; format += PAGE_PNG - PAGE_PDF) {
        Piece piece = piece_of(read_path("presets/04-up-and-turn.abc"), "pedal-47");
        Text one, two;
        draw(&piece, (PageOptions){.format = (PageFormat)format}, &one);
        draw(&piece, (PageOptions){.format = (PageFormat)format}, &two);
        assert_int_equal(one.size, two.size);
        assert_memory_equal(one.bytes, two.bytes, one.size);
        text_free(&one);
        text_free(&two);
        piece_free(&piece);
    }
}

static void pages_out_of_range(void **state)
{
    (void)state;
    Piece piece = piece_of(passage_scale(28, 8, 1, ratio(1, 2)), NULL);
    Piece other = piece_of(passage_scale(28, 9, 1, ratio(1, 2)), NULL);
    PageOptions options = {.format = PAGE_PNG, .page = 2};
    Text out = {0};
    Error error;
    int pages;
    assert_false(page_draw(piece.p, &piece.f, &piece.r, NULL, &options, &out, &pages, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    assert_int_equal(pages, 1);
    options.page = 1;
    options.dpi = 5000;
    assert_false(page_draw(piece.p, &piece.f, &piece.r, NULL, &options, &out, &pages, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    options.dpi = 0;
    assert_false(page_draw(piece.p, &other.f, &piece.r, NULL, &options, &out, &pages, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    text_free(&out);
    piece_free(&piece);
    piece_free(&other);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(presets_stand_apart),
        cmocka_unit_test(random_passages_stand_apart),
        cmocka_unit_test(hard_cases_stand_apart),
        cmocka_unit_test(pdf_opens),
        cmocka_unit_test(svg_is_well_formed),
        cmocka_unit_test(png_opens),
        cmocka_unit_test(same_bytes_each_time),
        cmocka_unit_test(pages_out_of_range),
    };
    return cmocka_run_group_tests_name("page", tests, NULL, NULL);
}
