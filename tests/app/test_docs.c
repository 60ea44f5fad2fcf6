/* The documents against the program: the map of DEVELOPERS.md, the manual, README's commands. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/command.h"
#include "evenhand/app/help.h"
#include "evenhand/app/options.h"
#include "evenhand/console/keys.h"

#include "docs_read.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { WORD_MAX = 200, WORDS_MAX = 40, HELP_TEXT_AT = 26 };

/* Copies the line at `at` and moves past it; false at the end. */
static bool next_line(const char **at, char *line, size_t room)
{
    if (**at == '\0')
        return false;
    size_t size = strcspn(*at, "\n");
    snprintf(line, room, "%.*s", (int)size, *at);
    *at += size + ((*at)[size] == '\n');
    return true;
}

/* ---- the map ---------------------------------------------------------------------------- */

static bool wants_a_line(const char *name)
{
    const char *ending = strrchr(name, '.');
    return ending && (strcmp(ending, ".c") == 0 || strcmp(ending, ".h") == 0 ||
                         strcmp(ending, ".py") == 0 || strcmp(ending, ".sh") == 0);
}

/* Counts the files below `folder` that the map does not name, and prints them. */
static int unnamed_below(const char *folder, const char *map)
{
    int missing = 0;
    DIR *d = opendir(folder);
    assert_non_null(d);
    for (struct dirent *e; (e = readdir(d)) != NULL;) {
        char path[WORD_MAX * 2], quoted[WORD_MAX * 2 + 2];
        struct stat s;
        if (e->d_name[0] == '.')
            continue;
        snprintf(path, sizeof path, "%s/%s", folder, e->d_name);
        assert_int_equal(stat(path, &s), 0);
        if (S_ISDIR(s.st_mode)) {
            missing += unnamed_below(path, map);
            continue;
        }
        snprintf(quoted, sizeof quoted, "`%s`", path);
        if (wants_a_line(e->d_name) && strstr(map, quoted) == NULL) {
            print_error("DEVELOPERS.md does not name %s\n", path);
            missing++;
        }
    }
    closedir(d);
    return missing;
}

static void every_file_is_on_the_map(void **state)
{
    (void)state;
    static const char *const folders[] = {"src", "include", "tests"};
    char *map = docs_read("DEVELOPERS.md");
    assert_non_null(map);
    int missing = 0;
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++)
        missing += unnamed_below(folders[i], map);
    free(map);
    assert_int_equal(missing, 0);
}

/* A word in backquotes that looks like a path of the tree must be there. Patterns such as
 * `src/<room>/x.c` and `tests/fuzz/fuzz_*.c` are not paths. */
static int gone_from(const char *document)
{
    static const char *const tops[] = {
        "src/", "include/", "tests/", "presets/", "sounds/", ".ci/", "evenhand/"};
    char *text = docs_read(document);
    assert_non_null(text);
    int gone = 0;
    for (char *at = strchr(text, '`'); at != NULL; at = strchr(at + 1, '`')) {
        size_t size = strcspn(at + 1, "` \n");
        char path[WORD_MAX];
        struct stat s;
        if (at[1 + size] != '`' || size == 0 || size >= sizeof path - 10)
            continue;
        snprintf(path, sizeof path, "%.*s", (int)size, at + 1);
        if (strpbrk(path, "<>*[$") != NULL)
            continue;
        for (size_t i = 0; i < sizeof tops / sizeof tops[0]; i++)
            if (strncmp(path, tops[i], strlen(tops[i])) == 0 && stat(path, &s) != 0) {
                print_error("%s names %s, which is not there\n", document, path);
                gone++;
            }
    }
    free(text);
    return gone;
}

static void every_named_file_is_there(void **state)
{
    (void)state;
    assert_int_equal(gone_from("DEVELOPERS.md") + gone_from("README.md"), 0);
}

/* ---- the manual ------------------------------------------------------------------------- */

/* An mdoc line as a reader sees it: macros, \& and the backslash of \- taken out, a comma at
 * the word before it. */
