/* Lists of the practice record: tables, and CSV and JSON read back by Python's csv and json. All
 * names and figures here are invented. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/formats/record_text.h"

#include "evenhand/music/rune.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { TODAY = 20782 /* 2026-11-25 */, ROUNDS = 60, LINES = 40, ROW_MAX = 1200 };

static RecordLine line_of(const char *name, Day day, int64_t clean, int64_t count, Tempo best)
{
    RecordLine line = {.day = day,
        .last = (int64_t)day * 86400000,
        .clean = clean,
        .count = count,
        .has_best = clean > 0,
        .best = best};
    snprintf(line.name, sizeof line.name, "%s", name);
    return line;
}

static Tempo quarters(int64_t per_minute)
{
    return tempo(ratio_int(1), ratio_int(per_minute));
}

static RecordList list_of(RecordBy by, const RecordLine *lines, size_t count)
{
    return (RecordList){
        .by = by, .lines = lines, .count = count, .today = TODAY, .stale_days = RECORD_STALE_DAYS};
}

/* ---- tables -------------------------------------------------------------------------------- */

static void a_table_is_as_it_says(void **state)
{
    (void)state;
    RecordLine lines[] = {
        line_of("Run in G", TODAY, 20, 24, tempo(ratio(3, 2), ratio_int(92))),
        line_of("A title that is longer than its column has room for", 20000, 0, 1, quarters(60)),
        line_of("\x1b[31mred\x07", TODAY - 7, 1, 1, quarters(60)),
    };
    lines[0].changed = true;
    RecordList list = list_of(RECORD_BY_PASSAGE, lines, 3);
    Text out = {0};
    Error error = {0};
    assert_true(record_text(&out, &list, &error));
    assert_string_equal(out.bytes,
        "passage                         clean  best clean        repetitions  last\n"
        "Run in G                         83 %  3/8 = 92                   24  2026-11-25\n"
        "A title that is longer than i~    0 %  -                           1  2024-10-04\n"
        "?[31mred?                       100 %  1/4 = 60                    1  2026-11-18\n"
        "\nIts fingering changed since it was first recorded: Run in G.\n");
    text_free(&out);
}

static void nothing_is_said_to_be_nothing(void **state)
{
    (void)state;
    RecordList list = list_of(RECORD_BY_DRILL, NULL, 0);
    Text out = {0};
    assert_true(record_text(&out, &list, NULL) && record_text_stale(&out, &list, NULL));
    assert_string_equal(out.bytes, "Nothing is recorded.\n");
    text_free(&out);
    assert_true(record_text_today(&out, &list, &list, &list, NULL));
    assert_string_equal(out.bytes, "Today, 2026-11-25: nothing is recorded.\n");
    text_free(&out);
}

/* The very day counts: seven days ago is stale, six are not. */
static void stale_begins_on_its_day(void **state)
{
    (void)state;
    RecordLine lines[] = {line_of("new", TODAY - 6, 1, 2, quarters(60)),
        line_of("edge", TODAY - 7, 1, 2, quarters(60)),
        line_of("old", TODAY - 400, 1, 2, quarters(60)),
        line_of("tomorrow", TODAY + 1, 1, 2, quarters(60))};
    RecordList list = list_of(RECORD_BY_PASSAGE, lines, 4);
    static const bool wanted[] = {false, true, true, false};
    for (int i = 0; i < 4; i++)
        assert_int_equal(record_stale(&list, &lines[i]), wanted[i]);
    Text out = {0};
    assert_true(record_text_stale(&out, &list, NULL));
    const char *old = strstr(out.bytes, "\nold "), *edge = strstr(out.bytes, "\nedge ");
    assert_true(old != NULL && edge != NULL && old < edge);
    assert_null(strstr(out.bytes, "new"));
    assert_null(strstr(out.bytes, "tomorrow"));
    text_free(&out);
    list.by = RECORD_BY_DAY;
    for (int i = 0; i < 4; i++)
        assert_false(record_stale(&list, &lines[i]));
}

