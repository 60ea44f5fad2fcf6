/* abc.h - reads tunes of ABC 2.1 (The abc music standard 2.1, December 2011) from memory.
 *
 * What is read, passed over (each said once as a notice of the passage) or refused stands in
 * DEVELOPERS.md. Pure: text in, passage out.
 */
#ifndef EVENHAND_FORMATS_ABC_H
#define EVENHAND_FORMATS_ABC_H

#include "evenhand/music/passage.h"

enum { ABC_BYTES_MAX = 1 << 20, ABC_TUNES_MAX = 2000 };

typedef struct {
    int reference;                   /* X: */
    int line;                        /* of its X: field */
    char title[PASSAGE_TITLE_MAX];   /* first T:, UTF-8; "" none */
    char remark[PASSAGE_REMARK_MAX]; /* its N: lines, likewise */
} AbcTune;

/* Lists the tunes of a text. *tunes is allocated (caller frees with free); ERROR_NO_TUNE when
 * there are none, ERROR_LIMIT beyond ABC_BYTES_MAX or ABC_TUNES_MAX. */
bool abc_list(const char *text, size_t size, AbcTune **tunes, size_t *count, Error *error);

/* Reads the tune with this reference number (0: the first tune). `text` need not end in a NUL.
 * NULL on error, with line and column; the caller frees the passage. Names no source: the
 * caller adds it (error_source). */
Passage *abc_read(const char *text, size_t size, int reference, Error *error);

#endif
