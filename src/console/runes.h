/* runes.h - characters as a terminal sees them: decoding, columns, what stands in for them.
 *
 * The room's own, so that widths do not hang on the locale and tests need none. Pure.
 */
#ifndef EVENHAND_SRC_CONSOLE_RUNES_H
#define EVENHAND_SRC_CONSOLE_RUNES_H

#include <stdint.h>

enum { RUNE_BYTES_MAX = 4 };

/* The character at s (not at the final NUL): its code in *rune, its bytes as the result. A byte
 * that begins no valid UTF-8 comes out as '?', one byte long. */
int rune_decode(const char *s, uint32_t *rune);
/* Writes it as UTF-8; returns its bytes. */
int rune_encode(uint32_t rune, char out[RUNE_BYTES_MAX]);
/* The same, or '?' where it could move the cursor, ring or turn the line's direction. */
uint32_t rune_clean(uint32_t rune);
/* Columns: 0 for combining marks and joiners, 2 for East Asian wide, else 1. */
int rune_columns(uint32_t rune);
/* The one ASCII character that stands for it; '?' where there is none. */
char rune_ascii(uint32_t rune);
/* Columns of a whole string. */
int runes_columns(const char *utf8);

#endif
