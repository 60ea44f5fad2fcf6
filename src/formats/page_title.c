/* What stands above the passage on the first page, and below it. */
#include "page_pen.h"

#include <stdio.h>
#include <string.h>

static const char *const hands_said[HANDS_KINDS] = {"right hand", "left hand",
    "both hands, the left an octave below", "both hands, the left a third below",
    "both hands, the left a sixth below", "both hands, the left a tenth below",
    "hand over hand, groups by turns"};

/* "4/4, key G, 1/4 = 72, right hand; names in scientific octaves" */
static void facts(const PagePen *pen, char *out, size_t size)
{
    char metre_words[METRE_TEXT_MAX], tempo_words[TEMPO_TEXT_MAX], key[80] = "";
    const Passage *p = pen->p;
    char clean[PASSAGE_KEY_MAX * 2];
    if (strcmp(p->key, "none") != 0)
        snprintf(key, sizeof key, "key %s, ", text_clean(p->key, clean, sizeof clean));
    snprintf(out, size, "%s, %s%s, %s; names in %s", metre_text(&p->metre, metre_words), key,
        tempo_text(p->tempo, tempo_words), hands_said[p->hands], names_label(pen->options->names));
}

void page_title(PagePen *pen)
{
    static const Lettering large = {4.2, true, INK_BLACK, "title"};
    static const Lettering plain = {2.2, false, INK_BLACK, "facts"};
    char title[PASSAGE_TITLE_MAX], words[PAGE_LINE_MAX];
    double pedals = page_pedals(pen, pen->right, pen->y);
    double width = pen->right - pen->left - (pedals > 0 ? pedals + 6 : 0);
    text_clean(pen->p->title, title, sizeof title);
    page_text_cut(pen, pen->left, pen->y + 6, width, &large, title[0] ? title : "Passage");
    facts(pen, words, sizeof words);
    page_text_cut(pen, pen->left, pen->y + 11.5, width, &plain, words);
    snprintf(words, sizeof words, "groups ");
    fingering_grouping(pen->f, words + strlen(words), sizeof words - strlen(words));
    page_text_cut(pen, pen->left, pen->y + 15.5, width, &plain, words);
    pen->y += 18;
    page_setting_words(pen);
    pen->y += 1;
}

/* ---- the legend ---------------------------------------------------------------------------- */

typedef enum {
    SIGN_UNDER,
    SIGN_OVER,
    SIGN_REPLACE,
    SIGN_LIFT,
    SIGN_HAND,
    SIGN_LEFT,
    SIGN_RIGHT,
    SIGN_AFRESH,
    SIGN_FRO,
    SIGN_STRONG,
    SIGN_C,
    SIGN_F,
    SIGNS
} Sign;

static const char *const words[SIGNS] = {"cross under", "cross over", "turn: replace", "lift",
    "other hand", "left", "right", "place afresh", "to and fro, one placement", "strong beat",
    "C string", "F string"};

static void find_used(const PagePen *pen, bool used[SIGNS])
{
    static const int signs[LINK_KINDS] = {[LINK_CROSS_UNDER] = SIGN_UNDER,
        [LINK_CROSS_OVER] = SIGN_OVER,
        [LINK_REPLACE] = SIGN_REPLACE,
        [LINK_LIFT] = SIGN_LIFT,
        [LINK_HAND] = SIGN_HAND,
        [LINK_START] = SIGN_AFRESH};
    for (size_t i = 0; i < pen->f->note_count; i++) {
        int link = pen->f->notes[i].link;
        if (link != LINK_WITHIN && (link != LINK_START || pen->p->notes[i].block > 0))
            used[signs[link]] = true;
        used[SIGN_C] = used[SIGN_C] || pen->p->notes[i].pitch.letter == LETTER_C;
        used[SIGN_F] = used[SIGN_F] || pen->p->notes[i].pitch.letter == LETTER_F;
    }
    for (size_t g = 0; g < pen->f->group_count; g++)
        used[SIGN_FRO] = used[SIGN_FRO] || pen->f->groups[g].across;
    used[SIGN_STRONG] = true;
    used[SIGN_LEFT] = used[SIGN_RIGHT] = pen->p->hands == HANDS_ALTERNATE;
}

/* Draws a sign in a cell 8 mm wide and 5 mm high whose text stands on y. */
static void sign(PagePen *pen, Sign kind, double x, double y)
{
    static const Lettering c = {2, true, INK_RED, "legend"}, f = {2, true, INK_BLUE, "legend"};
    static const Lettering one = {2, true, INK_BLACK, "legend"};
    const double s = 0.7;
    switch (kind) {
    case SIGN_UNDER: page_sign_under(pen, x, x + 7, y - 2, s); break;
    case SIGN_OVER: page_sign_over(pen, x, x + 7, y, s); break;
    case SIGN_REPLACE:
        page_text(pen, x + 4, y, 0.5, &one, "1");
        page_sign_replace(pen, x + 4, y - 2, y, 0.7);
        break;
    case SIGN_LIFT: page_sign_lift(pen, x + 5, y - 2.6, 0.9); break;
    case SIGN_HAND: page_sign_hand(pen, x + 4, y - 2.1, s); break;
    case SIGN_LEFT: page_text(pen, x + 5, y, 0.5, &one, "L"); break;
    case SIGN_RIGHT: page_text(pen, x + 5, y, 0.5, &one, "R"); break;
    case SIGN_AFRESH: page_sign_afresh(pen, x + 5, y - 2, s); break;
    case SIGN_FRO: page_text(pen, x + 5, y, 0.5, &one, "<>"); break;
    case SIGN_STRONG: page_sign_strong(pen, x + 4.5, y - 1, 0.9); break;
    case SIGN_C:
        page_text(pen, x + 5, y, 0.5, &c, "C");
        page_name_mark(pen, LETTER_C, x + 5, y, &c, "C", s);
        break;
    case SIGN_F:
        page_text(pen, x + 5, y, 0.5, &f, "F");
        page_name_mark(pen, LETTER_F, x + 5, y, &f, "F", s);
        break;
    default: break;
    }
}

void page_legend(PagePen *pen)
{
    static const Lettering plain = {2, false, INK_GREY, "legend"};
    const double cell = 9, after = 4.5, row = 6;
    bool used[SIGNS] = {false};
    double x = pen->left;
    find_used(pen, used);
    page_room(pen, 2 * row);
    for (int i = 0; i < SIGNS; i++) {
        double width = cell + page_width_of(pen, &plain, words[i]);
        if (!used[i])
            continue;
        if (x + width > pen->right) {
            x = pen->left;
            pen->y += row;
            page_room(pen, row);
        }
        sign(pen, (Sign)i, x, pen->y + 3.5);
        page_text(pen, x + cell, pen->y + 3.5, 0, &plain, words[i]);
        x += width + after;
    }
    pen->y += row + 2;
}
