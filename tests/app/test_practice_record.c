/* The screen of the record: what the journal holds comes into the model, by passage and by drill.
 * The record is invented. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/app/load.h"
#include "evenhand/app/paths.h"
#include "evenhand/app/practice.h"
#include "evenhand/journal/journal.h"
#include "evenhand/plan/fingerprint.h"
#include "kept.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { TODAY = 20782 /* 2026-11-25 */ };

static const char tune[] = "presets/02-one-octave-up.abc";

static Practice *practice(const char *student)
{
    Options o = options_default();
    Error error = {0};
    o.file = tune;
    o.student = student;
    o.has_today = true;
    o.today = TODAY;
    Practice *p = practice_new(&o, true, &error);
    if (p == NULL)
        fail_msg("%s", error.text);
    return p;
}

static const ModelRecord *press(Practice *p, Action action)
{
    assert_true(practice_act(p, action, 0));
    return &practice_model(p)->record;
}

/* The title of the passage that is open. */
static const char *title(void)
{
    static char text[RECORD_NAME_MAX];
    Practice *p = practice(NULL);
    text_clean(practice_model(p)->title, text, sizeof text);
    practice_free(p);
    return text;
}

static void nothing_yet(void **state)
{
    (void)state;
    Practice *p = practice(NULL);
    const ModelRecord *r = press(p, ACTION_RECORD);
    assert_int_equal(practice_model(p)->screen, SCREEN_RECORD);
    assert_int_equal(r->count, 0);
    assert_string_equal(r->trouble, "");
    press(p, ACTION_DOWN);
    press(p, ACTION_RECORD_BY);
    assert_int_equal(access(kept_path("evenhand"), F_OK), -1); /* looking makes nothing */
    press(p, ACTION_BACK);
    assert_int_equal(practice_model(p)->screen, SCREEN_PRACTICE);
    practice_free(p);
}

static void shows_what_is_kept(void **state)
{
    (void)state;
    const Kept kept[] = {
        {"", title(), "plain", 60, TODAY - 20, 4, 3, 1},
        {"", title(), "plain", 72, TODAY - 1, 10, 5, 2},
        {"", title(), "links", 66, TODAY - 1, 2, 0, 2},
        {"", "A \x1b[31mred\x07 title", "plain", 90, TODAY - 30, 3, 3, 1},
        {"Ada", "Waves", "finger-4", 100, TODAY, 5, 5, 1},
    };
    kept_write(NULL, kept, 5);
    Practice *p = practice(NULL);
    const ModelRecord *r = press(p, ACTION_RECORD);
    assert_int_equal(r->count, 3);
    const ModelRecordItem *here = &r->items[r->cursor];
    assert_string_equal(here->title, title()); /* the passage that is practised */
    assert_int_equal(here->percent, 50);       /* 8 of 16 */
    assert_string_equal(here->best, "1/4 = 72");
    assert_string_equal(here->last, "yesterday");
    assert_true(here->changed && !here->stale);
    assert_int_equal(r->point_count, 2);
    assert_int_equal(r->points[0].day, TODAY - 20);
    assert_true(r->points[0].tempo == 60 && r->points[1].tempo == 72);
    assert_true(r->points[1].clean == 5 && r->points[1].count == 12);
    assert_string_equal(r->unit, "1/4");
    for (int i = 0; i < 5; i++)
        r = press(p, ACTION_UP);
    assert_int_equal(r->cursor, 0);
    assert_string_equal(r->items[0].title, "A ?[31mred? title");
    assert_true(r->items[0].stale && !r->items[0].changed);
    assert_true(r->point_count == 1 && r->points[0].tempo == 90);

    r = press(p, ACTION_RECORD_BY);
    assert_true(r->drills);
    assert_int_equal(r->count, 3);
    assert_string_equal(r->items[r->cursor].title, "plain");
    assert_int_equal(r->point_count, 3);
    r = press(p, ACTION_RECORD_BY);
    assert_false(r->drills);
    practice_free(p);

    p = practice("Ada");
    r = press(p, ACTION_RECORD);
    assert_string_equal(r->student, "Ada");
    assert_int_equal(r->count, 1);
    assert_string_equal(r->items[0].title, "Waves");
    practice_free(p);
}

