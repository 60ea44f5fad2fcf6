/* The program and its terminal: any size at any moment, every way out. In tmux, which tells what
 * a terminal would show and which modes it is in; with sound, so that all threads run. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "concert.h"
#include "e2e/picture.h"

#include <signal.h>
#include <sys/ioctl.h>

enum { STORM = 200, WIDEST = 200, HIGHEST = 60, TEXT_ROOM = 512 };

static const uint32_t seed = 20111;

static Tmux fresh;

static int teardown(void **state)
{
    tmux_end(&fresh);
    return concert_tear_down(state);
}

/* Kills of a process and the like go on being tried for this long. */
static bool wait_until_gone(long pid)
{
    for (int64_t give_up = monotonic_now() + 5 * SECOND; monotonic_now() < give_up;
         pause_for(10 * MILLISECOND))
        if (kill((pid_t)pid, 0) != 0)
            return true;
    return false;
}

/* ---- sizes ---------------------------------------------------------------------------------- */

static uint32_t random_below(uint32_t *state, uint32_t limit)
{
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state % limit;
}

/* tmux hands on at most four changes of size a second; so the storm blows on the terminal's
 * device itself, behind tmux's back. */
static void storm(void)
{
    char path[TEXT_ROOM];
    uint32_t dice = seed;
    assert_true(tmux_try(&terminal, path, sizeof path, "display-message -p '#{pane_tty}'"));
    path[strcspn(path, "\n")] = '\0';
    int fd = open(path, O_RDWR | O_NOCTTY);
    assert_true(fd >= 0);
    for (int i = 0; i < STORM; i++) {
        struct winsize size = {.ws_col = (unsigned short)(20 + random_below(&dice, WIDEST - 19)),
            .ws_row = (unsigned short)(5 + random_below(&dice, HIGHEST - 4))};
        assert_int_equal(ioctl(fd, TIOCSWINSZ, &size), 0);
        pause_for(random_below(&dice, 50) * MILLISECOND);
    }
    close(fd);
}

/* A line of the terminal in one spelling: before each character whose style is not the last one's
 * that style in braces; nothing after the last that shows. tmux spells the ends of lines in
 * several ways. `style` goes on from line to line. Returns what was written. */
static size_t spell_line(const char *line, size_t length, char style[64], char *out)
{
    size_t used = 0, shows = 0;
    char last[64] = "";
    for (size_t i = 0; i < length; i++) {
        if (line[i] == '\033') {
            size_t end = i + strcspn(line + i, "m");
            const char *code = line + i + 2;
            if (code[0] == '0' || strncmp(code, "39", 2) == 0 || strncmp(code, "49", 2) == 0)
                style[0] = '\0'; /* tmux never takes back a colour alone */
            else
                snprintf(
                    style + strlen(style), 64 - strlen(style), "%.*s;", (int)(end - i - 2), code);
            i = end;
            continue;
        }
        if (strcmp(style, last) != 0)
            used += (size_t)sprintf(out + used, "{%s}", style);
        memcpy(last, style, sizeof last);
        out[used++] = line[i];
        if (line[i] != ' ' || style[0] != '\0')
            shows = used;
    }
    out[shows] = '\n';
    return shows + 1;
}

/* The screen with its styles, less the row of the device, which tells of its delay. */
static void capture_layout(const Tmux *t, char out[PANE_ROOM])
{
    static char text[PANE_ROOM], spelled[PANE_ROOM];
    char style[64] = "";
    size_t used = 0;
    tmux_capture(t, true, text);
    for (char *line = text; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        size_t more = spell_line(line, length, style, spelled);
        spelled[more] = '\0';
        assert_true(used + more < PANE_ROOM);
        /* nor the row of what was judged and saved: it tells of the whole sitting */
        if (strstr(spelled, " Hz") == NULL && strstr(spelled, "step 1 of ") == NULL) {
            memcpy(out + used, spelled, more);
            used += more;
        }
        line += length + (line[length] == '\n');
    }
    out[used] = '\0';
}

/* Chooses the passage anew: whatever was before, the program then waits for its start. */
static void choose_again(const Tmux *t)
{
    tmux_keys(t, "o");
    tmux_want(t, "Four steps", 2 * SECOND);
    tmux_keys(t, "Enter");
    tmux_want(t, "Space: start", 2 * SECOND);
}

static void print_first_difference(const char *storm_text, const char *fresh_text)
{
    size_t i = 0, line = 0;
    for (; storm_text[i] != '\0' && storm_text[i] == fresh_text[i]; i++)
        if (storm_text[i] == '\n')
            line = i + 1;
    print_error(
        "after the storm: %.*s\033[0m\n", (int)strcspn(storm_text + line, "\n"), storm_text + line);
    print_error(
        "fresh:           %.*s\033[0m\n", (int)strcspn(fresh_text + line, "\n"), fresh_text + line);
}

