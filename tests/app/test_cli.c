/* The program from outside: words in, text and exit codes out. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cli.h"
#include "evenhand/app/command.h"
#include "tools/golden.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/* The golden files are below the repository, the test works elsewhere and stays there: what
 * empties its folder must never be in the repository. */
static void golden(const char *name, const char *text)
{
    golden_check_from(cli_root(), name, text);
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
    snprintf(command, sizeof command, "cat tunes.abc | '%s' notes - >piped.txt", cli_program());
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
    snprintf(words, sizeof words, "show '%s/presets/04-up-and-turn.abc'", cli_root());
    output_is(words, "show-up-and-turn.txt");
    snprintf(
        words, sizeof words, "show '%s/presets/11-threes-in-six-eight.abc' --ascii", cli_root());
    output_is(words, "show-threes-ascii.txt");
    snprintf(words, sizeof words,
        "show '%s/presets/15-five-beats.abc' --beats 1,4 --tempo 66 --repetitions 1 --rest 0",
        cli_root());
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

/* A reader that goes away is no fault, whether the signal ends us or is ignored. */
static void closed_pipes_are_quiet(void **state)
{
    static const char *const shells[] = {"", "trap '' PIPE;"};
    (void)state;
    for (int i = 0; i < 2; i++) {
        char command[8 * PATH_ROOM];
        snprintf(command, sizeof command,
            "(%s '%s' timeline tunes.abc -r 100 2>err.txt) | head -n 1 >first.txt", shells[i],
            cli_program());
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
    snprintf(command, sizeof command, "'%s' notes tunes.abc >/dev/full 2>err.txt", cli_program());
    int status = system(command);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 1);
    char *err = slurp("err.txt");
    assert_non_null(strstr(err, "standard output"));
    free(err);
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
        cmocka_unit_test_setup(closed_pipes_are_quiet, set_up),
        cmocka_unit_test_setup(a_full_disk_is_told, set_up),
    };
    if (!cli_enter())
        return 1;
    int failed = cmocka_run_group_tests_name("cli", tests, NULL, NULL);
    return cli_leave() ? failed : 1;
}