/* The open passage, played on this day with the planner's fingers and `other` ones. */
static void keep_fingers(Day day, uint64_t other)
{
    Options o = options_default();
    Error error = {0};
    Loaded l;
    char path[PATHS_MAX];
    int64_t sitting, id;
    assert_true(load_passage(tune, &o, &l, &error));
    Repetition r = {.notes = fingerprint_notes(l.passage),
        .fingers = fingerprint_fingers(&l.fingering) + other,
        .drill = "plain",
        .tempo = tempo(ratio_int(1), ratio_int(60)),
        .at = (int64_t)day * 86400000,
        .day = day};
    snprintf(r.passage, sizeof r.passage, "%s", title());
    loaded_free(&l);
    assert_true(paths_record(path, &error));
    Journal *j = journal_open(path, &error);
    assert_non_null(j);
    assert_true(journal_begin(j, "", r.at, day, &sitting, &error));
    assert_true(journal_add(j, sitting, &r, &id, &error));
    journal_close(j);
}

static uint64_t take(void *to, const Repetition *r)
{
    (void)to, (void)r;
    return 1;
}

static bool amend(void *to, uint64_t ticket, bool clean)
{
    (void)to, (void)ticket, (void)clean;
    return true;
}

/* What is said when the practice starts, be it recorded or not. */
static bool says_other_fingers(bool recorded, const char *day)
{
    const RecordSink sink = {.put = take, .judge = amend};
    Practice *p = practice(NULL);
    if (recorded)
        practice_record_to(p, &sink);
    assert_null(strstr(practice_model(p)->message, "fingers")); /* the caution comes first */
    press(p, ACTION_GO);
    bool says = strstr(practice_model(p)->message, "Other fingers than") != NULL &&
                strstr(practice_model(p)->message, day) != NULL;
    press(p, ACTION_GO);
    press(p, ACTION_GO); /* on again: it was said */
    assert_null(strstr(practice_model(p)->message, "fingers"));
    practice_free(p);
    return says;
}

/* Other fingers than last time are said when the practice starts, until they are the usual ones. */
static void changed_fingers_are_said_at_the_start(void **state)
{
    (void)state;
    assert_false(says_other_fingers(true, ""));
    keep_fingers(TODAY - 9, 0);
    assert_false(says_other_fingers(true, ""));
    keep_fingers(TODAY - 6, 1); /* 2026-11-19 */
    assert_true(says_other_fingers(true, "2026-11-19"));
    assert_false(says_other_fingers(false, ""));
    keep_fingers(TODAY - 5, 0);
    assert_false(says_other_fingers(true, ""));
}

/* The longest drill that the record takes is found again by its word. */
static void long_drills_have_their_points(void **state)
{
    (void)state;
    char word[RECORD_WORD_MAX];
    memset(word, 'z', sizeof word - 1); /* the last in the list */
    word[sizeof word - 1] = '\0';
    const Kept kept[] = {{"", title(), word, 60, TODAY, 4, 3, 1}};
    kept_write(NULL, kept, 1);
    Practice *p = practice(NULL);
    press(p, ACTION_RECORD);
    const ModelRecord *r = press(p, ACTION_RECORD_BY);
    while (r->cursor < r->count - 1)
        r = press(p, ACTION_DOWN);
    assert_string_equal(r->items[r->cursor].title, word);
    assert_int_equal(r->point_count, 1);
    practice_free(p);
}

/* What is no record is told, and left as it is. */
static void trouble_is_told(void **state)
{
    (void)state;
    FILE *file = fopen(kept_path("evenhand/record.db"), "wb");
    assert_non_null(file);
    for (int i = 0; i < 2000; i++)
        fputs("not a record ", file);
    assert_int_equal(fclose(file), 0);
    Practice *p = practice(NULL);
    const ModelRecord *r = press(p, ACTION_RECORD);
    assert_int_equal(r->count, 0);
    assert_string_not_equal(r->trouble, "");
    press(p, ACTION_DOWN);
    practice_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_yet),
        cmocka_unit_test(shows_what_is_kept),
        cmocka_unit_test(long_drills_have_their_points),
        cmocka_unit_test(changed_fingers_are_said_at_the_start),
        cmocka_unit_test(trouble_is_told),
    };
    return cmocka_run_group_tests_name("practice_record", tests, kept_enter, kept_leave);
}
