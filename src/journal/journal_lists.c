/* Lists out of the record. */
#include "journal_parts.h"

#include "evenhand/music/text.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char doing[] = "reading it";

enum { SQL_MAX = 2000, FIRST_ROOM = 64 };

/* Which table a list is read from, and how: coarse wherever it tells apart what is asked for. */
typedef struct {
    bool passage, drill; /* told apart */
    const RecordFilter *filter;
} ListReach;

static bool has(const char *text)
{
    return text != NULL;
}

static ListReach reach_of(RecordBy by, const RecordFilter *f)
{
    static const RecordFilter all = {.student = NULL};
    f = f != NULL ? f : &all;
    return (ListReach){
        by == RECORD_BY_PASSAGE || has(f->passage), by == RECORD_BY_DRILL || has(f->drill), f};
}

/* Days within which the index of days is quicker than reading on along the key. */
enum { FEW_DAYS = 31 };

static bool few_days(const RecordFilter *f)
{
    return f->from != 0 && f->to != 0 && (int64_t)f->to - f->from < FEW_DAYS;
}

/* "table WHERE condition". Where a column of the key is given, those before it are given, too, as
 * all there are: so that rows are looked up and not read through. Values are bound by name. */
static void reach_sql(const ListReach *r, char *out, size_t size)
{
    static const char *const levels[] = {"coarse WHERE level = 0 AND ",
        "coarse WHERE level = 1 AND ", "coarse WHERE level = 2 AND ", "daily WHERE "};
    const RecordFilter *f = r->filter;
    const bool few = few_days(f), fine = r->passage && r->drill;
    const char *student = "", *passage = "", *drill = "";
    if (has(f->student))
        student = " AND student IN (SELECT id FROM student WHERE name = @student)";
    else if (!few && (has(f->passage) || has(f->drill)))
        student = " AND student IN (SELECT id FROM student)";
    if (has(f->passage))
        passage = " AND passage IN (SELECT id FROM passage WHERE title = @passage)";
    else if (!few && has(f->drill))
        passage = r->passage ? " AND passage IN (SELECT id FROM passage)" : " AND passage = 0";
    if (has(f->drill))
        drill = " AND drill IN (SELECT id FROM drill WHERE word = @drill)";
    snprintf(out, size, "%s%sday >= @from%s%s%s%s", levels[r->passage + 2 * r->drill],
        fine && !few ? "+" : "", f->to != 0 ? " AND day <= @to" : "", student, passage, drill);
}

static void bind_filter(sqlite3_stmt *s, const RecordFilter *f)
{
    int from = sqlite3_bind_parameter_index(s, "@from"),
        to = sqlite3_bind_parameter_index(s, "@to");
    if (from > 0)
        sqlite3_bind_int64(s, from, f != NULL && f->from != 0 ? f->from : INT_MIN);
    if (to > 0)
        sqlite3_bind_int64(s, to, f->to);
    if (f == NULL)
        return;
    int student = sqlite3_bind_parameter_index(s, "@student"),
        passage = sqlite3_bind_parameter_index(s, "@passage"),
        drill = sqlite3_bind_parameter_index(s, "@drill");
    if (student > 0)
        journal_bind_name(s, student, f->student);
    if (passage > 0)
        journal_bind_name(s, passage, f->passage);
    if (drill > 0)
        journal_bind_word(s, drill, f->drill);
}

/* Passages that somebody has recorded with other fingers than before. */
static const char *changed_sql(const RecordFilter *f)
{
    return has(f->student)
               ? " LEFT JOIN (SELECT DISTINCT passage FROM fingering WHERE student IN (SELECT id"
                 " FROM student WHERE name = @student) GROUP BY student, passage"
                 " HAVING count(*) > 1) c ON c.passage = g.key"
               : " LEFT JOIN (SELECT DISTINCT passage FROM fingering GROUP BY student, passage"
                 " HAVING count(*) > 1) c ON c.passage = g.key";
}

/* The lines of one kind. Rows come in the order of the table's key, so the innermost sums need no
 * sorting (days do, and have none); names are looked up once for each line, not for each day. */
