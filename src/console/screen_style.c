#define NCURSES_WIDECHAR 1

#include "screen_style.h"

#include <curses.h>

/* Foregrounds only: the background stays the user's own. The tones of the 256 lie in the middle:
 * contrast with black and with white is 4 to 1 or (red on white) a hair less [calculated by the
 * relative luminance of WCAG 2.1]. Red C and dark F strings are the trade's. [common practice] */
typedef struct {
    attr_t plain;         /* without colour */
    attr_t attributes;    /* with it */
    short basic, of_many; /* of 8 colours, of 256; -1 the default */
} Look;

static const Look looks[STYLE_KINDS] = {
    [STYLE_NORMAL] = {A_NORMAL, A_NORMAL, -1, -1},
    [STYLE_DIM] = {A_NORMAL, A_DIM, -1, -1},
    [STYLE_STRONG] = {A_BOLD, A_BOLD, -1, -1},
    [STYLE_NOW] = {A_REVERSE | A_BOLD, A_REVERSE | A_BOLD, -1, -1},
    [STYLE_ACCENT] = {A_BOLD | A_UNDERLINE, A_BOLD, COLOR_MAGENTA, 163},
    [STYLE_STRING_C] = {A_BOLD, A_BOLD, COLOR_RED, 196},
    [STYLE_STRING_F] = {A_UNDERLINE, A_BOLD, COLOR_BLUE, 63},
    [STYLE_LINK] = {A_BOLD, A_BOLD, COLOR_GREEN, 30},
    [STYLE_WARNING] = {A_BOLD | A_REVERSE, A_BOLD, COLOR_RED, 196},
    [STYLE_BAR] = {A_REVERSE, A_REVERSE, -1, -1},
};

static bool in_color;

void style_begin(bool color)
{
    in_color = color && start_color() == OK && use_default_colors() == OK;
    for (short style = 0; in_color && style < STYLE_KINDS; style++) {
        short tone = COLORS >= 256 ? looks[style].of_many : looks[style].basic;
        if (tone >= 0)
            init_pair((short)(style + 1), tone, -1);
    }
}

void style_of(uint8_t style, unsigned *attributes, short *pair)
{
    const Look *look = &looks[style < STYLE_KINDS ? style : STYLE_NORMAL];
    *attributes = (unsigned)(in_color ? look->attributes : look->plain);
    *pair = in_color && look->basic >= 0 ? (short)(style + 1) : 0;
}
