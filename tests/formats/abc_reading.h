/* abc_reading.h - ABC in a string to a passage, a passage to a line of text, for tests. */
#ifndef EVENHAND_TESTS_ABC_READING_H
#define EVENHAND_TESTS_ABC_READING_H

#include "evenhand/formats/abc.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { READING_MAX = 4096 };

/* The tune "X:1 T:t M:4/4 L:1/8 K:C" and this body. */
static inline Passage *read_body(const char *body, Error *error)
{
    char text[8192];
    snprintf(text, sizeof text, "X:1\nT:t\nM:4/4\nL:1/8\nK:C\n%s\n", body);
    return abc_read(text, strlen(text), 1, error);
}

/* The first tune of a text; fails the test if it is refused. */
static inline Passage *must_read(const char *text)
{
    Error error = {0};
    Passage *p = abc_read(text, strlen(text), 0, &error);
    if (p == NULL)
        fail_msg("%s: %d:%d %s", text, error.line, error.column, error.text);
    return p;
}

/* Puts a note as "E4+3/2": pitch, length in quarters; "@2:E4+1" where it does not follow on the
 * note before; "'" accent, "," breath, "f3" finger. */
static inline void put_note(const Passage *p, size_t i, Ratio *now, char *out)
{
    const Note *n = &p->notes[i];
    char name[PITCH_NAME_MAX], length[RATIO_TEXT_MAX], onset[RATIO_TEXT_MAX] = "";
    size_t at = strlen(out), left = READING_MAX - at;
    if (ratio_equal(n->onset, *now))
        snprintf(out + at, left, "%s", i > 0 ? " " : "");
    else
        snprintf(out + at, left, "%s@%s:", i > 0 ? " " : "", ratio_text(n->onset, onset));
    at = strlen(out);
    left = READING_MAX - at;
    snprintf(out + at, left, "%s+%s%s%s", pitch_name(n->pitch, false, name),
        ratio_text(n->length, length), n->accent ? "'" : "", n->breath ? "," : "");
    if (n->mark != 0)
        snprintf(out + strlen(out), READING_MAX - strlen(out), "f%d", n->mark);
    *now = ratio_add(n->onset, n->length);
}

/* All notes of a passage, one after the other. */
static inline char *passage_line(const Passage *p, char out[READING_MAX])
{
    Ratio now = ratio_int(0);
    out[0] = '\0';
    for (size_t i = 0; i < p->note_count; i++)
        put_note(p, i, &now, out);
    return out;
}

/* Only the names, in a row: "C4D4E4" as "CDE". */
static inline char *passage_letters(const Passage *p, char out[READING_MAX])
{
    size_t n = 0;
    for (; n < p->note_count && n + 1 < READING_MAX; n++)
        out[n] = p->notes[n].pitch.octave > 4 ? "cdefgab"[p->notes[n].pitch.letter]
                                              : "CDEFGAB"[p->notes[n].pitch.letter];
    out[n] = '\0';
    return out;
}

static inline bool has_notice(const Passage *p, const char *part)
{
    for (size_t i = 0; i < p->notice_count; i++)
        if (strstr(p->notices[i].text, part) != NULL)
            return true;
    return false;
}

#endif
