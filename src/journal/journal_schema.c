/* The schema, one step for each version. A step is never changed once it was published: what is to
 * be otherwise is another step. */
#include "journal_parts.h"

#include <stdio.h>

/* Students are known by uids, since names change and machines differ; the same person may come
 * from several machines. */
static const char version_1[] =
    "CREATE TABLE student (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE);"
    "CREATE TABLE uid (uid BLOB PRIMARY KEY, student INTEGER NOT NULL REFERENCES student"
    "  ON DELETE CASCADE) WITHOUT ROWID;"
    "CREATE TABLE passage (id INTEGER PRIMARY KEY, notes INTEGER NOT NULL UNIQUE,"
    "  title TEXT NOT NULL);"
    "CREATE TABLE drill (id INTEGER PRIMARY KEY, word TEXT NOT NULL UNIQUE);"
    "CREATE TABLE sitting (id INTEGER PRIMARY KEY, uid BLOB NOT NULL UNIQUE,"
    "  student INTEGER NOT NULL REFERENCES student ON DELETE CASCADE,"
    "  at INTEGER NOT NULL, day INTEGER NOT NULL);"
    "CREATE TABLE repetition (id INTEGER PRIMARY KEY AUTOINCREMENT, uid BLOB NOT NULL UNIQUE,"
    "  sitting INTEGER NOT NULL REFERENCES sitting ON DELETE CASCADE,"
    "  student INTEGER NOT NULL REFERENCES student ON DELETE CASCADE,"
    "  passage INTEGER NOT NULL REFERENCES passage, drill INTEGER NOT NULL REFERENCES drill,"
    "  fingers INTEGER NOT NULL, beat_num INTEGER NOT NULL, beat_den INTEGER NOT NULL,"
    "  tempo_num INTEGER NOT NULL, tempo_den INTEGER NOT NULL, clean INTEGER NOT NULL,"
    "  at INTEGER NOT NULL, day INTEGER NOT NULL);"
    "CREATE INDEX repetition_group ON repetition (student, passage, drill, day);"
    "CREATE INDEX repetition_sitting ON repetition (sitting);"
    "CREATE INDEX sitting_student ON sitting (student);"
    "CREATE INDEX uid_student ON uid (student);";

/* The pace of a repetition as text that sorts like its speed in quarters a minute, followed by the
 * tempo itself: so that max() of it brings the tempo along. */
#define PACE(r)                                                                                    \
    "printf('%018d %d %d %d %d', " r ".beat_num * " r ".tempo_num * 1000000 / (" r                 \
    ".beat_den * " r ".tempo_den), " r ".beat_num, " r ".beat_den, " r ".tempo_num, " r            \
    ".tempo_den)"
#define GROUP(r)                                                                                   \
    "student = " r ".student AND passage = " r ".passage AND drill = " r ".drill AND day = " r     \
    ".day"
/* clang-format off */
/* A day's line from the repetitions themselves: where one changed or went. */
#define COUNT_AGAIN                                                                                \
    "DELETE FROM daily WHERE " GROUP("old") ";"                                                    \
    "INSERT INTO daily SELECT student, passage, drill, day, count(*), sum(clean),"                 \
    "  max(CASE WHEN clean THEN " PACE("r") " END), max(at) FROM repetition r"                     \
    "  WHERE " GROUP("old") " GROUP BY student, passage, drill, day;"

