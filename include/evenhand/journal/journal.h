/* journal.h - the practice record: one SQLite file, private to the user.
 *
 * One Journal belongs to one thread. Several processes may have the same file open. Every change
 * is durable (synced to the disk) when its function returns true; nothing leaves the machine.
 */
#ifndef EVENHAND_JOURNAL_JOURNAL_H
#define EVENHAND_JOURNAL_JOURNAL_H

#include "evenhand/plan/record.h"

enum { JOURNAL_SCHEMA = 3, JOURNAL_PATH_MAX = 4096, JOURNAL_NEWS_MAX = 240 };

typedef struct Journal Journal;

/* Opens the record, makes it (0600, its directories 0700) where there is none, brings an older
 * schema up to date. A damaged file is set aside (renamed beside it, never overwritten) and a new
 * one begun: journal_news says so. ERROR_RECORD in plain words for a newer schema (untouched), a
 * read-only or missing home, a full disk. NULL on error. */
Journal *journal_open(const char *path, Error *error);
/* As above but changes and makes nothing: for lists. A missing file is an empty record. */
Journal *journal_open_reading(const char *path, Error *error);
void journal_close(Journal *j);             /* NULL is fine */
const char *journal_news(const Journal *j); /* what the player should be told; "" nothing */
/* After a failure: the file was moved away, deleted or is damaged. Closing and opening the journal
 * helps, trying again does not. */
bool journal_stale(const Journal *j);

/* Names are kept as valid UTF-8 of less than RECORD_NAME_MAX bytes (drills RECORD_WORD_MAX): the
 * rest is cut at a character's edge, control characters become '?'. They are looked for likewise.
 *
 * Begins a sitting of one student; its id is given to that student's repetitions. journal_news then
 * says when the record reaches into days to come. */
bool journal_begin(
    Journal *j, const char *student, int64_t at, Day day, int64_t *sitting, Error *error);
/* Writes one repetition; *id is for journal_judge. Student and passage are made as needed.
 * ERROR_RECORD when the sitting is not (or no longer) the student's: begin another. */
bool journal_add(Journal *j, int64_t sitting, const Repetition *r, int64_t *id, Error *error);
/* Judges it otherwise: a miss told a moment late. */
bool journal_judge(Journal *j, int64_t id, bool clean, Error *error);

/* Lists, oldest or first by name first; the caller frees *out with free. */
bool journal_lines(Journal *j, RecordBy by, const RecordFilter *filter, RecordLine **out,
    size_t *count, Error *error);
/* Single repetitions in the order in which they were taken down, after `after` (an id; 0: from the
 * start), at most `limit`. *ids may be NULL. */
bool journal_repetitions(Journal *j, const RecordFilter *filter, int64_t after, size_t limit,
    Repetition **out, int64_t **ids, size_t *count, Error *error);
/* Whether the passage was recorded with other fingers last: the day of that; 0 where it was not, or
 * was recorded with these on the same day or since. */
bool journal_fingers_changed(Journal *j, const char *student, uint64_t notes, uint64_t fingers,
    Day *last_other, Error *error);

/* Students. After a change of these two kinds the file is written anew, so that no trace of what
 * went is left in it; journal_news tells when that could not be. ERROR_RECORD where the name is not
 * there, or the new one already is. */
bool journal_rename(Journal *j, const char *student, const char *name, Error *error);
bool journal_delete(Journal *j, const char *student, int64_t *repetitions, Error *error);
/* Writes a student's whole record into a new file of its own (for another machine). */
bool journal_export(Journal *j, const char *student, const char *path, Error *error);
/* A copy of the whole record by SQLite's own backup. */
bool journal_backup(Journal *j, const char *path, Error *error);
/* Takes in what another record holds and this one does not; again changes nothing. */
bool journal_merge(Journal *j, const char *path, int64_t *added, int64_t *known, Error *error);

#endif
