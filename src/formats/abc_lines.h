/* abc_lines.h - an ABC file as lines: ends of any system, fields, comments, tunes. */
#ifndef ABC_LINES_H
#define ABC_LINES_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    const char *at; /* without its line end */
    size_t size;
    int number; /* 1-based */
} AbcLine;

/* Where the next line begins. Ends are LF, CR LF or a lone CR. */
typedef struct {
    const char *at, *end;
    const char *feed; /* the next LF from `at` on, or the end; NULL: not yet looked for */
    int number;       /* of the line that comes next */
} AbcLines;

/* Passes over a byte order mark. */
AbcLines abc_lines(const char *text, size_t size);
bool abc_lines_next(AbcLines *lines, AbcLine *line);

bool abc_line_blank(const AbcLine *line);
/* The letter of "T:title" (leading blanks allowed, '+' for "+:"), or 0 if the line is no field.
 * A note and a bar line such as "G:|" is no field. *value is what follows the colon, up to a
 * comment and without blanks around. */
char abc_line_field(const AbcLine *line, AbcLine *value);
/* Whether the line is an X: field. Every line of a book is asked: others are told apart at their
 * first letter. */
bool abc_line_tune(const AbcLine *line, AbcLine *value);
/* Cuts a comment (an unescaped %) and blanks at the end. */
void abc_line_uncomment(AbcLine *line);
/* "%%words" or an "I:" field's value: true if its first word is `word`; *rest is what follows. */
bool abc_line_word(const AbcLine *value, const char *word, AbcLine *rest);
/* Cuts blanks on both sides. */
void abc_line_trim(AbcLine *line);
/* The number an X: field gives; 0 if none. */
int abc_line_number(const AbcLine *value);

#endif