static void expect_as_fresh(int width, int height, const char *words)
{
    static char storm_text[PANE_ROOM], fresh_text[PANE_ROOM];
    tmux_resize(&terminal, width, height);
    tmux_begin_practice(&fresh, width, height, words);
    tmux_keys(&fresh, "Space"); /* the word of caution goes */
    tmux_want(&fresh, "Space: pause", 2 * SECOND);
    choose_again(&fresh);
    choose_again(&terminal);
    bool same = false;
    for (int64_t give_up = monotonic_now() + 2 * SECOND; !same && monotonic_now() < give_up;
         pause_for(20 * MILLISECOND)) {
        capture_layout(&terminal, storm_text);
        capture_layout(&fresh, fresh_text);
        same = strcmp(storm_text, fresh_text) == 0;
    }
    if (!same) {
        print_first_difference(storm_text, fresh_text);
        fail_msg("at %d x %d the screen is not that of a fresh start", width, height);
    }
    tmux_end(&fresh);
}

static void expect_too_small(int width, int height)
{
    char words[TEXT_ROOM];
    tmux_resize(&terminal, width, height);
    snprintf(words, sizeof words, "%d x %d", width, height);
    tmux_want(&terminal, words, 2 * SECOND);
    tmux_want(&terminal, "too small", 0);
}

static void any_size_at_any_moment(void **state)
{
    (void)state;
    const char *words = WALK " --tempo 137 --drill finger-3 --repetitions 2 --count-in 1 --rest 0";
    char line[TEXT_ROOM];
    snprintf(line, sizeof line, "%s " ONE_CLICK_LAYERS, words);
    print_message("seed %u\n", (unsigned)seed);
    concert_expect(words);
    concert_begin(WIDEST, HIGHEST, words, "");
    int pid = tmux_number(&terminal, "#{pane_pid}");
    tmux_keys(&terminal, "Space");
    storm();
    expect_too_small(39, 12);
    expect_too_small(40, 11);
    expect_too_small(20, 5);
    tmux_resize(&terminal, SCREEN_WIDTH, SCREEN_HEIGHT);
    tmux_want(&terminal, "the session is done", 15 * SECOND);
    loopback_hear(&card.loop, CLICK_THRESHOLD, &heard);
    expect_all(&heard, &clicks); /* the music did not notice */

    expect_as_fresh(40, 12, line);
    expect_as_fresh(131, 43, line);
    expect_as_fresh(WIDEST, HIGHEST, line);
    expect_as_fresh(61, 17, line);
    assert_int_equal(tmux_number(&terminal, "#{pane_pid}"), pid);
    assert_int_equal(tmux_number(&terminal, "#{pane_dead}"), 0);
}

/* ---- ways out ------------------------------------------------------------------------------- */

/* Modes that the terminal must be back in. */
#define MODES                                                                                      \
    "#{alternate_on} #{cursor_flag} #{keypad_flag} #{keypad_cursor_flag} #{insert_flag} "          \
    "#{wrap_flag} #{origin_flag} #{mouse_any_flag} #{cursor_character}"

/* A shell that notes the terminal's settings, runs the program, notes them again. Its traps make
 * it outlive Ctrl-C; the program does not inherit them. A program built with sanitizers leaves
 * crashes to itself. */
static void write_script(void)
{
    char path[TEXT_ROOM], root[TEXT_ROOM];
    assert_non_null(getcwd(root, sizeof root));
    snprintf(path, sizeof path, "%s/script", card.loop.directory);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fprintf(f,
        "cd '%s'\ntrap : INT QUIT HUP\nulimit -c 0\necho 'the page before'\nstty -a >before\n"
        "export ASAN_OPTIONS=\"$ASAN_OPTIONS:handle_segv=0:handle_abort=0\"\n"
        "(cd '%s'; exec sh -c 'echo $$ >\"$0\"/pid; exec \"$@\"' '%s' env LC_ALL=C.UTF-8 '%s'"
        " " WALK " --tempo 137 --rate 48000)\n"
        "code=$?\nstty -a >after\necho \"exit $code.\"\nexec sleep 60\n",
        card.loop.directory, root, card.loop.directory, program_path());
    fclose(f);
}

static bool same_files(const char *a, const char *b)
{
    char command[TEXT_ROOM];
    snprintf(command, sizeof command, "cd '%s' && cmp -s '%s' '%s'", card.loop.directory, a, b);
    return system(command) == 0;
}

static long read_pid(void)
{
    char path[TEXT_ROOM];
    long pid = 0;
    snprintf(path, sizeof path, "%s/pid", card.loop.directory);
    FILE *f = fopen(path, "r");
    if (f == NULL || fscanf(f, "%ld", &pid) != 1)
        fail_msg("the program was not started");
    fclose(f);
    return pid;
}