static void plain_line(const char *line, char *out, size_t room)
{
    static const char *const macros[] = {".It", "Fl", "Ar", "Sy", "Ic"};
    char copy[WORD_MAX * 2];
    size_t size = 0;
    snprintf(copy, sizeof copy, "%s", line);
    out[0] = '\0';
    for (char *word = strtok(copy, " "); word != NULL; word = strtok(NULL, " ")) {
        bool macro = false;
        for (size_t i = 0; i < sizeof macros / sizeof macros[0]; i++)
            macro = macro || strcmp(word, macros[i]) == 0;
        if (macro)
            continue;
        if (size > 0 && size + 1 < room && strcmp(word, ",") != 0)
            out[size++] = ' ';
        if (strncmp(word, "\\&", 2) == 0)
            word += 2;
        for (const char *c = word; *c != '\0' && size + 1 < room; c++)
            if (*c != '\\')
                out[size++] = *c;
        out[size] = '\0';
    }
}

/* Text of one section, ".Sh NAME" to the next; caller frees. */
static char *section(const char *manual, const char *name)
{
    char head[WORD_MAX];
    snprintf(head, sizeof head, ".Sh %s\n", name);
    const char *start = strstr(manual, head);
    if (start == NULL)
        fail_msg("the manual has no section %s", name);
    start += strlen(head);
    const char *end = strstr(start, "\n.Sh ");
    size_t size = end ? (size_t)(end - start) + 1 : strlen(start);
    char *out = malloc(size + 1);
    assert_non_null(out);
    memcpy(out, start, size);
    out[size] = '\0';
    return out;
}

/* Whether the section has an item that reads exactly `wanted`. */
static bool has_item(const char *part, const char *wanted)
{
    char line[WORD_MAX * 2], plain[WORD_MAX * 2];
    while (next_line(&part, line, sizeof line)) {
        if (strncmp(line, ".It ", 4) != 0)
            continue;
        plain_line(line, plain, sizeof plain);
        if (strcmp(plain, wanted) == 0)
            return true;
    }
    return false;
}

static int items_in(const char *part)
{
    int count = 0;
    char line[WORD_MAX * 2];
    while (next_line(&part, line, sizeof line))
        count += strncmp(line, ".It ", 4) == 0;
    return count;
}

/* Items of one section of the help ("Options", "Commands"), each up to the gap before its text,
 * as the manual would have it: "-o -output FILE". Returns how many the manual lacks. */
static int lacking(const char *help, const char *head, const char *part, int *count)
{
    char line[WORD_MAX * 2], start[WORD_MAX];
    int missing = 0;
    snprintf(start, sizeof start, "\n%s\n", head);
    const char *at = strstr(help, start);
    assert_non_null(at);
    at += strlen(start);
    for (*count = 0; next_line(&at, line, sizeof line) && line[0] == ' ';) {
        if (strspn(line, " ") > 6)
            continue; /* an item's text goes on */
        char *name = line + strspn(line, " ");
        if (strlen(line) > HELP_TEXT_AT && line[HELP_TEXT_AT - 1] == ' ')
            line[HELP_TEXT_AT - 1] = '\0';
        for (size_t end = strlen(line); end > 0 && line[end - 1] == ' '; end--)
            line[end - 1] = '\0';
        char wanted[WORD_MAX];
        size_t size = 0;
        /* an option's first dash is what mdoc's Fl prints */
        for (const char *c = name; *c != '\0' && size + 1 < sizeof wanted; c++)
            if (!(*c == '-' && (c == name || c[-1] == ' ')))
                wanted[size++] = *c;
        wanted[size] = '\0';
        ++*count;
        if (!has_item(part, wanted)) {
            print_error("the manual has no item \"%s\"\n", wanted);
            missing++;
        }
    }
    return missing;
}

static void the_manual_has_what_the_help_has(void **state)
{
    (void)state;
    static const char *const heads[][2] = {{"Commands", "COMMANDS"}, {"Options", "OPTIONS"}};
    Text help = {0};
    char *manual = docs_read("src/app/evenhand.1");
    assert_non_null(manual);
    assert_true(help_program(&help));
    for (int i = 0; i < 2; i++) {
        int count;
        char *part = section(manual, heads[i][1]);
        assert_int_equal(lacking(help.bytes, heads[i][0], part, &count), 0);
        assert_true(count > 3);
        assert_int_equal(items_in(part), count); /* and nothing more */
        free(part);
    }
    free(manual);
    text_free(&help);
}

/* Whether the comma-separated list holds the name. */
static bool list_holds(const char *list, const char *name)
{
    size_t size = strlen(name);
    for (const char *at = list; at != NULL; at = strstr(at, ", "), at = at ? at + 2 : NULL)
        if (strncmp(at, name, size) == 0 && (at[size] == '\0' || at[size] == ','))
            return true;
    return false;
}

