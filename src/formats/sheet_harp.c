/* The sheet's plans side by side, and what the passage asks of a harp. */
#include "sheet_pen.h"

#include "evenhand/harp/explain.h"

#include <stdio.h>
#include <string.h>

enum {
    LISTED = 24, /* changes or troubles that are listed before the rest is only counted */
    NAMED = 6,   /* likewise notes in a line */
    STRETCH = 48 /* columns of a grouping before it may be broken */
};

/* A long grouping is one word: blanks after plus signs let it break. */
static void loosen(const char *words, char *out, size_t size)
{
    size_t used = 0, since = 0;
    for (; *words && used + 2 < size; words++) {
        out[used++] = *words;
        since = *words == ' ' ? 0 : since + 1;
        if (*words == '+' && since >= STRETCH) {
            out[used++] = ' ';
            since = 0;
        }
    }
    out[used] = '\0';
}

/* Where a plan's fingers are not the first plan's: two may have the same groups. */
static void differences(Pen *pen, const Fingering *first, const Fingering *f)
{
    char words[300] = "unlike plan 1:", name[PITCH_NAME_MAX];
    size_t count = 0, used = strlen(words);
    for (size_t i = 0; i < f->note_count; i++) {
        if (f->notes[i].finger == first->notes[i].finger || count++ >= NAMED)
            continue;
        used += (size_t)snprintf(words + used, sizeof words - used, "%s %d on %s in bar %d",
            count > 1 ? "," : "", (int)f->notes[i].finger, pen_name(pen, i, name),
            pen->p->bars[pen->p->notes[i].bar].number);
    }
    if (count == 0)
        return;
    if (count > NAMED)
        snprintf(words + used, sizeof words - used, " and %zu more", count - NAMED);
    pen_put(pen, "%14s", "");
    pen_wrap(pen, words, 14);
}

void sheet_plans(Pen *pen, const Fingering *plans, int count)
{
    char words[EXPLAIN_TEXT_MAX], loose[EXPLAIN_TEXT_MAX + 16];
    pen_heading(pen, "Plans");
    if (pen->names != NAMES_SCIENTIFIC)
        pen_put(pen, "Links and replaces are named in %s.\n", names_label(NAMES_SCIENTIFIC));
    pen_put(pen, "plan    cost  fingers in groups\n");
    for (int i = 0; i < count; i++) {
        fingering_explain(pen->p, &plans[i], pen->utf8, words);
        loosen(words, loose, sizeof loose);
        pen_put(pen, "%4d%8lld  ", i + 1, (long long)plans[i].cost);
        pen_wrap(pen, loose, 14);
        if (i > 0)
            differences(pen, &plans[0], &plans[i]);
    }
    if (count > 1)
        pen_put(pen, "Plan 1 is drilled. A lower cost is easier for the hand.\n");
}

static void more(Pen *pen, size_t count, const char *what)
{
    if (count > LISTED)
        pen_put(pen, "and %zu more %s\n", count - LISTED, what);
}

static void changes(Pen *pen, const Setting *s)
{
    char words[240];
    for (size_t i = 0; i < s->change_count && i < LISTED; i++)
        pen_wrap(pen, pedal_change_text(pen->p, &s->changes[i], words, sizeof words), 2);
    more(pen, s->change_count, "changes");
}

static void troubles(Pen *pen, const Setting *s)
{
    char words[TROUBLE_TEXT_MAX];
    if (!s->playable)
        pen_put(pen, "This harp cannot play the passage as it is written:\n");
    for (size_t i = 0; i < s->trouble_count && i < LISTED; i++) {
        pen_put(pen, "%s ", trouble_stops(s->troubles[i].kind) ? "!" : "-");
        pen_wrap(pen, text_clean(s->troubles[i].text, words, sizeof words), 2);
    }
    more(pen, s->trouble_count, "remarks");
}

/* What is set before, moved on the way, and what stands against it. */
static void setting(Pen *pen, const Setting *s)
{
    char words[512];
    pen_put(pen, "%s  ", s->harp.kind == HARP_PEDAL ? "pedals" : "levers");
    pen_wrap(pen, setting_text_named(s, pen->names, pen->utf8, words, sizeof words), 8);
    changes(pen, s);
    troubles(pen, s);
}

void sheet_brief(Pen *pen, const Setting *s)
{
    char words[EXPLAIN_TEXT_MAX], loose[EXPLAIN_TEXT_MAX + 16];
    pen_heading(pen, "Fingers and harp");
    loosen(fingering_explain(pen->p, pen->f, pen->utf8, words), loose, sizeof loose);
    pen_put(pen, "plan    ");
    pen_wrap(pen, loose, 8);
    setting(pen, s);
}

void sheet_harp(Pen *pen, const Setting *s)
{
    char words[512], title[INSTRUMENT_TEXT_MAX];
    pen_heading(pen, "Harp");
    pen_wrap(pen, instrument_text(&s->harp, pen->names, pen->utf8, title), 0);
    setting(pen, s);
    pen_put(pen, "plays on  ");
    pen_wrap(pen, instruments_for(pen->p, words, sizeof words), 10);
}
