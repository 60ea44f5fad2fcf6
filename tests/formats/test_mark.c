/* Fingers written into tunes: by example, and as properties over every tune that we bundle or
 * wrote. Peer: abc2midi (Debian abcmidi) hears the same before and after. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/formats/abc.h"
#include "evenhand/formats/mark.h"

#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { TUNES_WANTED = 200 };

/* Marks the tune; false with *error filled. Caller frees *out. */
static bool mark(
    const char *text, size_t size, int reference, Text *out, int *differing, Error *error)
{
    Fingering f;
    *out = (Text){0};
    *error = (Error){0};
    Passage *p = abc_read(text, size, reference, error);
    if (p == NULL)
        return false;
    assert_true(fingering_plan(p, NULL, &f, error));
    bool done = mark_fingers(text, size, p, &f, out, differing, error);
    fingering_free(&f);
    passage_free(p);
    return done;
}

/* The body of "X:1 ... K:C" marked. */
static void becomes(const char *header, const char *body, const char *wanted)
{
    static const char head[] = "X:1\nT:t\nM:4/4\nL:1/8\n";
    char text[2048], after[2048];
    Text out;
    Error error;
    int differing;
    snprintf(text, sizeof text, "%s%sK:C\n%s\n", head, header, body);
    snprintf(after, sizeof after, "%s%sK:C\n%s\n", head, header, wanted);
    if (!mark(text, strlen(text), 1, &out, &differing, &error))
        fail_msg("%s: %s", body, error.text);
    assert_string_equal(out.bytes, after);
    text_free(&out);
}

static void marks_go_before_notes(void **state)
{
    (void)state;
    becomes("", "CDEF|GABc|", "!4!C!3!D!2!E!1!F|!4!G!3!A!2!B!1!c|");
    becomes("", "C2 ^D, z E/F/ |]", "!1!C2 !3!^D, z !2!E/!1!F/ |]");
    becomes("", "\"Am\"C {ga}.D \"^up\"uE ~F", "\"Am\"!4!C {ga}!3!.D \"^up\"!2!uE !1!~F");
    becomes("", "C D %!1!E\nE F", "!4!C !3!D %!1!E\n!2!E !1!F");
    becomes("", "CDEF\nw:C D E F", "!4!C!3!D!2!E!1!F\nw:C D E F");
    becomes("", "[M:3/4]CD[I:A]EF|[1 G|]", "[M:3/4]!3!C!2!D[I:A]!1!E!2!F|[1 !1!G|]");
}

static void marks_there_are_replaced(void **state)
{
    (void)state;
    becomes("", "!4!C!3!D!2!E!1!F", "!4!C!3!D!2!E!1!F");
    becomes("", "!4!.C+3+D!2!!>!EF", "!4!.C+3+D!2!!>!E!1!F");
    becomes("", "!5!CDE!0!F", "!4!C!3!D!2!E!1!F");
    becomes("", "!4!!2!CDEF", "!4!C!3!D!2!E!1!F");
    becomes("", "CDE!9!F", "!4!C!3!D!2!E!9!!1!F");
    becomes("", "!4!{c}CDE!1!\nF", "!4!{c}C!3!D!2!E!1!\nF");
    becomes("U:T=!4!\nU:S=!>!\n", "TCDESF", "!4!C!3!D!2!E!1!SF");
    becomes("", "C!3!z D", "!2!C!3!z !1!D");
}

static void chords_have_them_inside(void **state)
{
    (void)state;
    becomes("", "[CEG]4", "[!3!C!2!E!1!G]4");
    becomes("", "!3!!2!!1![CEG]4", "[!3!C!2!E!1!G]4");
    becomes("", "[GEC]4", "[!1!G!2!E!3!C]4");
    becomes("", "!2!.[!4!C\"x\"!1!c]", ".[!4!C\"x\"!1!c]");
}

static void tied_and_repeated_notes_once(void **state)
{
    (void)state;
    becomes("", "C4-|C4|D4|", "!2!C4-|C4|!1!D4|");
    becomes("", "C4-|!3!C4|D4|", "!2!C4-|!3!C4|!1!D4|");
    becomes("", "|:CDEF|GABc:|", "|:!4!C!3!D!2!E!1!F|!4!G!3!A!2!B!1!c:|");
    becomes("", "[CE]-[CG]", "[!2!C!1!E]-[C!1!G]");
}

/* ---- what is refused ---------------------------------------------------------------------- */

static void refuses(const char *text, ErrorKind kind, int line, int column)
{
    Text out;
    Error error;
    int differing;
    assert_false(mark(text, strlen(text), 0, &out, &differing, &error));
    assert_int_equal(error.kind, kind);
    assert_int_equal(error.line, line);
    assert_int_equal(error.column, column);
    text_free(&out);
}

