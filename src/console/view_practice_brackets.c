/* A bracket under each group, as printed harp music has it. A turning note belongs to two
 * groups: their brackets meet under it.
 *
 *      4   3   2   1 o 2   3   4
 *      [===========+___________|
 */
#include "view_practice_notes.h"

typedef struct {
    int first, last;  /* notes of the group within the window, as indices into it */
    bool opens, ends; /* its ends are in the window */
    int left, right;  /* columns */
    bool from_turn, to_turn;
} Bracket;

static Bracket find_bracket(const ModelNote *all, int count, const NoteWindow *w, int k)
{
    Bracket b = {.first = k, .last = k};
    const ModelNote *notes = all + w->first;
    int group = notes[k].group;

    while (b.last + 1 < w->count && notes[b.last + 1].group == group)
        b.last++;
    int after = w->first + b.last + 1, before = w->first + k - 1;
    b.opens = before < 0 || all[before].group != group;
    b.ends = after >= count || all[after].group != group;
    b.from_turn = b.opens && k > 0 && notes[k - 1].turn && notes[k].place == 2;
    b.to_turn = b.ends && notes[b.last].turn && after < count && all[after].place == 2;
    b.left = !b.opens ? w->x[k] - 1 : b.from_turn ? w->x[k - 1] + w->cell / 2 : w->x[k];
    b.right = !b.ends     ? w->x[b.last] + w->cell
              : b.to_turn ? w->x[b.last] + w->cell / 2
                          : w->x[b.last] + w->cell - 1;
    return b;
}

static void draw_bracket(Grid *g, int y, const Bracket *b, bool current)
{
    static const char *const signs[2][2][4] = {
        {{"└", "─", "┘", "┴"}, {"┗", "━", "┛", "┻"}},
        {{"|", "_", "|", "+"}, {"[", "=", "]", "+"}},
    };
    const char *const *s = signs[g->ascii ? 1 : 0][current ? 1 : 0];
    Style style = current ? STYLE_STRONG : STYLE_NORMAL;
    for (int x = b->left; x <= b->right; x++)
        grid_put(g, y, x, 1, style, s[1]);
    if (b->opens)
        grid_put(g, y, b->left, 1, style, s[b->from_turn ? 3 : 0]);
    if (b->ends)
        grid_put(g, y, b->right, 1, style, s[b->to_turn ? 3 : 2]);
}

void note_brackets(const ModelNote *notes, int count, Grid *g, int y, const NoteWindow *w)
{
    int group = w->focus < 0 ? -1 : notes[w->focus].group;
    for (int pass = 0; pass < 2; pass++) /* the current group last: its ends lie on top */
        for (int k = 0; k < w->count;) {
            Bracket b = find_bracket(notes, count, w, k);
            const ModelNote *n = &notes[w->first + k];
            if (n->size > 0 && (n->group == group) == (pass == 1))
                draw_bracket(g, y, &b, pass == 1);
            k = b.last + 1;
        }
}

void practice_brackets(const Model *m, Grid *g, const PracticeLayout *layout, const NoteWindow *w)
{
    note_brackets(m->notes, m->note_count, g, layout->top[BAND_BRACKETS], w);
}
