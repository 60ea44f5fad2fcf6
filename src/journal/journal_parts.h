/* journal_parts.h - the insides of journal.h. Internal to the room.
 *
 *    student --< uid (of other machines, too)
 *       |
 *    sitting --< repetition >-- passage (by its notes), drill (its word)
 *                    |
 *                 triggers keep   daily      student x passage x drill x day: count, clean, best
 *                                   |
 *                                 coarse     student x day; x passage; x drill: the same
 *                                 fingering  student x passage x fingers: first and last day
 *
 * A repetition and its sitting belong to the same student: so that one student's sitting takes
 * nothing of another's along when it goes. Lists read these sums alone, and of them the
 * coarsest that tells apart what is asked for, so that they stay quick when there are a million
 * repetitions. */
#ifndef EVENHAND_SRC_JOURNAL_PARTS_H
#define EVENHAND_SRC_JOURNAL_PARTS_H

#include "evenhand/journal/journal.h"

#include <sqlite3.h>

/* "evhd" in ASCII: tells our files from other SQLite files. */
#define JOURNAL_APPLICATION 0x65766864

/* What is run with each repetition is prepared once. */
typedef enum {
    KEPT_BEGIN,
    KEPT_COMMIT,
    KEPT_STUDENT,
    KEPT_SITTING,
    KEPT_PASSAGE,
    KEPT_DRILL,
    KEPT_REPETITION,
    KEPT_STATEMENTS
} JournalKept;

struct Journal {
    sqlite3 *db; /* NULL: reading a record that is not there */
    sqlite3_stmt *kept[KEPT_STATEMENTS];
    bool reading, stale;
    char path[JOURNAL_PATH_MAX];
    char news[JOURNAL_NEWS_MAX];
};

/* Fills *error with what SQLite last said, in plain words; false. */
bool journal_fail(Journal *j, const char *doing, Error *error);
/* The same for a connection that is no journal's: `path` is its file. */
bool journal_say(sqlite3 *db, const char *path, const char *doing, Error *error);
/* Runs one or more statements without results. */
bool journal_run(Journal *j, const char *sql, const char *doing, Error *error);
/* Prepares one; NULL (and *error) where it cannot be. */
sqlite3_stmt *journal_prepare(Journal *j, const char *sql, const char *doing, Error *error);
/* One of those that stay prepared. */
sqlite3_stmt *journal_kept(Journal *j, JournalKept which, const char *doing, Error *error);
/* Gives it back: finalized, or ready for the next time where it is kept. */
void journal_release(Journal *j, sqlite3_stmt *s);
/* Steps a statement that gives no rows, and gives it back. */
bool journal_finish(Journal *j, sqlite3_stmt *s, const char *doing, Error *error);
/* The first column of the first row as a number; `none` where there is no row. */
bool journal_number(
    Journal *j, sqlite3_stmt *s, int64_t none, int64_t *out, const char *doing, Error *error);
/* Binds a name as it stands in the record: valid UTF-8 of less than RECORD_NAME_MAX bytes. */
void journal_bind_name(sqlite3_stmt *s, int at, const char *name);
void journal_bind_word(sqlite3_stmt *s, int at, const char *word); /* RECORD_WORD_MAX */
/* Such a name; a character that was cut at its end is left out. Returns out. */
char *journal_text(const char *in, char *out, size_t size);

/* One transaction around what follows; `end` commits when `done`, else takes all back, and returns
 * whether it is committed, in the file that bears the record's name. */
bool journal_transaction(Journal *j, const char *doing, Error *error);
bool journal_end(Journal *j, bool done, const char *doing, Error *error);

/* Opens j->path (journal_open.c). */
bool journal_attach_file(Journal *j, int flags, const char *query, Error *error);
/* Attaches another record as `other`, to be read only. */
bool journal_attach(Journal *j, const char *path, Error *error);
void journal_detach(Journal *j);

/* False, with *error, for a newer schema or another program's file; *version is 0 for an empty
 * one. Changes nothing. */
bool journal_ours(Journal *j, int *version, Error *error);
/* Makes the schema or brings it up to date. */
bool journal_migrate(Journal *j, Error *error);

/* The student's id; 0: there is none of that name. */
bool journal_student(Journal *j, const char *name, int64_t *id, Error *error);
/* Takes in what `other` (attached) holds, of one student (NULL: of all). Inside a transaction. */
bool journal_take_in(Journal *j, const char *student, Error *error);

#endif
