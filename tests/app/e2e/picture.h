/* picture.h - reads the practice screen (80 x 24, UTF-8) as a player does: the marked note, its
 * finger, group and beat, and the large figures. Include after cmocka.h.
 */
#ifndef EVENHAND_TESTS_APP_E2E_PICTURE_H
#define EVENHAND_TESTS_APP_E2E_PICTURE_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { SCREEN_WIDTH = 80, SCREEN_HEIGHT = 24, FIGURE_WIDTH = 12, FIGURE_HEIGHT = 9 };

enum {
    RUNE_MARK = 0x25B2,
    RUNE_BLOCK = 0x2588,
    RUNE_SHADE = 0x2592,
    RUNE_HEAVY = 0x2501,
    RUNE_HEAVY_LEFT = 0x2517,
    RUNE_HEAVY_RIGHT = 0x251B,
    RUNE_HEAVY_SHARED = 0x253B
};

typedef struct {
    uint32_t cell[SCREEN_HEIGHT][SCREEN_WIDTH];
} Picture;

/* A large figure as ink and space, row after row; "" where there is none. */
typedef struct {
    char ink[FIGURE_HEIGHT * FIGURE_WIDTH + 1];
} Figure;

/* What the band of notes tells of the marked note. */
typedef struct {
    bool marked;
    int x;     /* the mark's column */
    int order; /* of the note among those shown, from 1 */
    int finger;
    char name[8];
    int beat; /* 0: between two beats */
    bool accent;
    int group_from, group_to; /* the heavy bracket's notes, by order; 0 none */
} Marked;

static inline uint32_t next_rune(const char **at)
{
    const unsigned char *s = (const unsigned char *)*at;
    int more = s[0] >= 0xF0 ? 3 : s[0] >= 0xE0 ? 2 : s[0] >= 0xC0 ? 1 : 0;
    uint32_t rune = more == 0 ? s[0] : s[0] & (0x3Fu >> more);
    for (int i = 1; i <= more && s[i] != '\0'; i++)
        rune = rune << 6 | (s[i] & 0x3Fu);
    *at += 1 + more;
    return rune;
}

/* Every character of this screen is one column wide. */
static inline void picture_read(const char *text, Picture *out)
{
    const char *at = text;
    for (int y = 0; y < SCREEN_HEIGHT; y++) {
        for (int x = 0; x < SCREEN_WIDTH; x++)
            out->cell[y][x] = *at == '\n' || *at == '\0' ? ' ' : next_rune(&at);
        while (*at != '\n' && *at != '\0')
            at++;
        if (*at == '\n')
            at++;
    }
}

/* Where ASCII words stand in row y; -1 nowhere. */
static inline int picture_find(const Picture *p, int y, const char *words)
{
    int length = (int)strlen(words);
    for (int x = 0; x + length <= SCREEN_WIDTH; x++) {
        int i = 0;
        while (i < length && p->cell[y][x + i] == (uint32_t)words[i])
            i++;
        if (i == length)
            return x;
    }
    return -1;
}

/* The number after these words anywhere on the screen; -1 where they are not. */
static inline int picture_number(const Picture *p, const char *words)
{
    for (int y = 0; y < SCREEN_HEIGHT; y++) {
        int x = picture_find(p, y, words), n = 0;
        if (x < 0)
            continue;
        x += (int)strlen(words);
        if (x >= SCREEN_WIDTH || p->cell[y][x] < '0' || p->cell[y][x] > '9')
            continue;
        for (; x < SCREEN_WIDTH && p->cell[y][x] >= '0' && p->cell[y][x] <= '9'; x++)
            n = 10 * n + (int)(p->cell[y][x] - '0');
        return n;
    }
    return -1;
}

/* The row of the mark: it holds nothing else. */
static inline bool find_mark(const Picture *p, int *mark_y, int *mark_x)
{
    for (int y = 0; y < SCREEN_HEIGHT; y++) {
        int others = 0;
        *mark_x = -1;
        for (int x = 0; x < SCREEN_WIDTH; x++) {
            if (p->cell[y][x] == RUNE_MARK)
                *mark_x = x;
            else if (p->cell[y][x] != ' ')
                others++;
        }
        *mark_y = y;
        if (*mark_x >= 0 && others == 0)
            return true;
    }
    return false;
}

static inline bool is_finger(uint32_t rune)
{
    return rune >= '1' && rune <= '4';
}

static inline bool is_heavy(uint32_t rune)
{
    return rune == RUNE_HEAVY || rune == RUNE_HEAVY_LEFT || rune == RUNE_HEAVY_RIGHT ||
           rune == RUNE_HEAVY_SHARED;
}

/* How many notes stand in the row of fingers up to column x: the order of the one in x. */
static inline int order_at(const Picture *p, int fingers_y, int x)
{
    int order = 0;
    for (int i = 0; i <= x && i < SCREEN_WIDTH; i++)
        order += is_finger(p->cell[fingers_y][i]);
    return order;
}

/*   y-5  accents          >
 *   y-4  fingers      4   3   2   1
 *   y-3  names        C4  D4  E4  F4
 *   y-2  groups       ┗━━━━━━━━━━━━━┛  a shared end ┻ stands one column further in
 *   y-1  beats        1   ·   2   ·
 *   y    mark             ▲
 */
static inline Marked picture_marked(const Picture *p)
{
    Marked m = {0};
    int x, y;
    if (!find_mark(p, &y, &x) || y < 5)
        return m;
    m.marked = true;
    m.x = x;
    m.finger = is_finger(p->cell[y - 4][x]) ? (int)(p->cell[y - 4][x] - '0') : 0;
    m.order = m.finger > 0 ? order_at(p, y - 4, x) : 0;
    m.accent = p->cell[y - 5][x] == '>';
    m.beat =
        p->cell[y - 1][x] >= '1' && p->cell[y - 1][x] <= '9' ? (int)(p->cell[y - 1][x] - '0') : 0;
    for (int i = 0; i < 7 && x + i < SCREEN_WIDTH && p->cell[y - 3][x + i] > ' '; i++)
        m.name[i] = (char)p->cell[y - 3][x + i];
    if (!is_heavy(p->cell[y - 2][x]))
        return m;
    int left = x, right = x;
    while (left > 0 && is_heavy(p->cell[y - 2][left - 1]))
        left--;
    while (right < SCREEN_WIDTH - 1 && is_heavy(p->cell[y - 2][right + 1]))
        right++;
    m.group_from = order_at(p, y - 4, left - 2) + 1;
    m.group_to = order_at(p, y - 4, right);
    return m;
}

/* The large figure below a label of the panel, which is the screen's only row with a label
 * "beat of". Solid and shaded ink are the same. `label` is at its own place: one that follows
 * "next " is another. */
static inline Figure picture_figure(const Picture *p, const char *label)
{
    Figure f = {""};
    int y = 0, x;
    while (y < SCREEN_HEIGHT && picture_find(p, y, "beat of ") < 0)
        y++;
    if (y + FIGURE_HEIGHT >= SCREEN_HEIGHT)
        return f;
    x = picture_find(p, y, label);
    if (x < 0 || x + FIGURE_WIDTH > SCREEN_WIDTH || (x > 1 && p->cell[y][x - 2] == 't'))
        return f;
    for (int i = 0; i < FIGURE_HEIGHT; i++)
        for (int j = 0; j < FIGURE_WIDTH; j++) {
            uint32_t c = p->cell[y + 1 + i][x + j];
            f.ink[i * FIGURE_WIDTH + j] = c == RUNE_BLOCK || c == RUNE_SHADE ? '#' : '.';
        }
    return f;
}

#endif