static const char version_2[] =
    "CREATE TABLE daily (student INTEGER NOT NULL, passage INTEGER NOT NULL,"
    "  drill INTEGER NOT NULL, day INTEGER NOT NULL, count INTEGER NOT NULL,"
    "  clean INTEGER NOT NULL, best TEXT, last INTEGER NOT NULL,"
    "  PRIMARY KEY (student, passage, drill, day)) WITHOUT ROWID;"
    "CREATE INDEX daily_day ON daily (day);"
    "CREATE TABLE fingering (student INTEGER NOT NULL, passage INTEGER NOT NULL,"
    "  fingers INTEGER NOT NULL, first INTEGER NOT NULL, last INTEGER NOT NULL,"
    "  PRIMARY KEY (student, passage, fingers)) WITHOUT ROWID;"
    "INSERT INTO daily SELECT student, passage, drill, day, count(*), sum(clean),"
    "  max(CASE WHEN clean THEN " PACE("r") " END), max(at) FROM repetition r"
    "  GROUP BY student, passage, drill, day;"
    "INSERT INTO fingering SELECT student, passage, fingers, min(day), max(day) FROM repetition"
    "  GROUP BY student, passage, fingers;"
    "CREATE TRIGGER repetition_added AFTER INSERT ON repetition BEGIN"
    "  INSERT INTO daily VALUES (new.student, new.passage, new.drill, new.day, 1, new.clean,"
    "    CASE WHEN new.clean THEN " PACE("new") " END, new.at)"
    "  ON CONFLICT DO UPDATE SET count = count + 1, clean = clean + excluded.clean,"
    "    best = CASE WHEN best IS NULL OR excluded.best > best THEN"
    "      coalesce(excluded.best, best) ELSE best END, last = max(last, excluded.last);"
    "  INSERT INTO fingering VALUES (new.student, new.passage, new.fingers, new.day, new.day)"
    "  ON CONFLICT DO UPDATE SET first = min(first, excluded.first),"
    "    last = max(last, excluded.last);"
    "END;"
    "CREATE TRIGGER repetition_judged AFTER UPDATE ON repetition BEGIN " COUNT_AGAIN "END;"
    "CREATE TRIGGER repetition_gone AFTER DELETE ON repetition"
    "  WHEN EXISTS (SELECT 1 FROM daily WHERE " GROUP("old") ") BEGIN " COUNT_AGAIN "END;"
    "CREATE TRIGGER student_gone AFTER DELETE ON student BEGIN"
    "  DELETE FROM daily WHERE student = old.id; DELETE FROM fingering WHERE student = old.id;"
    "END;";

/* The same by the day in three coarser ways, for lists that do not ask for each drill of each
 * passage: level 0 a day as a whole, 1 by passage, 2 by drill; what is not told apart is 0. It
 * follows daily, whose lines only grow, or go. */
#define LEVELS "(SELECT 0 AS level UNION ALL SELECT 1 UNION ALL SELECT 2)"
#define COARSE(l, p, d)                                                                            \
    "level = " l " AND student = old.student AND passage = " p " AND drill = " d                   \
    " AND day = old.day"
#define COARSE_ADD(count, clean)                                                                   \
    "INSERT INTO coarse SELECT level, new.student, (level = 1) * new.passage,"                     \
    "  (level = 2) * new.drill, new.day, " count ", " clean ", new.best, new.last FROM " LEVELS    \
    "  WHERE true ON CONFLICT DO UPDATE SET count = count + excluded.count,"                       \
    "    clean = clean + excluded.clean, best = CASE WHEN best IS NULL OR excluded.best > best"    \
    "      THEN coalesce(excluded.best, best) ELSE best END, last = max(last, excluded.last);"
#define COARSE_AGAIN(l, p, d, same)                                                                \
    "DELETE FROM coarse WHERE " COARSE(l, p, d) ";"                                                \
    "INSERT INTO coarse SELECT " l ", old.student, " p ", " d ", old.day, sum(count), sum(clean)," \
    "  max(best), max(last) FROM daily WHERE day = old.day AND student = old.student" same         \
    "  HAVING count(*) > 0;"

