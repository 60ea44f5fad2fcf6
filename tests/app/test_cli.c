/* The program from outside: words in, text, files and exit codes out. Works in a directory of
 * its own; the program is $EVENHAND_BIN, else $EVENHAND_BUILD/evenhand, else build/evenhand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/command.h"
#include "tools/golden.h"

#include <dirent.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { PATH_ROOM = 1024, WAIT_STEPS = 20000 };

static char program[2 * PATH_ROOM], root[PATH_ROOM];

/* One run of the program. */
typedef struct {
    int code;
    char *out, *err;
} Run;

static char *slurp(const char *path)
{
    char *text = golden_read(path);
    assert_non_null(text);
    return text;
}

/* `evenhand ` is put before the words, which the shell reads; `before` stands before that. */
static Run run_after(const char *before, const char *words)
{
    char command[8 * PATH_ROOM];
    Run r;
    snprintf(command, sizeof command, "%s '%s' %s >out.txt 2>err.txt </dev/null", before, program,
        words);
    int status = system(command);
    r.code = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    r.out = slurp("out.txt");
    r.err = slurp("err.txt");
    unlink("out.txt");
    unlink("err.txt");
    return r;
}

static Run run(const char *words)
{
    return run_after("", words);
}

static void run_free(Run *r)
{
    free(r->out);
    free(r->err);
}

/* Runs and wants this exit code and this in its standard error ("": nothing at all there). */
static void expect(const char *words, int code, const char *says)
{
    Run r = run(words);
    if (r.code != code || (says[0] ? !strstr(r.err, says) : r.err[0] != '\0'))
        fail_msg("evenhand %s\n  exit %d, wanted %d\n  said: %s\n  wanted: %s", words, r.code, code,
            r.err, says);
    if (code != 0)
        assert_string_equal(r.out, "");
    run_free(&r);
}

