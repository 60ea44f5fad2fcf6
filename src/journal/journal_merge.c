/* One record into another, without doubles: repetitions, sittings and students are known by uids
 * that were drawn at random where they were first written.
 *
 *    student of the other record             becomes here
 *    one of his uids is known                that student, whatever he is called by now
 *    else a name that is known               that student
 *    else                                    a new one of that name
 *    without a name, uid not known           "unnamed", "unnamed 2", ...: not the one who never
 *                                            gave a name on this machine
 */
#include "journal_parts.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

static const char doing[] = "taking in another record";

enum { UNNAMED_MAX = 100000 };

static sqlite3_stmt *prepared(Journal *j, const char *sql, Error *error)
{
    return journal_prepare(j, sql, doing, error);
}

static bool known_by_uid(Journal *j, int64_t theirs, int64_t *ours, Error *error)
{
    sqlite3_stmt *s = prepared(j,
        "SELECT u.student FROM main.uid u JOIN other.uid o ON o.uid = u.uid WHERE o.student = ?"
        " LIMIT 1",
        error);
    if (s != NULL)
        sqlite3_bind_int64(s, 1, theirs);
    return journal_number(j, s, 0, ours, doing, error);
}

static bool new_student(Journal *j, const char *name, int64_t *id, Error *error)
{
    sqlite3_stmt *s = prepared(j, "INSERT INTO main.student (name) VALUES (?)", error);
    if (s != NULL)
        sqlite3_bind_text(s, 1, name, -1, SQLITE_TRANSIENT);
    bool done = journal_finish(j, s, doing, error);
    *id = sqlite3_last_insert_rowid(j->db);
    return done;
}

static bool unnamed(Journal *j, int64_t *id, Error *error)
{
    char name[32];
    for (int n = 1; n < UNNAMED_MAX; n++) {
        snprintf(name, sizeof name, n == 1 ? "unnamed" : "unnamed %d", n);
        if (!journal_student(j, name, id, error))
            return false;
        if (*id == 0)
            return new_student(j, name, id, error);
    }
    return error_set(error, ERROR_LIMIT, "too many students without a name");
}

static bool here(
    Journal *j, int64_t theirs, const char *name, bool keep, int64_t *ours, Error *error)
{
    if (!known_by_uid(j, theirs, ours, error))
        return false;
    if (*ours == 0 && (keep || name[0] != '\0') && !journal_student(j, name, ours, error))
        return false;
    if (*ours == 0 &&
        !(name[0] != '\0' || keep ? new_student(j, name, ours, error) : unnamed(j, ours, error)))
        return false;
    sqlite3_stmt *s = prepared(j,
        "INSERT OR IGNORE INTO main.uid SELECT uid, ?1 FROM other.uid WHERE student = ?2", error);
    if (s != NULL) {
        sqlite3_bind_int64(s, 1, *ours);
        sqlite3_bind_int64(s, 2, theirs);
    }
    return journal_finish(j, s, doing, error);
}

/* Which of their students is which of ours, in a table for the copying. */
static bool match_students(Journal *j, const char *student, Error *error)
{
    sqlite3_stmt *each =
        prepared(j, "SELECT id, name FROM other.student WHERE ?1 IS NULL OR name = ?1", error);
    if (each == NULL)
        return false;
    sqlite3_bind_text(each, 1, student, -1, SQLITE_TRANSIENT);
    bool done = true;
    int step = SQLITE_DONE;
    while (done && (step = sqlite3_step(each)) == SQLITE_ROW) {
        int64_t theirs = sqlite3_column_int64(each, 0), ours = 0;
        const char *name = (const char *)sqlite3_column_text(each, 1);
        done = here(j, theirs, name != NULL ? name : "", student != NULL, &ours, error);
        sqlite3_stmt *s = done ? prepared(j, "INSERT INTO temp.who VALUES (?, ?)", error) : NULL;
        if (s != NULL) {
            sqlite3_bind_int64(s, 1, theirs);
            sqlite3_bind_int64(s, 2, ours);
        }
        done = done && journal_finish(j, s, doing, error);
    }
    if (done && step != SQLITE_DONE)
        done = journal_fail(j, doing, error);
    sqlite3_finalize(each);
    return done;
}

