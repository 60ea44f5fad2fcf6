/* ledger.h - the practice record that the program wrote, read back. Include after cmocka.h. */
#ifndef EVENHAND_TESTS_APP_E2E_LEDGER_H
#define EVENHAND_TESTS_APP_E2E_LEDGER_H

#include "evenhand/app/paths.h"
#include "evenhand/journal/journal.h"

#include "program.h"

#include <sqlite3.h>

/* A repetition as the test knows it. */
typedef struct {
    const char *passage, *drill;
    int tempo; /* quarters a minute */
    bool clean;
} Entry;

static inline const char *ledger_path(void)
{
    static char path[PATHS_MAX];
    Error error = {0};
    if (!paths_record(path, &error))
        fail_msg("%s", error.text);
    return path;
}

/* SQLite finds nothing wrong with the file. */
static inline void ledger_is_whole(void)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *check = NULL;
    assert_int_equal(sqlite3_open(ledger_path(), &db), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db, "PRAGMA integrity_check", -1, &check, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(check), SQLITE_ROW);
    assert_string_equal((const char *)sqlite3_column_text(check, 0), "ok");
    sqlite3_finalize(check);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* All of a student's repetitions in their order; the caller frees. */
static inline Repetition *ledger_read(const char *student, size_t *count)
{
    Error error = {0};
    Repetition *all = NULL;
    const RecordFilter filter = {.student = student};
    Journal *j = journal_open_reading(ledger_path(), &error);
    if (j == NULL || !journal_repetitions(j, &filter, 0, 100000, &all, NULL, count, &error))
        fail_msg("%s", error.text);
    journal_close(j);
    return all;
}

static inline void ledger_show(const Repetition *r, size_t count)
{
    char text[TEMPO_TEXT_MAX];
    for (size_t i = 0; i < count; i++)
        print_message("%zu  %s, %s, %s, %s\n", i + 1, r[i].passage, r[i].drill,
            tempo_text(r[i].tempo, text), r[i].clean ? "clean" : "missed");
}

static inline bool entry_is(const Entry *e, const Repetition *r)
{
    return strcmp(e->passage, r->passage) == 0 && strcmp(e->drill, r->drill) == 0 &&
           ratio_equal(r->tempo.beat, ratio_int(1)) &&
           ratio_equal(r->tempo.per_minute, ratio_int(e->tempo)) && e->clean == r->clean;
}

/* The first `least` of these entries at least, in their order, and none besides them. Returns how
 * many. */
static inline size_t ledger_expect(
    const char *student, const Entry *entries, size_t least, size_t most)
{
    size_t count, i = 0;
    Repetition *r = ledger_read(student, &count);
    while (
        i < count && i < most && entry_is(&entries[i], &r[i]) && (i == 0 || r[i].at >= r[i - 1].at))
        i++;
    if (i < least || i < count) {
        ledger_show(r, count);
        fail_msg("%s: %zu of %zu repetitions are as they should, %zu to %zu are due",
            student != NULL ? student : "all", i, count, least, most);
    }
    free(r);
    return count;
}

/* `evenhand record` with these words prints a line that begins and ends so. */
static inline void ledger_prints(const char *words, const char *begins, const char *ends)
{
    static char text[COMMAND_ROOM];
    char command[COMMAND_ROOM];
    snprintf(command, sizeof command, "'%s' record %s", program_path(), words);
    FILE *f = popen(command, "r");
    assert_non_null(f);
    text[fread(text, 1, sizeof text - 1, f)] = '\0';
    assert_int_equal(pclose(f), 0);
    const char *line = strstr(text, begins);
    size_t length = line != NULL ? strcspn(line, "\r\n") : 0, tail = strlen(ends);
    if (line == NULL || (line != text && line[-1] != '\n') || length < tail ||
        strncmp(line + length - tail, ends, tail) != 0)
        fail_msg("record %s: no line '%s ... %s' in\n%s", words, begins, ends, text);
}

#endif
