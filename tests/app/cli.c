/* cli.c - see cli.h. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cli.h"
#include "tools/golden.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static char program[2 * PATH_ROOM], root[PATH_ROOM], work[] = "/tmp/evenhand-cli-XXXXXX";

const char *cli_program(void)
{
    return program;
}

const char *cli_root(void)
{
    return root;
}

char *slurp(const char *path)
{
    char *text = golden_read(path);
    assert_non_null(text);
    return text;
}

Run run_after(const char *before, const char *words)
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

Run run(const char *words)
{
    return run_after("", words);
}

void run_free(Run *r)
{
    free(r->out);
    free(r->err);
}

void expect(const char *words, int code, const char *says)
{
    Run r = run(words);
    if (r.code != code || (says[0] ? !strstr(r.err, says) : r.err[0] != '\0'))
        fail_msg("evenhand %s\n  exit %d, wanted %d\n  said: %s\n  wanted: %s", words, r.code, code,
            r.err, says);
    if (code != 0)
        assert_string_equal(r.out, "");
    run_free(&r);
}

void put_file(const char *name, const char *text)
{
    FILE *file = fopen(name, "wb");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

long size_of(const char *name)
{
    struct stat s;
    return stat(name, &s) == 0 ? (long)s.st_size : -1;
}

int file_count(void)
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
        if (strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0)
            unlink(e->d_name);
    closedir(d);
}

static const char tunes[] = "X:1\nT:Steps\nM:4/4\nL:1/8\nQ:1/4=72\nK:C\nCDEF GABc|\n\n"
                            "X:7\nT:Graces\nM:4/4\nL:1/4\nK:G\n{a}G A B c|\n";

int set_up(void **state)
{
    (void)state;
    remove_all();
    put_file("tunes.abc", tunes);
    return 0;
}

/* As a path from the root: the tests go elsewhere. */
static bool find_program(void)
{
    const char *named = getenv("EVENHAND_BIN"), *build = getenv("EVENHAND_BUILD");
    char path[PATH_ROOM / 2];
    if (named)
        snprintf(path, sizeof path, "%s", named);
    else
        snprintf(path, sizeof path, "%s/evenhand", build ? build : "build");
    snprintf(program, sizeof program, "%s%s%s", path[0] == '/' ? "" : root,
        path[0] == '/' ? "" : "/", path);
    if (access(program, X_OK) == 0)
        return true;
    fprintf(stderr, "%s is not there; run make first\n", program);
    return false;
}

bool cli_enter(void)
{
    if (!getcwd(root, sizeof root) || !find_program())
        return false;
    if (!mkdtemp(work) || chdir(work) != 0)
        return false;
    /* Nothing can be made there: nobody's own practice record is read, or written. */
    return setenv("XDG_DATA_HOME", "/dev/null/nobody", 1) == 0 &&
           setenv("EVENHAND_DATA", root, 1) == 0 && setenv("LC_ALL", "C.UTF-8", 1) == 0;
}

/* Where it was never entered there is nothing to take away: least of all what lies here. */
bool cli_leave(void)
{
    char here[PATH_ROOM];
    if (!getcwd(here, sizeof here) || strcmp(here, root) == 0)
        return false;
    remove_all();
    return chdir(root) == 0 && rmdir(work) == 0;
}
