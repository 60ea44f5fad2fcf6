/* golden.h - compares text with a file of tests/app/golden; with EVENHAND_GOLDEN=write it writes
 * the file instead, to be looked at before it is committed. Include after cmocka.h. */
#ifndef EVENHAND_TESTS_GOLDEN_H
#define EVENHAND_TESTS_GOLDEN_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The whole file, NUL-terminated; NULL where there is none. Caller frees. */
static inline char *golden_read(const char *path)
{
    FILE *file = fopen(path, "rb");
    size_t room = 1 << 20;
    char *text = calloc(room, 1);
    if (!file || !text) {
        free(text);
        return NULL;
    }
    size_t size = fread(text, 1, room - 1, file);
    text[size] = '\0';
    fclose(file);
    return text;
}

/* `root`: the repository, for a test that works elsewhere. */
static inline void golden_check_from(const char *root, const char *name, const char *text)
{
    char path[1200];
    snprintf(path, sizeof path, "%.1000s/tests/app/golden/%.100s", root, name);
    const char *mode = getenv("EVENHAND_GOLDEN");
    if (mode && strcmp(mode, "write") == 0) {
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        fputs(text, file);
        fclose(file);
        return;
    }
    char *wanted = golden_read(path);
    if (!wanted)
        fail_msg("%s is missing; write it with EVENHAND_GOLDEN=write", path);
    int line = 1;
    size_t at = 0, begin = 0;
    for (; text[at] && text[at] == wanted[at]; at++)
        if (text[at] == '\n') {
            line++;
            begin = at + 1;
        }
    if (text[at] != wanted[at])
        fail_msg("%s:%d differs\n  wanted: %.*s\n  got:    %.*s", path, line,
            (int)strcspn(wanted + begin, "\n"), wanted + begin, (int)strcspn(text + begin, "\n"),
            text + begin);
    free(wanted);
}

static inline void golden_check(const char *name, const char *text)
{
    golden_check_from(".", name, text);
}

#endif