static void put_file(const char *name, const char *text)
{
    FILE *file = fopen(name, "wb");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

static long size_of(const char *name)
{
    struct stat s;
    return stat(name, &s) == 0 ? (long)s.st_size : -1;
}

static void starts_with(const char *name, const char *magic)
{
    char head[8] = "";
    FILE *file = fopen(name, "rb");
    assert_non_null(file);
    assert_int_equal(fread(head, 1, 4, file), 4);
    fclose(file);
    assert_string_equal(head, magic);
}

/* Files in the working directory. */
static int file_count(void)
{
    int count = 0;
    DIR *d = opendir(".");
    assert_non_null(d);
    for (struct dirent *e; (e = readdir(d)) != NULL;)
        count += strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0;
    closedir(d);
    return count;
}

static void remove_all(void)
{
    DIR *d = opendir(".");
    assert_non_null(d);
    for (struct dirent *e; (e = readdir(d)) != NULL;)
        if (e->d_name[0] != '.')
            unlink(e->d_name);
    closedir(d);
}

/* The golden files are below the repository, the test works elsewhere. */
static void golden(const char *name, const char *text)
{
    char here[PATH_ROOM];
    assert_non_null(getcwd(here, sizeof here));
    assert_int_equal(chdir(root), 0);
    golden_check(name, text);
    assert_int_equal(chdir(here), 0);
}

static void output_is(const char *words, const char *name)
{
    Run r = run(words);
    if (r.code != 0)
        fail_msg("evenhand %s: %s", words, r.err);
    assert_string_equal(r.err, "");
    golden(name, r.out);
    run_free(&r);
}

static const char tunes[] = "X:1\nT:Steps\nM:4/4\nL:1/8\nQ:1/4=72\nK:C\nCDEF GABc|\n\n"
                            "X:7\nT:Graces\nM:4/4\nL:1/4\nK:G\n{a}G A B c|\n";

static int set_up(void **state)
{
    (void)state;
    remove_all();
    put_file("tunes.abc", tunes);
    return 0;
}

static void help_and_version(void **state)
{
    (void)state;
    Run r = run("--help");
    assert_int_equal(r.code, 0);
    assert_non_null(strstr(r.out, "--tempo"));
    assert_non_null(strstr(r.out, "timeline"));
    run_free(&r);
    r = run("notes --help");
    assert_int_equal(r.code, 0);
    assert_non_null(strstr(r.out, "evenhand notes"));
    assert_null(strstr(r.out, "--rate"));
    run_free(&r);
    r = run("--version");
    assert_string_equal(r.out, "evenhand " EVENHAND_VERSION "\n");
    run_free(&r);
}

static void wrong_words(void **state)
{
    (void)state;
    expect("show", 2, "evenhand: show needs a file");
    expect("show tunes.abc --tempo 500", 2, "10 to 400");
    expect("show tunes.abc extra.abc", 2, "extra.abc");
    expect("show tunes.abc:one", 2, "'one'");
    expect("show tunes.abc --frob", 2, "--frob");
    expect("write tunes.abc", 2, "-o");
    expect("write tunes.abc -o track.xyz", 2, ".wav .flac .ogg .mp3 .mid");
    expect("write tunes.abc -o track", 2, "ending");
    expect("timeline tunes.abc --drill beat-99", 1, "tunes.abc");
    assert_int_equal(file_count(), 1);
}

static void wrong_files(void **state)
{
    (void)state;
    expect("show nothing.abc", 1, "nothing.abc");
    expect("show .", 1, ".: ");
    expect("show tunes.abc:3", 1, "tunes.abc");
    put_file("empty.abc", "");
    expect("notes empty.abc", 1, "empty.abc");
    put_file("rests.abc", "X:1\nT:No note\nM:4/4\nK:C\nz4|\n");
    expect("notes rests.abc", 1, "rests.abc");
    put_file("voices.abc", "X:1\nT:Two voices\nM:4/4\nL:1/4\nK:C\nV:1\nCDEF|\nV:2\nC,D,E,F,|\n");
    expect("notes voices.abc", 1, "voices.abc:8:3: ");
}

static void notes_as_text(void **state)
{
    (void)state;
    output_is("notes tunes.abc", "notes-steps.tsv");
    Run file = run("notes tunes.abc:1");
    char command[8 * PATH_ROOM];
    snprintf(command, sizeof command, "cat tunes.abc | '%s' notes - >piped.txt", program);
    assert_int_equal(system(command), 0);
    char *text = slurp("piped.txt");
    assert_string_equal(text, file.out);
    free(text);
    run_free(&file);
}

static void show_as_text(void **state)
{
    char words[4 * PATH_ROOM];
    (void)state;
    snprintf(words, sizeof words, "show '%s/presets/04-up-and-turn.abc'", root);
    output_is(words, "show-up-and-turn.txt");
    snprintf(words, sizeof words, "show '%s/presets/11-threes-in-six-eight.abc' --ascii", root);
    output_is(words, "show-threes-ascii.txt");
    snprintf(words, sizeof words,
        "show '%s/presets/15-five-beats.abc' --beats 1,4 --tempo 66 --repetitions 1 --rest 0",
        root);
    output_is(words, "show-five-beats.txt");
    Run plain = run("show tunes.abc --ascii");
    Run c = run_after("LC_ALL=C", "show tunes.abc");
    assert_string_equal(plain.out, c.out);
    run_free(&plain);
    run_free(&c);
}

static void timeline_as_text(void **state)
{
    (void)state;
    output_is("timeline tunes.abc --drill finger-4+long-short --tempo 66.5 --rate 8000 "
              "--repetitions 2 --count-in 1 --rest 1",
        "timeline-steps.tsv");
}

/* The whole session's frames never go back, and every kind of event is there. */
static void timeline_of_the_session(void **state)
{
    static const char *const kinds[] = {
        "count-in", "downbeat", "pulse", "note", "accent", "announce"};
    int seen[6] = {0};
    long long before = -1;
    (void)state;
    Run r = run("timeline tunes.abc");
    assert_int_equal(r.code, 0);
    const char *line = strchr(r.out, '\n') + 1;
    for (; *line; line = strchr(line, '\n') + 1) {
        char kind[32];
        long long frame;
        assert_int_equal(sscanf(line, "%lld\t%*s\t%*s\t%31s", &frame, kind), 2);
        assert_true(frame >= before);
        before = frame;
        for (int i = 0; i < 6; i++)
            seen[i] += strcmp(kind, kinds[i]) == 0;
    }
    for (int i = 0; i < 6; i++)
        if (seen[i] == 0)
            fail_msg("no %s in the session", kinds[i]);
    run_free(&r);
}

static void lists_of_passages(void **state)
{
    (void)state;
    Run r = run("passages tunes.abc");
    assert_string_equal(r.out, "tunes.abc:1\tSteps\ntunes.abc:7\tGraces\n");
    run_free(&r);
    r = run("passages");
    assert_non_null(strstr(r.out, "01-first-crossing.abc:1\tFirst crossing\n"));
    run_free(&r);
}

static void notices_once_on_standard_error(void **state)
{
    (void)state;
    Run r = run("notes tunes.abc:7");
    assert_int_equal(r.code, 0);
    char *said = strstr(r.err, "grace");
    assert_non_null(said);
    assert_null(strstr(said + 1, "grace notes"));
    assert_non_null(strstr(r.err, "tunes.abc:14:"));
    assert_null(strstr(r.out, "grace"));
    run_free(&r);
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
static void no_half_file_after_a_signal(void **state)
{
    (void)state;
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        execl(
            program, "evenhand", "write", "tunes.abc", "-r", "300", "-o", "long.wav", (char *)NULL);
        _exit(127);
    }
    int status = 0;
    bool began = something_is_written();
    kill(child, SIGTERM);
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(began);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGTERM);
    assert_int_equal(file_count(), 1);
}