bool journal_take_in(Journal *j, const char *student, Error *error)
{
    static const char copy[] =
        "INSERT OR IGNORE INTO main.passage (notes, title) SELECT DISTINCT p.notes, p.title"
        "  FROM other.passage p JOIN other.repetition r ON r.passage = p.id"
        "  JOIN temp.who w ON w.theirs = r.student;"
        "INSERT OR IGNORE INTO main.drill (word) SELECT DISTINCT d.word FROM other.drill d"
        "  JOIN other.repetition r ON r.drill = d.id JOIN temp.who w ON w.theirs = r.student;"
        "INSERT OR IGNORE INTO main.sitting (uid, student, at, day)"
        "  SELECT s.uid, w.ours, s.at, s.day FROM other.sitting s"
        "  JOIN temp.who w ON w.theirs = s.student ORDER BY s.id;"
        "INSERT OR IGNORE INTO main.repetition (uid, sitting, student, passage, drill, fingers,"
        "  beat_num, beat_den, tempo_num, tempo_den, clean, at, day)"
        "  SELECT r.uid, ms.id, w.ours, mp.id, md.id, r.fingers, r.beat_num, r.beat_den,"
        "  r.tempo_num, r.tempo_den, r.clean, r.at, r.day FROM other.repetition r"
        "  JOIN temp.who w ON w.theirs = r.student"
        "  JOIN other.sitting os ON os.id = r.sitting JOIN main.sitting ms ON ms.uid = os.uid"
        "  JOIN other.passage op ON op.id = r.passage JOIN main.passage mp ON mp.notes = op.notes"
        "  JOIN other.drill od ON od.id = r.drill JOIN main.drill md ON md.word = od.word"
        "  ORDER BY r.id;"
        "DROP TABLE temp.who";
    return journal_run(j, "CREATE TEMP TABLE who (theirs INTEGER PRIMARY KEY, ours INTEGER)", doing,
               error) &&
           match_students(j, student, error) && journal_run(j, copy, doing, error);
}

static bool count_all(Journal *j, const char *schema, int64_t *out, Error *error)
{
    char sql[64];
    snprintf(sql, sizeof sql, "SELECT count(*) FROM %.10s.repetition", schema);
    return journal_number(j, prepared(j, sql, error), 0, out, doing, error);
}

static bool attach(Journal *j, const char *path, Error *error)
{
    if (access(path, R_OK) != 0)
        return error_set(error, ERROR_READ, "%.160s cannot be read", path);
    sqlite3_stmt *s = prepared(j, "ATTACH ? AS other", error);
    if (s != NULL)
        sqlite3_bind_text(s, 1, path, -1, SQLITE_TRANSIENT);
    if (!journal_finish(j, s, doing, NULL)) /* its own words would be of the record here */
        return error_set(
            error, ERROR_RECORD, "%.160s is no practice record, or it is damaged", path);
    int64_t application;
    journal_number(j, journal_prepare(j, "PRAGMA other.application_id", doing, NULL), -1,
        &application, doing, NULL);
    int version = journal_version(j, "other");
    if (application != JOURNAL_APPLICATION || version < 1)
        error_set(error, ERROR_RECORD, "%.160s is no practice record, or it is damaged", path);
    else if (version > JOURNAL_SCHEMA)
        error_set(error, ERROR_RECORD,
            "%.120s was made by a newer evenhand; use that one to take it in", path);
    else
        return true;
    sqlite3_exec(j->db, "DETACH other", NULL, NULL, NULL);
    return false;
}

bool journal_merge(Journal *j, const char *path, int64_t *added, int64_t *known, Error *error)
{
    int64_t before = 0, after = 0, theirs = 0;
    *added = *known = 0;
    if (!attach(j, path, error))
        return false;
    bool begun = journal_transaction(j, doing, error);
    bool done = begun && count_all(j, "main", &before, error) &&
                count_all(j, "other", &theirs, error) && journal_take_in(j, NULL, error) &&
                count_all(j, "main", &after, error);
    if (begun)
        done = journal_end(j, done, doing, error);
    sqlite3_exec(j->db, "DETACH other", NULL, NULL, NULL);
    if (!done)
        return false;
    *added = after - before;
    *known = theirs - *added;
    return true;
}
