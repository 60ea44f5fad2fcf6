/* The record: what is written is found again in lists, for the user alone, by several at once. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/music/text.h"
#include "shelf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { TODAY = 20700 };

static int synced;

/* In place of the system's: SQLite calls these when it must know that bytes are on the disk. */
int fdatasync(int fd)
{
    (void)fd;
    synced++;
    return 0;
}

int fsync(int fd)
{
    return fdatasync(fd);
}

static RecordLine *lines_of(
    const char *path, RecordBy by, const RecordFilter *filter, size_t *count)
{
    Error error = {0};
    RecordLine *lines;
    Journal *j = journal_open_reading(path, &error);
    assert_non_null(j);
    assert_true(journal_lines(j, by, filter, &lines, count, &error));
    journal_close(j);
    return lines;
}

static void a_new_record_is_for_the_user_alone(void **state)
{
    (void)state;
    const char *path = shelf_new("a/b/record.db");
    Journal *j = shelf_open(path);
    shelf_fill(j, "Ada", 1, TODAY);
    assert_int_equal(shelf_mode(path), 0600);
    assert_int_equal(shelf_mode(shelf_path(path, "-wal")), 0600);
    assert_int_equal(shelf_mode(shelf_path(path, "-shm")), 0600);
    journal_close(j);
    char folder[SHELF_PATH];
    snprintf(folder, sizeof folder, "%s", path);
    for (int i = 0; i < 2; i++) {
        *strrchr(folder, '/') = '\0';
        assert_int_equal(shelf_mode(folder), 0700);
    }
    assert_true(shelf_whole(path));
}

/* A record that came from elsewhere, open to all. */
static void an_open_record_is_made_private(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    shelf_make(path, "Ada", 3, TODAY);
    char command[SHELF_PATH];
    snprintf(command, sizeof command, "chmod 644 '%s'", path);
    assert_int_equal(system(command), 0);
    shelf_make(path, "Ada", 1, TODAY);
    assert_int_equal(shelf_mode(path), 0600);
}

/* Each change has been handed to the disk for good before it is told as done. */
static void what_is_written_survives_a_power_cut(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Journal *j = shelf_open(path);
    Error error = {0};
    int64_t sitting, id;
    assert_true(journal_begin(j, "Ada", 0, TODAY, &sitting, &error));
    for (int i = 0; i < 20; i++) {
        Repetition r = shelf_repetition("Ada", i, i, TODAY, true);
        int before = synced;
        assert_true(journal_add(j, sitting, &r, &id, &error));
        assert_true(synced > before);
        before = synced;
        assert_true(journal_judge(j, id, false, &error));
        assert_true(synced > before);
    }
    journal_close(j);
    assert_int_equal(shelf_ask(path, "SELECT journal_mode = 'wal' FROM pragma_journal_mode"), 1);
}

static void a_missing_record_reads_as_empty_and_stays_missing(void **state)
{
    (void)state;
    const char *path = shelf_new("none/record.db");
    size_t count = 1;
    RecordLine *lines = lines_of(path, RECORD_BY_DAY, NULL, &count);
    assert_int_equal(count, 0);
    free(lines);
    assert_int_equal(shelf_mode(path), -1);
    Error error = {0};
    Journal *j = journal_open_reading(path, &error);
    Repetition r = shelf_repetition("Ada", 0, 0, TODAY, true);
    int64_t sitting, id, gone;
    Day other;
    assert_false(journal_begin(j, "Ada", 0, TODAY, &sitting, &error));
    assert_false(journal_add(j, 1, &r, &id, &error));
    assert_false(journal_judge(j, 1, true, &error));
    assert_false(journal_rename(j, "Ada", "Bo", &error));
    assert_false(journal_delete(j, "Ada", &gone, &error));
    assert_true(journal_fingers_changed(j, "Ada", 1, 2, &other, &error));
    assert_int_equal(other, 0);
    journal_close(j);
}

