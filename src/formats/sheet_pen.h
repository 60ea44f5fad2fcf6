/* sheet_pen.h - inside the sheet only: a pen that remembers whether memory ran out, so that a
 * table's code reads as the table. */
#ifndef EVENHAND_FORMATS_SHEET_PEN_H
#define EVENHAND_FORMATS_SHEET_PEN_H

#include "evenhand/formats/sheet.h"

typedef struct {
    Text *out;
    bool utf8;
    int width;
    bool failed; /* no memory: all later strokes are passed over */
    const Passage *p;
    const Fingering *f;
    const Rotation *r;
    Names names;
    bool by_turns; /* hand over hand: the hands are told ... */
    bool left_first;
} Pen;

void pen_put(Pen *pen, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Text padded with blanks to `columns`; what is longer ends in the sign for "and so on". */
void pen_field(Pen *pen, const char *utf8, int columns);
/* Words from column `at` on, wrapped at the sheet's width with an indent of `at`; ends the line. */
void pen_wrap(Pen *pen, const char *words, int at);
void pen_heading(Pen *pen, const char *words);
/* The name of passage note i: "F#4", with utf8 "F♯4", as the octaves are told. */
const char *pen_name(const Pen *pen, size_t note, char out[PITCH_NAME_MAX]);

void sheet_systems(Pen *pen);
void sheet_groups(Pen *pen);
void sheet_plans(Pen *pen, const Fingering *plans, int count);
void sheet_harp(Pen *pen, const Setting *setting);
void sheet_brief(Pen *pen, const Setting *setting); /* both in a few lines */
bool sheet_accents(Pen *pen, Error *error);
bool sheet_session(Pen *pen, const Session *s, Error *error);

#endif
