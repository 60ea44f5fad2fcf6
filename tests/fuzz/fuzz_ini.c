/* fuzz_ini.c - a libFuzzer target: any bytes as a file written by hand. */
#include "evenhand/formats/ini.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void insist(bool holds)
{
    if (!holds)
        abort();
}

static int count_lines(const char *text, size_t size)
{
    int lines = 1;
    for (size_t i = 0; i < size; i++)
        lines += text[i] == '\n' || (text[i] == '\r' && (i + 1 == size || text[i + 1] != '\n'));
    return lines;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    Ini ini;
    Error error = {0};
    const char *text = (const char *)data;
    int lines = count_lines(text, size);
    if (!ini_read(text, size, &ini, &error)) {
        insist(error.kind != ERROR_NONE && error.line >= 0 && error.line <= lines);
        insist(ini.entries == NULL && ini.count == 0);
        return 0;
    }
    insist(ini.count <= INI_ENTRIES_MAX);
    for (size_t i = 0; i < ini.count; i++) {
        const IniEntry *e = &ini.entries[i];
        insist(e->line >= 1 && e->line <= lines);
        insist(i == 0 || ini.entries[i - 1].line < e->line);
        insist(i == 0 || e->key[0] == '\0' || strcmp(ini.entries[i - 1].section, e->section) == 0);
    }
    ini_free(&ini);
    return 0;
}