static void lists_count_what_was_written(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Journal *j = shelf_open(path);
    shelf_fill(j, "Ada", 12, TODAY - 1);
    shelf_fill(j, "Bo", 6, TODAY);
    journal_close(j);
    size_t count;
    RecordLine *lines = lines_of(path, RECORD_BY_STUDENT, NULL, &count);
    assert_int_equal(count, 2);
    assert_string_equal(lines[0].name, "Ada");
    assert_int_equal(lines[0].count, 12);
    assert_int_equal(lines[0].clean, 9);
    assert_int_equal(lines[0].day, TODAY - 1);
    assert_int_equal(lines[1].count, 6);
    free(lines);
    RecordFilter ada = {.student = "Ada", .passage = "Passage 2"};
    lines = lines_of(path, RECORD_BY_DRILL, &ada, &count);
    assert_int_equal(count, 2); /* i = 2 5 8 11: two of each drill; 0 and 8 are missed */
    assert_int_equal(lines[0].count, 2);
    assert_int_equal(lines[0].clean, 1);
    assert_true(ratio_cmp(lines[0].best.per_minute, ratio_int(62)) == 0);
    free(lines);
    RecordFilter days = {.from = TODAY, .to = TODAY};
    lines = lines_of(path, RECORD_BY_DAY, &days, &count);
    assert_int_equal(count, 1);
    assert_int_equal(lines[0].count, 6);
    free(lines);
}

/* Against adding up by hand, over judgments that change, tempos that go down and days. */
static void every_list_agrees_with_the_repetitions(void **state)
{
    (void)state;
    const unsigned seed = 20261125;
    print_message("seed %u\n", seed);
    const char *path = shelf_new("record.db");
    unsigned x = seed;
    Journal *j = shelf_open(path);
    Error error = {0};
    int64_t sitting, ids[300];
    assert_true(journal_begin(j, "Ada", 0, TODAY, &sitting, &error));
    for (int i = 0; i < 300; i++) {
        x = x * 1103515245u + 12345u;
        Repetition r = shelf_repetition("Ada", (int)(x >> 16) % 3, (int)(x >> 20) % 2,
            TODAY - (Day)((x >> 24) % 5), (x >> 28) % 2);
        r.tempo.per_minute = ratio(40 + (x >> 18) % 100, 1 + (x >> 13) % 2);
        if (!tempo_valid(r.tempo))
            r.tempo.per_minute = ratio_int(60);
        assert_true(journal_add(j, sitting, &r, &ids[i], &error));
        int back = (int)((x >> 11) % (unsigned)(i + 1));
        if (x & 0x400)
            assert_true(journal_judge(j, ids[back], (x & 0x200) != 0, &error));
    }
    journal_close(j);
    /* the lines are kept by triggers: anew from the repetitions they are the same */
    assert_int_equal(
        shelf_ask(path,
            "SELECT count(*) FROM daily d JOIN (SELECT student, passage, drill, day, count(*) n,"
            " sum(clean) c, max(at) l, max(CASE WHEN clean THEN 1.0 * beat_num * tempo_num /"
            " (beat_den * tempo_den) END) b FROM repetition GROUP BY 1, 2, 3, 4) r USING (student,"
            " passage, drill, day) WHERE d.count = n AND d.clean = c AND d.last = l AND"
            " (b IS d.best OR abs(b - substr(d.best, 1, 18) / 1e6) < 1e-5)"),
        shelf_ask(path, "SELECT count(*) FROM daily"));
    assert_int_equal(shelf_ask(path, "SELECT sum(count) FROM daily"), 300);
}

