/* remarks.h - what is to be said against the fingers that a file marks. Console thread. */
#ifndef EVENHAND_APP_REMARKS_H
#define EVENHAND_APP_REMARKS_H

#include "evenhand/harp/explain.h"
#include "evenhand/music/text.h"

typedef struct {
    Findings all;   /* in order of notes */
    bool *against;  /* for each: the marks brought it about, the plan without them has it not */
    size_t counted; /* how many of them are */
    bool marked;    /* there are marks, and they are honoured */
} Remarks;

/* ERROR_MEMORY. The caller frees. */
bool remarks_make(const Passage *p, const FingeringOptions *options, Remarks *out, Error *error);
void remarks_free(Remarks *r); /* leaves it zeroed */

/* Adds a notice, which counts all remarks, to a passage whose marks break a rule or finger a run
 * in two ways; nothing to others. */
bool remarks_notice(Passage *p, const FingeringOptions *options, Error *error);

/* `evenhand show --check`: "source:line:column: kind: text" for each, and a line that counts
 * them. What comes with the marks or without them says so. */
bool remarks_text(Text *out, const Remarks *r, const Passage *p, const char *source, Error *error);

#endif
