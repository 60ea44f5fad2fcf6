#include "sheet_pen.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void pen_put(Pen *pen, const char *format, ...)
{
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    int size = vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    size_t kept = size < 0 ? 0 : (size_t)size < sizeof text ? (size_t)size : sizeof text - 1;
    if (!pen->failed && !text_add_bytes(pen->out, text, kept))
        pen->failed = true;
}

/* Bytes of the character that begins at s. */
static size_t character(const char *s)
{
    size_t size = 1;
    while (((unsigned char)s[size] & 0xC0) == 0x80)
        size++;
    return size;
}

void pen_field(Pen *pen, const char *utf8, int columns)
{
    int wide = text_columns(utf8);
    if (wide <= columns) {
        pen_put(pen, "%s%*s", utf8, columns - wide, "");
        return;
    }
    char kept[512] = "";
    size_t size = 0, last = strlen(utf8);
    while (size < last && size + 8 < sizeof kept) {
        size_t next = size + character(utf8 + size);
        memcpy(kept + size, utf8 + size, next - size);
        kept[next] = '\0';
        if (text_columns(kept) > columns - 1) {
            kept[size] = '\0';
            break;
        }
        size = next;
    }
    pen_put(pen, "%s%s%*s", kept, pen->utf8 ? "…" : "~", columns - 1 - text_columns(kept), "");
}

void pen_wrap(Pen *pen, const char *words, int at)
{
    int column = at;
    for (bool first = true; *words; first = false) {
        char word[256];
        size_t size = strcspn(words, " ");
        if (words[size] == ' ' && words[size + 1] == '(')
            size += 1 + strcspn(words + size + 1, " "); /* "C4 (3)" stays on one line */
        size_t kept = size < sizeof word ? size : sizeof word - 1;
        memcpy(word, words, kept);
        word[kept] = '\0';
        int wide = text_columns(word);
        if (!first && column + 1 + wide > pen->width) {
            pen_put(pen, "\n%*s", at, "");
            column = at;
        } else if (!first) {
            pen_put(pen, " ");
            column++;
        }
        pen_put(pen, "%s", word);
        column += wide;
        words += size;
        words += strspn(words, " ");
    }
    pen_put(pen, "\n");
}

void pen_heading(Pen *pen, const char *words)
{
    pen_put(pen, "\n%s\n", words);
    for (int i = text_columns(words); i > 0; i--)
        pen_put(pen, "%s", pen->utf8 ? "─" : "-");
    pen_put(pen, "\n");
}

const char *pen_name(const Pen *pen, size_t note, char out[PITCH_NAME_MAX])
{
    return names_pitch(pen->p->notes[note].pitch, pen->names, pen->utf8, out);
}
