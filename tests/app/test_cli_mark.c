/* The commands mark and page from outside: files, refusals, exit codes. Works in a directory of
 * its own; the program is $EVENHAND_BIN, else $EVENHAND_BUILD/evenhand, else build/evenhand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "tools/golden.h"

#include <dirent.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { PATH_ROOM = 1024 };

static char program[2 * PATH_ROOM], folder[] = "/tmp/evenhand-cli-mark-XXXXXX";

static const char tunes[] = "X:1\r\nT:Steps\r\nL:1/8\r\nK:C\r\nCDEF GABc|\r\n\r\n"
                            "X:7\r\nT:Other\r\nL:1/4\r\nK:G\r\n{a}G !1!.A B c|\r\n% end";

/* Runs `evenhand words`; fails unless the code is this and standard error holds `says`. Returns
 * standard output, which the caller frees. */
static char *run(const char *words, int code, const char *says)
{
    char command[4 * PATH_ROOM];
    snprintf(command, sizeof command, "'%s' %s >out.txt 2>err.txt </dev/null", program, words);
    int status = system(command);
    char *out = golden_read("out.txt"), *err = golden_read("err.txt");
    assert_non_null(out);
    assert_non_null(err);
    unlink("out.txt");
    unlink("err.txt");
    if (!WIFEXITED(status) || WEXITSTATUS(status) != code ||
        (says[0] != '\0' ? strstr(err, says) == NULL : err[0] != '\0'))
        fail_msg("evenhand %s\n  status %d, wanted code %d\n  said: %s\n  wanted: %s", words,
            status, code, err, says);
    free(err);
    return out;
}

static void expect(const char *words, int code, const char *says)
{
    char *out = run(words, code, says);
    assert_string_equal(out, "");
    free(out);
}

