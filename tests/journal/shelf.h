/* shelf.h - a directory for records that are made and spoilt, and what lies in them, read with
 * SQLite alone. */
#ifndef TESTS_JOURNAL_SHELF_H
#define TESTS_JOURNAL_SHELF_H

#include "evenhand/journal/journal.h"
#include "evenhand/journal/scribe.h"

enum { SHELF_PATH = 512 };

/* An empty directory, 0700, in memory where there is such a place (a killed process leaves the same
 * on a disk, but each write waits for that); shelf_end takes it away with all that is in it. For
 * group set-up. */
int shelf_begin(void **state);
int shelf_end(void **state);
const char *shelf_folder(void);
/* The path of `name` in a fresh directory below it; good until the eighth call from now. */
const char *shelf_new(const char *name);
const char *shelf_path(const char *path, const char *beside); /* path + beside, likewise */

/* A repetition of `student`: passage and drill of small numbers, the tempo 1/4 = 60 + passage. */
Repetition shelf_repetition(const char *student, int passage, int drill, Day day, bool clean);
Journal *shelf_open(const char *path); /* fails the test where it cannot */
/* Adds `count` repetitions in one sitting. */
void shelf_fill(Journal *j, const char *student, int count, Day day);
/* A record with that, closed. */
void shelf_make(const char *path, const char *student, int count, Day day);

/* As schema 1 (without the lines of days) or 2 (without the coarser ones) had it. The file must not
 * be open. */
void shelf_make_older(const char *path, int version);

/* The first number that `sql` gives on the file, opened by SQLite and not by us. */
int64_t shelf_ask(const char *path, const char *sql);
void shelf_tell(const char *path, const char *sql); /* runs it */
bool shelf_whole(const char *path);                 /* integrity_check and no foreign key astray */
int64_t shelf_count(const char *path);              /* repetitions */

typedef struct {
    unsigned char *bytes;
    size_t size;
} ShelfBytes;

ShelfBytes shelf_read(const char *path); /* none: size 0 */
void shelf_write(const char *path, const void *bytes, size_t size);
bool shelf_same(ShelfBytes a, ShelfBytes b);
bool shelf_holds(const char *path, const char *text); /* anywhere in the file's bytes */
int shelf_mode(const char *path);                     /* permission bits; -1: not there */
int shelf_set_aside(const char *path);                /* how many files "path.damaged-..." */

/* Polls until `ticket` is told as written, or news came; false after ten seconds. */
bool shelf_written(Scribe *s, uint64_t ticket);
bool shelf_news(Scribe *s, ScribeStatus *status);

#endif
