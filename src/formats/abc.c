#include "evenhand/formats/abc.h"

#include "abc_reader.h"
#include "abc_text.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

static bool check_size(size_t size, Error *error)
{
    if (size <= ABC_BYTES_MAX)
        return true;
    return error_set(error, ERROR_LIMIT, "the text has more than %d bytes", ABC_BYTES_MAX);
}

/* "%%beginps" and the like begin a block that ends with "%%endps". */
static bool begins_block(const AbcLine *line)
{
    static const char start[] = "%%begin";
    return line->size >= sizeof start - 1 && memcmp(line->at, start, sizeof start - 1) == 0;
}

static void skip_block(AbcLines *lines)
{
    static const char stop[] = "%%end";
    AbcLine line, value;
    for (AbcLines ahead = *lines; abc_lines_next(&ahead, &line); *lines = ahead) {
        if (line.size >= sizeof stop - 1 && memcmp(line.at, stop, sizeof stop - 1) == 0) {
            *lines = ahead;
            return;
        }
        if (abc_line_tune(&line, &value))
            return; /* never closed: the next tune is worth more than the block */
    }
}

static bool add_tune(
    AbcTune **tunes, size_t *count, const AbcLine *line, const AbcLine *value, Error *error)
{
    if (*count == ABC_TUNES_MAX)
        return error_at(
            error, ERROR_LIMIT, line->number, 1, "the text has more than %d tunes", ABC_TUNES_MAX);
    if ((*count & (*count - 1)) == 0) {
        AbcTune *more = realloc(*tunes, (*count == 0 ? 1 : *count * 2) * sizeof *more);
        if (more == NULL)
            return error_set(error, ERROR_MEMORY, "out of memory for the list of tunes");
        *tunes = more;
    }
    (*tunes)[(*count)++] = (AbcTune){.reference = abc_line_number(value), .line = line->number};
    return true;
}

bool abc_list(const char *text, size_t size, AbcTune **tunes, size_t *count, Error *error)
{
    *tunes = NULL;
    *count = 0;
    if (!check_size(size, error))
        return false;
    AbcLines lines = abc_lines(text, size);
    AbcLine line, value;
    while (abc_lines_next(&lines, &line)) {
        if (begins_block(&line))
            skip_block(&lines);
        char letter = abc_line_field(&line, &value);
        if (letter == 'X' && !add_tune(tunes, count, &line, &value, error)) {
            free(*tunes);
            *tunes = NULL;
            *count = 0;
            return false;
        }
        if (letter == 'T' && *count > 0 && (*tunes)[*count - 1].title[0] == '\0')
            abc_text(value.at, value.size, (*tunes)[*count - 1].title, PASSAGE_TITLE_MAX);
        if (letter == 'N' && *count > 0)
            abc_text_more(value.at, value.size, (*tunes)[*count - 1].remark, PASSAGE_REMARK_MAX);
    }
    if (*count == 0)
        return error_set(error, ERROR_NO_TUNE, "no tune begins here: there is no X: field");
    return true;
}

/* "%%..." sets something, "%..." says nothing, "K:..." is a field, the rest is music. */
static bool read_line(AbcReader *r, AbcLines *lines, const AbcLine *line)
{
    AbcLine value;
    if (line->size > 0 && line->at[0] == '%') {
        if (begins_block(line))
            skip_block(lines);
        if (line->size < 2 || line->at[1] != '%')
            return true;
        value = (AbcLine){.at = line->at + 2, .size = line->size - 2, .number = line->number};
        abc_line_uncomment(&value);
        abc_line_trim(&value);
        return abc_directive(r, &value, 1);
    }
    char letter = abc_line_field(line, &value);
    if (letter != 0)
        return abc_field(r, letter, &value, (int)(value.at - line->at) + 1);
    if (!r->in_body)
        return true;
    value = *line;
    abc_line_uncomment(&value);
    return abc_music_line(r, &value);
}

/* What a file may say before its first tune holds for all of them (ABC 2.1, 2.2.2). */
static bool file_header(AbcReader *r, const char *text, size_t size)
{
    AbcLines lines = abc_lines(text, size);
    AbcLine line, value;
    while (abc_lines_next(&lines, &line) && !abc_line_blank(&line)) {
        char letter = abc_line_field(&line, &value);
        if (letter == 'X')
            return true;
        bool general = letter != 0 && strchr("MLUmI", letter) != NULL;
        bool directive = line.size > 1 && line.at[0] == '%' && line.at[1] == '%';
        if ((general || directive) && !read_line(r, &lines, &line))
            return false;
    }
    return true;
}

