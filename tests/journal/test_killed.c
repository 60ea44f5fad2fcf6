/* SIGKILL at random moments: what was told as written is there, and the file is whole.
 *
 *    child   scribe_put as fast as there is room, scribe_poll ──► pipe: each ticket told as written
 *    parent  waits a random while, kills, reads the pipe to its end, and believes nothing else
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "shelf.h"

#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { TODAY = 20700, KILLS = 1000, CHECK_EVERY = 50, RUN = 1000000, LONGEST_US = 30000 };

static uint64_t seed = 20261125;

static uint64_t draw(uint64_t below)
{
    seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (seed >> 33) % below;
}

static void wait_us(uint64_t us)
{
    const struct timespec t = {(time_t)(us / 1000000), (long)(us % 1000000) * 1000};
    nanosleep(&t, NULL);
}

/* Repetition `ticket` of a run is found again by its moment. */
static _Noreturn void play(const char *path, int64_t run, int out)
{
    Scribe *s = scribe_start(path, "Ada", run * RUN, TODAY);
    uint64_t ticket = 0, told = 0;
    for (;;) {
        Repetition r = shelf_repetition("Ada", (int)(ticket % 5), (int)(ticket % 3), TODAY, true);
        r.at = run * RUN + (int64_t)ticket + 1;
        ScribeStatus status;
        scribe_poll(s, &status);
        if (status.written > told) {
            told = status.written;
            if (write(out, &told, sizeof told) != sizeof told)
                _exit(1);
        }
        if (ticket - told < SCRIBE_ROOM / 2 && scribe_put(s, &r) != 0)
            ticket++;
        else
            wait_us(100);
    }
}

/* How many were told as written before the end. */
static uint64_t play_and_kill(const char *path, int64_t run)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        play(path, run, ends[1]);
    }
    close(ends[1]);
    wait_us(draw(LONGEST_US));
    kill(child, SIGKILL);
    uint64_t told = 0, word;
    while (read(ends[0], &word, sizeof word) == sizeof word)
        told = word;
    close(ends[0]);
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
    return told;
}

static void all_is_there(const char *path, const uint64_t told[KILLS], int runs)
{
    sqlite3 *db;
    sqlite3_stmt *s;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(
        sqlite3_prepare_v2(db,
            "SELECT count(DISTINCT at) FROM repetition WHERE at > ?1 AND at <= ?2", -1, &s, NULL),
        SQLITE_OK);
    for (int run = 0; run < runs; run++) {
        sqlite3_bind_int64(s, 1, (int64_t)run * RUN);
        sqlite3_bind_int64(s, 2, (int64_t)run * RUN + (int64_t)told[run]);
        assert_int_equal(sqlite3_step(s), SQLITE_ROW);
        if (sqlite3_column_int64(s, 0) != (int64_t)told[run])
            fail_msg("run %d: %llu were told as written, and are not all there", run,
                (unsigned long long)told[run]);
        sqlite3_reset(s);
    }
    sqlite3_finalize(s);
    sqlite3_close(db);
    assert_true(shelf_whole(path));
    assert_int_equal(shelf_ask(path, "SELECT sum(count) FROM daily"), shelf_count(path));
}

static void a_session_killed_a_thousand_times_keeps_what_it_told(void **state)
{
    (void)state;
    static uint64_t told[KILLS];
    const char *path = shelf_new("record.db");
    uint64_t all = 0;
    print_message("seed %llu\n", (unsigned long long)seed);
    shelf_make(path, "Bo", 1, TODAY - 1);
    shelf_tell(path, "CREATE INDEX moment ON repetition (at)"); /* for the questions below */
    for (int run = 0; run < KILLS; run++) {
        told[run] = play_and_kill(path, run);
        all += told[run];
        if ((run + 1) % CHECK_EVERY == 0)
            all_is_there(path, told, run + 1);
    }
    assert_int_equal(shelf_set_aside(path), 0);
    print_message("%llu repetitions told as written, %lld in the record\n", (unsigned long long)all,
        (long long)shelf_count(path));
    assert_true(all > KILLS / 10); /* else nothing was killed at work */
}

/* ---- killed in the middle of one thing that is done whole or not at all ---- */

typedef bool Work(const char *path);

static bool bring_up_to_date(const char *path)
{
    Journal *j = journal_open(path, NULL);
    journal_close(j);
    return j != NULL;
}

static bool take_in(const char *path)
{
    char other[SHELF_PATH];
    snprintf(other, sizeof other, "%s.other", path);
    int64_t added, known;
    Journal *j = journal_open(path, NULL);
    return j != NULL && journal_merge(j, other, &added, &known, NULL);
}

