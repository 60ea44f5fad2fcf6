/* The program from outside: the files that it writes, whole or not at all. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cli.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static void starts_with(const char *name, const char *magic)
{
    char head[8] = "";
    FILE *file = fopen(name, "rb");
    assert_non_null(file);
    assert_int_equal(fread(head, 1, 4, file), 4);
    fclose(file);
    assert_string_equal(head, magic);
}

static void writes_each_format(void **state)
{
    static const char *const made[][2] = {
        {"a.wav", "RIFF"}, {"a.flac", "fLaC"}, {"a.ogg", "OggS"}, {"a.mid", "MThd"}};
    (void)state;
    for (int i = 0; i < 4; i++) {
        char words[200];
        snprintf(words, sizeof words, "write tunes.abc --drill plain -r 1 -o %s", made[i][0]);
        expect(words, 0, "");
        starts_with(made[i][0], made[i][1]);
    }
    expect(
        "write tunes.abc --drill finger-4 --layers pulse,guide --a4 442 -o guide.wav --rate 22050",
        0, "");
    assert_int_equal(file_count(), 6);
}

static void keeps_what_is_there(void **state)
{
    static const char *const names[] = {"kept.wav", "kept.mid"};
    (void)state;
    for (int i = 0; i < 2; i++) {
        char words[200];
        put_file(names[i], "mine");
        snprintf(words, sizeof words, "write tunes.abc --drill plain -o %s", names[i]);
        expect(words, 1, "--force");
        char *kept = slurp(names[i]);
        assert_string_equal(kept, "mine");
        free(kept);
        strcat(words, " --force");
        expect(words, 0, "");
        assert_true(size_of(names[i]) > 100);
    }
    expect("write tunes.abc --drill plain -o nowhere/a.wav", 1, "nowhere/a.wav");
    expect("write tunes.abc --drill plain -o nowhere/a.mid", 1, "nowhere/a.mid");
    assert_int_equal(file_count(), 3);
}

/* Waits until something beside the tunes is in the directory; false when nothing comes. */
static bool something_is_written(void)
{
    for (int i = 0; i < WAIT_STEPS; i++) {
        if (file_count() > 1)
            return true;
        nanosleep(&(struct timespec){.tv_nsec = 500000}, NULL);
    }
    return false;
}

/* Ended in mid-write: no half file stays behind, and the signal is what ended it. */
static void ended_by(int number)
{
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        setrlimit(RLIMIT_CORE, &(struct rlimit){0, 0});
        execl(cli_program(), "evenhand", "write", "tunes.abc", "-r", "300", "-o", "long.wav",
            (char *)NULL);
        _exit(127);
    }
    int status = 0;
    bool began = something_is_written();
    kill(child, number);
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(began);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == number);
    assert_int_equal(file_count(), 1);
}

static void no_half_file_after_a_signal(void **state)
{
    static const int numbers[] = {SIGTERM, SIGINT, SIGHUP, SIGQUIT};
    (void)state;
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        ended_by(numbers[i]);
}

/* A limit on the size of files is a full disk, not a signal; ulimit counts blocks of 512 bytes. */
static void a_limit_on_file_size_is_told(void **state)
{
    static const char *const names[] = {"long.wav", "long.ogg", "long.mid"};
    (void)state;
    for (int i = 0; i < 3; i++) {
        char words[200];
        snprintf(words, sizeof words, "write tunes.abc -r 100 -o %s", names[i]);
        Run r = run_after("ulimit -f 20;", words);
        if (r.code != 1 || strstr(r.err, "File too large") == NULL)
            fail_msg("%s: exit %d: %s", names[i], r.code, r.err);
        run_free(&r);
        assert_int_equal(file_count(), 1);
    }
}