/* Leaves *lines after the X: field of the tune wanted. */
static bool find_tune(AbcLines *lines, int reference, int *found, int *found_line)
{
    AbcLine line, value;
    while (abc_lines_next(lines, &line)) {
        if (begins_block(&line))
            skip_block(lines);
        if (!abc_line_tune(&line, &value))
            continue;
        *found = abc_line_number(&value);
        *found_line = line.number;
        if (reference == 0 || *found == reference)
            return true;
    }
    return false;
}

/* A blank line ends a tune; players who only meant to part its sections should hear of it. */
static void notice_lost_music(AbcReader *r, AbcLines lines, int blank)
{
    AbcLine line, value;
    while (abc_lines_next(&lines, &line)) {
        char letter = abc_line_field(&line, &value);
        if (letter == 'X')
            return;
        bool bars = line.size > 0 && memchr(line.at, '|', line.size) != NULL;
        if (letter == 0 && bars && line.at[0] != '%') {
            passage_notice(r->passage, blank, 1,
                "the blank line here ends the tune; the music after it is not read");
            return;
        }
    }
}

/* Bytes up to the next tune or blank line. */
static size_t tune_bytes(AbcLines lines)
{
    const char *start = lines.at, *end = start;
    AbcLine line, value;
    while (abc_lines_next(&lines, &line) && !abc_line_blank(&line) && !abc_line_tune(&line, &value))
        end = lines.at;
    return (size_t)(end - start);
}

/* Lines up to the next tune, or to a blank line once the music has begun. */
static bool read_tune(AbcReader *r, AbcLines *lines, int tune_line)
{
    AbcLine line, value;
    while (abc_lines_next(lines, &line)) {
        if (abc_line_tune(&line, &value))
            break;
        if (abc_line_blank(&line)) {
            if (!r->in_body)
                continue;
            notice_lost_music(r, *lines, line.number);
            break;
        }
        if (!read_line(r, lines, &line))
            return false;
    }
    if (!r->key_given)
        return error_at(r->error, ERROR_SYNTAX, tune_line, 1,
            "this tune has no K: field, which ends a header: add K:C, or your key, as its last "
            "line");
    return true;
}

/* What there is instead. */
static bool no_such_tune(AbcReader *r, const char *text, size_t size, int reference)
{
    AbcLines lines = abc_lines(text, size);
    int found, line, least = INT_MAX, most = 0, count = 0;
    while (find_tune(&lines, 0, &found, &line)) {
        least = found < least ? found : least;
        most = found > most ? found : most;
        count++;
    }
    if (count == 0)
        return error_set(r->error, ERROR_NO_TUNE, "no tune begins here: there is no X: field");
    if (count == 1)
        return error_set(
            r->error, ERROR_NO_TUNE, "there is no tune X:%d, only X:%d", reference, least);
    return error_set(r->error, ERROR_NO_TUNE,
        "there is no tune X:%d; its %d tunes are from X:%d to X:%d", reference, count, least, most);
}

static bool read_into(AbcReader *r, const char *text, size_t size, int reference)
{
    AbcLines lines = abc_lines(text, size);
    int tune_line = 0;
    if (!find_tune(&lines, reference, &r->passage->reference, &tune_line)) {
        if (reference == 0)
            return error_set(r->error, ERROR_NO_TUNE, "no tune begins here: there is no X: field");
        return no_such_tune(r, text, size, reference);
    }
    if (!abc_score_reserve(&r->score, tune_bytes(lines)))
        return error_set(r->error, ERROR_MEMORY, "out of memory for notes");
    if (!file_header(r, text, size) || !read_tune(r, &lines, tune_line))
        return false;
    if (!abc_build(r)) {
        if (r->error != NULL && r->error->kind == ERROR_EMPTY)
            r->error->line = tune_line;
        return false;
    }
    return true;
}

Passage *abc_read(const char *text, size_t size, int reference, Error *error)
{
    Error unwanted;
    if (error == NULL)
        error = &unwanted;
    if (!check_size(size, error))
        return NULL;
    AbcReader *r = calloc(1, sizeof *r);
    Passage *p = passage_new();
    bool ok = r != NULL && p != NULL;
    if (ok) {
        r->passage = p;
        r->error = error;
        r->metre = metre(4, 4);
        r->unit = ratio(1, 2);
        ok = read_into(r, text, size, reference);
        abc_score_free(&r->score);
        abc_macros_free(r);
    } else {
        error_set(error, ERROR_MEMORY, "out of memory for a tune");
    }
    free(r);
    if (ok)
        return p;
    passage_free(p);
    return NULL;
}
