/* What the program writes into its terminal, byte by byte: the first picture at once, only what
 * changes, each change in time, no colours or foreign letters where they are not wanted. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "concert.h"
#include "console/pty.h"

#include <errno.h>
#include <poll.h>
#include <sys/wait.h>

enum { BYTES_ROOM = 1 << 20, READS_MAX = 16384, WORDS_MAX = 24, MARKS_MAX = 256 };

#define MARK "\xE2\x96\xB2" /* the sign under the note that is heard */

/* ---- the program on a terminal -------------------------------------------------------------- */

/* What came in one read, and when. */
typedef struct {
    int64_t time;
    size_t from, to;
} Read;

static Pty pty;
static bool pty_open;
static char bytes[BYTES_ROOM + 1];
static size_t byte_count, read_count;
static Read reads[READS_MAX];
static char *words[WORDS_MAX]; /* of the command line */

static int become_program(void)
{
    execv(words[0], words);
    return 127;
}

/* Starts the program with these words, which are split at spaces. */
static void begin(const PtyOptions *options, const char *line)
{
    static char path[PROGRAM_ROOM], copy[COMMAND_ROOM];
    int count = 0;
    snprintf(path, sizeof path, "%s", program_path());
    snprintf(copy, sizeof copy, "%s", line);
    words[count++] = path;
    for (char *word = strtok(copy, " "); word != NULL; word = strtok(NULL, " ")) {
        assert_true(count < WORDS_MAX - 1);
        words[count++] = word;
    }
    words[count] = NULL;
    byte_count = read_count = 0;
    bytes[0] = '\0';
    pty = pty_start(options, become_program);
    pty_open = true;
}

/* Takes in what is written until the time is over or, with `wanted`, until that has come (seen
 * from byte `from` on). */
static bool listen_until(int64_t deadline, size_t from, const char *wanted)
{
    for (;;) {
        int64_t left = deadline - monotonic_now();
        struct pollfd ready = {.fd = pty.master, .events = POLLIN};
        if (wanted != NULL && strstr(bytes + from, wanted) != NULL)
            return true;
        if (left <= 0)
            return false;
        if (poll(&ready, 1, (int)(left / MILLISECOND) + 1) <= 0)
            continue;
        ssize_t got = read(pty.master, bytes + byte_count, BYTES_ROOM - byte_count);
        if (got <= 0) {
            pause_for(MILLISECOND); /* the other side is closed */
            continue;
        }
        assert_true(read_count < READS_MAX);
        reads[read_count++] =
            (Read){.time = monotonic_now(), .from = byte_count, .to = byte_count + (size_t)got};
        byte_count += (size_t)got;
        bytes[byte_count] = '\0';
    }
}

static void want(size_t from, const char *wanted, int64_t patience)
{
    if (!listen_until(monotonic_now() + patience, from, wanted))
        fail_msg(
            "\"%s\" is not written within %lld ms", wanted, (long long)(patience / MILLISECOND));
}

static void listen_for(int64_t duration)
{
    listen_until(monotonic_now() + duration, 0, NULL);
}

/* Types keys and waits for what they bring. */
static void type(const char *keys, const char *wanted)
{
    size_t from = byte_count;
    pty_type(&pty, keys);
    want(from, wanted, 5 * SECOND);
}

/* Ends the program with q; it ends well and gives the terminal back. */
static void leave(void)
{
    pty_type(&pty, "q");
    listen_for(SECOND / 5);
    int status = pty_end(&pty);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    assert_true(pty_settings_restored(&pty));
    pty_free(&pty);
    pty_open = false;
}

static int teardown(void **state)
{
    if (pty_open)
        pty_free(&pty);
    pty_open = false;
    loopback_thaw(&card.loop);
    return concert_tear_down(state);
}

/* ---- the first picture ---------------------------------------------------------------------- */

