/* Pedals as the trade draws them: a line is the middle, a stroke above it a flat, on it a
 * natural, below it a sharp; the tall stroke parts the left foot's from the right's.
 *
 *        |                 |
 *      --|---|-----||----------|---|---|--
 *              |   ||   |
 *        D   C   B    E   F   G   A
 */
#include "page_pen.h"

#include <stdio.h>
#include <string.h>

static const double step = 4.6, divider = 3.4;

static const Letter order[7] = {
    LETTER_D, LETTER_C, LETTER_B, LETTER_E, LETTER_F, LETTER_G, LETTER_A};

double page_pedals(PagePen *pen, double x, double y)
{
    static const Lettering letters = {2.3, true, INK_BLACK, "pedal"};
    if (pen->setting == NULL || pen->setting->harp.kind != HARP_PEDAL)
        return 0;
    double width = 7 * step + divider, left = x - width, line = y + 5;
    page_line(pen, left, line, x, line, 0.4, INK_BLACK);
    page_line(pen, left + 3 * step + divider / 2, y, left + 3 * step + divider / 2, y + 10, 0.5,
        INK_BLACK);
    for (int i = 0; i < 7; i++) {
        char name[2] = {"CDEFGAB"[order[i]], '\0'};
        double at = left + (i + 0.5) * step + (i > 2 ? divider : 0);
        double middle = line + 2.6 * pen->setting->pedals[order[i]];
        page_line(pen, at, middle - 1.9, at, middle + 1.9, 1.1, INK_BLACK);
        page_text(pen, at, y + 13.6, 0.5, &letters, name);
    }
    return width;
}

static const char *sign_of(const PagePen *pen, int alter)
{
    static const char *const ascii[] = {"b", "", "#"};
    static const char *const utf8[] = {"\u266D", "\u266E", "\u266F"};
    return pen->signs ? utf8[alter + 1] : ascii[alter + 1];
}

static bool is_before(const PagePen *pen, int32_t at, size_t note)
{
    return at >= 0 && (size_t)pen->p->notes[at].block == note;
}

int page_moves(const PagePen *pen, size_t note)
{
    const Setting *s = pen->setting;
    int count = 0;
    for (size_t i = 0; s != NULL && i < s->change_count; i++)
        count += is_before(pen, s->changes[i].at, note);
    for (size_t i = 0; s != NULL && i < s->flip_count; i++)
        count += is_before(pen, s->flips[i].at, note);
    return count;
}

/* A lever's string, named as that string sounds once it is moved. */
static void flip_text(const PagePen *pen, const LeverFlip *flip, char *out, size_t size)
{
    int letter = flip->string % 7;
    int alter = pen->setting->harp.tuning[letter] + (flip->raise ? 1 : 0);
    Pitch pitch = {
        .letter = (int8_t)letter, .alter = (int8_t)alter, .octave = (int8_t)(flip->string / 7)};
    char name[PITCH_NAME_MAX];
    snprintf(out, size, "%s", page_name(pen, pitch, name));
}

void page_move(const PagePen *pen, size_t note, int k, char *out, size_t size)
{
    const Setting *s = pen->setting;
    out[0] = '\0';
    for (size_t i = 0; i < s->change_count; i++)
        if (is_before(pen, s->changes[i].at, note) && k-- == 0)
            snprintf(
                out, size, "%c%s", "CDEFGAB"[s->changes[i].letter], sign_of(pen, s->changes[i].to));
    for (size_t i = 0; i < s->flip_count; i++)
        if (is_before(pen, s->flips[i].at, note) && k-- == 0)
            flip_text(pen, &s->flips[i], out, size);
}

static void place_text(const PagePen *pen, size_t note, char *out, size_t size)
{
    char beat[RATIO_TEXT_MAX];
    snprintf(out, size, "bar %d beat %s", pen->p->bars[pen->p->notes[note].bar].number,
        ratio_text(passage_beat(pen->p, note), beat));
}

/* "Pedals on the way: F# (right foot) at bar 3 beat 2, ..." */
static void moves(PagePen *pen, const Lettering *l)
{
    const Setting *s = pen->setting;
    Text words = {0};
    char place[80], name[PITCH_NAME_MAX];
    bool fine = true;
    for (size_t i = 0; fine && i < s->change_count; i++) {
        const PedalChange *c = &s->changes[i];
        place_text(pen, (size_t)c->at, place, sizeof place);
        fine = text_add(&words, "%s%c%s (%s foot) before %s",
            i > 0 ? ", " : "Pedals on the way: ", "CDEFGAB"[c->letter], sign_of(pen, c->to),
            c -> left_foot ? "left" : "right", place);
    }
    for (size_t i = 0; fine && i < s->flip_count; i++) {
        place_text(pen, (size_t)s->flips[i].at, place, sizeof place);
        flip_text(pen, &s->flips[i], name, sizeof name);
        fine = text_add(
            &words, "%s%s before %s", i > 0 ? ", " : "Levers on the way, to sound: ", name, place);
    }
    pen->failed = pen->failed || !fine;
    if (words.size > 0)
        page_paragraph(pen, pen->left, 3.8, l, words.bytes);
    text_free(&words);
}

void page_setting_words(PagePen *pen)
{
    static const Lettering plain = {2.2, false, INK_BLACK, "setting"};
    enum { TROUBLES_MAX = 6 };
    const Setting *s = pen->setting;
    char text[600], line[700];
    if (s == NULL)
        return;
    snprintf(
        line, sizeof line, "%s: %s", s->harp.name, setting_text(s, pen->signs, text, sizeof text));
    page_paragraph(pen, pen->left, 3.8, &plain, line);
    moves(pen, &plain);
    for (size_t i = 0; i < s->trouble_count && i < TROUBLES_MAX; i++)
        if (s->troubles[i].kind != TROUBLE_FLIP && s->troubles[i].kind != TROUBLE_REMARK)
            page_paragraph(pen, pen->left, 3.8, &plain, s->troubles[i].text);
    pen->y += 1.5;
}
