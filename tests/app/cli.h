/* cli.h - the program run from outside, in a directory of its own: words in, text, files and exit
 * codes out. The program is $EVENHAND_BIN, else $EVENHAND_BUILD/evenhand, else build/evenhand. */
#ifndef EVENHAND_TESTS_APP_CLI_H
#define EVENHAND_TESTS_APP_CLI_H

#include <stdbool.h>

enum { PATH_ROOM = 1024, WAIT_STEPS = 20000 };

/* One run of the program. */
typedef struct {
    int code;
    char *out, *err;
} Run;

/* Finds the program and goes into a new directory, and back out of it; false where it cannot. */
bool cli_enter(void);
bool cli_leave(void);
const char *cli_program(void);
const char *cli_root(void); /* the repository */

/* cmocka's set-up: nothing but tunes.abc in the directory. */
int set_up(void **state);
/* `evenhand ` is put before the words, which the shell reads; `before` stands before that. */
Run run_after(const char *before, const char *words);
Run run(const char *words);
void run_free(Run *r);
/* Runs and wants this exit code and this in its standard error ("": nothing at all there). */
void expect(const char *words, int code, const char *says);

char *slurp(const char *path); /* caller frees */
void put_file(const char *name, const char *text);
long size_of(const char *name); /* -1: it is not there */
int file_count(void);           /* in the directory */

#endif
