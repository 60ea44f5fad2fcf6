/* record_text.h - lists of the practice record as tables, CSV and JSON. Pure.
 *
 * The share of clean repetitions stands before every count: what stays goes with it, not with
 * minutes or repetitions. [Duke, Simmons & Cash 2009, J. Research in Music Education 56(4)]
 */
#ifndef EVENHAND_FORMATS_RECORD_TEXT_H
#define EVENHAND_FORMATS_RECORD_TEXT_H

#include "evenhand/music/text.h"
#include "evenhand/plan/record.h"

/* `lines` is lent. Names are any bytes: where they are no UTF-8 they are read as Latin-1. */
typedef struct {
    RecordBy by;
    const RecordLine *lines;
    size_t count;
    Day today;
    int stale_days; /* from 1: a line is stale when its latest day is so many days ago, or more */
} RecordList;

/* Students and days do not go stale; what is practised does. */
bool record_stale(const RecordList *list, const RecordLine *line);

/* Tables for reading, at most 80 columns a line, names cleaned for a terminal.
 *
 *     passage                         clean  best clean        repetitions  last
 *     Run in G                         83 %  1/4 = 92                   24  2026-11-25
 *
 * Appends the list under its heading, and below it what fingers have changed. An empty list says
 * so. ERROR_MEMORY. */
bool record_text(Text *out, const RecordList *list, Error *error);
/* Appends those that have gone stale, longest ago first; nothing where there are none. */
bool record_text_stale(Text *out, const RecordList *list, Error *error);
/* Appends what there is to say of today: `passages` and `drills` of today alone; `all`: the
 * passages of all days. What was last where nothing is recorded today; then what has gone stale,
 * and what fingers have changed. */
bool record_text_today(Text *out, const RecordList *passages, const RecordList *drills,
    const RecordList *all, Error *error);

/* For programs: names whole, one line or object for each RecordLine.
 * CSV: a heading, fields between commas, lines end in CR LF. [RFC 4180]
 * JSON: one object; what could act on a terminal is escaped. [RFC 8259]
 * A name that is "" is one: that of the player who never gave it. */
bool record_csv(Text *out, const RecordList *list, Error *error);
bool record_json(Text *out, const RecordList *list, Error *error);

#endif