static const char *lines_sql(RecordBy by, const RecordFilter *f, char sql[SQL_MAX])
{
    static const char sums[] = "sum(count) AS count, sum(clean) AS clean, max(best) AS best,"
                               " max(last) AS last, max(day) AS day";
    static const char *const keys[RECORD_GROUPS] = {"student", "passage", "drill", "day"};
    static const char *const names[RECORD_GROUPS] = {"n.name", "n.title", "n.word", "day"};
    const ListReach reach = reach_of(by, f);
    const bool passages = by == RECORD_BY_PASSAGE;
    char from[700];
    reach_sql(&reach, from, sizeof from);
    if (by == RECORD_BY_DAY)
        snprintf(sql, SQL_MAX, "SELECT day, %s, 0 FROM %s GROUP BY 1 ORDER BY 1", sums, from);
    else
        snprintf(sql, SQL_MAX,
            "SELECT %s, %s, %s FROM (SELECT key, %s FROM (SELECT %s AS key, %s FROM %s"
            " GROUP BY student, passage, drill) GROUP BY key) g JOIN %s n ON n.id = g.key%s"
            " GROUP BY 1 ORDER BY 1",
            names[by], sums, passages ? "max(c.passage IS NOT NULL)" : "0", sums, keys[by], sums,
            from, keys[by], passages ? changed_sql(reach.filter) : "");
    return sql;
}

static bool read_pace(const char *text, Tempo *out)
{
    enum { NUMBERS = 5 };
    long long n[NUMBERS];
    for (int i = 0; i < NUMBERS; i++) {
        char *end = NULL;
        n[i] = text != NULL ? strtoll(text, &end, 10) : 0;
        if (end == text || n[i] <= 0)
            return false;
        text = end;
    }
    *out = tempo(ratio(n[1], n[2]), ratio(n[3], n[4]));
    return tempo_valid(*out);
}

static void copy_text(sqlite3_stmt *s, int column, char *out, size_t size)
{
    const char *text = (const char *)sqlite3_column_text(s, column);
    journal_text(text != NULL ? text : "", out, size);
}

static void read_line(sqlite3_stmt *s, RecordBy by, RecordLine *out)
{
    *out = (RecordLine){.count = sqlite3_column_int64(s, 1),
        .clean = sqlite3_column_int64(s, 2),
        .last = sqlite3_column_int64(s, 4),
        .day = sqlite3_column_int(s, 5),
        .changed = sqlite3_column_int(s, 6) != 0};
    out->has_best = read_pace((const char *)sqlite3_column_text(s, 3), &out->best);
    if (by == RECORD_BY_DAY)
        date_text(out->day, out->name);
    else
        copy_text(s, 0, out->name, sizeof out->name);
}

/* Room for one more thing of `size` bytes; NULL without memory (what was there is freed). */
static void *grow(void *items, size_t count, size_t *room, size_t size)
{
    if (count < *room)
        return items;
    *room = *room == 0 ? FIRST_ROOM : 2 * *room;
    void *more = realloc(items, *room * size);
    if (more == NULL)
        free(items);
    return more;
}

bool journal_lines(Journal *j, RecordBy by, const RecordFilter *filter, RecordLine **out,
    size_t *count, Error *error)
{
    char sql[SQL_MAX];
    size_t room = 0;
    *out = NULL;
    *count = 0;
    if (j->db == NULL)
        return true;
    sqlite3_stmt *s = journal_prepare(j, lines_sql(by, filter, sql), doing, error);
    if (s == NULL)
        return false;
    bind_filter(s, filter);
    int step;
    while ((step = sqlite3_step(s)) == SQLITE_ROW) {
        *out = grow(*out, *count, &room, sizeof **out);
        if (*out == NULL)
            break;
        read_line(s, by, &(*out)[(*count)++]);
    }
    bool done = step == SQLITE_DONE;
    if (!done && step == SQLITE_ROW)
        error_set(error, ERROR_MEMORY, "out of memory for the record");
    else if (!done)
        journal_fail(j, doing, error);
    sqlite3_finalize(s);
    if (!done) {
        free(*out);
        *out = NULL;
        *count = 0;
    }
    return done;
}

static void read_repetition(sqlite3_stmt *s, Repetition *out)
{
    *out = (Repetition){.notes = (uint64_t)sqlite3_column_int64(s, 3),
        .fingers = (uint64_t)sqlite3_column_int64(s, 4),
        .clean = sqlite3_column_int(s, 10) != 0,
        .at = sqlite3_column_int64(s, 11),
        .day = sqlite3_column_int(s, 12)};
    copy_text(s, 1, out->student, sizeof out->student);
    copy_text(s, 2, out->passage, sizeof out->passage);
    copy_text(s, 5, out->drill, sizeof out->drill);
    int64_t n[4];
    for (int i = 0; i < 4; i++)
        n[i] = sqlite3_column_int64(s, 6 + i);
    if (n[0] > 0 && n[1] > 0 && n[2] > 0 && n[3] > 0)
        out->tempo = tempo(ratio(n[0], n[1]), ratio(n[2], n[3]));
}

