/* ini.h - a file that people write by hand, as entries with their lines. Pure; the grammar is
 * inih's: [section], key = value, comments from ';' or '#', a ';' after a blank within a line.
 *
 *     [block]          -> {"block", "", "", 3}: a section opens
 *     title = Warm up  -> {"block", "title", "Warm up", 4}
 */
#ifndef EVENHAND_FORMATS_INI_H
#define EVENHAND_FORMATS_INI_H

#include "evenhand/music/error.h"

enum { INI_BYTES_MAX = 65536, INI_ENTRIES_MAX = 4000, INI_NAME_MAX = 48, INI_VALUE_MAX = 200 };

typedef struct {
    char section[INI_NAME_MAX]; /* "" before the first */
    char key[INI_NAME_MAX];     /* small letters; "" where the section opens */
    char value[INI_VALUE_MAX];  /* cleaned for the terminal */
    int line;                   /* 1-based */
} IniEntry;

typedef struct {
    IniEntry *entries;
    size_t count;
} Ini;

/* Sections of one name may come again and again; each opening is an entry. ERROR_SYNTAX with the
 * line for what is neither section, entry nor comment; ERROR_LIMIT for what is too long, NUL bytes
 * and files beyond INI_BYTES_MAX. On failure *out is zeroed. */
bool ini_read(const char *text, size_t size, Ini *out, Error *error);
void ini_free(Ini *ini); /* leaves it zeroed */

#endif