/* With a sound server that answers nobody: whoever asks it for a device waits. */
static void the_first_picture_waits_for_no_sound(void **state)
{
    (void)state;
    loopback_freeze(&card.loop);
    int64_t started = monotonic_now();
    begin(&(PtyOptions){0}, WALK " --rate 48000");
    want(0, "Space", 5 * SECOND); /* the last row */
    int64_t took = reads[read_count - 1].time - started;
    print_message("first picture after %lld ms\n", (long long)(took / MILLISECOND));
    assert_true(took < 250 * MILLISECOND); /* `make bench` has the exact figure */
    loopback_thaw(&card.loop);
    type("s", "48000 Hz");
    leave();
}

/* ---- only what changes, and in time --------------------------------------------------------- */

static void a_waiting_screen_writes_nothing(void **state)
{
    (void)state;
    begin(&(PtyOptions){0}, WALK " --rate 48000");
    want(0, "Space", 5 * SECOND);
    listen_for(SECOND); /* sound is opened */
    size_t before = byte_count;
    listen_for(2 * SECOND);
    print_message("first picture %zu bytes, then in 2 s %zu\n", before, byte_count - before);
    assert_int_equal(byte_count, before);
    leave();
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* When the mark was written from byte `from` on, if between two times. */
static size_t find_marks(size_t from, int64_t first, int64_t last, int64_t times[MARKS_MAX])
{
    size_t count = 0, r = 0;
    for (const char *at = bytes + from; (at = strstr(at, MARK)) != NULL; at += strlen(MARK)) {
        while (r < read_count && reads[r].to <= (size_t)(at - bytes))
            r++;
        assert_true(r < read_count && count < MARKS_MAX);
        if (reads[r].time > first && reads[r].time < last)
            times[count++] = reads[r].time;
    }
    return count;
}

/* From the first note on, every note but the very first moves the mark, once. The clock of the
 * recording is unsure by about 10 ms, a busy machine delays a picture now and then: so half of
 * all within a picture's time, nine tenths within two, none far off. */
static void check_marks(size_t from)
{
    static int64_t times[MARKS_MAX];
    static double late[MARKS_MAX];
    const double picture = 1000.0 / 30;
    size_t notes = 0;
    while (clicks.event[notes]->count_in)
        notes++;
    /* The mark stands under the first note already; at the end it goes back there. */
    int64_t first = heard_time(&heard, heard.click[notes++].frame);
    int64_t last = heard_time(&heard, heard.click[heard.count - 1].frame);
    size_t marks = find_marks(from, first, last + SECOND / 4, times);
    assert_int_equal(marks, clicks.count - notes);
    for (size_t i = 0; i < marks; i++)
        late[i] =
            (double)(times[i] - heard_time(&heard, heard.click[notes + i].frame)) / MILLISECOND;
    qsort(late, marks, sizeof late[0], compare_doubles);
    print_message("%zu notes shown %.0f ms after they were heard; %.0f to %.0f\n", marks,
        late[marks / 2], late[0], late[marks - 1]);
    assert_true(late[0] > -25);
    assert_true(late[marks / 2] < picture);
    assert_true(late[marks * 9 / 10] < 2 * picture);
    assert_true(late[marks * 9 / 10] - late[marks / 10] < picture + 15);
}

static void what_changes_is_written_in_time_and_nothing_else(void **state)
{
    (void)state;
    const char *line = WALK " --tempo 137 --drill finger-4 --repetitions 2 --count-in 1 --rest 0";
    char command[512];
    concert_expect(line);
    snprintf(command, sizeof command, "%s " ONE_CLICK_LAYERS, line);
    begin(&(PtyOptions){0}, command);
    want(0, "Space", 5 * SECOND);
    type("s", "48000 Hz");
    type("s", "begin with");
    loopback_record(&card.loop);
    size_t before = byte_count;
    int64_t started = monotonic_now();
    type(" ", "beat of");
    want(before, "session is done", 15 * SECOND);
    int64_t took = monotonic_now() - started;
    size_t all = byte_count - before;
    listen_for(SECOND / 5);
    loopback_hear(&card.loop, CLICK_THRESHOLD, &heard);
    leave();

    double each_second = (double)all * (double)SECOND / (double)took;
    print_message(
        "%zu bytes in %.1f s: %.0f a second\n", all, (double)took / (double)SECOND, each_second);
    assert_true(each_second < 20000);
    expect_all(&heard, &clicks);
    check_marks(before);
}

/* ---- plain terminals ------------------------------------------------------------------------ */

/* Goes through every screen, and plays. */
static void see_all(void)
{
    want(0, "Space", 5 * SECOND);
    type("h", "Faster by one");
    type("h", "begin with");
    type("d", "short-long");
    type("d", "begin with");
    type("o", "Four steps");
    type("o", "begin with");
    type("s", "subdivision");
    type("s", "begin with");
    type(" ", "beat of");
    listen_for(SECOND);
    pty_type(&pty, " ");
    listen_for(SECOND / 5);
}

/* Whether a sequence of select graphic rendition names a colour other than the default. */
static bool names_colour(const char *codes)
{
    for (const char *at = codes; *at >= '0' && *at <= '9';) {
        char *end;
        long code = strtol(at, &end, 10);
        if ((code >= 30 && code <= 38) || (code >= 40 && code <= 48) || (code >= 90 && code <= 107))
            return true;
        at = *end == ';' ? end + 1 : end;
    }
    return false;
}

static int count_colours(void)
{
    int count = 0;
    for (const char *at = bytes; (at = strstr(at, "\033[")) != NULL; at += 2) {
        size_t length = strspn(at + 2, "0123456789;");
        count += at[2 + length] == 'm' && names_colour(at + 2);
    }
    return count;
}

static void without_colours_where_they_are_not_wanted(void **state)
{
    (void)state;
    begin(&(PtyOptions){0}, WALK " --tempo 137 --silent");
    see_all();
    assert_true(count_colours() > 0); /* so the test would see them */
    leave();
    begin(&(PtyOptions){.no_color = true}, WALK " --tempo 137 --silent");
    see_all();
    assert_int_equal(count_colours(), 0);
    leave();
}

static void in_ascii_where_the_locale_says_so(void **state)
{
    (void)state;
    begin(&(PtyOptions){.locale = "C"}, WALK " --tempo 137 --silent");
    see_all();
    for (size_t i = 0; i < byte_count; i++)
        if ((unsigned char)bytes[i] > 127)
            fail_msg("byte %02x after \"%.*s\"", (unsigned char)bytes[i], 60,
                bytes + (i > 60 ? i - 60 : 0));
    leave();
}

static void a_terminal_that_cannot_is_told_so(void **state)
{
    (void)state;
    begin(&(PtyOptions){.term = "dumb"}, WALK " --silent");
    want(0, "cannot place its cursor", 5 * SECOND);
    listen_for(SECOND / 5);
    int status = pty_end(&pty);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 1);
    assert_true(pty_settings_restored(&pty));
    assert_null(strchr(bytes, '\033'));
    pty_free(&pty);
    pty_open = false;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(
            the_first_picture_waits_for_no_sound, concert_set_up, teardown),
        cmocka_unit_test_setup_teardown(a_waiting_screen_writes_nothing, concert_set_up, teardown),
        cmocka_unit_test_setup_teardown(
            what_changes_is_written_in_time_and_nothing_else, concert_set_up, teardown),
        cmocka_unit_test_setup_teardown(
            without_colours_where_they_are_not_wanted, concert_set_up, teardown),
        cmocka_unit_test_setup_teardown(
            in_ascii_where_the_locale_says_so, concert_set_up, teardown),
        cmocka_unit_test_setup_teardown(
            a_terminal_that_cannot_is_told_so, concert_set_up, teardown),
    };
    program_surroundings();
    return cmocka_run_group_tests_name("e2e_output", tests, NULL, NULL);
}
