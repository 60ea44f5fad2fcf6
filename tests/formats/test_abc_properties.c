/* test_abc_properties.c - what holds for every tune in tests/formats/tunes and presets. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "abc_reading.h"

#include "tools/passages.h"

#include <glob.h>

typedef struct {
    char *bytes;
    size_t size;
} Bytes;

static Bytes read_file(const char *path)
{
    FILE *f = fopen(path, "rb");
    assert_non_null(f);
    Bytes b = {.bytes = malloc(ABC_BYTES_MAX)};
    assert_non_null(b.bytes);
    b.size = fread(b.bytes, 1, ABC_BYTES_MAX, f);
    fclose(f);
    return b;
}

static void for_each_file(void (*check)(const char *path, Bytes text))
{
    glob_t found;
    assert_int_equal(glob("tests/formats/tunes/*.abc", 0, NULL, &found), 0);
    assert_int_equal(glob("presets/*.abc", GLOB_APPEND, NULL, &found), 0);
    assert_true(found.gl_pathc > 20);
    for (size_t i = 0; i < found.gl_pathc; i++) {
        Bytes text = read_file(found.gl_pathv[i]);
        check(found.gl_pathv[i], text);
        free(text.bytes);
    }
    globfree(&found);
}

static bool same_notes(const Passage *a, const Passage *b)
{
    if (a->note_count != b->note_count || a->bar_count != b->bar_count)
        return false;
    for (size_t i = 0; i < a->note_count; i++) {
        const Note *x = &a->notes[i], *y = &b->notes[i];
        if (!ratio_equal(x->onset, y->onset) || !ratio_equal(x->length, y->length) ||
            pitch_midi(x->pitch) != pitch_midi(y->pitch) ||
            pitch_string(x->pitch) != pitch_string(y->pitch) || x->mark != y->mark ||
            x->accent != y->accent || x->breath != y->breath || x->bar != y->bar)
            return false;
    }
    return true;
}

/* Reads every tune of both texts and insists that they are the same. */
static void same_tunes(const char *path, Bytes a, Bytes b, const char *what)
{
    AbcTune *tunes;
    size_t count;
    assert_true(abc_list(a.bytes, a.size, &tunes, &count, NULL));
    for (size_t i = 0; i < count; i++) {
        Passage *p = abc_read(a.bytes, a.size, tunes[i].reference, NULL);
        Passage *q = abc_read(b.bytes, b.size, tunes[i].reference, NULL);
        assert_non_null(p);
        if (q == NULL || !same_notes(p, q))
            fail_msg("%s:%d reads otherwise %s", path, tunes[i].reference, what);
        passage_free(p);
        passage_free(q);
    }
    free(tunes);
}

/* The text with every line end as `eol`. */
static Bytes with_line_ends(Bytes text, const char *eol)
{
    size_t n = strlen(eol);
    Bytes out = {.bytes = malloc(text.size * 2 + 1)};
    assert_non_null(out.bytes);
    for (size_t i = 0; i < text.size; i++) {
        bool end = text.bytes[i] == '\n' || text.bytes[i] == '\r';
        if (end && text.bytes[i] == '\r' && i + 1 < text.size && text.bytes[i + 1] == '\n')
            i++;
        if (end) {
            memcpy(out.bytes + out.size, eol, n);
            out.size += n;
        } else {
            out.bytes[out.size++] = text.bytes[i];
        }
    }
    return out;
}

static void check_line_ends(const char *path, Bytes text)
{
    static const char *const ends[] = {"\n", "\r\n", "\r"};
    for (size_t i = 0; i < 3; i++) {
        Bytes other = with_line_ends(text, ends[i]);
        same_tunes(path, text, other, "with other line ends");
        free(other.bytes);
    }
}

static void line_ends_make_no_difference(void **state)
{
    (void)state;
    for_each_file(check_line_ends);
}

/* Cuts are read at every byte of small files and at a thousand places of large ones. The text is
 * copied to its exact size, so that the sanitizer sees a read past its end. */
