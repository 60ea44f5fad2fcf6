/* text.h - a growing text buffer, and what makes hostile text safe to show. Pure. */
#ifndef EVENHAND_MUSIC_TEXT_H
#define EVENHAND_MUSIC_TEXT_H

#include "evenhand/music/error.h"

/* Zero it to begin with; free with text_free. `bytes` is NUL-terminated once non-NULL. */
typedef struct {
    char *bytes;
    size_t size, room;
} Text;

bool text_add(Text *t, const char *format, ...) __attribute__((format(printf, 2, 3)));
bool text_add_bytes(Text *t, const char *bytes, size_t size);
void text_free(Text *t);

/* Copies UTF-8 (or, where it is not valid UTF-8, Latin-1 byte by byte) from `in` to out as
 * valid UTF-8, control characters (C0, DEL, C1, bidirectional overrides) as '?'. Cuts at a
 * character's edge. Returns out. */
char *text_clean(const char *in, char *out, size_t size);
/* Columns that valid UTF-8 takes on a terminal: combining marks 0, East Asian wide 2. */
int text_columns(const char *utf8);

#endif