static void the_best_is_the_fastest_in_quarters(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Journal *j = shelf_open(path);
    Error error = {0};
    int64_t sitting, id;
    assert_true(journal_begin(j, "Ada", 0, TODAY, &sitting, &error));
    /* minim = 60 is 120 quarters a minute; dotted crotchet = 79 is 118.5; missed ones count not */
    const Tempo tempos[] = {tempo(ratio_int(2), ratio_int(60)), tempo(ratio(3, 2), ratio_int(79)),
        tempo(ratio_int(1), ratio_int(119)), tempo(ratio_int(1), ratio_int(400))};
    for (int i = 0; i < 4; i++) {
        Repetition r = shelf_repetition("Ada", 1, 1, TODAY, i < 3);
        r.tempo = tempos[i];
        assert_true(journal_add(j, sitting, &r, &id, &error));
    }
    journal_close(j);
    size_t count;
    RecordLine *lines = lines_of(path, RECORD_BY_PASSAGE, NULL, &count);
    assert_int_equal(count, 1);
    assert_true(lines[0].has_best);
    assert_true(ratio_cmp(lines[0].best.beat, ratio_int(2)) == 0);
    assert_int_equal(lines[0].clean, 3);
    free(lines);
}

static void changed_fingers_are_noticed(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Journal *j = shelf_open(path);
    Error error = {0};
    int64_t sitting, id;
    Day other;
    Repetition r = shelf_repetition("Ada", 1, 1, TODAY - 3, true);
    assert_true(journal_begin(j, "Ada", 0, TODAY, &sitting, &error));
    assert_true(journal_add(j, sitting, &r, &id, &error));
    assert_true(journal_fingers_changed(j, "Ada", r.notes, r.fingers, &other, &error));
    assert_int_equal(other, 0);
    assert_true(journal_fingers_changed(j, "Ada", r.notes, r.fingers + 1, &other, &error));
    assert_int_equal(other, TODAY - 3);
    assert_true(journal_fingers_changed(j, "Bo", r.notes, r.fingers + 1, &other, &error));
    assert_int_equal(other, 0);
    r.fingers = UINT64_MAX;
    assert_true(journal_add(j, sitting, &r, &id, &error));
    RecordLine *lines;
    size_t count;
    assert_true(journal_lines(j, RECORD_BY_PASSAGE, NULL, &lines, &count, &error));
    assert_true(count == 1 && lines[0].changed);
    free(lines);
    journal_close(j);
}

