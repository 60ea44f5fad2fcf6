#include "page_pen.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ASKED = 100 }; /* the size at which the font is measured */

static const double margin = 12, footer = 6;

static void choose_font(PagePen *pen, bool bold, double size)
{
    cairo_select_font_face(pen->cr, "sans", CAIRO_FONT_SLANT_NORMAL,
        bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(pen->cr, size);
}

/* The lowest of these letters, for a size of 1. */
static double measure(PagePen *pen, bool bold, const char *letters)
{
    double least = ASKED;
    choose_font(pen, bold, ASKED);
    for (; *letters != '\0'; letters++) {
        cairo_text_extents_t e;
        const char one[2] = {*letters, '\0'};
        cairo_text_extents(pen->cr, one, &e);
        least = e.height > 0 && e.height < least ? e.height : least;
    }
    return least / ASKED;
}

/* A font may lack the signs; it then has the glyph number 0 for them. */
static bool has_signs(PagePen *pen)
{
    static const char signs[] = "\u266D\u266E\u266F"; /* flat, natural, sharp */
    cairo_glyph_t *glyphs = NULL;
    int count = 0;
    choose_font(pen, true, ASKED);
    bool all = cairo_scaled_font_text_to_glyphs(cairo_get_scaled_font(pen->cr), 0, 0, signs, -1,
                   &glyphs, &count, NULL, NULL, NULL) == CAIRO_STATUS_SUCCESS &&
               count == 3;
    for (int i = 0; all && i < count; i++)
        all = glyphs[i].index != 0;
    cairo_glyph_free(glyphs);
    return all;
}

void page_pen_start(PagePen *pen)
{
    bool letter = pen->options->paper == PAPER_LETTER;
    pen->width = letter ? 215.9 : 210;
    pen->height = letter ? 279.4 : 297;
    pen->left = margin;
    pen->right = pen->width - margin;
    pen->bottom = pen->height - margin - footer;
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_set_font_options(pen->cr, options);
    cairo_font_options_destroy(options);
    pen->cap_ratio[0] = measure(pen, false, "H");
    pen->cap_ratio[1] = measure(pen, true, "H");
    pen->digit_ratio = measure(pen, true, "1234");
    pen->signs = has_signs(pen);
}

bool page_inked(const PagePen *pen)
{
    return pen->pages > 0 && (pen->options->format == PAGE_PDF || pen->page == pen->options->page);
}

void page_turn(PagePen *pen)
{
    static const Lettering small = {1.9, false, INK_GREY, "footer"};
    char text[64], title[PASSAGE_TITLE_MAX] = "";
    if (pen->page > 0 && pen->options->format == PAGE_PDF && pen->pages > 0)
        cairo_show_page(pen->cr);
    pen->page++;
    pen->y = margin + 1; /* some letters rise above capitals */
    double y = pen->height - margin - 0.8;
    page_text(pen, pen->left, y, 0, &small, "evenhand");
    int pages = pen->pages > 0 ? pen->pages : pen->page;
    snprintf(text, sizeof text, "page %d of %d", pen->page, pages);
    page_text(pen, pen->right, y, 1, &small, text);
    if (pen->page > 1)
        page_text_cut(pen, pen->left + 25, y, pen->right - pen->left - 60, &small,
            text_clean(pen->title, title, sizeof title));
}

bool page_room(PagePen *pen, double height)
{
    if (pen->y + height <= pen->bottom)
        return false;
    page_turn(pen);
    return true;
}

void page_set_ink(PagePen *pen, Ink ink)
{
    static const double colours[][3] = {
        {0, 0, 0}, {0.35, 0.35, 0.35}, {0.78, 0.78, 0.78}, {0.76, 0.05, 0.1}, {0.06, 0.14, 0.5}};
    const double *c = colours[ink];
    cairo_set_source_rgb(pen->cr, c[0], c[1], c[2]);
}

void page_box(PagePen *pen, const char *what, double x, double y, double width, double height)
{
    if (!pen->keep_boxes || pen->failed)
        return;
    if (pen->box_count == pen->box_room) {
        size_t room = pen->box_room == 0 ? 256 : 2 * pen->box_room;
        PageBox *more = realloc(pen->boxes, room * sizeof *more);
        if (more == NULL) {
            pen->failed = true;
            return;
        }
        pen->boxes = more;
        pen->box_room = room;
    }
    PageBox *b = &pen->boxes[pen->box_count++];
    *b = (PageBox){.page = pen->page, .x = x, .y = y, .width = width, .height = height};
    snprintf(b->what, sizeof b->what, "%s", what);
}

static cairo_text_extents_t ink_of(PagePen *pen, const Lettering *l, const char *utf8)
{
    cairo_text_extents_t e;
    bool finger = strcmp(l->what, "finger") == 0;
    choose_font(pen, l->bold, l->cap / (finger ? pen->digit_ratio : pen->cap_ratio[l->bold]));
    cairo_text_extents(pen->cr, utf8, &e);
    return e;
}

double page_width_of(PagePen *pen, const Lettering *l, const char *utf8)
{
    return ink_of(pen, l, utf8).width;
}

void page_text(PagePen *pen, double x, double y, double align, const Lettering *l, const char *utf8)
{
    if (utf8[0] == '\0')
        return;
    cairo_text_extents_t e = ink_of(pen, l, utf8);
    double at = x - align * e.width;
    page_box(pen, l->what, at, y + e.y_bearing, e.width, e.height);
    if (!page_inked(pen))
        return;
    page_set_ink(pen, l->ink);
    cairo_move_to(pen->cr, at - e.x_bearing, y);
    cairo_show_text(pen->cr, utf8);
}

/* Where the character before `at` begins. */
static size_t before(const char *utf8, size_t at)
{
    for (at--; at > 0 && ((unsigned char)utf8[at] & 0xC0u) == 0x80u; at--)
        ;
    return at;
}

void page_text_cut(
    PagePen *pen, double x, double y, double width, const Lettering *l, const char *utf8)
{
    char cut[PAGE_LINE_MAX + 4] = "...";
    size_t size = strlen(utf8);
    if (page_width_of(pen, l, utf8) <= width) {
        page_text(pen, x, y, 0, l, utf8);
        return;
    }
    for (size = size < PAGE_LINE_MAX ? size : before(utf8, PAGE_LINE_MAX); size > 0;
         size = before(utf8, size)) {
        memcpy(cut, utf8, size);
        strcpy(cut + size, "...");
        if (page_width_of(pen, l, cut) <= width)
            break;
    }
    page_text(pen, x, y, 0, l, cut);
}

/* As many words as fit go from *at into line; one that is too long alone goes whole. */
static void next_line(
    PagePen *pen, double width, const Lettering *l, const char **at, char line[PAGE_LINE_MAX])
{
    size_t size = 0;
    line[0] = '\0';
    while (**at != '\0') {
        size_t word = strcspn(*at, " "), blank = size > 0 ? 1 : 0;
        if (word > PAGE_LINE_MAX / 2)
            word = before(*at, PAGE_LINE_MAX / 2);
        if (size + blank + word + 1 > PAGE_LINE_MAX)
            return;
        line[size] = ' ';
        memcpy(line + size + blank, *at, word);
        line[size + blank + word] = '\0';
        if (blank > 0 && page_width_of(pen, l, line) > width) {
            line[size] = '\0';
            return;
        }
        size += blank + word;
        *at += word;
        *at += strspn(*at, " ");
    }
}

void page_paragraph(PagePen *pen, double x, double leading, const Lettering *l, const char *utf8)
{
    char line[PAGE_LINE_MAX];
    while (*utf8 != '\0') {
        next_line(pen, pen->right - x, l, &utf8, line);
        page_room(pen, leading);
        page_text_cut(pen, x, pen->y + l->cap, pen->right - x, l, line);
        pen->y += leading;
    }
}

void page_line(PagePen *pen, double x1, double y1, double x2, double y2, double width, Ink ink)
{
    if (!page_inked(pen))
        return;
    page_set_ink(pen, ink);
    cairo_set_line_width(pen->cr, width);
    cairo_move_to(pen->cr, x1, y1);
    cairo_line_to(pen->cr, x2, y2);
    cairo_stroke(pen->cr);
}

void page_dashes(PagePen *pen, double x1, double y1, double x2, double y2, double width, Ink ink)
{
    static const double dashes[] = {2.2, 1.4};
    cairo_set_dash(pen->cr, dashes, 2, 0);
    page_line(pen, x1, y1, x2, y2, width, ink);
    cairo_set_dash(pen->cr, NULL, 0, 0);
}

const char *page_name(const PagePen *pen, Pitch pitch, char out[PITCH_NAME_MAX])
{
    return names_pitch(pitch, pen->options->names, pen->signs, out);
}
