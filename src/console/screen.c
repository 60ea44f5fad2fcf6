#define NCURSES_WIDECHAR 1
#define _XOPEN_SOURCE 700 /* wcwidth */

#include "evenhand/console/screen.h"

#include "evenhand/console/keys.h"
#include "screen_guard.h"
#include "screen_style.h"
#include "screen_terminal.h"

#include <curses.h>
#include <langinfo.h>
#include <locale.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <wchar.h>

struct ScreenDriver {
    SCREEN *terminal;
    Grid shown; /* what the terminal shows; curses has a copy of its own */
    bool stale; /* it may show anything: draw every cell */
    bool utf8;
};

/* ---- opening and closing ------------------------------------------------------------------- */

static void set_modes(void)
{
    cbreak();
    noecho();
    nonl();
    intrflush(stdscr, FALSE);
    keypad(stdscr, TRUE);
    nodelay(stdscr, TRUE);
    set_escdelay(25); /* Escape is a key, not only the head of one */
    curs_set(0);
}

static bool start_curses(ScreenDriver *s)
{
    use_env(TRUE);
    use_tioctl(TRUE); /* the window's size, even where LINES and COLUMNS are set */
    s->terminal = newterm(NULL, stdout, stdin);
    if (s->terminal == NULL)
        return false;
    set_term(s->terminal);
    set_modes();
    char restore[TERMINAL_RESTORE_MAX];
    guard_arm(restore, terminal_restore(restore));
    return true;
}

ScreenDriver *screen_open(const ScreenOptions *options, Error *error)
{
    const char *no_color = getenv("NO_COLOR");
    bool color = !options->no_color && (no_color == NULL || no_color[0] == '\0');
    ScreenDriver *s = NULL;

    if (strcmp(setlocale(LC_CTYPE, NULL), "C") == 0)
        setlocale(LC_CTYPE, ""); /* curses needs to know how characters are coded */
    if (!terminal_can(error))
        return NULL;
    s = calloc(1, sizeof *s);
    if (s == NULL || !grid_init(&s->shown, 1, 1)) {
        error_set(error, ERROR_MEMORY, "no memory for the screen");
        goto failed;
    }
    if (!guard_begin(STDOUT_FILENO)) {
        error_set(error, ERROR_TERMINAL, "a screen is open already");
        goto failed;
    }
    if (!start_curses(s)) {
        guard_end();
        error_set(error, ERROR_TERMINAL, "the terminal could not be set up");
        goto failed;
    }
    s->utf8 = !options->ascii && strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
    s->stale = true;
    style_begin(color && has_colors());
    return s;

failed:
    if (s != NULL)
        grid_free(&s->shown);
    free(s);
    return NULL;
}

void screen_close(ScreenDriver *s)
{
    if (s == NULL)
        return;
    endwin();
    guard_end();
    delscreen(s->terminal);
    grid_free(&s->shown);
    free(s);
}

void screen_size(const ScreenDriver *s, int *width, int *height)
{
    (void)s;
    getmaxyx(stdscr, *height, *width);
    if (*width > GRID_WIDTH_MAX)
        *width = GRID_WIDTH_MAX;
    if (*height > GRID_HEIGHT_MAX)
        *height = GRID_HEIGHT_MAX;
}

bool screen_utf8(const ScreenDriver *s)
{
    return s->utf8;
}

bool screen_quit_asked(void)
{
    return guard_asked() != 0;
}

int screen_quit_signal(void)
{
    return guard_asked();
}

/* ---- showing ------------------------------------------------------------------------------- */

static bool same(const Cell *a, const Cell *b)
{
    return a->rune == b->rune && a->mark == b->mark && a->style == b->style;
}

/* Columns that the grid gives to the cell at x. */
static int columns_at(const Grid *g, int y, int x)
{
    const Cell *right = grid_at(g, y, x + 1);
    return right != NULL && right->rune == 0 ? 2 : 1;
}

/* Where the C library thinks otherwise of a character's width, the rest of the row would
 * shift: such a character is shown as '?'. */
