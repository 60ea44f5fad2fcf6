/* journal_parts.h - the insides of journal.h. Internal to the room.
 *
 *    student --< uid (of other machines, too)
 *       |
 *    sitting --< repetition >-- passage (by its notes), drill (its word)
 *                    |
 *                 triggers keep   daily      student x passage x drill x day: count, clean, best
 *                                 fingering  student x passage x fingers: first and last day
 *
 * Lists read daily and fingering alone, so that they stay quick when there are a million
 * repetitions. */
#ifndef EVENHAND_SRC_JOURNAL_PARTS_H
#define EVENHAND_SRC_JOURNAL_PARTS_H

#include "evenhand/journal/journal.h"

#include <sqlite3.h>

/* "evhd" in ASCII: tells our files from other SQLite files. */
#define JOURNAL_APPLICATION 0x65766864

struct Journal {
    sqlite3 *db; /* NULL: reading a record that is not there */
    char path[JOURNAL_PATH_MAX];
    char news[JOURNAL_NEWS_MAX];
};

/* Fills *error with what SQLite last said, in plain words; false. */
bool journal_fail(Journal *j, const char *doing, Error *error);
/* Runs one or more statements without results. */
bool journal_run(Journal *j, const char *sql, const char *doing, Error *error);
/* Prepares one; NULL (and *error) where it cannot be. The caller finalizes it. */
sqlite3_stmt *journal_prepare(Journal *j, const char *sql, const char *doing, Error *error);
/* Steps a statement that gives no rows, and finalizes it. */
bool journal_finish(Journal *j, sqlite3_stmt *s, const char *doing, Error *error);
/* The first column of the first row as a number; `none` where there is no row. */
bool journal_number(
    Journal *j, sqlite3_stmt *s, int64_t none, int64_t *out, const char *doing, Error *error);

/* One transaction around what follows; `end` commits when `done`, else takes all back, and returns
 * whether it is committed. */
bool journal_transaction(Journal *j, const char *doing, Error *error);
bool journal_end(Journal *j, bool done, const char *doing, Error *error);

/* Makes the schema or brings it up to date. ERROR_RECORD for a newer one, or another program's. */
bool journal_migrate(Journal *j, Error *error);
/* The schema's number; -1 on error. */
int journal_version(Journal *j, const char *schema);

/* The student's id; 0: there is none of that name. */
bool journal_student(Journal *j, const char *name, int64_t *id, Error *error);
/* Takes in what `from` (a schema that is attached) holds, of one student (NULL: of all). Inside a
 * transaction. */
bool journal_take_in(Journal *j, const char *student, Error *error);

#endif