static const char version_3[] =
    "CREATE TABLE coarse (level INTEGER NOT NULL, student INTEGER NOT NULL,"
    "  passage INTEGER NOT NULL, drill INTEGER NOT NULL, day INTEGER NOT NULL,"
    "  count INTEGER NOT NULL, clean INTEGER NOT NULL, best TEXT, last INTEGER NOT NULL,"
    "  PRIMARY KEY (level, student, passage, drill, day)) WITHOUT ROWID;"
    "INSERT INTO coarse SELECT level, student, (level = 1) * passage, (level = 2) * drill, day,"
    "  sum(count), sum(clean), max(best), max(last) FROM daily, " LEVELS
    "  GROUP BY 1, 2, 3, 4, 5;"
    "CREATE TRIGGER daily_added AFTER INSERT ON daily BEGIN "
       COARSE_ADD("new.count", "new.clean") "END;"
    "CREATE TRIGGER daily_grown AFTER UPDATE ON daily BEGIN "
       COARSE_ADD("new.count - old.count", "new.clean - old.clean") "END;"
    /* where coarse went before, all of the student goes */
    "CREATE TRIGGER daily_gone AFTER DELETE ON daily"
    "  WHEN EXISTS (SELECT 1 FROM coarse WHERE " COARSE("0", "0", "0") ") BEGIN "
       COARSE_AGAIN("0", "0", "0", "")
       COARSE_AGAIN("1", "old.passage", "0", " AND passage = old.passage")
       COARSE_AGAIN("2", "0", "old.drill", " AND drill = old.drill") "END;"
    "DROP TRIGGER student_gone;"
    "CREATE TRIGGER student_gone AFTER DELETE ON student BEGIN"
    "  DELETE FROM coarse WHERE level IN (0, 1, 2) AND student = old.id;"
    "  DELETE FROM daily WHERE student = old.id; DELETE FROM fingering WHERE student = old.id;"
    "END;";
/* clang-format on */

static const char reading[] = "reading it", migrating[] = "bringing it up to date";

static const char *const steps[JOURNAL_SCHEMA] = {version_1, version_2, version_3};

static bool pragma(Journal *j, const char *name, int64_t *out, Error *error)
{
    char sql[64];
    snprintf(sql, sizeof sql, "PRAGMA main.%.40s", name);
    return journal_number(j, journal_prepare(j, sql, reading, error), -1, out, reading, error);
}

static bool look(Journal *j, int64_t *version, int64_t *application, int64_t *tables, Error *error)
{
    return pragma(j, "user_version", version, error) &&
           pragma(j, "application_id", application, error) &&
           journal_number(j,
               journal_prepare(j, "SELECT count(*) FROM sqlite_schema", reading, error), 0, tables,
               reading, error);
}

bool journal_ours(Journal *j, int *version, Error *error)
{
    int64_t number, application, tables;
    /* in one transaction: another process may be making the schema just now */
    if (!journal_run(j, "BEGIN", reading, error) || !look(j, &number, &application, &tables, error))
        return false;
    if (!journal_run(j, "COMMIT", reading, error))
        return false;
    *version = (int)number;
    if (application != JOURNAL_APPLICATION && (application != 0 || tables != 0 || number != 0))
        return error_set(error, ERROR_RECORD,
            "%.120s is another program's database; move it away, then a record is begun there",
            j->path);
    if (number <= JOURNAL_SCHEMA)
        return true;
    return error_set(error, ERROR_RECORD,
        "the record %.100s was made by a newer evenhand; it was not touched. Use that one",
        j->path);
}

static bool step_up(Journal *j, int version, Error *error)
{
    char sql[96];
    snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d",
        JOURNAL_APPLICATION, version + 1);
    return journal_run(j, steps[version], migrating, error) &&
           journal_run(j, sql, migrating, error);
}

bool journal_migrate(Journal *j, Error *error)
{
    int64_t version;
    if (!pragma(j, "user_version", &version, error))
        return false;
    if (version == JOURNAL_SCHEMA)
        return true;
    if (!journal_transaction(j, migrating, error))
        return false;
    /* once more: another process may have been faster */
    bool done = pragma(j, "user_version", &version, error);
    for (; done && version >= 0 && version < JOURNAL_SCHEMA; version++)
        done = step_up(j, (int)version, error);
    return journal_end(j, done, migrating, error);
}
