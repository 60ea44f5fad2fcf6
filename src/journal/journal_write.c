/* What is written while somebody plays. */
#include "journal_parts.h"

static const char doing[] = "writing a repetition";

static sqlite3_stmt *with_text(Journal *j, const char *sql, const char *text, Error *error)
{
    sqlite3_stmt *s = journal_prepare(j, sql, doing, error);
    if (s != NULL)
        sqlite3_bind_text(s, 1, text, -1, SQLITE_TRANSIENT);
    return s;
}

bool journal_student(Journal *j, const char *name, int64_t *id, Error *error)
{
    return journal_number(
        j, with_text(j, "SELECT id FROM student WHERE name = ?", name, error), 0, id, doing, error);
}

/* There is a student of that name afterwards, with a uid. */
static bool need_student(Journal *j, const char *name, int64_t *id, Error *error)
{
    if (!journal_student(j, name, id, error))
        return false;
    if (*id != 0)
        return true;
    if (!journal_finish(
            j, with_text(j, "INSERT INTO student (name) VALUES (?)", name, error), doing, error))
        return false;
    *id = sqlite3_last_insert_rowid(j->db);
    sqlite3_stmt *s =
        journal_prepare(j, "INSERT INTO uid VALUES (randomblob(16), ?)", doing, error);
    if (s != NULL)
        sqlite3_bind_int64(s, 1, *id);
    return journal_finish(j, s, doing, error);
}

static bool need_drill(Journal *j, const char *word, int64_t *id, Error *error)
{
    return journal_finish(j,
               with_text(
                   j, "INSERT INTO drill (word) VALUES (?) ON CONFLICT DO NOTHING", word, error),
               doing, error) &&
           journal_number(j, with_text(j, "SELECT id FROM drill WHERE word = ?", word, error), 0,
               id, doing, error);
}

/* A passage is known by its notes; it goes by the title that it had last. */
static bool need_passage(Journal *j, const Repetition *r, int64_t *id, Error *error)
{
    sqlite3_stmt *s = with_text(j,
        "INSERT INTO passage (title, notes) VALUES (?1, ?2) ON CONFLICT DO UPDATE"
        " SET title = excluded.title WHERE title <> excluded.title",
        r->passage, error);
    if (s != NULL)
        sqlite3_bind_int64(s, 2, (int64_t)r->notes);
    if (!journal_finish(j, s, doing, error))
        return false;
    s = journal_prepare(j, "SELECT id FROM passage WHERE notes = ?", doing, error);
    if (s != NULL)
        sqlite3_bind_int64(s, 1, (int64_t)r->notes);
    return journal_number(j, s, 0, id, doing, error);
}

bool journal_begin(
    Journal *j, const char *student, int64_t at, Day day, int64_t *sitting, Error *error)
{
    int64_t id;
    if (!journal_transaction(j, doing, error))
        return false;
    bool done = need_student(j, student, &id, error);
    sqlite3_stmt *s = !done ? NULL
                            : journal_prepare(j,
                                  "INSERT INTO sitting (uid, student, at, day)"
                                  " VALUES (randomblob(16), ?, ?, ?)",
                                  doing, error);
    if (s != NULL) {
        sqlite3_bind_int64(s, 1, id);
        sqlite3_bind_int64(s, 2, at);
        sqlite3_bind_int64(s, 3, day);
    }
    done = done && journal_finish(j, s, doing, error);
    *sitting = sqlite3_last_insert_rowid(j->db);
    return journal_end(j, done, doing, error);
}

static bool insert(Journal *j, const int64_t ids[4], const Repetition *r, Error *error)
{
    sqlite3_stmt *s = journal_prepare(j,
        "INSERT INTO repetition (uid, sitting, student, passage, drill, fingers, beat_num,"
        " beat_den, tempo_num, tempo_den, clean, at, day)"
        " VALUES (randomblob(16), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        doing, error);
    const int64_t values[] = {ids[0], ids[1], ids[2], ids[3], (int64_t)r->fingers,
        r->tempo.beat.num, r->tempo.beat.den, r->tempo.per_minute.num, r->tempo.per_minute.den,
        r->clean, r->at, r->day};
    for (int i = 0; s != NULL && i < (int)(sizeof values / sizeof values[0]); i++)
        sqlite3_bind_int64(s, i + 1, values[i]);
    return journal_finish(j, s, doing, error);
}

bool journal_add(Journal *j, int64_t sitting, const Repetition *r, int64_t *id, Error *error)
{
    int64_t ids[4] = {sitting};
    if (!tempo_valid(r->tempo))
        return error_set(error, ERROR_RANGE, "a repetition without a tempo is not recorded");
    if (!journal_transaction(j, doing, error))
        return false;
    bool done = need_student(j, r->student, &ids[1], error) && need_passage(j, r, &ids[2], error) &&
                need_drill(j, r->drill, &ids[3], error) && insert(j, ids, r, error);
    *id = sqlite3_last_insert_rowid(j->db);
    return journal_end(j, done, doing, error);
}

bool journal_judge(Journal *j, int64_t id, bool clean, Error *error)
{
    sqlite3_stmt *s =
        journal_prepare(j, "UPDATE repetition SET clean = ? WHERE id = ?", doing, error);
    if (s != NULL) {
        sqlite3_bind_int(s, 1, clean);
        sqlite3_bind_int64(s, 2, id);
    }
    return journal_finish(j, s, doing, error);
}
