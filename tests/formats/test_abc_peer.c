/* test_abc_peer.c - every tune that we bundle or wrote, read by us and by abc2midi.
 *
 * Peer: abc2midi 4.84 and later (Debian abcmidi), a program of its own with a reader of its own;
 * its MIDI file is read by python3-mido. Pitch, onset and end of each note must be the same
 * within abc2midi's rounding to 1/480 of a quarter: a tick at an onset, two at an end (it rounds
 * the start and the length, both).
 *
 * Told to it: no grace notes (-NGRA), no accompaniment (-NGUI), fermatas as written (-NFER), and
 * %%MIDI chordattack 0, for it spreads chords by default. What it plays otherwise than written
 * (~ T . ornaments, R:hornpipe, !breath!) stands in no tune here; test_abc.c has it.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/formats/abc.h"

#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { TICKS = 480, ROUNDING = 1, END_ROUNDING = 2, LATE = 1, TUNES_WANTED = 200 };

typedef struct {
    long onset, end; /* ticks */
    int midi;
} Played;

typedef struct {
    Played *notes;
    size_t count;
} Melody;

static int in_order(const void *a, const void *b)
{
    const Played *x = a, *y = b;
    if (x->onset != y->onset)
        return x->onset < y->onset ? -1 : 1;
    if (x->midi != y->midi)
        return x->midi < y->midi ? -1 : 1;
    return x->end < y->end ? -1 : x->end > y->end;
}

static char *read_file(const char *path, size_t *size)
{
    FILE *f = fopen(path, "rb");
    assert_non_null(f);
    char *text = malloc(ABC_BYTES_MAX);
    assert_non_null(text);
    *size = fread(text, 1, ABC_BYTES_MAX, f);
    fclose(f);
    return text;
}

/* A copy in which chords are told to start together, after the K: that ends each header. */
static void write_for_peer(const char *path, const char *text, size_t size)
{
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    for (size_t i = 0; i < size;) {
        size_t end = i, at = i;
        while (end < size && text[end] != '\n' && text[end] != '\r')
            end++;
        while (at < end && text[at] == ' ')
            at++;
        bool key = at + 1 < end && text[at] == 'K' && text[at + 1] == ':';
        size_t after = end;
        while (after < size && after < end + 2 && (text[after] == '\n' || text[after] == '\r')) {
            after++;
            if (text[after - 1] == '\n' || text[end] != '\r' || text[after] != '\n')
                break;
        }
        fwrite(text + i, 1, after - i, f);
        if (key) {
            fputs("%%MIDI chordattack 0", f);
            fwrite(text + end, 1, after - end, f);
        }
        i = after;
    }
    fclose(f);
}

static void need(const char *command, const char *package)
{
    char line[200];
    snprintf(line, sizeof line, "%s >/dev/null 2>&1", command);
    if (system(line) != 0)
        fail_msg("`%s` does not run: install Debian's %s", command, package);
}

/* Runs the peer on the copy, a tune at a time, for it carries settings from tune to tune.
 * Leaves DIR/t<reference>.mid, and their notes in DIR/notes. */
static void run_peer(const char *dir, const AbcTune *tunes, size_t count)
{
    char path[256], here[2048], line[4096];
    snprintf(path, sizeof path, "%s/references", dir);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    for (size_t i = 0; i < count; i++)
        fprintf(f, "%d\n", tunes[i].reference);
    fclose(f);
    assert_non_null(getcwd(here, sizeof here));
    snprintf(line, sizeof line,
        "cd %s && while read -r n; do "
        "abc2midi t.abc \"$n\" -o \"t$n.mid\" -NGRA -NGUI -NFER -quiet >>log 2>&1; "
        "done <references; /usr/bin/python3 %s/tests/tools/midi_notes.py *.mid >notes",
        dir, here);
    if (system(line) != 0)
        fail_msg("abc2midi or midi_notes.py failed in %s", dir);
}

/* The peer's notes of one tune. */
static Melody peer_melody(const char *dir, int reference)
{
    char path[256], line[256], wanted[64];
    snprintf(path, sizeof path, "%s/notes", dir);
    snprintf(wanted, sizeof wanted, "file t%d.mid ticks %d", reference, TICKS);
    FILE *f = fopen(path, "r");
    assert_non_null(f);
    Melody m = {.notes = malloc(PASSAGE_NOTES_MAX * sizeof *m.notes)};
    assert_non_null(m.notes);
    bool ours = false;
    while (fgets(line, sizeof line, f) != NULL) {
        line[strcspn(line, "\n")] = '\0';
        if (strncmp(line, "file ", 5) == 0) {
            ours = strcmp(line, wanted) == 0;
            continue;
        }
        int midi;
        long onset, length;
        if (!ours || m.count == PASSAGE_NOTES_MAX)
            continue;
        assert_int_equal(sscanf(line, "%d %ld %ld", &midi, &onset, &length), 3);
        m.notes[m.count++] = (Played){onset - LATE, onset + length, midi};
    }
    fclose(f);
    qsort(m.notes, m.count, sizeof *m.notes, in_order);
    return m;
}

