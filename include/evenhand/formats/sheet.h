/* sheet.h - the drill sheet and the tab-separated lists, as text into a FILE-less buffer. Pure.
 *
 * Each function appends to a Text (text.h).
 */
#ifndef EVENHAND_FORMATS_SHEET_H
#define EVENHAND_FORMATS_SHEET_H

#include "evenhand/drill/session.h"
#include "evenhand/drill/timeline.h"
#include "evenhand/harp/instrument.h"
#include "evenhand/music/text.h"

typedef struct {
    bool utf8;              /* accidentals, link signs and brackets beyond ASCII */
    int width;              /* columns; 0: 80 */
    Names names;            /* how octaves are told, and labelled */
    const Fingering *plans; /* explained side by side, cheapest first; lent, NULL: none */
    int plan_count;
    const Setting *setting; /* what the passage asks of a harp, made with the same names; lent,
                             * NULL: not told */
    bool brief;             /* the plan that is drilled in words, and of the harp only what has to
                             * be set and moved, in place of both; needs a setting */
} SheetStyle;

/* `evenhand notes`: a header line, then one line a note: index (from 1), bar (as numbered on the
 * page, a pickup 0), beat (as counted, 5/2 = half past 2), pitch, midi, onset, duration (both in
 * quarters), finger, group (from 1), hand: right, left or both. Tab-separated; "-" where there is
 * none. */
bool sheet_notes(Text *out, const Passage *p, const Fingering *f, Error *error);

/* `evenhand show`: the passage with fingers, groups and links, the plans and the harp's
 * setting where the style has them, the accent tables (places x fingers with counts), the session
 * with its length in minutes, and the notes of its placing drills, each once. ERROR_MEMORY, or what
 * session_frames says. */
bool sheet_show(Text *out, const Passage *p, const Fingering *f, const Rotation *r,
    const Session *s, const SheetStyle *style, Error *error);

/* `evenhand timeline`: the header line, and events first .. first + count - 1 as lines: frame
 * (counted from `start_frame`), bar, beat, kind, level, note, finger, group; numbered as in
 * sheet_notes. */
bool sheet_timeline_header(Text *out, Error *error);
bool sheet_timeline(
    Text *out, const Timeline *t, int64_t start_frame, size_t first, size_t count, Error *error);

#endif
