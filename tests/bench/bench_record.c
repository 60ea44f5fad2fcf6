/* bench_record.c - the practice record when there is a lot of it.
 *
 *     bench_record make FILE STUDENTS     a record of a million invented repetitions
 *     bench_record lists FILE             each list's worst time of several, in milliseconds, in
 *                                         the order of time_lists
 *     bench_record write FILE TIMES       writing one: median and 99th percentile in milliseconds;
 *                                         handing one to the scribe: the longest, in microseconds
 *
 * The practice is invented: each day a student takes four of her passages, each with three drills,
 * and plays 40 repetitions (alone: 400), two of three clean. Rows go in past the journal, in one
 * transaction, but through its own triggers. */
#include "evenhand/journal/journal.h"
#include "evenhand/journal/scribe.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum {
    REPETITIONS = 1000000,
    A_DAY = 40,
    A_DAY_ALONE = 400,
    PASSAGES = 30,
    PASSAGES_A_DAY = 4,
    DRILLS = 8,
    DRILLS_A_DAY = 3,
    FIRST = 17000,
    TIMES = 5,
    SOME = 1000
};

static double milliseconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static _Noreturn void fail(const char *what)
{
    fprintf(stderr, "bench_record: %s\n", what);
    exit(1);
}

static Journal *open_record(const char *path)
{
    Error error = {0};
    Journal *j = journal_open(path, &error);
    if (!j)
        fail(error.text);
    return j;
}

static Repetition invented(int student, int passage, int drill, Day day)
{
    Repetition r = {.notes = (uint64_t)passage + 1,
        .fingers = 1,
        .tempo = tempo(ratio(1, 4), ratio_int(60 + day % 60)),
        .clean = true,
        .at = (int64_t)day * 86400000,
        .day = day};
    snprintf(r.student, sizeof r.student, "Student %d", student + 1);
    snprintf(r.passage, sizeof r.passage, "Passage %d, invented", passage + 1);
    snprintf(r.drill, sizeof r.drill, "drill-%d", drill + 1);
    return r;
}

/* One repetition of everything through the journal, so that every name is there with the id that
 * the rows below count on: 1, 2, 3 ... */
static void make_names(const char *path, int students)
{
    Journal *j = open_record(path);
    Error error = {0};
    int most = students > PASSAGES ? students : PASSAGES;
    for (int i = 0; i < most; i++) {
        int64_t sitting, id;
        Repetition r = invented(i % students, i % PASSAGES, i % DRILLS, FIRST);
        if (!journal_begin(j, r.student, r.at, r.day, &sitting, &error) ||
            !journal_add(j, sitting, &r, &id, &error))
            fail(error.text);
    }
    journal_close(j);
}

/* A player alone does as much in fewer days. */
static int a_day(int students)
{
    return students > 1 ? A_DAY : A_DAY_ALONE;
}

/* Sittings are those of make_names: sitting n is student n's. */
static void make_rows(const char *path, int students)
{
    sqlite3 *db;
    sqlite3_stmt *s;
    if (sqlite3_open(path, &db) != SQLITE_OK ||
        sqlite3_exec(db, "PRAGMA synchronous = OFF; PRAGMA cache_size = -400000; BEGIN", NULL, NULL,
            NULL) != SQLITE_OK ||
        sqlite3_prepare_v2(db,
            "INSERT INTO repetition (uid, sitting, student, passage, drill, fingers, beat_num,"
            " beat_den, tempo_num, tempo_den, clean, at, day)"
            " VALUES (randomblob(16), ?1, ?1, ?2, ?3, 1, 1, 4, ?4, 1, ?5, ?6, ?7)",
            -1, &s, NULL) != SQLITE_OK)
        fail(sqlite3_errmsg(db));
    for (int n = 0; n < REPETITIONS; n++) {
        int k = n % a_day(students), student = n / a_day(students) % students,
            day = n / a_day(students) / students;
        int passage = (day + student + k % PASSAGES_A_DAY * 7) % PASSAGES;
        int drill = (day + k / PASSAGES_A_DAY % DRILLS_A_DAY) % DRILLS;
        const sqlite3_int64 values[] = {student + 1, passage + 1, drill + 1, 50 + (day + k) % 70,
            n % 3 != 0, ((int64_t)FIRST + day) * 86400000 + k * 20000, FIRST + day};
        for (int i = 0; i < (int)(sizeof values / sizeof values[0]); i++)
            sqlite3_bind_int64(s, i + 1, values[i]);
        if (sqlite3_step(s) != SQLITE_DONE || sqlite3_reset(s) != SQLITE_OK)
            fail(sqlite3_errmsg(db));
    }
    sqlite3_finalize(s);
    if (sqlite3_exec(db, "COMMIT; PRAGMA wal_checkpoint(TRUNCATE)", NULL, NULL, NULL) != SQLITE_OK)
        fail(sqlite3_errmsg(db));
    sqlite3_close(db);
}