static bool take_away(const char *path)
{
    int64_t gone;
    Journal *j = journal_open(path, NULL);
    return j != NULL && journal_delete(j, "Ada", &gone, NULL);
}

static bool copy(const char *path)
{
    char to[SHELF_PATH];
    snprintf(to, sizeof to, "%s.copy", path);
    Journal *j = journal_open(path, NULL);
    return j != NULL && journal_backup(j, to, NULL);
}

/* How long it takes when it is let be, so that the moments fall all over it. */
static uint64_t microseconds(Work *work, const char *path)
{
    struct timespec a, b;
    clock_gettime(CLOCK_MONOTONIC, &a);
    pid_t child = fork();
    if (child == 0)
        _exit(!work(path));
    int status;
    waitpid(child, &status, 0);
    assert_int_equal(status, 0);
    clock_gettime(CLOCK_MONOTONIC, &b);
    return (uint64_t)((b.tv_sec - a.tv_sec) * 1000000 + (b.tv_nsec - a.tv_nsec) / 1000);
}

/* True when it was killed before its end. */
static bool killed(Work *work, const char *path, uint64_t longest)
{
    pid_t child = fork();
    if (child == 0)
        _exit(!work(path));
    wait_us(draw(longest));
    kill(child, SIGKILL);
    int status;
    waitpid(child, &status, 0);
    assert_true(WIFSIGNALED(status) || WEXITSTATUS(status) == 0);
    return WIFSIGNALED(status);
}

enum { TIMES = 50, ADA = 2000, BO = 1500 };

/* The same record each time; one of the two counts afterwards, and of the two both. */
static void kill_at(Work *work, const char *model, int64_t before, int64_t after)
{
    ShelfBytes bytes = shelf_read(model), other = shelf_read(shelf_path(model, ".other"));
    uint64_t takes = 0;
    int broken_off = 0;
    for (int i = 0; i <= TIMES; i++) {
        char path[SHELF_PATH];
        snprintf(path, sizeof path, "%s", shelf_new("record.db"));
        shelf_write(path, bytes.bytes, bytes.size);
        shelf_write(shelf_path(path, ".other"), other.bytes, other.size);
        if (i == 0)
            takes = microseconds(work, path);
        else
            broken_off += killed(work, path, takes);
        int64_t count = shelf_count(path);
        assert_true(count == after || (count == before && i > 0));
        assert_true(shelf_whole(path));
        journal_close(shelf_open(path));
        assert_int_equal(shelf_ask(path, "SELECT sum(count) FROM daily"), count);
        assert_int_equal(shelf_set_aside(path), 0);
        const char *whole = shelf_path(path, ".copy");
        if (shelf_mode(whole) != -1) /* a copy that bears its name is whole */
            assert_int_equal(shelf_count(whole), count);
    }
    print_message(
        "%d of %d broken off within %llu us\n", broken_off, TIMES, (unsigned long long)takes);
    assert_true(broken_off > 0);
    free(bytes.bytes);
    free(other.bytes);
}

/* A record of Ada's, or of both, and one of Bo's beside it. */
static void make(char path[SHELF_PATH], bool both)
{
    snprintf(path, SHELF_PATH, "%s", shelf_new("record.db"));
    shelf_make(path, "Ada", ADA, TODAY);
    if (both)
        shelf_make(path, "Bo", BO, TODAY);
    shelf_make(shelf_path(path, ".other"), "Bo", BO, TODAY);
}

static void killed_while_it_is_brought_up_to_date(void **state)
{
    (void)state;
    char path[SHELF_PATH];
    make(path, false);
    shelf_make_older(path, 1);
    kill_at(bring_up_to_date, path, ADA, ADA);
}

static void killed_while_it_takes_in_another(void **state)
{
    (void)state;
    char path[SHELF_PATH];
    make(path, false);
    kill_at(take_in, path, ADA, ADA + BO);
}

static void killed_while_it_deletes(void **state)
{
    (void)state;
    char path[SHELF_PATH];
    make(path, true);
    kill_at(take_away, path, ADA + BO, BO);
}

static void killed_while_it_is_copied(void **state)
{
    (void)state;
    char path[SHELF_PATH];
    make(path, true);
    kill_at(copy, path, ADA + BO, ADA + BO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_session_killed_a_thousand_times_keeps_what_it_told),
        cmocka_unit_test(killed_while_it_is_brought_up_to_date),
        cmocka_unit_test(killed_while_it_takes_in_another),
        cmocka_unit_test(killed_while_it_deletes),
        cmocka_unit_test(killed_while_it_is_copied),
    };
    return cmocka_run_group_tests_name("killed", tests, shelf_begin, shelf_end);
}
