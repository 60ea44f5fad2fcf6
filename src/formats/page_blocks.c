#include "page_systems.h"

#include <stdio.h>
#include <string.h>

static Ink ink_of(int letter)
{
    return letter == LETTER_C ? INK_RED : letter == LETTER_F ? INK_BLUE : INK_BLACK;
}

/* The strings a harpist looks for: C in full, F dashed, each named where there is room. */
void system_strings(System *s)
{
    const double k = s->pen->scale, left = s->pen->left;
    char name[PITCH_NAME_MAX];
    for (int string = s->low; string <= s->high; string++) {
        int letter = string % 7;
        double y = s->stair_bottom - (string - s->low) * s->string_step;
        Pitch pitch = {.letter = (int8_t)letter, .octave = (int8_t)(string / 7)};
        Lettering label = {1.8 * k, false, ink_of(letter), "string"};
        if (letter != LETTER_C && letter != LETTER_F)
            continue;
        double from = left + 8 * (k < 1.2 ? k : 1.2);
        if (letter == LETTER_C)
            page_line(s->pen, from, y, s->right, y, 0.3, INK_RED);
        else
            page_dashes(s->pen, from, y, s->right, y, 0.3, INK_BLUE);
        if (s->string_step * (letter == LETTER_C ? 7 : 3) > 2.6 * k &&
            (letter == LETTER_C || s->string_step * 3 > 2.6 * k))
            page_text(s->pen, left, y + label.cap / 2, 0, &label, page_name(s->pen, pitch, name));
    }
}

static void beat(System *s, size_t block)
{
    const double k = s->pen->scale;
    char text[RATIO_TEXT_MAX];
    Ratio at = passage_beat(s->pen->p, block);
    Lettering l = s->beat;
    if (at.den == 1)
        ratio_text(at, text);
    else
        strcpy(text, at.den == 2 ? "+" : ".");
    l.bold = at.den == 1;
    l.ink = at.den == 1 ? INK_BLACK : INK_GREY;
    page_text(s->pen, s->x[block], s->top + 6.2 * k, 0.5, &l, text);
    if (s->pen->r->places[0].shift.num == 0 && rotation_accents(s->pen->r, block, 0))
        page_sign_strong(s->pen, s->x[block], s->top + 8.5 * k, 0.95 * k);
}

static void bar_line(System *s, size_t block)
{
    const double k = s->pen->scale;
    const Bar *bar = &s->pen->p->bars[s->pen->p->notes[block].bar];
    char number[16];
    double x = s->x[block] - s->cell * s->stretch / 2 - 0.4 * s->gap * s->stretch;
    page_line(s->pen, x, s->top + 3.4 * k, x, s->finger_bottom + 0.5 * k, 0.35 * k, INK_BLACK);
    snprintf(number, sizeof number, "%d", bar->number);
    if (bar->number > 0)
        page_text(s->pen, x - 0.2 * k, s->top + 2.3 * k, 0, &s->bar, number);
}

static void head(System *s, size_t note)
{
    const double k = s->pen->scale, wide = 1.55 * k, high = 1.15 * k;
    PagePen *pen = s->pen;
    double x = s->x[note], y = system_note_y(s, note);
    page_box(pen, "note", x - wide, y - high, 2 * wide, 2 * high);
    if (!page_inked(pen))
        return;
    page_set_ink(pen, ink_of(pen->p->notes[note].pitch.letter));
    cairo_new_path(pen->cr);
    cairo_save(pen->cr);
    cairo_translate(pen->cr, x, y);
    cairo_scale(pen->cr, wide, high);
    cairo_arc(pen->cr, 0, 0, 1, 0, 6.2831853);
    cairo_restore(pen->cr);
    cairo_fill(pen->cr);
}

/* Names and fingers, the lowest note at the bottom. */
static void words(System *s, size_t block, size_t end)
{
    char name[PITCH_NAME_MAX], digit[2] = "";
    double finger_base = s->finger_bottom;
    for (size_t i = block; i < end; i++) {
        Pitch pitch = s->pen->p->notes[i].pitch;
        Lettering l = s->name;
        double y = s->name_base - (double)(i - block) * s->name_row;
        l.ink = ink_of(pitch.letter);
        page_name(s->pen, pitch, name);
        page_text(s->pen, s->x[block], y, 0.5, &l, name);
        page_name_mark(s->pen, pitch.letter, s->x[block], y, &l, name, s->pen->scale);
        if (s->pen->f->notes[i].finger == 0)
            continue;
        digit[0] = (char)('0' + s->pen->f->notes[i].finger);
        page_text(s->pen, s->x[block], finger_base, 0.5, &s->finger, digit);
        finger_base -= s->finger_row;
    }
}

void system_block(System *s, size_t block)
{
    size_t end = passage_block_end(s->pen->p, block);
    double names_top =
        s->name_base - (double)(end - block - 1) * s->name_row - s->name.cap - 0.9 * s->pen->scale;
    if (system_bar_starts(s->pen, block))
        bar_line(s, block);
    beat(s, block);
    page_line(s->pen, s->x[block], system_note_y(s, block), s->x[block], names_top, 0.2, INK_PALE);
    for (size_t i = block; i < end; i++)
        head(s, i);
    words(s, block, end);
}