/* --force replaces what a link leads to; the link stays. */
static void force_follows_a_link(void **state)
{
    static const char *const names[] = {"real.wav", "real.mid"};
    (void)state;
    for (int i = 0; i < 2; i++) {
        char words[200];
        struct stat s;
        const char *link = i == 0 ? "link.wav" : "link.mid";
        put_file(names[i], "mine");
        assert_int_equal(symlink(names[i], link), 0);
        snprintf(words, sizeof words, "write tunes.abc --drill plain --force -o %s", link);
        expect(words, 0, "");
        assert_int_equal(lstat(link, &s), 0);
        assert_true(S_ISLNK(s.st_mode));
        starts_with(names[i], i == 0 ? "RIFF" : "MThd");
    }
    assert_int_equal(symlink("nowhere", "dangling.wav"), 0);
    expect("write tunes.abc --drill plain --force -o dangling.wav", 0, "");
    starts_with("nowhere", "RIFF");
    assert_int_equal(symlink("round.wav", "round.wav"), 0);
    expect("write tunes.abc --drill plain --force -o round.wav", 1, "round.wav");
    assert_int_equal(file_count(), 8);
}

/* Progress is drawn where standard error is a terminal, which Debian's script (bsdutils) gives. */
static void progress_on_a_terminal(void **state)
{
    char command[8 * PATH_ROOM];
    (void)state;
    snprintf(command, sizeof command,
        "script -qec \"'%s' write tunes.abc -r 12 -o long.ogg\" seen.txt >/dev/null </dev/null",
        cli_program());
    assert_int_equal(system(command), 0);
    starts_with("long.ogg", "OggS");
    char *seen = slurp("seen.txt");
    assert_non_null(strstr(seen, "\rwriting: "));
    free(seen);
}

/* Standard output is a file in all these runs, so there is no terminal. */
static void without_a_terminal(void **state)
{
    (void)state;
    Run r = run("tunes.abc:1 -r 1");
    assert_int_equal(r.code, 0);
    assert_non_null(strstr(r.out, "Steps\n"));
    assert_non_null(strstr(r.out, "Session"));
    assert_non_null(strstr(r.out, "\ntunes-practice.wav\n"));
    assert_non_null(
        strstr(r.out, "\nplan    4+4; one link into G4\npedals  D♮ C♮ B♮ | E♮ F♮ G♮ A♮\n"));
    const char *in_all = strstr(r.out, "In all ");
    assert_non_null(in_all);
    char length[40];
    snprintf(length, sizeof length, "practice track, %.4s\nminutes long", in_all + 7);
    assert_non_null(strstr(r.out, length)); /* as the sheet has it */
    assert_non_null(strstr(r.out, "-o FILE"));
    starts_with("tunes-practice.wav", "RIFF");
    run_free(&r);
    long size = size_of("tunes-practice.wav");
    r = run("tunes.abc:1 -r 2");
    assert_non_null(strstr(r.out, "\ntunes-practice-2.wav\n"));
    run_free(&r);
    assert_int_equal(size_of("tunes-practice.wav"), size);
    assert_true(size_of("tunes-practice-2.wav") > size);
    r = run("tunes.abc:1 -r 2 --force");
    assert_non_null(strstr(r.out, "\ntunes-practice.wav\n"));
    run_free(&r);
    assert_true(size_of("tunes-practice.wav") > size);
    r = run("-r 1 --drill plain -o mine.flac");
    assert_non_null(strstr(r.out, "First crossing"));
    starts_with("mine.flac", "fLaC");
    run_free(&r);
    assert_int_equal(file_count(), 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(writes_each_format, set_up),
        cmocka_unit_test_setup(keeps_what_is_there, set_up),
        cmocka_unit_test_setup(no_half_file_after_a_signal, set_up),
        cmocka_unit_test_setup(a_limit_on_file_size_is_told, set_up),
        cmocka_unit_test_setup(force_follows_a_link, set_up),
        cmocka_unit_test_setup(progress_on_a_terminal, set_up),
        cmocka_unit_test_setup(without_a_terminal, set_up),
    };
    if (!cli_enter())
        return 1;
    int failed = cmocka_run_group_tests_name("cli_files", tests, NULL, NULL);
    return cli_leave() ? failed : 1;
}