static double time_list(Journal *j, RecordBy by, const RecordFilter *filter)
{
    double most = 0;
    for (int i = 0; i < TIMES; i++) {
        RecordLine *lines;
        size_t count;
        Error error;
        double start = milliseconds();
        if (!journal_lines(j, by, filter, &lines, &count, &error))
            fail(error.text);
        double took = milliseconds() - start;
        if (count == 0)
            fail("a list is empty");
        most = took > most ? took : most;
        free(lines);
    }
    return most;
}

/* From the middle of the record on. */
static double time_repetitions(Journal *j, const RecordFilter *filter)
{
    double most = 0;
    for (int i = 0; i < TIMES; i++) {
        Repetition *repetitions;
        size_t count;
        Error error;
        double start = milliseconds();
        if (!journal_repetitions(
                j, filter, REPETITIONS / 2, SOME, &repetitions, NULL, &count, &error))
            fail(error.text);
        double took = milliseconds() - start;
        if (count != SOME)
            fail("repetitions are missing");
        most = took > most ? took : most;
        free(repetitions);
    }
    return most;
}

static double time_changed(Journal *j)
{
    double most = 0;
    for (int i = 0; i < TIMES; i++) {
        Day last;
        Error error;
        double start = milliseconds();
        if (!journal_fingers_changed(j, "Student 1", 1, 2, &last, &error) || last == 0)
            fail("the change of fingers is not noticed");
        double took = milliseconds() - start;
        most = took > most ? took : most;
    }
    return most;
}

static void time_lists(const char *path)
{
    Journal *j = open_record(path);
    const RecordFilter all = {0}, student = {.student = "Student 1"},
                       title = {.passage = "Passage 1, invented"}, drill = {.drill = "drill-1"},
                       passage = {.student = "Student 1", .passage = "Passage 1, invented"},
                       today = {.from = FIRST + 900, .to = FIRST + 900},
                       week = {.from = FIRST + 894, .to = FIRST + 900},
                       years = {.from = FIRST + 200, .to = FIRST + 930};
    const struct {
        RecordBy by;
        const RecordFilter *filter;
    } lists[] = {{RECORD_BY_STUDENT, &all}, {RECORD_BY_PASSAGE, &all}, {RECORD_BY_DRILL, &all},
        {RECORD_BY_DAY, &all}, {RECORD_BY_PASSAGE, &student}, {RECORD_BY_DAY, &passage},
        {RECORD_BY_PASSAGE, &today}, {RECORD_BY_DRILL, &week}, {RECORD_BY_PASSAGE, &years},
        {RECORD_BY_DRILL, &title}, {RECORD_BY_PASSAGE, &drill}};
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++)
        printf("%.3f ", time_list(j, lists[i].by, lists[i].filter));
    printf("%.3f %.3f\n", time_repetitions(j, &student), time_changed(j));
    journal_close(j);
}

static int by_size(const void *a, const void *b)
{
    const double *x = a, *y = b;
    return (*x > *y) - (*x < *y);
}

static double longest_put(const char *path)
{
    double most = 0;
    Scribe *s = scribe_start(path, "Student 1", 0, FIRST);
    if (!s)
        fail("no scribe");
    for (int i = 0; i < SCRIBE_ROOM; i++) {
        Repetition r = invented(0, i % PASSAGES, i % DRILLS, FIRST + 2000);
        double start = milliseconds();
        if (scribe_put(s, &r) == 0)
            fail("the scribe takes no more");
        double took = milliseconds() - start;
        most = took > most ? took : most;
    }
    scribe_stop(s, 10000);
    return most;
}

static void time_writing(const char *path, int times)
{
    Journal *j = open_record(path);
    Error error = {0};
    double *took = calloc((size_t)times, sizeof *took);
    int64_t sitting, id;
    if (times < 1 || !took || !journal_begin(j, "Student 1", 0, FIRST + 2000, &sitting, &error))
        fail(took ? error.text : "no memory");
    for (int i = 0; i < times; i++) {
        Repetition r = invented(0, i % PASSAGES, i % DRILLS, FIRST + 2000);
        double start = milliseconds();
        if (!journal_add(j, sitting, &r, &id, &error))
            fail(error.text);
        took[i] = milliseconds() - start;
    }
    journal_close(j);
    qsort(took, (size_t)times, sizeof *took, by_size);
    printf("%.3f %.3f %.1f\n", took[times / 2], took[times * 99 / 100], longest_put(path) * 1e3);
    free(took);
}

int main(int argc, char **argv)
{
    const char *what = argc > 2 ? argv[1] : "";
    if (strcmp(what, "make") == 0 && argc == 4 && atoi(argv[3]) > 0) {
        make_names(argv[2], atoi(argv[3]));
        make_rows(argv[2], atoi(argv[3]));
    } else if (strcmp(what, "lists") == 0 && argc == 3)
        time_lists(argv[2]);
    else if (strcmp(what, "write") == 0 && argc == 4)
        time_writing(argv[2], atoi(argv[3]));
    else {
        fputs("usage: bench_record make FILE STUDENTS | lists FILE | write FILE TIMES\n", stderr);
        return 2;
    }
    return 0;
}
