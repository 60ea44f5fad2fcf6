/* Lists are read from sums that triggers keep; here each is held against adding up by hand, over
 * every kind of filter, after verdicts that changed, a student who left and a record taken in. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "shelf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TODAY = 20700, DAYS = 60, STUDENTS = 3, PLAYED = 500, FILTERS = 400, LINES = DAYS + 8 };

static const uint32_t SEED = 20261125;
static const char *const names[STUDENTS] = {"Ada", "Bo", "Cy"};

static uint32_t draw(uint32_t *seed)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 17;
    *seed ^= *seed << 5;
    return *seed >> 3;
}

/* Some have the same title with other notes, some are told to be missed or clean only later. */
static void play(const char *path, const char *const *students, int count, uint32_t *seed)
{
    Error error = {0};
    int64_t sitting = 0, id;
    Journal *j = shelf_open(path);
    for (int i = 0; i < PLAYED; i++) {
        const char *student = students[draw(seed) % (uint32_t)count];
        Repetition r = shelf_repetition(student, (int)(draw(seed) % 4), (int)(draw(seed) % 3),
            (Day)(TODAY + (int)(draw(seed) % DAYS)), draw(seed) % 2 == 0);
        if (r.notes % 4 == 3)
            snprintf(r.passage, sizeof r.passage, "Passage 0");
        r.tempo.per_minute = ratio(40 + draw(seed) % 100, 1 + draw(seed) % 2);
        r.at = (int64_t)r.day * 86400000 + draw(seed) % 86400000;
        assert_true(journal_begin(j, student, r.at, r.day, &sitting, &error));
        assert_true(journal_add(j, sitting, &r, &id, &error));
        if (draw(seed) % 4 == 0)
            assert_true(journal_judge(j, id, draw(seed) % 2 == 0, &error));
    }
    journal_close(j);
}

static RecordFilter filter_drawn(uint32_t *seed)
{
    static const char *const passages[] = {"Passage 0", "Passage 1", "Passage 2", "none such"};
    static char drill[RECORD_WORD_MAX];
    RecordFilter f = {.student = NULL};
    if (draw(seed) % 2 == 0)
        f.student = names[draw(seed) % STUDENTS];
    if (draw(seed) % 2 == 0)
        f.passage = passages[draw(seed) % 4];
    if (draw(seed) % 2 == 0) {
        Repetition r = shelf_repetition("Ada", 0, (int)(draw(seed) % 3), TODAY, true);
        snprintf(drill, sizeof drill, "%s", r.drill);
        f.drill = drill;
    }
    if (draw(seed) % 2 == 0)
        f.from = (Day)(TODAY + (int)(draw(seed) % DAYS));
    if (draw(seed) % 2 == 0)
        f.to = (Day)(TODAY + (int)(draw(seed) % DAYS));
    return f;
}

static bool wanted(const Repetition *r, const RecordFilter *f)
{
    return (f->student == NULL || strcmp(f->student, r->student) == 0) &&
           (f->passage == NULL || strcmp(f->passage, r->passage) == 0) &&
           (f->drill == NULL || strcmp(f->drill, r->drill) == 0) && r->day >= f->from &&
           (f->to == 0 || r->day <= f->to);
}

static Ratio quarters(Tempo t)
{
    return ratio_mul(t.beat, t.per_minute);
}

static void add_up(RecordLine *line, const Repetition *r)
{
    line->count++;
    line->clean += r->clean;
    line->day = r->day > line->day ? r->day : line->day;
    line->last = r->at > line->last ? r->at : line->last;
    if (r->clean && (!line->has_best || ratio_cmp(quarters(r->tempo), quarters(line->best)) > 0)) {
        line->has_best = true;
        line->best = r->tempo;
    }
}

static int by_name(const void *a, const void *b)
{
    return strcmp(((const RecordLine *)a)->name, ((const RecordLine *)b)->name);
}

/* By hand: the lines that the list ought to have. */
static size_t lines_by_hand(
    const Repetition *all, size_t count, RecordBy by, const RecordFilter *f, RecordLine out[LINES])
{
    size_t lines = 0;
    for (size_t i = 0; i < count; i++) {
        char date[DATE_TEXT_MAX];
        const char *of[RECORD_GROUPS] = {
            all[i].student, all[i].passage, all[i].drill, date_text(all[i].day, date)};
        size_t at = 0;
        if (!wanted(&all[i], f))
            continue;
        while (at < lines && strcmp(out[at].name, of[by]) != 0)
            at++;
        if (at == lines) {
            assert_true(lines < LINES);
            out[lines] = (RecordLine){.count = 0};
            snprintf(out[lines++].name, sizeof out[0].name, "%s", of[by]);
        }
        add_up(&out[at], &all[i]);
    }
    qsort(out, lines, sizeof *out, by_name);
    return lines;
}