/* Progress is drawn where standard error is a terminal, which Debian's script (bsdutils) gives. */
static void progress_on_a_terminal(void **state)
{
    char command[8 * PATH_ROOM];
    (void)state;
    snprintf(command, sizeof command,
        "script -qec \"'%s' write tunes.abc -r 12 -o long.ogg\" seen.txt >/dev/null </dev/null",
        program);
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

/* A reader that goes away is no fault, whether the signal ends us or is ignored. */
static void closed_pipes_are_quiet(void **state)
{
    static const char *const shells[] = {"", "trap '' PIPE;"};
    (void)state;
    for (int i = 0; i < 2; i++) {
        char command[8 * PATH_ROOM];
        snprintf(command, sizeof command,
            "(%s '%s' timeline tunes.abc -r 100 2>err.txt) | head -n 1 >first.txt", shells[i],
            program);
        assert_int_equal(system(command), 0);
        char *err = slurp("err.txt"), *first = slurp("first.txt");
        assert_string_equal(err, "");
        assert_string_equal(first, "frame\tbar\tbeat\tkind\tlevel\tnote\tfinger\tgroup\n");
        free(err);
        free(first);
    }
}

static void a_full_disk_is_told(void **state)
{
    char command[8 * PATH_ROOM];
    (void)state;
    snprintf(command, sizeof command, "'%s' notes tunes.abc >/dev/full 2>err.txt", program);
    int status = system(command);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 1);
    char *err = slurp("err.txt");
    assert_non_null(strstr(err, "standard output"));
    free(err);
}

/* As a path from the root: the tests go elsewhere. */
static void find_program(void)
{
    const char *named = getenv("EVENHAND_BIN"), *build = getenv("EVENHAND_BUILD");
    char path[PATH_ROOM / 2];
    if (named)
        snprintf(path, sizeof path, "%s", named);
    else
        snprintf(path, sizeof path, "%s/evenhand", build ? build : "build");
    snprintf(program, sizeof program, "%s%s%s", path[0] == '/' ? "" : root,
        path[0] == '/' ? "" : "/", path);
    if (access(program, X_OK) != 0) {
        fprintf(stderr, "%s is not there; run make first\n", program);
        exit(1);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(help_and_version, set_up),
        cmocka_unit_test_setup(wrong_words, set_up),
        cmocka_unit_test_setup(wrong_files, set_up),
        cmocka_unit_test_setup(notes_as_text, set_up),
        cmocka_unit_test_setup(show_as_text, set_up),
        cmocka_unit_test_setup(timeline_as_text, set_up),
        cmocka_unit_test_setup(timeline_of_the_session, set_up),
        cmocka_unit_test_setup(lists_of_passages, set_up),
        cmocka_unit_test_setup(notices_once_on_standard_error, set_up),
        cmocka_unit_test_setup(writes_each_format, set_up),
        cmocka_unit_test_setup(keeps_what_is_there, set_up),
        cmocka_unit_test_setup(no_half_file_after_a_signal, set_up),
        cmocka_unit_test_setup(progress_on_a_terminal, set_up),
        cmocka_unit_test_setup(without_a_terminal, set_up),
        cmocka_unit_test_setup(closed_pipes_are_quiet, set_up),
        cmocka_unit_test_setup(a_full_disk_is_told, set_up),
    };
    char work[] = "/tmp/evenhand-cli-XXXXXX";
    if (!getcwd(root, sizeof root))
        return 1;
    find_program();
    if (!mkdtemp(work) || chdir(work) != 0)
        return 1;
    setenv("EVENHAND_DATA", root, 1);
    setenv("LC_ALL", "C.UTF-8", 1);
    int failed = cmocka_run_group_tests_name("cli", tests, NULL, NULL);
    remove_all();
    if (chdir(root) != 0 || rmdir(work) != 0)
        return 1;
    return failed;
}