static void check_cuts(const char *path, Bytes text)
{
    (void)path;
    size_t step = text.size / 1000 + 1;
    for (size_t size = 0; size <= text.size; size += step) {
        char *cut = malloc(size + 1);
        assert_non_null(cut);
        char *exact = realloc(cut, size > 0 ? size : 1);
        assert_non_null(exact);
        memcpy(exact, text.bytes, size);
        AbcTune *tunes;
        size_t count;
        Error e = {0};
        if (abc_list(exact, size, &tunes, &count, &e)) {
            /* The tune that is cut is the last. */
            Passage *p = abc_read(exact, size, tunes[count - 1].reference, &e);
            assert_true(p != NULL || e.kind != ERROR_NONE);
            passage_free(p);
            free(tunes);
        } else {
            assert_int_equal(e.kind, ERROR_NO_TUNE);
        }
        free(exact);
    }
}

static void a_cut_at_any_byte_is_read_or_refused(void **state)
{
    (void)state;
    for_each_file(check_cuts);
}

/* Where a note begins in music: not in fields, quotes, brackets, decorations or graces. */
static bool at_a_note(const char *line, size_t at)
{
    char quote = '\0';
    for (size_t i = 0; i < at; i++) {
        char c = line[i];
        if (quote == '\0' && strchr("\"!{[+", c) != NULL && c != '\0')
            quote = c == '{' ? '}' : c == '[' ? ']' : c;
        else if (c == quote)
            quote = '\0';
        if (c == '%')
            return false;
    }
    if (quote != '\0' || strchr("CDEFGABcdefgab", line[at]) == NULL || line[at] == '\0')
        return false;
    return at == 0 || strchr("^_=", line[at - 1]) == NULL;
}

/* The text with decorations that nobody knows put before half of its notes. */
static Bytes decorated(Bytes text, Random *random)
{
    static const char *const unknown[] = {"!unheard-of!", "+strange+", "!+!", "k", "!d.x.!", "Q"};
    Bytes out = {.bytes = malloc(text.size * 8 + 64)};
    assert_non_null(out.bytes);
    bool music = false;
    for (size_t i = 0; i < text.size;) {
        size_t end = i;
        while (end < text.size && text.bytes[end] != '\n')
            end++;
        size_t from = i;
        while (from < end && text.bytes[from] == ' ')
            from++;
        bool field = end - from > 1 && text.bytes[from + 1] == ':' && text.bytes[from] != '|';
        if (end == i)
            music = false;
        for (size_t k = i; k < end; k++) {
            if (music && !field && text.bytes[i] != '%' && at_a_note(text.bytes + i, k - i) &&
                random_between(random, 0, 1) == 0) {
                const char *d = unknown[random_between(random, 0, 5)];
                memcpy(out.bytes + out.size, d, strlen(d));
                out.size += strlen(d);
            }
            out.bytes[out.size++] = text.bytes[k];
        }
        if (field && text.bytes[from] == 'K')
            music = true;
        if (end < text.size)
            out.bytes[out.size++] = text.bytes[end];
        i = end + 1;
    }
    return out;
}

static void check_decorations(const char *path, Bytes text)
{
    Random random = {0xE5E17A4D};
    Bytes plain = with_line_ends(text, "\n"), other = decorated(plain, &random);
    assert_true(other.size > plain.size);
    free(plain.bytes);
    same_tunes(path, text, other, "with unknown decorations (seed E5E17A4D)");
    free(other.bytes);
}

static void unknown_decorations_make_no_difference(void **state)
{
    (void)state;
    for_each_file(check_decorations);
}

static void check_remarks(const char *path, Bytes text)
{
    static const char remark[] = "%%unknown directive\n% a remark: CDE |: [ {\n";
    size_t n = sizeof remark - 1;
    Bytes plain = with_line_ends(text, "\n");
    Bytes other = {.bytes = malloc(plain.size * (n + 2))};
    assert_non_null(other.bytes);
    for (size_t i = 0; i < plain.size; i++) {
        other.bytes[other.size++] = plain.bytes[i];
        bool blank_next = i + 1 >= plain.size || plain.bytes[i + 1] == '\n';
        if (plain.bytes[i] == '\n' && !blank_next) {
            memcpy(other.bytes + other.size, remark, n);
            other.size += n;
        }
    }
    same_tunes(path, text, other, "with remarks between its lines");
    free(plain.bytes);
    free(other.bytes);
}

static void remarks_make_no_difference(void **state)
{
    (void)state;
    for_each_file(check_remarks);
}

