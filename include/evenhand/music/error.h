/* error.h - errors are values: one table of kinds, a sentence each on what to do next.
 *
 * Every function of the project that can fail returns bool (true: done) and takes an
 * `Error *`, filled only on failure. Nothing here allocates; any thread may use its own Error.
 */
#ifndef EVENHAND_MUSIC_ERROR_H
#define EVENHAND_MUSIC_ERROR_H

#include <stdbool.h>
#include <stddef.h>

typedef enum {
    ERROR_NONE = 0,
    ERROR_MEMORY,      /* an allocation failed */
    ERROR_LIMIT,       /* a stated limit is passed (notes, bytes, digits ...) */
    ERROR_SYNTAX,      /* input breaks its format's grammar */
    ERROR_UNSUPPORTED, /* legal input that this program cannot honour */
    ERROR_NO_TUNE,     /* the file holds no tune, or not the one asked for */
    ERROR_EMPTY,       /* a tune without a note */
    ERROR_RANGE,       /* a number outside its stated range */
    ERROR_USAGE,       /* the command line's words are off */
    ERROR_READ,        /* a file cannot be read */
    ERROR_WRITE,       /* a file cannot be written */
    ERROR_EXISTS,      /* the file is there and --force was not given */
    ERROR_SOUND_FILE,  /* a voice file is no audio, empty or too long */
    ERROR_DEVICE,      /* no such audio device, or it cannot be opened as asked */
    ERROR_SILENCE,     /* the sound test found nothing to play on */
    ERROR_TERMINAL,    /* the terminal cannot be used */
    ERROR_RECORD,      /* the practice record cannot be used as it is */
    ERROR_KINDS        /* how many kinds there are; not a kind */
} ErrorKind;

enum { ERROR_TEXT_MAX = 240, ERROR_SOURCE_MAX = 120 };

typedef struct {
    ErrorKind kind;
    int line;                      /* 1-based; 0: no place */
    int column;                    /* 1-based, in bytes; 0: no place */
    char source[ERROR_SOURCE_MAX]; /* file name as the user gave it; "" none */
    char text[ERROR_TEXT_MAX];     /* what is wrong, one sentence without a full stop */
} Error;

/* Fills *error (which may be NULL) and returns false, so that a caller writes
 * `return error_set(error, ERROR_RANGE, "tempo %d is outside 10-400", n);`. */
bool error_set(Error *error, ErrorKind kind, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* As error_set, with a place in a text. */
bool error_at(Error *error, ErrorKind kind, int line, int column, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

/* Names the source (a file) of an error that has none yet. */
void error_source(Error *error, const char *source);

/* The kind's sentence of advice ("what to do next"); never NULL; "" only for ERROR_NONE. */
const char *error_advice(ErrorKind kind);

/* Writes "source:line:column: text. advice" into out (always terminated, cut at size).
 * Control characters in source and text come out as '?'. Returns out. */
char *error_format(const Error *error, char *out, size_t size);

#endif
