/* silence.h - standard error held back while audio libraries talk, so that their complaints
 * never tear a screen. Private to src/sound.
 *
 * Descriptor 2 belongs to the whole process: one console thread begins and ends, nested at
 * most; whatever any thread prints meanwhile is kept.
 */
#ifndef EVENHAND_SOUND_SILENCE_PRIVATE_H
#define EVENHAND_SOUND_SILENCE_PRIVATE_H

#include <stdbool.h>
#include <stddef.h>

typedef struct Silence Silence;

/* From here on descriptor 2 leads into an unlinked temporary file (a file, not a pipe: nobody
 * has to read for the writer to go on). NULL where that cannot be had; nothing is held back. */
Silence *silence_begin(void);
/* Whether what is held back would have gone to a terminal. */
bool silence_guards_terminal(const Silence *s);
/* What was printed since the last take, cleaned, lines kept; of more than size - 1 bytes the last
 * whole lines.
 * Returns its length. NULL gives nothing. */
size_t silence_take(Silence *s, char *out, size_t size);
/* Puts descriptor 2 back. NULL is fine. */
void silence_end(Silence *s);

/* Text of a library as one that a terminal may show: anything but printable ASCII (and, where
 * asked for, line ends) comes out as '?'. Returns out, always terminated, cut at size > 0; it may
 * lie over in, not after its beginning. */
char *silence_clean(const char *in, char *out, size_t size, bool lines);

#endif
