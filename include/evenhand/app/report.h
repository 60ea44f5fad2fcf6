/* report.h - what the program tells outside its screen: results on standard output, errors,
 * notices and progress on standard error. Console thread. */
#ifndef EVENHAND_APP_REPORT_H
#define EVENHAND_APP_REPORT_H

#include "evenhand/music/passage.h"
#include "evenhand/music/text.h"

#include <stdint.h>

/* Writes all of it to standard output. A reader that has gone away (a closed pipe) is no error:
 * it has had what it wanted. ERROR_WRITE otherwise, as on a full disk. */
bool report_text(const Text *text, Error *error);
/* "evenhand: source:line:column: text. advice" on standard error. */
void report_error(const Error *error);
/* The passage's notices ("grace notes are left out ...") on standard error, one line each.
 * `given` is as load_passage took it. */
void report_notices(const Passage *p, const char *given);
/* A TrackProgress: draws "writing: 42 %" over itself where standard error is a terminal.
 * Context: NULL. False once SIGINT, SIGTERM, SIGHUP or SIGQUIT came in (report_watch_signals). */
bool report_progress(void *context, int64_t done, int64_t total);
void report_progress_end(void); /* wipes the line */

/* From watch to rethrow these signals are kept, so that no half file stays behind; rethrow
 * restores them and sends on the one that came, if any. */
void report_watch_signals(void);
void report_rethrow_signals(void);

#endif
