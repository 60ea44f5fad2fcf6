/* Where the moving accent lands: places by fingers, and the notes. */
#include "page_pen.h"

#include <stdio.h>
#include <string.h>

static const Lettering bold = {2.2, true, INK_BLACK, "table"};
static const Lettering plain = {2.2, false, INK_BLACK, "table"};

static const double row = 4.4;
/* Middles of the columns, from the left margin; the notes begin at `notes_at`. */
static const double place_at = 5, moved_at = 19, count_at = 33, fingers_at = 43, finger_step = 8;

static bool unfingered(const PagePen *pen)
{
    for (size_t i = 0; i < pen->r->place_count; i++)
        if (pen->r->places[i].by_finger[0] > 0)
            return true;
    return false;
}

static double notes_at(const PagePen *pen)
{
    return pen->left + fingers_at + finger_step * (unfingered(pen) ? 5 : 4);
}

static void number(PagePen *pen, double at, const Lettering *l, int n)
{
    char text[24];
    snprintf(text, sizeof text, "%d", n);
    page_text(pen, pen->left + at, pen->y + l->cap, 0.5, l, text);
}

static void head(PagePen *pen)
{
    double y = pen->y + bold.cap;
    page_text(pen, pen->left + place_at, y, 0.5, &bold, "place");
    page_text(pen, pen->left + moved_at, y, 0.5, &bold, "moved");
    page_text(pen, pen->left + count_at, y, 0.5, &bold, "notes");
    for (int finger = 1; finger <= 4; finger++)
        number(pen, fingers_at + finger_step * (finger - 0.5), &bold, finger);
    if (unfingered(pen))
        page_text(pen, pen->left + fingers_at + finger_step * 4.5, y, 0.5, &bold, "none");
    page_text(pen, notes_at(pen) + 2, y, 0, &bold, "lands on (note and finger)");
    page_line(pen, pen->left, pen->y + row - 0.9, pen->right, pen->y + row - 0.9, 0.3, INK_BLACK);
    pen->y += row + 0.4;
}

/* "G4-4 D5-1 ...": what carries the accent at this place. */
static bool landings(const PagePen *pen, size_t place, Text *out)
{
    char name[PITCH_NAME_MAX];
    bool done = true;
    for (size_t i = 0; done && i < pen->p->note_count; i = passage_block_end(pen->p, i)) {
        if (!rotation_accents(pen->r, i, (int)place))
            continue;
        int finger = pen->f->notes[i].finger;
        done = text_add(out, finger > 0 ? "%s%s (%d)" : "%s%s", out->size > 0 ? " " : "",
            page_name(pen, pen->p->notes[i].pitch, name), finger);
    }
    return done;
}

static void place_row(PagePen *pen, size_t index)
{
    const RotationPlace *place = &pen->r->places[index];
    Text notes = {0};
    char moved[RATIO_TEXT_MAX];
    if (page_room(pen, row))
        head(pen);
    number(pen, place_at, &bold, (int)index + 1);
    ratio_text(ratio_div(place->shift, ratio_int(4)), moved);
    page_text(pen, pen->left + moved_at, pen->y + plain.cap, 0.5, &plain, moved);
    number(pen, count_at, &plain, place->notes);
    for (int finger = 1; finger <= 4; finger++)
        number(pen, fingers_at + finger_step * (finger - 0.5), &plain, place->by_finger[finger]);
    if (unfingered(pen))
        number(pen, fingers_at + finger_step * 4.5, &plain, place->by_finger[0]);
    if (!landings(pen, index, &notes))
        pen->failed = true;
    double top = pen->y;
    page_paragraph(pen, notes_at(pen) + 2, row, &plain, notes.bytes != NULL ? notes.bytes : "");
    if (notes.size == 0)
        pen->y = top + row;
    text_free(&notes);
}

void page_table(PagePen *pen)
{
    static const Lettering title = {2.8, true, INK_BLACK, "table"};
    char step[RATIO_TEXT_MAX], text[160];
    size_t places = pen->r->place_count;
    page_room(pen, 6 + row * (double)(places < 8 ? places + 2 : 10));
    page_text(pen, pen->left, pen->y + title.cap, 0, &title, "Where the moving accent lands");
    ratio_text(ratio_div(pen->r->subdivision, ratio_int(4)), step);
    snprintf(text, sizeof text, "strong beats, then moved by %s until they return: %zu place%s",
        step, places, places == 1 ? "" : "s");
    page_text(pen, pen->right, pen->y + title.cap, 1, &plain, text);
    pen->y += 6.5;
    head(pen);
    for (size_t i = 0; i < places; i++)
        place_row(pen, i);
}