/* Whether KEYS has an item that holds the key's name and says, below it, what the key does. */
static bool tells_key(const char *part, const KeyBinding *key)
{
    char line[WORD_MAX * 2], plain[WORD_MAX * 2];
    bool named = false;
    while (next_line(&part, line, sizeof line)) {
        plain_line(line, plain, sizeof plain);
        if (strncmp(line, ".It ", 4) == 0)
            named = list_holds(plain, key->name);
        else if (named && strcmp(plain, action_text(key->action)) == 0)
            return true;
    }
    return false;
}

static void the_manual_has_every_key(void **state)
{
    (void)state;
    int count, missing = 0, names = 0;
    const KeyBinding *keys = keys_table(&count);
    char *manual = docs_read("src/app/evenhand.1");
    assert_non_null(manual);
    char *part = section(manual, "KEYS");
    assert_true(count > 10);
    for (int i = 0; i < count; i++)
        if (!tells_key(part, &keys[i])) {
            print_error(
                "the manual's KEYS lack %s: %s\n", keys[i].name, action_text(keys[i].action));
            missing++;
        }
    assert_int_equal(missing, 0);

    const char *at = part;
    char line[WORD_MAX * 2];
    while (next_line(&at, line, sizeof line))
        if (strncmp(line, ".It ", 4) == 0) {
            names++;
            for (const char *comma = line; (comma = strstr(comma, " , ")) != NULL; comma++)
                names++;
        }
    assert_int_equal(names, count); /* and no key that the table does not have */
    free(part);
    free(manual);
}

/* ---- README ----------------------------------------------------------------------------- */

/* Cuts a line at blanks; no quoting: the documents need none. */
static int split(char *line, char *words[WORDS_MAX])
{
    int count = 0;
    for (char *word = strtok(line, " "); word && count < WORDS_MAX; word = strtok(NULL, " "))
        words[count++] = word;
    return count;
}

/* Lines inside ``` fences that start with the program's name are command lines that the
 * program takes. */
static void check_commands(const char *document)
{
    char *text = docs_read(document);
    assert_non_null(text);
    const char *at = text;
    char line[WORD_MAX * 2];
    bool fenced = false;
    int commands = 0;
    while (next_line(&at, line, sizeof line)) {
        char *words[WORDS_MAX], copy[sizeof line];
        if (strncmp(line, "```", 3) == 0)
            fenced = !fenced;
        line[strcspn(line, "#")] = '\0';
        memcpy(copy, line, sizeof copy);
        int count = split(copy, words);
        bool ours = count > 0 &&
                    (strcmp(words[0], "evenhand") == 0 || strcmp(words[0], "build/evenhand") == 0);
        if (!fenced || !ours)
            continue;
        Options options;
        Error error;
        char said[500];
        commands++;
        if (!options_parse(count, words, &options, &error))
            fail_msg("%s: \"%s\": %s", document, line, error_format(&error, said, sizeof said));
    }
    free(text);
    assert_true(commands > 0);
}

static void the_commands_of_readme_are_taken(void **state)
{
    (void)state;
    check_commands("README.md");
}

/* The screen in README is the view's own, as the golden screens have it: the first of the file,
 * between its heading and its block of styles. */
static void the_screen_of_readme_is_drawn_so(void **state)
{
    (void)state;
    char *golden = docs_read("tests/console/golden/practice-playing-utf8.txt");
    char *readme = docs_read("README.md");
    assert_non_null(golden);
    assert_non_null(readme);
    char *screen = strchr(golden, '\n');
    assert_non_null(screen);
    char *end = strstr(++screen, "\nbbb");
    assert_non_null(end);
    *end = '\0';
    assert_true(strlen(screen) > 500);
    assert_non_null(strstr(readme, screen));
    free(readme);
    free(golden);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_file_is_on_the_map),
        cmocka_unit_test(every_named_file_is_there),
        cmocka_unit_test(the_manual_has_what_the_help_has),
        cmocka_unit_test(the_manual_has_every_key),
        cmocka_unit_test(the_commands_of_readme_are_taken),
        cmocka_unit_test(the_screen_of_readme_is_drawn_so),
    };
    return cmocka_run_group_tests_name("docs", tests, NULL, NULL);
}