static void macros_have_no_place(void **state)
{
    (void)state;
    refuses("X:1\nL:1/8\nm:~G2=GAB\nK:C\nCDEF|~G2c|\n", ERROR_UNSUPPORTED, 5, 6);
    refuses("X:1\nL:1/8\nm:G2=GAB\nK:C\nCDEF|G2c|\n", ERROR_UNSUPPORTED, 5, 6);
    /* A lone ! of old and what comes after it would become a decoration with the next mark. */
    refuses("X:1\nL:1/8\nK:C\nCDE!{g}F\n", ERROR_UNSUPPORTED, 4, 8);
}

static void another_passage_is_refused(void **state)
{
    (void)state;
    static const char text[] = "X:1\nK:C\nCDEF\n", other[] = "X:1\nK:C\nCD\n";
    Fingering f;
    Text out = {0};
    Error error = {0};
    int differing;
    Passage *p = abc_read(text, strlen(text), 0, &error);
    Passage *q = abc_read(other, strlen(other), 0, &error);
    assert_true(fingering_plan(q, NULL, &f, &error));
    assert_false(mark_fingers(text, strlen(text), p, &f, &out, &differing, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    fingering_free(&f);
    passage_free(p);
    passage_free(q);
    text_free(&out);
}

/* ---- properties over every tune ----------------------------------------------------------- */

/* A copy without !0! .. !5! and +0+ .. +5+; what is left must never change. */
static void strip(const char *text, size_t size, Text *out)
{
    for (size_t i = 0; i < size; i++) {
        bool mark_here = i + 2 < size && (text[i] == '!' || text[i] == '+') &&
                         text[i + 2] == text[i] && text[i + 1] >= '0' && text[i + 1] <= '5';
        if (mark_here)
            i += 2;
        else
            assert_true(text_add_bytes(out, text + i, 1));
    }
}

/* "U:W=!1!": a letter that is a finger goes as well, which strip cannot see; an example above
 * has it. */
static bool letters_are_fingers(const char *text, size_t from, size_t to)
{
    bool field = false;
    for (size_t i = from; i + 2 < to; i++) {
        field = text[i] == 'U' && text[i + 1] == ':' ? true : text[i] == '\n' ? false : field;
        if (field && text[i] == '=' && text[i + 1] == '!' && text[i + 2] <= '5')
            return true;
    }
    return false;
}

static void same_but_for_marks(const char *name, const char *text, size_t size, const Text *out)
{
    Text before = {0}, after = {0};
    strip(text, size, &before);
    strip(out->bytes, out->size, &after);
    if (before.size != after.size || memcmp(before.bytes, after.bytes, before.size) != 0)
        fail_msg("%s: more than fingers has changed", name);
    text_free(&before);
    text_free(&after);
}

/* Where the line of this number begins; ends are LF, CR LF or CR. */
static size_t line_at(const char *text, size_t size, int number)
{
    size_t at = 0;
    for (int line = 1; at < size && line < number; at++)
        line += text[at] == '\n' || (text[at] == '\r' && text[at + 1] != '\n');
    return at;
}

/* What comes before the tune and after it is the same text, to the byte. */
static void others_untouched(const char *name, const char *text, size_t size, const Text *out,
    const AbcTune *t, const AbcTune *next)
{
    size_t head = line_at(text, size, t->line);
    size_t tail = next != NULL ? size - line_at(text, size, next->line) : 0;
    if (memcmp(text, out->bytes, head) != 0)
        fail_msg("%s: what comes before the tune has changed", name);
    if (memcmp(text + size - tail, out->bytes + out->size - tail, tail) != 0)
        fail_msg("%s: what comes after the tune has changed", name);
}

static void same_plan(
    const char *name, const char *text, size_t size, int reference, const Text *out)
{
    Fingering f, g;
    Error error;
    Passage *p = abc_read(text, size, reference, &error);
    Passage *q = abc_read(out->bytes, out->size, reference, &error);
    assert_non_null(q);
    assert_int_equal(p->note_count, q->note_count);
    assert_true(fingering_plan(p, NULL, &f, &error) && fingering_plan(q, NULL, &g, &error));
    if (f.group_count != g.group_count)
        fail_msg("%s: %zu groups, %zu when read back", name, f.group_count, g.group_count);
    assert_memory_equal(f.groups, g.groups, f.group_count * sizeof *f.groups);
    for (size_t i = 0; i < f.note_count; i++)
        if (f.notes[i].finger != g.notes[i].finger || f.notes[i].link != g.notes[i].link ||
            f.notes[i].group != g.notes[i].group || q->notes[i].mark != f.notes[i].finger)
            fail_msg("%s: note %zu has another finger, link or group when read back", name, i + 1);
    fingering_free(&f);
    fingering_free(&g);
    passage_free(p);
    passage_free(q);
}

static char *read_file(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    char *text = malloc(ABC_BYTES_MAX);
    assert_non_null(text);
    *size = fread(text, 1, ABC_BYTES_MAX, file);
    fclose(file);
    return text;
}

static void write_file(const char *folder, const char *name, const char *bytes, size_t size)
{
    char path[200];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, size, file), size);
    fclose(file);
}