static void today_tells_what_was_last(void **state)
{
    (void)state;
    RecordLine all[] = {line_of("Older", TODAY - 9, 1, 3, quarters(60)),
        line_of("Newer", TODAY - 2, 2, 3, quarters(72))};
    RecordList whole = list_of(RECORD_BY_PASSAGE, all, 2), none = whole;
    Text out = {0};
    none.count = 0;
    assert_true(record_text_today(&out, &none, &none, &whole, NULL));
    assert_non_null(strstr(out.bytes, "nothing is recorded.\n\nLast: Newer, 2 days ago on "
                                      "2026-11-23.\n\nGone stale, not practised for 7 days or "
                                      "more:\n"));
    text_free(&out);

    RecordLine drill = line_of("links+finger-4", TODAY, 3, 4, quarters(72));
    all[1] = line_of("Newer", TODAY, 3, 4, quarters(72));
    RecordList today = list_of(RECORD_BY_PASSAGE, all + 1, 1);
    RecordList drills = list_of(RECORD_BY_DRILL, &drill, 1);
    assert_true(record_text_today(&out, &today, &drills, &whole, NULL));
    static const char head[] = "Today, 2026-11-25: 75 % clean of 4 repetitions.\n\npassage ";
    assert_int_equal(strncmp(out.bytes, head, sizeof head - 1), 0);
    assert_non_null(strstr(out.bytes, "\n\nLast: Newer, links+finger-4.\n"));
    text_free(&out);
}

/* ---- read back ----------------------------------------------------------------------------- */

static uint64_t seed_state;

static int64_t draw(int64_t low, int64_t high)
{
    seed_state ^= seed_state << 13;
    seed_state ^= seed_state >> 7;
    seed_state ^= seed_state << 17;
    return low + (int64_t)(seed_state % (uint64_t)(high - low + 1));
}

static const char *const pieces[] = {"Étude", "音階", "\xF0\x9D\x84\x9E", "e\xCC\x81", ",", ";",
    "\\", "\\n", "\"", "\"\"", ":", " ", "\r\n", "\n", "\r", "\t", "\x1B[2J", "\xFF",
    "\xE2\x80\xAE", "\xC3", "scale", "%s%n", "\x7F", "=", "'", "\xC2\x9B", "\xE2\x80\xA8", "{}",
    "\x01", "\xED\xA0\x80", "/", "null"};
enum { PIECES = sizeof pieces / sizeof pieces[0] };

static void hostile(char out[RECORD_NAME_MAX])
{
    size_t used = 0;
    out[0] = '\0';
    for (int64_t count = draw(0, 25); count > 0; count--) {
        const char *piece = pieces[draw(0, PIECES - 1)];
        if (used + strlen(piece) + 1 > RECORD_NAME_MAX)
            break;
        strcpy(out + used, piece);
        used += strlen(piece);
    }
}

static void random_lines(RecordLine lines[LINES])
{
    static const int beats[][2] = {{1, 1}, {3, 2}, {2, 1}, {1, 2}, {3, 4}};
    for (int i = 0; i < LINES; i++) {
        int64_t count = draw(1, 1000000), clean = draw(0, 3) == 0 ? 0 : draw(1, count);
        const int *beat = beats[draw(0, 4)];
        char name[RECORD_NAME_MAX];
        hostile(name);
        lines[i] = line_of(name, (Day)draw(0, 40000), clean, count,
            tempo(ratio(beat[0], beat[1]), ratio(draw(80, 3200), 8)));
        lines[i].changed = draw(0, 1) == 1;
    }
}

/* As the other reader has it: what is no UTF-8 counts as Latin-1. */
static void put_hex(Text *out, const char *name)
{
    if (*name == '\0')
        text_add(out, "-");
    while (*name != '\0') {
        uint32_t rune;
        char bytes[RUNE_BYTES_MAX];
        int size = rune_decode(name, &rune), wide = rune_encode(rune, bytes);
        for (int i = 0; i < wide; i++)
            text_add(out, "%02x", (unsigned)(unsigned char)bytes[i]);
        name += size > 0 ? size : 1;
    }
}

static void put_wanted(Text *out, const RecordList *list, const RecordLine *line)
{
    char day[DATE_TEXT_MAX], beat[RATIO_TEXT_MAX];
    put_hex(out, line->name);
    text_add(out, " %d", (int)(line->clean * 100 / line->count));
    if (line->has_best)
        text_add(out, " %s %.10g", ratio_text(ratio_div(line->best.beat, ratio_int(4)), beat),
            ratio_double(line->best.per_minute));
    else
        text_add(out, " None None");
    text_add(out, " %s %d %s %s %" PRId64 " %" PRId64 "\n", date_text(line->day, day),
        list->today - line->day, record_stale(list, line) ? "yes" : "no",
        line->changed ? "yes" : "no", line->clean, line->count);
}

