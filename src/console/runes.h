/* runes.h - text as the screen takes it, character by character. Pure. */
#ifndef EVENHAND_SRC_CONSOLE_RUNES_H
#define EVENHAND_SRC_CONSOLE_RUNES_H

#include "evenhand/drill/drill.h" /* the characters of its words: rune_clean, rune_columns ... */

/* The character at s (not at the final NUL): its code in *rune, its bytes as the result. A byte
 * that begins no valid UTF-8 comes out as '?', one byte long. */
int runes_next(const char *s, uint32_t *rune);
/* The one ASCII character that stands for it; '?' where there is none. */
char rune_ascii(uint32_t rune);
/* Columns of a whole string. */
int runes_columns(const char *utf8);

#endif
