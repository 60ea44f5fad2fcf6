/* sheet.h - the drill sheet and the tab-separated lists, as text into a FILE-less buffer. Pure.
 *
 * Each function appends to a Text (text.h) and returns false only without memory.
 */
#ifndef EVENHAND_FORMATS_SHEET_H
#define EVENHAND_FORMATS_SHEET_H

#include "evenhand/drill/session.h"
#include "evenhand/drill/timeline.h"
#include "evenhand/music/text.h"

typedef struct {
    bool utf8; /* accidentals, link signs and brackets beyond ASCII */
    int width; /* columns; 0: 80 */
} SheetStyle;

/* `evenhand notes`: header line, then index, bar, beat, pitch, midi, onset, duration, finger,
 * group, hand; tab-separated; onset and duration as fractions of a quarter. */
bool sheet_notes(Text *out, const Passage *p, const Fingering *f, Error *error);
/* `evenhand show`: the passage with fingers, groups and links, the accent table (places x
 * fingers with counts), and the session with its length in minutes at `rate`. */
bool sheet_show(Text *out, const Passage *p, const Fingering *f, const Rotation *r,
    const Session *s, const SheetStyle *style, Error *error);
/* `evenhand timeline`: header if `header`, then frame, bar, beat, kind, level, note, finger,
 * group; frames are counted from `start_frame`. */
bool sheet_timeline(Text *out, const Timeline *t, int64_t start_frame, bool header, Error *error);

#endif