static void assert_same(const RecordLine *a, const RecordLine *b)
{
    assert_string_equal(a->name, b->name);
    assert_int_equal(a->count, b->count);
    assert_int_equal(a->clean, b->clean);
    assert_int_equal(a->day, b->day);
    assert_int_equal(a->last, b->last);
    assert_int_equal(a->has_best, b->has_best);
    if (a->has_best)
        assert_int_equal(0, ratio_cmp(quarters(a->best), quarters(b->best)));
}

static void check_singles(Journal *j, const Repetition *all, size_t count, const RecordFilter *f)
{
    Error error = {0};
    Repetition *some;
    size_t found, expected = 0;
    assert_true(journal_repetitions(j, f, 0, PLAYED * 4, &some, NULL, &found, &error));
    for (size_t i = 0; i < count; i++)
        if (wanted(&all[i], f)) {
            assert_true(expected < found);
            assert_int_equal(all[i].at, some[expected++].at);
        }
    assert_int_equal(expected, found);
    free(some);
}

static void check_lists(const char *path, uint32_t *seed)
{
    Error error = {0};
    Repetition *all;
    size_t count;
    static RecordLine by_hand[LINES];
    Journal *j = journal_open_reading(path, &error);
    assert_non_null(j);
    assert_true(journal_repetitions(j, NULL, 0, PLAYED * 4, &all, NULL, &count, &error));
    for (int i = 0; i < FILTERS; i++) {
        RecordFilter f = filter_drawn(seed);
        check_singles(j, all, count, &f);
        for (RecordBy by = 0; by < RECORD_GROUPS; by++) {
            RecordLine *lines;
            size_t found, expected = lines_by_hand(all, count, by, &f, by_hand);
            assert_true(journal_lines(j, by, &f, &lines, &found, &error));
            assert_int_equal(expected, found);
            for (size_t k = 0; k < found; k++)
                assert_same(&by_hand[k], &lines[k]);
            free(lines);
        }
    }
    free(all);
    journal_close(j);
}

static void lists_are_what_adding_up_gives(void **state)
{
    (void)state;
    uint32_t seed = SEED;
    print_message("seed %u\n", SEED);
    const char *path = shelf_new("record.db"), *theirs = shelf_new("theirs.db");
    play(path, names, STUDENTS, &seed);
    check_lists(path, &seed);
    play(theirs, names + 1, 2, &seed);
    Error error = {0};
    int64_t added, known, gone;
    Journal *j = shelf_open(path);
    assert_true(journal_merge(j, theirs, &added, &known, &error));
    assert_int_equal(added, PLAYED);
    assert_true(journal_merge(j, theirs, &added, &known, &error));
    assert_int_equal(added, 0);
    journal_close(j);
    check_lists(path, &seed);
    j = shelf_open(path);
    assert_true(journal_delete(j, "Bo", &gone, &error));
    assert_true(gone > 0);
    journal_close(j);
    check_lists(path, &seed);
    assert_int_equal(shelf_ask(path, "SELECT count(*) FROM coarse"
                                     " WHERE student NOT IN (SELECT id FROM student)"),
        0);
}

/* Two students with fingers of their own have changed nothing; one who takes others has. */
static void a_change_of_fingers_is_one_students_own(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Error error = {0};
    RecordFilter ada = {.student = "Ada"}, bo = {.student = "Bo"};
    const RecordFilter *const filters[] = {NULL, &ada, &bo};
    for (int step = 0; step < 2; step++) {
        Journal *j = shelf_open(path);
        for (int i = 0; i < 2; i++) {
            int64_t sitting, id;
            Repetition r = shelf_repetition(names[i], 1, 1, TODAY + step, true);
            r.fingers = step == 1 && i == 1 ? 77 : (uint64_t)i;
            assert_true(journal_begin(j, names[i], r.at, r.day, &sitting, &error));
            assert_true(journal_add(j, sitting, &r, &id, &error));
        }
        for (int i = 0; i < 3; i++) {
            RecordLine *lines;
            size_t count;
            assert_true(journal_lines(j, RECORD_BY_PASSAGE, filters[i], &lines, &count, &error));
            assert_int_equal(count, 1);
            assert_int_equal(lines[0].changed, step == 1 && i != 1);
            free(lines);
        }
        journal_close(j);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lists_are_what_adding_up_gives),
        cmocka_unit_test(a_change_of_fingers_is_one_students_own),
    };
    return cmocka_run_group_tests_name("journal_lists", tests, shelf_begin, shelf_end);
}