static void put_file(const char *name, const char *text)
{
    FILE *file = fopen(name, "wb");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

static void file_is(const char *name, const char *wanted)
{
    char *text = golden_read(name);
    assert_non_null(text);
    assert_string_equal(text, wanted);
    free(text);
}

/* Every file but these: nothing half written may stay. */
static void only_files(const char *const *names, int count)
{
    DIR *d = opendir(".");
    assert_non_null(d);
    int found = 0;
    for (struct dirent *e; (e = readdir(d)) != NULL;) {
        bool known = e->d_name[0] == '.' && (e->d_name[1] == '\0' || e->d_name[1] == '.');
        for (int i = 0; i < count; i++)
            known = known || strcmp(e->d_name, names[i]) == 0;
        if (!known)
            fail_msg("%s was left behind", e->d_name);
        found++;
    }
    closedir(d);
    assert_int_equal(found, count + 2);
}

static int set_up(void **state)
{
    (void)state;
    if (system("rm -rf ./*") != 0)
        return -1;
    put_file("tunes.abc", tunes);
    return 0;
}

static void marks_one_tune(void **state)
{
    (void)state;
    expect("mark tunes.abc -o new.abc", 0, "");
    file_is("new.abc",
        "X:1\r\nT:Steps\r\nL:1/8\r\nK:C\r\n!4!C!3!D!2!E!1!F !4!G!3!A!2!B!1!c|\r\n\r\n"
        "X:7\r\nT:Other\r\nL:1/4\r\nK:G\r\n{a}G !1!.A B c|\r\n% end");
    expect("mark tunes.abc:7 --ignore-marks -o seven.abc", 0, "grace notes");
    file_is("seven.abc", "X:1\r\nT:Steps\r\nL:1/8\r\nK:C\r\nCDEF GABc|\r\n\r\n"
                         "X:7\r\nT:Other\r\nL:1/4\r\nK:G\r\n{a}!4!G !3!.A !2!B !1!c|\r\n% end");
    file_is("tunes.abc", tunes);
    const char *const names[] = {"tunes.abc", "new.abc", "seven.abc"};
    only_files(names, 3);
}

static void keeps_what_is_there(void **state)
{
    (void)state;
    put_file("new.abc", "mine");
    expect("mark tunes.abc -o new.abc", 1, "new.abc");
    file_is("new.abc", "mine");
    expect("mark tunes.abc -o tunes.abc", 1, "tunes.abc");
    file_is("tunes.abc", tunes);
    expect("mark tunes.abc -o new.abc --force", 0, "");
    expect("mark new.abc -o again.abc", 0, "");
    char *once = golden_read("new.abc");
    file_is("again.abc", once);
    free(once);
    expect("mark tunes.abc -o missing/new.abc", 1, "missing/new.abc");
    put_file("page.pdf", "mine");
    expect("page tunes.abc -o page.pdf", 1, "page.pdf");
    file_is("page.pdf", "mine");
    const char *const names[] = {"tunes.abc", "new.abc", "again.abc", "page.pdf"};
    only_files(names, 4);
}

static void wrong_words(void **state)
{
    (void)state;
    expect("mark tunes.abc", 2, "-o OUT.abc");
    expect("mark", 2, "mark needs a file");
    expect("mark tunes.abc -o x.abc --paper a4", 2, "--paper has no meaning for mark");
    expect("page tunes.abc", 2, "-o OUT.pdf");
    expect("page tunes.abc -o page.doc", 2, ".pdf .svg .png");
    expect("page tunes.abc -o page.pdf --page 1", 2, "--page is for .svg and .png");
    expect("page tunes.abc -o page.png --page 9", 1, "there is no page 9");
    expect("page tunes.abc -o page.png --paper a3", 2, "a4 or letter");
    expect("page tunes.abc -o page.png --names do", 2, "scientific, harp or syllables");
    expect("page tunes.abc -o page.png --instrument lute", 2, "lute");
    put_file("macro.abc", "X:1\nL:1/8\nm:~G2=GAB\nK:C\n~G2c|\n");
    expect("mark macro.abc -o x.abc", 1, "macro.abc:5:1");
    const char *const names[] = {"tunes.abc", "macro.abc"};
    only_files(names, 2);
}

/* C D leads back the first time, on to E the second: one finger can stand in the text. */
static void repeats_that_differ_are_told(void **state)
{
    (void)state;
    put_file("repeat.abc", "X:1\nM:2/4\nL:1/8\nK:C\n|:C4|D4:|E4|]\n");
    char *out = run("mark repeat.abc -o marked.abc", 0, "");
    assert_string_equal(
        out, "2 notes have a different finger when repeated; the first time's is written\n");
    free(out);
    file_is("marked.abc", "X:1\nM:2/4\nL:1/8\nK:C\n|:!2!C4|!1!D4:|!1!E4|]\n");
    expect("mark marked.abc -o again.abc", 0, "on the marked fingers; see evenhand show --check");
}

static void starts_with(const char *name, const char *magic)
{
    char head[8] = "";
    FILE *file = fopen(name, "rb");
    assert_non_null(file);
    assert_int_equal(fread(head, 1, 4, file), 4);
    fclose(file);
    assert_memory_equal(head, magic, 4);
}

static void pages_of_each_kind(void **state)
{
    (void)state;
    expect("page tunes.abc -o page.pdf --instrument pedal-47", 0, "");
    starts_with("page.pdf", "%PDF");
    expect("page tunes.abc -o page.SVG --paper letter --names harp", 0, "");
    starts_with("page.SVG", "<?xm");
    expect("page tunes.abc -o page.png --page 1 --instrument lever:C3:26:C", 0, "");
    starts_with("page.png", "\x89PNG");
    const char *const names[] = {"tunes.abc", "page.pdf", "page.SVG", "page.png"};
    only_files(names, 4);
}

/* A picture of a long passage says that there is more. */
static void more_pages_are_told(void **state)
{
    (void)state;
    char text[4000] = "X:1\nT:Long\nL:1/8\nK:C\n";
    for (int i = 0; i < 60; i++)
        strcat(text, "CDEF GABc|");
    put_file("long.abc", text);
    char *out = run("page long.abc -o page.png", 0, "");
    assert_non_null(strstr(out, "--page 2"));
    free(out);
    expect("page long.abc -o two.png --page 2", 0, "");
}

static int start(void **state)
{
    (void)state;
    char here[PATH_ROOM];
    const char *given = getenv("EVENHAND_BIN"), *build = getenv("EVENHAND_BUILD");
    if (getcwd(here, sizeof here) == NULL || mkdtemp(folder) == NULL)
        return -1;
    build = build != NULL ? build : "build";
    if (given != NULL)
        snprintf(program, sizeof program, "%s", given);
    else if (build[0] == '/')
        snprintf(program, sizeof program, "%s/evenhand", build);
    else
        snprintf(program, sizeof program, "%s/%s/evenhand", here, build);
    if (access(program, X_OK) != 0) {
        print_error("%s is not there: make it first\n", program);
        return -1;
    }
    return chdir(folder);
}

static int finish(void **state)
{
    (void)state;
    char command[PATH_ROOM];
    snprintf(command, sizeof command, "rm -rf %s", folder);
    return chdir("/") == 0 && system(command) == 0 ? 0 : -1;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(marks_one_tune, set_up),
        cmocka_unit_test_setup(keeps_what_is_there, set_up),
        cmocka_unit_test_setup(wrong_words, set_up),
        cmocka_unit_test_setup(repeats_that_differ_are_told, set_up),
        cmocka_unit_test_setup(pages_of_each_kind, set_up),
        cmocka_unit_test_setup(more_pages_are_told, set_up),
    };
    return cmocka_run_group_tests_name("cli_mark", tests, start, finish);
}