static void write_cell(const ScreenDriver *s, const Grid *g, int y, int x)
{
    const Cell *c = grid_at(g, y, x);
    int columns = columns_at(g, y, x);
    wchar_t text[3] = {(wchar_t)c->rune, (wchar_t)c->mark, L'\0'};
    unsigned attributes;
    short pair;
    cchar_t cell;

    if (c->rune > 0x7E && (!s->utf8 || wcwidth((wchar_t)c->rune) != columns)) {
        text[0] = L'?';
        text[1] = L'\0';
    } else if (c->mark != 0 && wcwidth((wchar_t)c->mark) != 0) {
        text[1] = L'\0';
    }
    style_of(c->style, &attributes, &pair);
    setcchar(&cell, text, (attr_t)attributes, pair, NULL);
    mvadd_wchnstr(y, x, &cell, 1);
    if (columns == 2 && text[0] == L'?') {
        setcchar(&cell, L" ", (attr_t)attributes, pair, NULL);
        mvadd_wchnstr(y, x + 1, &cell, 1);
    }
}

/* Begins anew with an empty terminal. */
static void begin_anew(ScreenDriver *s, const Grid *g)
{
    if (!grid_resize(&s->shown, g->width, g->height))
        return; /* stays stale: every cell is written again */
    clearok(stdscr, TRUE);
    erase();
    s->stale = false;
}

int screen_show(ScreenDriver *s, const Grid *g)
{
    int width, height, written = 0;

    screen_size(s, &width, &height);
    if (guard_asked() == SIGHUP)
        return 0; /* nobody is there to see it */
    if (guard_continued()) {
        endwin(); /* so that the next refresh sets up all modes again */
        s->stale = true;
    }
    if (s->stale || s->shown.width != g->width || s->shown.height != g->height)
        begin_anew(s, g);
    for (int y = 0; y < g->height && y < height; y++)
        for (int x = 0; x < g->width && x < width; x++) {
            const Cell *c = grid_at(g, y, x);
            if (!s->stale && same(c, grid_at(&s->shown, y, x)))
                continue;
            if (c->rune != 0)
                write_cell(s, g, y, x);
            written++;
        }
    if (!s->stale)
        memcpy(s->shown.cells, g->cells, (size_t)g->width * (size_t)g->height * sizeof(Cell));
    refresh();
    return written;
}

/* ---- keys ---------------------------------------------------------------------------------- */

static uint32_t translate(ScreenDriver *s, bool function, wint_t key)
{
    static const struct {
        int curses;
        uint32_t ours;
    } codes[] = {{KEY_UP, KEY_CODE_UP}, {KEY_DOWN, KEY_CODE_DOWN}, {KEY_LEFT, KEY_CODE_LEFT},
        {KEY_RIGHT, KEY_CODE_RIGHT}, {KEY_PPAGE, KEY_CODE_PAGE_UP}, {KEY_NPAGE, KEY_CODE_PAGE_DOWN},
        {KEY_HOME, KEY_CODE_HOME}, {KEY_END, KEY_CODE_END}, {KEY_ENTER, KEY_CODE_ENTER},
        {KEY_BACKSPACE, KEY_CODE_BACKSPACE}};

    if (!function) {
        switch (key) {
        case L'\r':
        case L'\n': return KEY_CODE_ENTER;
        case 0x1B: return KEY_CODE_ESCAPE;
        case 0x08:
        case 0x7F: return KEY_CODE_BACKSPACE;
        default: return key >= 0x20 ? (uint32_t)key : 0;
        }
    }
    if (key == KEY_RESIZE) {
        s->stale = true;
        return KEY_CODE_RESIZE;
    }
    for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++)
        if ((wint_t)codes[i].curses == key)
            return codes[i].ours;
    return 0;
}

/* What is there now, without waiting. */
static uint32_t key_at_hand(ScreenDriver *s)
{
    wint_t key;
    int kind = get_wch(&key);
    return kind == ERR ? 0 : translate(s, kind == KEY_CODE_YES, key);
}

uint32_t screen_key(ScreenDriver *s, int milliseconds)
{
    struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
    uint32_t key = key_at_hand(s); /* curses may hold some from its last reading */

    if (key != 0)
        return key;
    int ready = poll(&input, 1, milliseconds);
    if (ready > 0 && (input.revents & (POLLHUP | POLLERR | POLLNVAL)) != 0) {
        guard_ask(SIGHUP);
        return 0;
    }
    return key_at_hand(s); /* also after a signal: a resize comes as a key */
}
