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
    journal_bind_name(s, 1, name);
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
    if (student != NULL)
        journal_bind_name(each, 1, student);
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

/* What another file says is not believed unseen: texts are made such as we write, and a row that
 * no repetition of ours could be is left where it is. */
#define WHOLE(x, least, most) " AND typeof(" x ") = 'integer' AND " x " BETWEEN " least " AND " most

static const char copying[] =
    "INSERT OR IGNORE INTO main.passage (notes, title) SELECT DISTINCT p.notes, as_name(p.title)"
    "  FROM other.passage p JOIN other.repetition r ON r.passage = p.id"
    "  JOIN temp.who w ON w.theirs = r.student WHERE typeof(p.notes) = 'integer';"
    "INSERT OR IGNORE INTO main.drill (word) SELECT DISTINCT as_word(d.word) FROM other.drill d"
    "  JOIN other.repetition r ON r.drill = d.id JOIN temp.who w ON w.theirs = r.student;"
    "INSERT OR IGNORE INTO main.sitting (uid, student, at, day)"
    "  SELECT s.uid, w.ours, s.at, s.day FROM other.sitting s"
    "  JOIN temp.who w ON w.theirs = s.student ORDER BY s.id;"
    "INSERT OR IGNORE INTO main.repetition (uid, sitting, student, passage, drill, fingers,"
    "  beat_num, beat_den, tempo_num, tempo_den, clean, at, day)"
    "  SELECT r.uid, ms.id, w.ours, mp.id, md.id, r.fingers, r.beat_num, r.beat_den,"
    "  r.tempo_num, r.tempo_den, r.clean, r.at, r.day FROM other.repetition r"
    "  JOIN temp.who w ON w.theirs = r.student"
    "  JOIN other.sitting os ON os.id = r.sitting"
    "  JOIN main.sitting ms ON ms.uid = os.uid AND ms.student = w.ours"
    "  JOIN other.passage op ON op.id = r.passage JOIN main.passage mp ON mp.notes = op.notes"
    "  JOIN other.drill od ON od.id = r.drill JOIN main.drill md ON md.word = as_word(od.word)"
    "  WHERE typeof(r.fingers) = 'integer'" WHOLE("r.clean", "0", "1")
        WHOLE("r.beat_num", "1", "1000000") WHOLE("r.beat_den", "1", "1000000")
            WHOLE("r.tempo_num", "1", "100000000") WHOLE("r.tempo_den", "1", "1000000")
                WHOLE("r.day", "0", "2932896") WHOLE("r.at", "-1e15", "1e15") " ORDER BY r.id;"
                                                                              "DROP TABLE temp.who";

static void as_text(sqlite3_context *context, int count, sqlite3_value **values)
{
    char text[RECORD_WORD_MAX];
    (void)count;
    const char *given = (const char *)sqlite3_value_text(values[0]);
    const size_t *size = sqlite3_user_data(context);
    journal_text(given != NULL ? given : "", text, *size);
    sqlite3_result_text(context, text, -1, SQLITE_TRANSIENT);
}

static bool teach(Journal *j, Error *error)
{
    static size_t name = RECORD_NAME_MAX, word = RECORD_WORD_MAX;
    const int kind = SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_DIRECTONLY;
    return (sqlite3_create_function(j->db, "as_name", 1, kind, &name, as_text, NULL, NULL) ==
                   SQLITE_OK &&
               sqlite3_create_function(j->db, "as_word", 1, kind, &word, as_text, NULL, NULL) ==
                   SQLITE_OK) ||
           journal_fail(j, doing, error);
}

bool journal_take_in(Journal *j, const char *student, Error *error)
{
    return teach(j, error) &&
           journal_run(j, "CREATE TEMP TABLE who (theirs INTEGER PRIMARY KEY, ours INTEGER)", doing,
               error) &&
           match_students(j, student, error) && journal_run(j, copying, doing, error);
}

static bool count_all(Journal *j, const char *schema, int64_t *out, Error *error)
{
    char sql[64];
    snprintf(sql, sizeof sql, "SELECT count(*) FROM %.10s.repetition", schema);
    return journal_number(j, prepared(j, sql, error), 0, out, doing, error);
}

/* It is a practice record of a schema that we know, and whole. */
static bool fit(Journal *j, const char *path, Error *error)
{
    int64_t application = 0, version = 0, bad = 1;
    Error why;
    bool read =
        journal_number(
            j, prepared(j, "PRAGMA other.application_id", &why), 0, &application, doing, &why) &&
        journal_number(j, prepared(j, "PRAGMA other.user_version", &why), 0, &version, doing, &why);
    if (read && application == JOURNAL_APPLICATION && version > JOURNAL_SCHEMA)
        return error_set(error, ERROR_RECORD,
            "%.120s was made by a newer evenhand; use that one to take it in", path);
    read = read && application == JOURNAL_APPLICATION && version > 0 &&
           journal_number(j,
               prepared(j,
                   "SELECT count(*) FROM pragma_quick_check(1, 'other') WHERE quick_check <> 'ok'",
                   &why),
               1, &bad, doing, &why);
    j->stale = false; /* that was about the other file */
    return (read && bad == 0) ||
           error_set(error, ERROR_RECORD, "%.160s is no practice record, or it is damaged", path);
}

static bool merge(Journal *j, int64_t *added, int64_t *known, Error *error)
{
    int64_t before = 0, after = 0, theirs = 0;
    if (!journal_transaction(j, doing, error))
        return false;
    bool done = count_all(j, "main", &before, error) && count_all(j, "other", &theirs, error) &&
                journal_take_in(j, NULL, error) && count_all(j, "main", &after, error);
    if (!journal_end(j, done, doing, error))
        return false;
    *added = after - before;
    *known = theirs - *added;
    return true;
}

bool journal_merge(Journal *j, const char *path, int64_t *added, int64_t *known, Error *error)
{
    *added = *known = 0;
    if (j->db == NULL || j->reading)
        return error_set(error, ERROR_RECORD, "the record is only read here");
    if (!journal_attach(j, path, error))
        return false;
    bool done = fit(j, path, error) && merge(j, added, known, error);
    journal_detach(j);
    return done;
}