/* Read along the ids, in whose order they are wanted: an index of theirs would have them sorted. */
static void single_sql(const RecordFilter *f, char *out, size_t size)
{
    snprintf(out, size, "r.day >= @from%s%s%s%s", f != NULL && f->to != 0 ? " AND day <= @to" : "",
        f != NULL && has(f->student)
            ? " AND +student IN (SELECT id FROM student WHERE name = @student)"
            : "",
        f != NULL && has(f->passage)
            ? " AND +passage IN (SELECT id FROM passage WHERE title = @passage)"
            : "",
        f != NULL && has(f->drill) ? " AND +drill IN (SELECT id FROM drill WHERE word = @drill)"
                                   : "");
}

bool journal_repetitions(Journal *j, const RecordFilter *filter, int64_t after, size_t limit,
    Repetition **out, int64_t **ids, size_t *count, Error *error)
{
    char where[600], sql[SQL_MAX];
    *out = NULL;
    *count = 0;
    if (ids != NULL)
        *ids = NULL;
    if (j->db == NULL || limit == 0)
        return true;
    single_sql(filter, where, sizeof where);
    snprintf(sql, sizeof sql,
        "SELECT r.id, s.name, p.title, p.notes, r.fingers, d.word, beat_num, beat_den, tempo_num,"
        " tempo_den, clean, r.at, day FROM repetition r JOIN student s ON s.id = r.student"
        " JOIN passage p ON p.id = r.passage JOIN drill d ON d.id = r.drill"
        " WHERE r.id > @after AND %s ORDER BY r.id LIMIT @limit",
        where);
    sqlite3_stmt *s = journal_prepare(j, sql, doing, error);
    if (s == NULL)
        return false;
    bind_filter(s, filter);
    sqlite3_bind_int64(s, sqlite3_bind_parameter_index(s, "@after"), after);
    sqlite3_bind_int64(s, sqlite3_bind_parameter_index(s, "@limit"), (int64_t)limit);
    size_t room = 0, id_room = 0;
    bool memory = true;
    int step = SQLITE_DONE;
    while (memory && (step = sqlite3_step(s)) == SQLITE_ROW) {
        *out = grow(*out, *count, &room, sizeof **out);
        if (ids != NULL)
            *ids = grow(*ids, *count, &id_room, sizeof **ids);
        memory = *out != NULL && (ids == NULL || *ids != NULL);
        if (!memory)
            break;
        if (ids != NULL)
            (*ids)[*count] = sqlite3_column_int64(s, 0);
        read_repetition(s, &(*out)[(*count)++]);
    }
    bool done = memory && step == SQLITE_DONE;
    if (!memory)
        error_set(error, ERROR_MEMORY, "out of memory for the record");
    else if (!done)
        journal_fail(j, doing, error);
    sqlite3_finalize(s);
    if (done)
        return true;
    free(*out);
    *out = NULL;
    if (ids != NULL) {
        free(*ids);
        *ids = NULL;
    }
    *count = 0;
    return false;
}

bool journal_fingers_changed(Journal *j, const char *student, uint64_t notes, uint64_t fingers,
    Day *last_other, Error *error)
{
    int64_t last = 0;
    *last_other = 0;
    if (j->db == NULL)
        return true;
    sqlite3_stmt *s = journal_prepare(j,
        "SELECT CASE WHEN max(CASE WHEN fingers = ?3 THEN last END) >="
        "                 max(CASE WHEN fingers <> ?3 THEN last END) THEN 0"
        "       ELSE max(CASE WHEN fingers <> ?3 THEN last END) END"
        " FROM fingering"
        " WHERE student = (SELECT id FROM student WHERE name = ?1)"
        " AND passage = (SELECT id FROM passage WHERE notes = ?2)",
        doing, error);
    if (s == NULL)
        return false;
    journal_bind_name(s, 1, student);
    sqlite3_bind_int64(s, 2, (int64_t)notes);
    sqlite3_bind_int64(s, 3, (int64_t)fingers);
    if (!journal_number(j, s, 0, &last, doing, error))
        return false;
    *last_other = (Day)last;
    return true;
}
