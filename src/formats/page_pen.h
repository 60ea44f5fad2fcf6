/* page_pen.h - the pen that the files page_*.c of this folder share: lengths in millimetres from
 * the page's top left, letters sized by the height of their capitals, pages as they fill up. */
#ifndef PAGE_PEN_H
#define PAGE_PEN_H

#include "evenhand/formats/page.h"

#include <cairo.h>

enum { PAGE_LINE_MAX = 400 };

/* Colours only repeat what a shape tells. */
typedef enum { INK_BLACK, INK_GREY, INK_PALE, INK_RED, INK_BLUE } Ink;

typedef struct {
    double cap; /* height of a capital (of a digit, for fingers) */
    bool bold;
    Ink ink;
    const char *what; /* the box's name */
} Lettering;

typedef struct PagePen PagePen;
struct PagePen {
    const char *title;          /* of the whole: in the file, and below later pages */
    void (*draw)(PagePen *pen); /* puts down all of it, at pen->scale, from pen->y on */
    const double *scales;       /* to be tried, largest first; all has room on one page, or it */
    int scale_count;            /* is the last of them */
    const void *of;             /* what page_record.c draws */
    const Passage *p;           /* of a passage's page, with what follows; else NULL */
    const Fingering *f;
    const Rotation *r;
    const Setting *setting; /* NULL: none */
    const PageOptions *options;
    cairo_t *cr;
    double width, height, left, right, bottom; /* paper, and what may be written on */
    double scale;                              /* of the passage; 1: as small as it gets */
    double y;                                  /* where the next thing goes */
    int page;                                  /* the one being filled, from 1 */
    int pages;                                 /* of all; 0: not known, nothing is drawn */
    double cap_ratio[2], digit_ratio;          /* height for a size of 1: plain, bold */
    bool signs;                                /* the font has sharps, flats and naturals */
    PageBox *boxes;                            /* kept where keep_boxes */
    size_t box_count, box_room;
    bool keep_boxes, failed;
};

static inline double page_larger(double a, double b)
{
    return a > b ? a : b;
}

/* Paper and font, once; begins no page. */
void page_pen_start(PagePen *pen);
/* Begins the next page: its running lines, pen->y below them. */
void page_turn(PagePen *pen);
/* Turns the page unless there are `height` left on it. Returns whether it turned. */
bool page_room(PagePen *pen, double height);
/* True where ink goes on paper: the page is one that was asked for. */
bool page_inked(const PagePen *pen);

/* Width of the ink of a text. */
double page_width_of(PagePen *pen, const Lettering *l, const char *utf8);
/* Text with its ink's left edge (align 0), middle (0.5) or right edge (1) at x, standing on y. */
void page_text(
    PagePen *pen, double x, double y, double align, const Lettering *l, const char *utf8);
/* The same cut with "..." at `width`. */
void page_text_cut(
    PagePen *pen, double x, double y, double width, const Lettering *l, const char *utf8);
/* Words wrapped between x and the right margin, `leading` from line to line, over pages. pen->y
 * is the top of the first line and comes out below the last. */
void page_paragraph(PagePen *pen, double x, double leading, const Lettering *l, const char *utf8);

void page_set_ink(PagePen *pen, Ink ink);
void page_line(PagePen *pen, double x1, double y1, double x2, double y2, double width, Ink ink);
void page_dashes(PagePen *pen, double x1, double y1, double x2, double y2, double width, Ink ink);
void page_box(PagePen *pen, const char *what, double x, double y, double width, double height);
/* Name of a note as the options have it. Returns out. */
const char *page_name(const PagePen *pen, Pitch pitch, char out[PITCH_NAME_MAX]);

/* What tells a C or an F string without colour, around its name as page_text put it there in the
 * middle: a frame, a bar below. */
void page_name_mark(
    PagePen *pen, int letter, double x, double y, const Lettering *l, const char *name, double s);

/* page_signs.c: each around or from a point, `s` times its usual size. */
void page_sign_under(PagePen *pen, double x1, double x2, double y, double s);
void page_sign_over(PagePen *pen, double x1, double x2, double y, double s);
void page_sign_replace(PagePen *pen, double x, double top, double bottom, double s);
void page_sign_lift(PagePen *pen, double x, double y, double s);
void page_sign_hand(PagePen *pen, double x, double y, double s);
void page_sign_afresh(PagePen *pen, double x, double y, double s);
void page_sign_strong(PagePen *pen, double x, double y, double s);
/* A bracket below notes; an end that is open goes on in another system. */
void page_sign_bracket(
    PagePen *pen, double x1, double x2, double y, bool opens, bool closes, double s);

/* page_setting.c: the pedal diagram with its top right corner at x and y (its width is
 * returned, 0 without pedals), and what there is to say about pedals or levers. */
double page_pedals(PagePen *pen, double x, double y);
void page_setting_words(PagePen *pen);
/* What is moved just before the block that begins at `note`: how many, and the k-th in short. */
int page_moves(const PagePen *pen, size_t note);
void page_move(const PagePen *pen, size_t note, int k, char *out, size_t size);

/* page_print.c: measures what the pen draws, then draws the page that is asked for (0: the first),
 * or all, into `out`. */
bool page_print(PagePen *pen, const PageOptions *options, Text *out, int *pages, Error *error);
/* Measures and hands over the boxes; nothing is drawn. */
bool page_print_boxes(PagePen *pen, PageBox **boxes, size_t *count, Error *error);

void page_title(PagePen *pen);   /* page_title.c: above the first page */
void page_systems(PagePen *pen); /* page_systems.c: the passage */
void page_legend(PagePen *pen);  /* page_title.c: what the signs mean */
void page_table(PagePen *pen);   /* page_table.c: where moving accents land */

#endif