/* Every passage keeps what its header promises. */
static void check_promises(const char *path, Bytes text)
{
    AbcTune *tunes;
    size_t count;
    assert_true(abc_list(text.bytes, text.size, &tunes, &count, NULL));
    for (size_t i = 0; i < count; i++) {
        Passage *p = abc_read(text.bytes, text.size, tunes[i].reference, NULL);
        assert_non_null(p);
        assert_int_equal(p->reference, tunes[i].reference);
        assert_string_equal(p->title, tunes[i].title);
        for (size_t k = 0; k < p->note_count; k++) {
            const Note *n = &p->notes[k];
            const Bar *bar = &p->bars[n->bar];
            bool inside = ratio_cmp(bar->start, n->onset) <= 0 &&
                          ratio_cmp(n->onset, ratio_add(bar->start, bar->length)) < 0;
            bool ordered = k == 0 || ratio_cmp(p->notes[k - 1].onset, n->onset) <= 0;
            if (!inside || !ordered || n->length.num <= 0 || n->line < 1 || n->column < 1)
                fail_msg("%s:%d note %zu breaks a promise of passage.h", path, p->reference, k);
        }
        passage_free(p);
    }
    free(tunes);
}

static void passages_keep_their_promises(void **state)
{
    (void)state;
    for_each_file(check_promises);
}

static int64_t common_multiple(int64_t a, int64_t b)
{
    int64_t product = a * b;
    while (b != 0) {
        int64_t rest = a % b;
        a = b;
        b = rest;
    }
    return product / a;
}

/* Notes and rests whose lengths have up to three denominators: few ticks to a quarter, as many as
 * are counted, one more, and far too many. Each note must begin where whole numbers say. */
static void check_measure(uint32_t seed)
{
    static const int dens[] = {1, 2, 3, 4, 5, 7, 8, 9, 13, 17, 31, 64, 509, 511, 512, 513, 1021};
    enum { MOST = 60, DENS = (int)(sizeof dens / sizeof *dens) };
    Random random = {seed};
    int64_t parts = 2, now = 0, onsets[MOST], lengths[MOST]; /* parts of a quarter; L:1/8 */
    int own[3], count = 0, size = 0;
    char body[4096] = "";
    for (int i = 0; i < 3; i++) {
        own[i] = dens[random_between(&random, 0, DENS - 1)];
        if (common_multiple(parts, 2 * own[i]) > PASSAGE_DEN_MAX)
            own[i] = own[0];
        parts = common_multiple(parts, 2 * own[i]);
    }
    for (int i = 0; i < MOST; i++) {
        int den = own[random_between(&random, 0, 2)], num = random_between(&random, 1, 3 * den);
        bool rest = i > 0 && random_between(&random, 0, 4) == 0;
        size += snprintf(body + size, sizeof body - (size_t)size, "%s%d/%d%s", rest ? "z" : "C",
            num, den, random_between(&random, 0, 5) == 0 ? "|" : " ");
        onsets[count] = now;
        lengths[count] = num * (parts / 2 / den);
        now += lengths[count];
        count += rest ? 0 : 1;
    }
    Error error = {0};
    Passage *p = read_body(body, &error);
    if (p == NULL)
        fail_msg("seed %u: %s", seed, error.text);
    assert_int_equal(p->note_count, count);
    for (int i = 0; i < count; i++) {
        const Note *n = &p->notes[i];
        if (n->onset.num * (parts / n->onset.den) != onsets[i] || parts % n->onset.den != 0 ||
            n->length.num * (parts / n->length.den) != lengths[i] || parts % n->length.den != 0)
            fail_msg("seed %u: note %d stands elsewhere in %s", seed, i, body);
    }
    passage_free(p);
}

static void lengths_add_up_in_any_measure(void **state)
{
    (void)state;
    for (uint32_t seed = 1; seed <= 2000; seed++)
        check_measure(seed * 0x9E3779B9u);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(line_ends_make_no_difference),
        cmocka_unit_test(a_cut_at_any_byte_is_read_or_refused),
        cmocka_unit_test(unknown_decorations_make_no_difference),
        cmocka_unit_test(remarks_make_no_difference),
        cmocka_unit_test(passages_keep_their_promises),
        cmocka_unit_test(lengths_add_up_in_any_measure),
    };
    return cmocka_run_group_tests_name("abc_properties", tests, NULL, NULL);
}
