/* The signs of the hand, drawn so that they need no font:
 *
 *   cross under    cross over     replace    lift    other hand    afresh
 *     1   4          .--.            _         ^        <-->          ,
 *      \_/^         4    v1        ( 1 )       |                     /
 */
#include "page_pen.h"

#include <math.h>

static const double pi = 3.14159265358979323846;

/* An arrow's head whose tip is at x, y and which points along `angle`. */
static void head(PagePen *pen, double x, double y, double angle, double s)
{
    const double length = 1.7 * s, spread = 0.45;
    cairo_move_to(pen->cr, x, y);
    cairo_line_to(pen->cr, x - length * cos(angle - spread), y - length * sin(angle - spread));
    cairo_line_to(pen->cr, x - length * cos(angle + spread), y - length * sin(angle + spread));
    cairo_close_path(pen->cr);
    cairo_fill(pen->cr);
}

static bool begin(PagePen *pen, double width)
{
    if (!page_inked(pen))
        return false;
    page_set_ink(pen, INK_BLACK);
    cairo_set_line_width(pen->cr, width);
    cairo_new_path(pen->cr); /* text leaves a point behind */
    return true;
}

/* From x1 to the arrow's tip at x2, both at y, by way of a bow `way` times 3 mm high. */
static void bow(PagePen *pen, double x1, double x2, double y, double way, double s)
{
    double high = way * 3.9 * s, inset = 0.28 * (x2 - x1);
    if (!begin(pen, 0.5 * s))
        return;
    cairo_move_to(pen->cr, x1, y);
    cairo_curve_to(
        pen->cr, x1 + 0.3 * inset, y + high, x2 - inset, y + high, x2 - 0.3 * s, y + way * 1.2 * s);
    cairo_stroke(pen->cr);
    head(pen, x2, y, way > 0 ? -pi / 2 + 0.35 : pi / 2 - 0.35, s);
}

void page_sign_under(PagePen *pen, double x1, double x2, double y, double s)
{
    page_box(pen, "link", x1, y, x2 - x1, 3 * s);
    bow(pen, x1, x2, y, 1, s);
}

void page_sign_over(PagePen *pen, double x1, double x2, double y, double s)
{
    page_box(pen, "link", x1, y - 3 * s, x2 - x1, 3 * s);
    bow(pen, x1, x2, y, -1, s);
}

/* A loop around the finger that stays; its arrow says that the others come back. */
void page_sign_replace(PagePen *pen, double x, double top, double bottom, double s)
{
    double middle = (top + bottom) / 2, radius = (bottom - top) / 2 + 1.5 * s;
    double wide = 3.9 * s / radius;
    if (!begin(pen, 0.5 * s))
        return;
    cairo_save(pen->cr);
    cairo_translate(pen->cr, x, middle);
    cairo_scale(pen->cr, wide, 1);
    cairo_arc(pen->cr, 0, 0, radius, -0.25 * pi, 1.62 * pi);
    cairo_restore(pen->cr);
    cairo_stroke(pen->cr);
    double tip = 1.66 * pi;
    head(
        pen, x + wide * radius * cos(tip) + 0.5 * s, middle + radius * sin(tip) + 0.15 * s, 0.3, s);
}

void page_sign_lift(PagePen *pen, double x, double y, double s)
{
    page_box(pen, "link", x - 0.8 * s, y, 1.6 * s, 3 * s);
    if (!begin(pen, 0.5 * s))
        return;
    cairo_move_to(pen->cr, x, y + 3 * s);
    cairo_line_to(pen->cr, x, y + 1.2 * s);
    cairo_stroke(pen->cr);
    head(pen, x, y, -pi / 2, s);
}

void page_sign_hand(PagePen *pen, double x, double y, double s)
{
    page_box(pen, "link", x - 2.6 * s, y + 0.6 * s, 5.2 * s, 1.8 * s);
    if (!begin(pen, 0.5 * s))
        return;
    cairo_move_to(pen->cr, x - 1.6 * s, y + 1.5 * s);
    cairo_line_to(pen->cr, x + 1.6 * s, y + 1.5 * s);
    cairo_stroke(pen->cr);
    head(pen, x - 2.6 * s, y + 1.5 * s, pi, s);
    head(pen, x + 2.6 * s, y + 1.5 * s, 0, s);
}

void page_sign_afresh(PagePen *pen, double x, double y, double s)
{
    page_box(pen, "link", x - 0.8 * s, y, 1.6 * s, 3 * s);
    if (!begin(pen, 0.45 * s))
        return;
    cairo_arc(pen->cr, x, y + 0.8 * s, 0.75 * s, 0, 2 * pi);
    cairo_fill(pen->cr);
    cairo_move_to(pen->cr, x + 0.55 * s, y + 0.9 * s);
    cairo_curve_to(pen->cr, x + 0.6 * s, y + 1.8 * s, x, y + 2.5 * s, x - 0.6 * s, y + 2.9 * s);
    cairo_stroke(pen->cr);
}

void page_sign_strong(PagePen *pen, double x, double y, double s)
{
    page_box(pen, "strong", x - 1.7 * s, y - s, 3.4 * s, 2 * s);
    if (!begin(pen, 0.6 * s))
        return;
    cairo_move_to(pen->cr, x - 1.7 * s, y - s);
    cairo_line_to(pen->cr, x + 1.7 * s, y);
    cairo_line_to(pen->cr, x - 1.7 * s, y + s);
    cairo_stroke(pen->cr);
}

void page_sign_bracket(
    PagePen *pen, double x1, double x2, double y, bool opens, bool closes, double s)
{
    if (!begin(pen, 0.45 * s))
        return;
    cairo_move_to(pen->cr, x1, opens ? y - 1.7 * s : y);
    cairo_line_to(pen->cr, x1, y);
    cairo_line_to(pen->cr, x2, y);
    if (closes)
        cairo_line_to(pen->cr, x2, y - 1.7 * s);
    cairo_stroke(pen->cr);
}

void page_name_mark(
    PagePen *pen, int letter, double x, double y, const Lettering *l, const char *name, double s)
{
    double half = page_width_of(pen, l, name) / 2 + 0.8 * s, high = l->cap + 1.7 * s;
    if (!page_inked(pen) || (letter != LETTER_C && letter != LETTER_F))
        return;
    page_set_ink(pen, l->ink);
    cairo_set_line_width(pen->cr, letter == LETTER_C ? 0.35 * s : 0.7 * s);
    if (letter == LETTER_C) {
        cairo_rectangle(pen->cr, x - half, y + 0.85 * s - high, 2 * half, high);
    } else {
        cairo_move_to(pen->cr, x - half, y + 1.1 * s);
        cairo_line_to(pen->cr, x + half, y + 1.1 * s);
    }
    cairo_stroke(pen->cr);
}