static long ticks(Ratio quarters)
{
    return (long)ratio_floor(ratio_add(ratio_mul(quarters, ratio_int(TICKS)), ratio(1, 2)));
}

static Melody our_melody(const Passage *p)
{
    Melody m = {.notes = malloc((p->note_count + 1) * sizeof *m.notes), .count = p->note_count};
    assert_non_null(m.notes);
    for (size_t i = 0; i < p->note_count; i++) {
        const Note *n = &p->notes[i];
        m.notes[i] =
            (Played){ticks(n->onset), ticks(ratio_add(n->onset, n->length)), pitch_midi(n->pitch)};
    }
    qsort(m.notes, m.count, sizeof *m.notes, in_order);
    return m;
}

static void compare(const char *path, int reference, const Melody *us, const Melody *them)
{
    size_t least = us->count < them->count ? us->count : them->count;
    for (size_t i = 0; i < least; i++) {
        const Played *a = &us->notes[i], *b = &them->notes[i];
        if (a->midi != b->midi || labs(a->onset - b->onset) > ROUNDING ||
            labs(a->end - b->end) > END_ROUNDING)
            fail_msg("%s:%d note %zu: key %d at %ld to %ld, abc2midi plays key %d at %ld to %ld",
                path, reference, i, a->midi, a->onset, a->end, b->midi, b->onset, b->end);
    }
    if (us->count != them->count)
        fail_msg(
            "%s:%d has %zu notes, abc2midi plays %zu", path, reference, us->count, them->count);
}

static size_t check_file(const char *path)
{
    char dir[] = "/tmp/evenhand-peer-XXXXXX", copy[64], line[128];
    assert_non_null(mkdtemp(dir));
    size_t size, count;
    char *text = read_file(path, &size);
    snprintf(copy, sizeof copy, "%s/t.abc", dir);
    write_for_peer(copy, text, size);
    AbcTune *tunes;
    Error error = {0};
    if (!abc_list(text, size, &tunes, &count, &error))
        fail_msg("%s: %s", path, error.text);
    run_peer(dir, tunes, count);
    for (size_t i = 0; i < count; i++) {
        Passage *p = abc_read(text, size, tunes[i].reference, &error);
        if (p == NULL)
            fail_msg("%s:%d: line %d: %s", path, tunes[i].reference, error.line, error.text);
        Melody us = our_melody(p), them = peer_melody(dir, tunes[i].reference);
        compare(path, tunes[i].reference, &us, &them);
        free(us.notes);
        free(them.notes);
        passage_free(p);
    }
    free(tunes);
    free(text);
    snprintf(line, sizeof line, "rm -r %s", dir);
    assert_int_equal(system(line), 0);
    return count;
}

static size_t check_all(const char *pattern)
{
    glob_t found;
    assert_int_equal(glob(pattern, 0, NULL, &found), 0);
    size_t tunes = 0;
    for (size_t i = 0; i < found.gl_pathc; i++)
        tunes += check_file(found.gl_pathv[i]);
    globfree(&found);
    return tunes;
}

static void bundled_passages_are_as_abc2midi_plays_them(void **state)
{
    (void)state;
    need("command -v abc2midi", "abcmidi");
    need("/usr/bin/python3 -c 'import mido'", "python3-mido");
    assert_true(check_all("presets/*.abc") > 0);
}

static void tunes_of_every_construct_are_as_abc2midi_plays_them(void **state)
{
    (void)state;
    need("command -v abc2midi", "abcmidi");
    need("/usr/bin/python3 -c 'import mido'", "python3-mido");
    size_t tunes = check_all("tests/formats/tunes/*.abc");
    print_message("%zu tunes compared\n", tunes);
    assert_true(tunes >= TUNES_WANTED);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bundled_passages_are_as_abc2midi_plays_them),
        cmocka_unit_test(tunes_of_every_construct_are_as_abc2midi_plays_them),
    };
    return cmocka_run_group_tests_name("abc_peer", tests, NULL, NULL);
}
