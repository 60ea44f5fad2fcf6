#include "abc_lines.h"

#include <string.h>

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\f' || c == '\v';
}

static const char *find(const char *at, const char *end, char c)
{
    const char *found = at < end ? memchr(at, c, (size_t)(end - at)) : NULL;
    return found != NULL ? found : end;
}

AbcLines abc_lines(const char *text, size_t size)
{
    static const char mark[] = "\xEF\xBB\xBF";
    size_t skip = size >= 3 && memcmp(text, mark, 3) == 0 ? 3 : 0;
    return (AbcLines){.at = text + skip, .end = text + size, .number = 1};
}

bool abc_lines_next(AbcLines *lines, AbcLine *line)
{
    if (lines->at >= lines->end)
        return false;
    if (lines->feed == NULL || lines->feed < lines->at)
        lines->feed = find(lines->at, lines->end, '\n');
    const char *at = find(lines->at, lines->feed, '\r');
    *line = (AbcLine){.at = lines->at, .size = (size_t)(at - lines->at), .number = lines->number++};
    if (at < lines->end)
        at += *at == '\r' && at + 1 < lines->end && at[1] == '\n' ? 2 : 1;
    lines->at = at;
    return true;
}

bool abc_line_blank(const AbcLine *line)
{
    for (size_t i = 0; i < line->size; i++)
        if (!is_blank(line->at[i]))
            return false;
    return true;
}

void abc_line_trim(AbcLine *line)
{
    while (line->size > 0 && is_blank(line->at[line->size - 1]))
        line->size--;
    while (line->size > 0 && is_blank(line->at[0])) {
        line->at++;
        line->size--;
    }
}

void abc_line_uncomment(AbcLine *line)
{
    const char *end = line->at + line->size, *at = find(line->at, end, '%');
    while (at < end && at > line->at && at[-1] == '\\')
        at = find(at + 1, end, '%');
    line->size = (size_t)(at - line->at);
    while (line->size > 0 && is_blank(line->at[line->size - 1]))
        line->size--;
}

char abc_line_field(const AbcLine *line, AbcLine *value)
{
    size_t i = 0;
    while (i < line->size && is_blank(line->at[i]))
        i++;
    if (i + 1 >= line->size)
        return 0;
    char letter = line->at[i];
    bool known = (letter >= 'A' && letter <= 'Z') || (letter >= 'a' && letter <= 'z') ||
                 (letter == '+' && i == 0);
    if (!known || line->at[i + 1] != ':')
        return 0;
    if (i + 2 < line->size && (line->at[i + 2] == '|' || line->at[i + 2] == ':'))
        return 0;
    *value = (AbcLine){.at = line->at + i + 2, .size = line->size - i - 2, .number = line->number};
    abc_line_uncomment(value);
    abc_line_trim(value);
    return letter;
}

bool abc_line_tune(const AbcLine *line, AbcLine *value)
{
    size_t i = 0;
    while (i < line->size && is_blank(line->at[i]))
        i++;
    return i < line->size && line->at[i] == 'X' && abc_line_field(line, value) == 'X';
}

bool abc_line_word(const AbcLine *value, const char *word, AbcLine *rest)
{
    size_t n = strlen(word);
    if (value->size < n || memcmp(value->at, word, n) != 0)
        return false;
    if (value->size > n && !is_blank(value->at[n]))
        return false;
    *rest = (AbcLine){.at = value->at + n, .size = value->size - n, .number = value->number};
    abc_line_trim(rest);
    return true;
}

int abc_line_number(const AbcLine *value)
{
    enum { LARGEST = 100000000 };
    int n = 0;
    for (size_t i = 0; i < value->size && value->at[i] >= '0' && value->at[i] <= '9'; i++)
        if (n < LARGEST)
            n = n * 10 + (value->at[i] - '0');
    return n;
}
