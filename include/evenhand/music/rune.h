/* rune.h - single characters: UTF-8, what is hostile on a terminal, columns. Widths do not hang on
 * the locale. Pure. */
#ifndef EVENHAND_MUSIC_RUNE_H
#define EVENHAND_MUSIC_RUNE_H

#include <stdint.h>

enum { RUNE_BYTES_MAX = 4 };

/* The character at s (not at the final NUL): its code in *rune, its bytes as the result. 0 where
 * the bytes are no valid UTF-8 (RFC 3629: no overlong forms, no surrogates, at most U+10FFFF);
 * *rune is then the byte itself, as Latin-1 has it. */
int rune_decode(const char *s, uint32_t *rune);
/* Writes it as UTF-8; returns its bytes. */
int rune_encode(uint32_t rune, char out[RUNE_BYTES_MAX]);
/* The same, or '?' where it could move the cursor, ring or turn the line's direction. */
uint32_t rune_clean(uint32_t rune);
/* Columns on a terminal: 0 for combining marks and joiners, 2 for East Asian wide, else 1. */
int rune_columns(uint32_t rune);

#endif
