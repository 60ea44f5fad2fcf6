#include "evenhand/music/error.h"

#include "evenhand/music/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const char *const advice[ERROR_KINDS] = {
    [ERROR_NONE] = "",
    [ERROR_MEMORY] = "Close other programs and try again.",
    [ERROR_LIMIT] = "Make it shorter, or split it in two.",
    [ERROR_SYNTAX] = "Correct that place in the file.",
    [ERROR_UNSUPPORTED] = "Leave that out, or write the line to be drilled as a tune of its own.",
    [ERROR_NO_TUNE] =
        "Give a number that is there as FILE:X, or begin a tune with X:1 and end its header with K:.",
    [ERROR_EMPTY] = "Write at least one note after the K: line.",
    [ERROR_RANGE] = "Change that value.",
    [ERROR_USAGE] = "See evenhand --help.",
    [ERROR_READ] = "Give the name of a file that can be read; evenhand --help says more.",
    [ERROR_WRITE] = "Check the folder, your rights in it and the free space; nothing was changed.",
    [ERROR_EXISTS] = "Choose another name, or add --force to replace it.",
    [ERROR_SOUND_FILE] = "Give a short WAV, FLAC or Ogg file with a clear attack.",
    [ERROR_DEVICE] = "Run evenhand sound to see the devices and what they accept.",
    [ERROR_SILENCE] = "Connect one, then run this again; practice works in silence meanwhile.",
    [ERROR_TERMINAL] = "Use a terminal of 40x12 or more, or evenhand show for a printed sheet.",
    [ERROR_RECORD] = "What was recorded is kept; practice works without the record, too.",
};

static bool fill(
    Error *error, ErrorKind kind, int line, int column, const char *format, va_list arguments)
{
    if (error == NULL)
        return false;
    memset(error, 0, sizeof *error);
    error->kind = kind;
    error->line = line;
    error->column = column;
    vsnprintf(error->text, sizeof error->text, format, arguments);
    return false;
}

bool error_set(Error *error, ErrorKind kind, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    fill(error, kind, 0, 0, format, arguments);
    va_end(arguments);
    return false;
}

bool error_at(Error *error, ErrorKind kind, int line, int column, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    fill(error, kind, line, column, format, arguments);
    va_end(arguments);
    return false;
}

void error_source(Error *error, const char *source)
{
    if (error == NULL || error->source[0] != '\0')
        return;
    snprintf(error->source, sizeof error->source, "%s", source);
}

const char *error_advice(ErrorKind kind)
{
    if ((int)kind < 0 || kind >= ERROR_KINDS)
        return "";
    return advice[kind];
}

char *error_format(const Error *error, char *out, size_t size)
{
    char source[ERROR_SOURCE_MAX], text[ERROR_TEXT_MAX], place[32] = "";
    text_clean(error->source, source, sizeof source);
    text_clean(error->text, text, sizeof text);
    if (error->line > 0 && error->column > 0)
        snprintf(place, sizeof place, "%d:%d", error->line, error->column);
    else if (error->line > 0)
        snprintf(place, sizeof place, "%d", error->line);
    const char *after_source = source[0] == '\0' ? "" : place[0] != '\0' ? ":" : ": ";
    const char *after_place = place[0] != '\0' ? ": " : "";
    const char *next = error_advice(error->kind);
    snprintf(out, size, "%s%s%s%s%s.%s%s", source, after_source, place, after_place, text,
        next[0] != '\0' ? " " : "", next);
    return out;
}