static void read_back(const char *kind, const Text *text, const char *wanted, uint64_t seed)
{
    char name[] = "/tmp/evenhand-record-XXXXXX", command[200], row[ROW_MAX];
    Text got = {0};
    int file = mkstemp(name);
    assert_true(file >= 0);
    assert_int_equal(write(file, text->bytes, text->size), (ssize_t)text->size);
    close(file);
    snprintf(
        command, sizeof command, "/usr/bin/python3 tests/tools/record_back.py %s %s", kind, name);
    FILE *reader = popen(command, "r");
    assert_non_null(reader);
    while (fgets(row, sizeof row, reader) != NULL)
        text_add(&got, "%s", row);
    int code = pclose(reader);
    unlink(name);
    if (code != 0 || strcmp(got.bytes != NULL ? got.bytes : "", wanted) != 0)
        fail_msg("seed %" PRIu64 ", %s: read back with code %d as\n%s\nnot\n%s", seed, kind, code,
            got.bytes, wanted);
    text_free(&got);
}

/* Lines end in CR LF [RFC 4180, 2.1], also the last. Between quotes a bare LF may stand. */
static void check_csv(const Text *csv)
{
    bool quoted = false;
    assert_int_equal(memcmp(csv->bytes + csv->size - 2, "\r\n", 2), 0);
    for (size_t i = 0; i < csv->size; i++) {
        quoted ^= csv->bytes[i] == '"';
        if (!quoted && csv->bytes[i] == '\n')
            assert_true(i > 0 && csv->bytes[i - 1] == '\r');
    }
    assert_false(quoted);
}

/* RFC 8259, 7: no control character in a string; and none that a terminal would obey. */
static void check_json(const Text *json, uint64_t seed)
{
    for (const char *at = json->bytes; *at != '\0';) {
        uint32_t rune;
        int size = rune_decode(at, &rune);
        if (size == 0 || (rune != '\n' && rune_clean(rune) != rune))
            fail_msg("seed %" PRIu64 ": U+%04X stands bare in the JSON", seed, (unsigned)rune);
        at += size;
    }
}

static void others_read_the_same(void **state)
{
    (void)state;
    static RecordLine lines[LINES];
    for (uint64_t seed = 1; seed <= ROUNDS; seed++) {
        seed_state = seed * 0x9E3779B97F4A7C15u;
        random_lines(lines);
        RecordList list =
            list_of((RecordBy)draw(0, RECORD_GROUPS - 1), lines, (size_t)draw(0, LINES));
        Text csv = {0}, json = {0}, wanted = {0};
        text_add(&wanted, "%s", "");
        assert_true(record_csv(&csv, &list, NULL) && record_json(&json, &list, NULL));
        for (size_t i = 0; i < list.count; i++)
            put_wanted(&wanted, &list, &lines[i]);
        check_csv(&csv);
        check_json(&json, seed);
        if (seed % 6 == 0) { /* starting the other reader takes its time */
            read_back("csv", &csv, wanted.bytes, seed);
            read_back("json", &json, wanted.bytes, seed);
        }
        text_free(&csv);
        text_free(&json);
        text_free(&wanted);
    }
}

/* Whatever a name holds: tables stay in 80 columns, and nothing in them moves a cursor. */
static void tables_are_safe(void **state)
{
    (void)state;
    static RecordLine lines[LINES];
    for (uint64_t seed = 1; seed <= ROUNDS; seed++) {
        seed_state = seed * 0x9E3779B97F4A7C15u;
        random_lines(lines);
        RecordList list = list_of(RECORD_BY_PASSAGE, lines, LINES);
        Text out = {0};
        assert_true(record_text_today(&out, &list, &list, &list, NULL));
        for (char *at = out.bytes, *next; *at != '\0'; at = next) {
            char *end = strchr(at, '\n');
            *end = '\0';
            next = end + 1;
            if (text_columns(at) > 80 &&
                strstr(at, " %  ") != NULL) /* a row; one word may be longer */
                fail_msg("seed %" PRIu64 ": a line of %d columns: %s", seed, text_columns(at), at);
            for (const char *c = at; *c != '\0';) {
                uint32_t rune;
                int size = rune_decode(c, &rune);
                if (size == 0 || rune_clean(rune) != rune)
                    fail_msg("seed %" PRIu64 ": U+%04X in a table", seed, (unsigned)rune);
                c += size;
            }
        }
        text_free(&out);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_table_is_as_it_says),
        cmocka_unit_test(nothing_is_said_to_be_nothing),
        cmocka_unit_test(stale_begins_on_its_day),
        cmocka_unit_test(today_tells_what_was_last),
        cmocka_unit_test(others_read_the_same),
        cmocka_unit_test(tables_are_safe),
    };
    return cmocka_run_group_tests_name("record_text", tests, NULL, NULL);
}
