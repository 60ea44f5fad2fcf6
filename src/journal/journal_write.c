/* What is written while somebody plays. */
#include "journal_parts.h"

#include <stdio.h>

static const char doing[] = "writing a repetition";

static int64_t last_day(void)
{
    return date_day(DATE_YEAR_MAX, 12, 31);
}

bool journal_student(Journal *j, const char *name, int64_t *id, Error *error)
{
    sqlite3_stmt *s = journal_kept(j, KEPT_STUDENT, doing, error);
    journal_bind_name(s, 1, name);
    return journal_number(j, s, 0, id, doing, error);
}

/* There is a student of that name afterwards, with a uid. */
static bool need_student(Journal *j, const char *name, int64_t *id, Error *error)
{
    if (!journal_student(j, name, id, error))
        return false;
    if (*id != 0)
        return true;
    sqlite3_stmt *s = journal_prepare(j, "INSERT INTO student (name) VALUES (?)", doing, error);
    journal_bind_name(s, 1, name);
    if (!journal_finish(j, s, doing, error))
        return false;
    *id = sqlite3_last_insert_rowid(j->db);
    s = journal_prepare(j, "INSERT INTO uid VALUES (randomblob(16), ?)", doing, error);
    if (s != NULL)
        sqlite3_bind_int64(s, 1, *id);
    return journal_finish(j, s, doing, error);
}

static bool need_drill(Journal *j, const char *word, int64_t *id, Error *error)
{
    sqlite3_stmt *s = journal_kept(j, KEPT_DRILL, doing, error);
    journal_bind_word(s, 1, word);
    if (!journal_number(j, s, 0, id, doing, error))
        return false;
    if (*id != 0)
        return true;
    s = journal_prepare(j, "INSERT INTO drill (word) VALUES (?)", doing, error);
    journal_bind_word(s, 1, word);
    bool done = journal_finish(j, s, doing, error);
    *id = sqlite3_last_insert_rowid(j->db);
    return done;
}

static sqlite3_stmt *with_passage(sqlite3_stmt *s, const Repetition *r)
{
    journal_bind_name(s, 1, r->passage);
    if (s != NULL)
        sqlite3_bind_int64(s, 2, (int64_t)r->notes);
    return s;
}

/* A passage is known by its notes; it goes by the title that it had last. */
static bool need_passage(Journal *j, const Repetition *r, int64_t *id, Error *error)
{
    static const char set[] = "INSERT INTO passage (title, notes) VALUES (?1, ?2)"
                              " ON CONFLICT (notes) DO UPDATE SET title = excluded.title";
    for (int i = 0; i < 2; i++) {
        sqlite3_stmt *s = with_passage(journal_kept(j, KEPT_PASSAGE, doing, error), r);
        if (!journal_number(j, s, 0, id, doing, error))
            return false;
        if (*id != 0)
            return true;
        s = with_passage(journal_prepare(j, set, doing, error), r);
        if (!journal_finish(j, s, doing, error))
            return false;
    }
    return error_set(error, ERROR_RECORD, "the record does not keep the passage");
}

/* Days to come, a day's grace for whoever has travelled: then a clock was wrong once, or is. */
static void look_ahead(Journal *j, Day day)
{
    int64_t last;
    char date[DATE_TEXT_MAX];
    sqlite3_stmt *s = journal_prepare(j, "SELECT max(day) FROM daily", doing, NULL);
    if (journal_number(j, s, 0, &last, doing, NULL) && last > (int64_t)day + 1 &&
        j->news[0] == '\0')
        snprintf(j->news, sizeof j->news,
            "The record goes on to %s, which is still to come: is this machine's clock right?",
            date_text((Day)last, date));
}

bool journal_begin(
    Journal *j, const char *student, int64_t at, Day day, int64_t *sitting, Error *error)
{
    int64_t id;
    *sitting = 0;
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
    if (!journal_end(j, done, doing, error))
        return false;
    look_ahead(j, day);
    return true;
}

/* The sitting is there and this student's. */
static bool need_sitting(Journal *j, int64_t sitting, int64_t student, Error *error)
{
    int64_t of;
    sqlite3_stmt *s = journal_kept(j, KEPT_SITTING, doing, error);
    if (s != NULL)
        sqlite3_bind_int64(s, 1, sitting);
    if (!journal_number(j, s, 0, &of, doing, error))
        return false;
    return of == student ||
           error_set(error, ERROR_RECORD, "the sitting is no longer the student's; begin another");
}

static int64_t within(int64_t day)
{
    return day < 0 ? 0 : day > last_day() ? last_day() : day;
}

static bool insert(Journal *j, const int64_t ids[4], const Repetition *r, Error *error)
{
    sqlite3_stmt *s = journal_kept(j, KEPT_REPETITION, doing, error);
    const int64_t values[] = {ids[0], ids[1], ids[2], ids[3], (int64_t)r->fingers,
        r->tempo.beat.num, r->tempo.beat.den, r->tempo.per_minute.num, r->tempo.per_minute.den,
        r->clean, r->at, within(r->day)};
    for (int i = 0; s != NULL && i < (int)(sizeof values / sizeof values[0]); i++)
        sqlite3_bind_int64(s, i + 1, values[i]);
    return journal_finish(j, s, doing, error);
}

bool journal_add(Journal *j, int64_t sitting, const Repetition *r, int64_t *id, Error *error)
{
    int64_t ids[4] = {sitting};
    *id = 0;
    if (!tempo_valid(r->tempo))
        return error_set(error, ERROR_RANGE, "a repetition without a tempo is not recorded");
    if (!journal_transaction(j, doing, error))
        return false;
    bool done = need_student(j, r->student, &ids[1], error) &&
                need_sitting(j, sitting, ids[1], error) && need_passage(j, r, &ids[2], error) &&
                need_drill(j, r->drill, &ids[3], error) && insert(j, ids, r, error);
    *id = sqlite3_last_insert_rowid(j->db);
    return journal_end(j, done, doing, error);
}

bool journal_judge(Journal *j, int64_t id, bool clean, Error *error)
{
    if (!journal_transaction(j, doing, error))
        return false;
    sqlite3_stmt *s = journal_prepare(
        j, "UPDATE repetition SET clean = ?1 WHERE id = ?2 AND clean <> ?1", doing, error);
    if (s != NULL) {
        sqlite3_bind_int(s, 1, clean);
        sqlite3_bind_int64(s, 2, id);
    }
    return journal_end(j, journal_finish(j, s, doing, error), doing, error);
}