static void run(const char *command, const char *said)
{
    if (system(command) != 0)
        fail_msg("%s", said);
}

/* The very same MIDI file: a finger is no sound. */
static void same_to_the_peer(const char *folder, const char *name, int reference)
{
    char command[600];
    snprintf(command, sizeof command,
        "cd %s && rm -f a.mid b.mid && abc2midi a.abc %d -o a.mid -quiet >/dev/null 2>&1; "
        "abc2midi b.abc %d -o b.mid -quiet >/dev/null 2>&1; cmp -s a.mid b.mid",
        folder, reference, reference);
    if (system(command) != 0)
        fail_msg("%s: abc2midi hears other notes once X:%d is marked", name, reference);
}

/* One tune of a file; returns whether it could be marked. */
static bool tune(const char *folder, const char *name, const char *text, size_t size,
    const AbcTune *t, const AbcTune *next)
{
    Text out, twice;
    Error error;
    int differing, again;
    if (!mark(text, size, t->reference, &out, &differing, &error)) {
        if (error.kind != ERROR_UNSUPPORTED)
            fail_msg("%s:%d: %s", name, t->reference, error.text);
        text_free(&out);
        return false;
    }
    size_t end = next != NULL ? line_at(text, size, next->line) : size;
    if (!letters_are_fingers(text, line_at(text, size, t->line), end))
        same_but_for_marks(name, text, size, &out);
    others_untouched(name, text, size, &out, t, next);
    if (differing == 0)
        same_plan(name, text, size, t->reference, &out);
    assert_true(mark(out.bytes, out.size, t->reference, &twice, &again, &error));
    assert_int_equal(again, 0); /* what was written holds for every time it is played */
    assert_int_equal(twice.size, out.size);
    assert_memory_equal(twice.bytes, out.bytes, out.size);
    text_free(&twice);
    write_file(folder, "a.abc", text, size);
    write_file(folder, "b.abc", out.bytes, out.size);
    same_to_the_peer(folder, name, t->reference);
    text_free(&out);
    return true;
}

/* Macros are the one thing that cannot be marked; few tunes use them. */
/* Fingers do not tell the placement, which is found again from them. */
static void to_and_fro_is_read_back(void **state)
{
    (void)state;
    static const char text[] = "X:1\nT:Broken chords\nM:4/4\nL:1/8\nK:C\n"
                               "CGEG CGEG|DAFA DAFA|CDEF GABc|dcdc dcdc|c8|]\n";
    Text out;
    Error error;
    int differing;
    assert_true(mark(text, sizeof text - 1, 1, &out, &differing, &error));
    same_plan("broken chords", text, sizeof text - 1, 1, &out);
    text_free(&out);
}

static void every_tune(void **state)
{
    (void)state;
    char folder[] = "/tmp/evenhand-mark-XXXXXX", command[100];
    glob_t files = {0};
    int tunes = 0, refused = 0;
    assert_non_null(mkdtemp(folder));
    run("abc2midi -ver >/dev/null 2>&1", "abc2midi does not run: install Debian's abcmidi");
    assert_int_equal(glob("presets/*.abc", 0, NULL, &files), 0);
    assert_int_equal(glob("tests/formats/tunes/*.abc", GLOB_APPEND, NULL, &files), 0);
    for (size_t i = 0; i < files.gl_pathc; i++) {
        size_t size, count;
        AbcTune *list;
        Error error;
        char *text = read_file(files.gl_pathv[i], &size);
        assert_true(abc_list(text, size, &list, &count, &error));
        for (size_t k = 0; k < count; k++, tunes++)
            refused += !tune(folder, files.gl_pathv[i], text, size, &list[k],
                k + 1 < count ? &list[k + 1] : NULL);
        free(list);
        free(text);
    }
    globfree(&files);
    snprintf(command, sizeof command, "rm -r %s", folder);
    run(command, "the test's own folder cannot be taken away");
    print_message("%d tunes, %d of them not to be marked\n", tunes, refused);
    assert_true(tunes >= TUNES_WANTED);
    assert_true(refused * 20 <= tunes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(marks_go_before_notes),
        cmocka_unit_test(marks_there_are_replaced),
        cmocka_unit_test(chords_have_them_inside),
        cmocka_unit_test(tied_and_repeated_notes_once),
        cmocka_unit_test(macros_have_no_place),
        cmocka_unit_test(another_passage_is_refused),
        cmocka_unit_test(to_and_fro_is_read_back),
        cmocka_unit_test(every_tune),
    };
    return cmocka_run_group_tests_name("mark", tests, NULL, NULL);
}