/* A sitting belongs to one student: or deleting that one would take another's repetitions along. */
static void a_sitting_takes_only_its_students_repetitions(void **state)
{
    (void)state;
    Journal *j = shelf_open(shelf_new("record.db"));
    Error error = {0};
    int64_t sitting, id;
    Repetition r = shelf_repetition("Bo", 1, 1, TODAY, true);
    assert_true(journal_begin(j, "Ada", 0, TODAY, &sitting, &error));
    assert_false(journal_add(j, sitting, &r, &id, &error));
    assert_int_equal(error.kind, ERROR_RECORD);
    assert_false(journal_add(j, sitting + 1, &r, &id, &error));
    r = shelf_repetition("Ada", 1, 1, TODAY, true);
    r.tempo.per_minute = ratio_int(0);
    assert_false(journal_add(j, sitting, &r, &id, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    journal_close(j);
}

/* Quotes, signs of SQL, control characters, a character cut at the buffer's end. */
static void hostile_names_are_only_names(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    char longest[RECORD_NAME_MAX + 1] = {0}, cut[RECORD_NAME_MAX] = {0};
    memset(longest, 'x', RECORD_NAME_MAX - 1);
    memset(cut, 'y', RECORD_NAME_MAX - 1);
    memcpy(cut + RECORD_NAME_MAX - 3, "\xe2\x99", 2); /* two of the three bytes of a sharp sign */
    const char *const names[] = {"O'Brien \"Bo\"", "x'); DROP TABLE student; --", "%s%n",
        "a\nb\x1b[2J", "", "\xc3", "\xff\xfe", longest, cut};
    const char *const kept[] = {
        names[0], names[1], names[2], "a?b?[2J", "", "", "\xc3\xbf\xc3\xbe", longest, NULL};
    enum { NAMES = sizeof names / sizeof names[0] };
    for (int i = 0; i < NAMES; i++) {
        Journal *j = shelf_open(path);
        shelf_fill(j, names[i], 1, TODAY);
        RecordFilter filter = {.student = names[i], .passage = "Passage 0", .drill = "drill-0"};
        RecordLine *lines;
        size_t count;
        Error error = {0};
        assert_true(journal_lines(j, RECORD_BY_STUDENT, &filter, &lines, &count, &error));
        assert_int_equal(count, 1);
        char clean[RECORD_NAME_MAX];
        if (kept[i] != NULL)
            assert_string_equal(lines[0].name, kept[i]);
        else
            assert_int_equal(strlen(lines[0].name), RECORD_NAME_MAX - 3);
        assert_string_equal(text_clean(lines[0].name, clean, sizeof clean), lines[0].name);
        free(lines);
        journal_close(j);
    }
    assert_true(shelf_whole(path));
}

static void a_clock_that_jumps_is_said_and_lists_stay(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Journal *j = shelf_open(path);
    shelf_fill(j, "Ada", 2, TODAY + 4000);
    assert_string_equal(journal_news(j), "");
    shelf_fill(j, "Ada", 3, TODAY); /* set right again */
    assert_non_null(strstr(journal_news(j), "2037-08-"));
    assert_non_null(strstr(journal_news(j), "clock"));
    RecordFilter to_today = {.to = TODAY};
    RecordLine *lines;
    size_t count;
    Error error = {0};
    assert_true(journal_lines(j, RECORD_BY_STUDENT, &to_today, &lines, &count, &error));
    assert_int_equal(lines[0].day, TODAY); /* the days to come are left out */
    assert_int_equal(lines[0].count, 3);
    free(lines);
    int64_t sitting, id;
    Repetition r = shelf_repetition("Ada", 1, 1, -1, true); /* 1969, west of Greenwich */
    assert_true(journal_begin(j, "Ada", r.at, r.day, &sitting, &error));
    assert_true(journal_add(j, sitting, &r, &id, &error));
    r.day = INT32_MAX;
    assert_true(journal_add(j, sitting, &r, &id, &error));
    assert_true(journal_lines(j, RECORD_BY_DAY, NULL, &lines, &count, &error));
    assert_string_equal(lines[0].name, "1970-01-01");
    assert_string_equal(lines[count - 1].name, "9999-12-31");
    free(lines);
    journal_close(j);
}

static void single_repetitions_come_page_by_page(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    shelf_make(path, "Ada", 150, TODAY);
    Error error = {0};
    Journal *j = journal_open_reading(path, &error);
    size_t count, all = 0;
    int64_t after = 0, *ids;
    Repetition *r;
    do {
        assert_true(journal_repetitions(j, NULL, after, 70, &r, &ids, &count, &error));
        for (size_t i = 0; i < count; i++, all++) {
            assert_int_equal(r[i].at - TODAY * INT64_C(86400000), all);
            Repetition was = shelf_repetition("Ada", (int)all % 3, (int)all % 2, TODAY, all % 4);
            assert_string_equal(r[i].passage, was.passage);
            assert_string_equal(r[i].drill, was.drill);
            assert_true(r[i].notes == was.notes && r[i].fingers == was.fingers);
            assert_true(r[i].clean == was.clean && r[i].day == was.day);
            after = ids[i];
        }
        free(r);
        free(ids);
    } while (count == 70);
    assert_int_equal(all, 150);
    journal_close(j);
}

static void child_fills(const char *path, int number, int ready)
{
    char name[16];
    snprintf(name, sizeof name, "Player %d", number);
    char go;
    (void)!read(ready, &go, 1); /* ends when the parent closes its end */
    Error error = {0};
    Journal *j = journal_open(path, &error);
    int64_t sitting = 0, id;
    bool done = j != NULL && journal_begin(j, name, 0, TODAY, &sitting, &error);
    for (int i = 0; done && i < 50; i++) {
        Repetition r = shelf_repetition(name, i % 3, 0, TODAY, true);
        done = journal_add(j, sitting, &r, &id, &error);
    }
    journal_close(j);
    if (!done)
        fprintf(stderr, "%s: %s\n", name, error.text);
    _exit(done ? 0 : 1);
}

/* A file that none of them has seen before, too: all make it at the same moment. */
static void several_processes_write_at_once(void **state)
{
    (void)state;
    enum { PROCESSES = 4, TIMES = 5 };
    for (int t = 0; t < TIMES; t++) {
        const char *path = shelf_new("record.db");
        int start[2];
        assert_int_equal(pipe(start), 0);
        pid_t children[PROCESSES];
        for (int i = 0; i < PROCESSES; i++) {
            children[i] = fork();
            if (children[i] == 0) {
                close(start[1]);
                child_fills(path, i, start[0]);
            }
        }
        close(start[1]);
        close(start[0]);
        for (int i = 0; i < PROCESSES; i++) {
            int status;
            assert_int_equal(waitpid(children[i], &status, 0), children[i]);
            assert_int_equal(status, 0);
        }
        assert_int_equal(shelf_count(path), PROCESSES * 50);
        assert_int_equal(shelf_ask(path, "SELECT sum(count) FROM daily"), PROCESSES * 50);
        assert_true(shelf_whole(path));
    }
}

/* Another Journal of the same process must keep its locks while one opens and closes. */
static void two_of_one_process_do_not_take_each_others_locks(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Journal *first = shelf_open(path);
    shelf_fill(first, "Ada", 2, TODAY);
    journal_close(shelf_open(path));
    pid_t child = fork();
    if (child == 0) { /* were the lock gone, this one would think itself alone, and take the log */
        journal_close(journal_open(path, NULL));
        _exit(0);
    }
    int status;
    waitpid(child, &status, 0);
    assert_int_not_equal(shelf_mode(shelf_path(path, "-wal")), -1);
    shelf_fill(first, "Ada", 2, TODAY);
    assert_int_equal(shelf_count(path), 4);
    journal_close(first);
    assert_true(shelf_whole(path));
}

static void a_file_that_was_moved_away_is_no_place_to_write(void **state)
{
    (void)state;
    const char *path = shelf_new("record.db");
    Journal *j = shelf_open(path);
    shelf_fill(j, "Ada", 2, TODAY);
    assert_false(journal_stale(j));
    assert_int_equal(rename(path, shelf_path(path, ".elsewhere")), 0);
    int64_t sitting;
    Error error = {0};
    assert_false(journal_begin(j, "Ada", 0, TODAY, &sitting, &error));
    assert_non_null(strstr(error.text, "moved or deleted"));
    assert_true(journal_stale(j));
    journal_close(j);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_new_record_is_for_the_user_alone),
        cmocka_unit_test(an_open_record_is_made_private),
        cmocka_unit_test(what_is_written_survives_a_power_cut),
        cmocka_unit_test(a_missing_record_reads_as_empty_and_stays_missing),
        cmocka_unit_test(lists_count_what_was_written),
        cmocka_unit_test(every_list_agrees_with_the_repetitions),
        cmocka_unit_test(the_best_is_the_fastest_in_quarters),
        cmocka_unit_test(changed_fingers_are_noticed),
        cmocka_unit_test(a_sitting_takes_only_its_students_repetitions),
        cmocka_unit_test(hostile_names_are_only_names),
        cmocka_unit_test(a_clock_that_jumps_is_said_and_lists_stay),
        cmocka_unit_test(single_repetitions_come_page_by_page),
        cmocka_unit_test(several_processes_write_at_once),
        cmocka_unit_test(two_of_one_process_do_not_take_each_others_locks),
        cmocka_unit_test(a_file_that_was_moved_away_is_no_place_to_write),
    };
    return cmocka_run_group_tests_name("journal", tests, shelf_begin, shelf_end);
}