static void modes(char out[TEXT_ROOM])
{
    assert_true(tmux_try(&terminal, out, TEXT_ROOM, "display-message -p '" MODES "'"));
}

/* The program in a shell, in mid-drill. */
static long begin_in_shell(char before[TEXT_ROOM])
{
    char command[TEXT_ROOM];
    write_script();
    snprintf(command, sizeof command, "read -r line; exec sh %s/script", card.loop.directory);
    tmux_begin(&terminal, SCREEN_WIDTH, SCREEN_HEIGHT, command);
    modes(before);
    tmux_keys(&terminal, "Enter");
    tmux_want(&terminal, "Space: start", 5 * SECOND);
    tmux_keys(&terminal, "Space");
    tmux_want(&terminal, "beat of 4", 5 * SECOND);
    assert_int_equal(tmux_number(&terminal, "#{alternate_on}"), 1);
    assert_int_equal(tmux_number(&terminal, "#{cursor_flag}"), 0);
    return read_pid();
}

static void expect_given_back(const char *before, int code)
{
    static char text[PANE_ROOM];
    char words[TEXT_ROOM], after[TEXT_ROOM];
    snprintf(words, sizeof words, "exit %d.", code);
    tmux_want(&terminal, words, 5 * SECOND);
    tmux_capture(&terminal, true, text);
    /* Before it stands the empty line of Enter, after it the shell's word for the signal. */
    if (strncmp(text, "\nthe page before\n", 17) != 0 || strstr(text, "\033") != NULL)
        fail_msg("the page from before is not as it was:\n%s", text);
    modes(after);
    assert_string_equal(after, before);
    if (!same_files("before", "after"))
        fail_msg("exit %d: stty -a tells of other settings than before", code);
}

static void every_way_out_gives_the_terminal_back(void **state)
{
    (void)state;
    static const struct {
        const char *keys; /* NULL: the signal */
        int signal, code;
    } ways[] = {{"q", 0, 0}, {"C-c", 0, 128 + SIGINT}, {"C-\\\\", 0, 128 + SIGQUIT},
        {NULL, SIGTERM, 128 + SIGTERM}, {NULL, SIGINT, 128 + SIGINT}, {NULL, SIGHUP, 128 + SIGHUP},
        {NULL, SIGSEGV, 128 + SIGSEGV}, {NULL, SIGABRT, 128 + SIGABRT}};
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        char before[TEXT_ROOM];
        long pid = begin_in_shell(before);
        print_message("%s%d\n", ways[i].keys != NULL ? ways[i].keys : "signal ", ways[i].signal);
        if (ways[i].keys != NULL)
            tmux_keys(&terminal, ways[i].keys);
        else
            assert_int_equal(kill((pid_t)pid, ways[i].signal), 0);
        expect_given_back(before, ways[i].code);
        tmux_end(&terminal);
    }
}

static void a_stopped_program_lends_the_terminal_and_takes_it_again(void **state)
{
    (void)state;
    char before[TEXT_ROOM], stopped[TEXT_ROOM];
    long pid = begin_in_shell(before);
    assert_int_equal(kill((pid_t)pid, SIGTSTP), 0);
    tmux_want(&terminal, "the page before", SECOND);
    modes(stopped);
    assert_string_equal(stopped, before);
    assert_int_equal(kill((pid_t)pid, SIGCONT), 0);
    tmux_want(&terminal, "Space: pause", SECOND);
    assert_int_equal(tmux_number(&terminal, "#{alternate_on}"), 1);
    assert_int_equal(tmux_number(&terminal, "#{cursor_flag}"), 0);
    tmux_keys(&terminal, "q");
    expect_given_back(before, 0);
}

static void a_terminal_that_goes_away_ends_the_program(void **state)
{
    (void)state;
    char before[TEXT_ROOM];
    long pid = begin_in_shell(before);
    tmux_end(&terminal);
    if (!wait_until_gone(pid)) {
        kill((pid_t)pid, SIGKILL);
        fail_msg("the program runs on without its terminal");
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(any_size_at_any_moment, concert_set_up, teardown),
        cmocka_unit_test_setup_teardown(
            every_way_out_gives_the_terminal_back, concert_set_up, teardown),
        cmocka_unit_test_setup_teardown(
            a_stopped_program_lends_the_terminal_and_takes_it_again, concert_set_up, teardown),
        cmocka_unit_test_setup_teardown(
            a_terminal_that_goes_away_ends_the_program, concert_set_up, teardown),
    };
    program_surroundings();
    return cmocka_run_group_tests_name("e2e_terminal", tests, NULL, NULL);
}
