/* abc_text.h - text strings of ABC: accents by \'e, &eacute; or \u00e9, and Latin-1. */
#ifndef ABC_TEXT_H
#define ABC_TEXT_H

#include <stddef.h>

/* Writes `size` bytes of a field's value as UTF-8 into out (cut at a character, always
 * terminated). Bytes that are no UTF-8 are taken as Latin-1. ABC 2.1, section 8.2. */
void abc_text(const char *in, size_t size, char *out, size_t room);
/* The same behind what out holds, after a blank. */
void abc_text_more(const char *in, size_t size, char *out, size_t room);

#endif
