#include "evenhand/harp/explain.h"

#include <stdarg.h>
#include <stdio.h>

/* Adds to a text that is cut at EXPLAIN_TEXT_MAX. */
typedef struct {
    char *out;
    size_t used;
} Words;

__attribute__((format(printf, 2, 3))) static void say(Words *w, const char *format, ...)
{
    if (w->used + 1 >= EXPLAIN_TEXT_MAX)
        return;
    va_list arguments;
    va_start(arguments, format);
    int added = vsnprintf(w->out + w->used, EXPLAIN_TEXT_MAX - w->used, format, arguments);
    va_end(arguments);
    w->used += added > 0 ? (size_t)added : 0;
    if (w->used >= EXPLAIN_TEXT_MAX)
        w->used = EXPLAIN_TEXT_MAX - 1;
}

enum { NAMED = 6 }; /* notes that a list names before it says how many more */

/* "links into G3, D4 and 4 more": the notes that are come to by these links. */
static size_t list_links(Words *w, const Passage *p, const Fingering *f, bool utf8, unsigned links,
    const char *one, const char *several)
{
    size_t count = 0, named = 0;
    for (size_t g = 0; g < f->group_count; g++)
        count += (links >> f->notes[f->groups[g].first].link & 1) != 0;
    if (count == 0)
        return 0;
    say(w, "; %s ", count == 1 ? one : several);
    for (size_t g = 0; g < f->group_count && named < NAMED; g++) {
        size_t note = (size_t)f->groups[g].first;
        if ((links >> f->notes[note].link & 1) == 0)
            continue;
        /* A turn is told by the note that it turns on. */
        size_t at = f->groups[g].pivot >= 0 ? (size_t)f->groups[g].pivot : note;
        char name[PITCH_NAME_MAX];
        say(w, "%s%s", named > 0 ? ", " : "", pitch_name(p->notes[at].pitch, utf8, name));
        named++;
    }
    if (count > named)
        say(w, " and %zu more", count - named);
    return count;
}

/* "; to and fro from C4 and G4 on one placement each" */
static void say_across(Words *w, const Passage *p, const Fingering *f, bool utf8)
{
    size_t count = 0;
    for (size_t g = 0; g < f->group_count; g++) {
        const FingerGroup *group = &f->groups[g];
        if (!group->across || count++ >= NAMED)
            continue;
        char name[PITCH_NAME_MAX];
        size_t from = (size_t)(group->pivot >= 0 ? group->pivot : group->first);
        say(w, "%s%s", count == 1 ? "; to and fro from " : ", ",
            pitch_name(p->notes[from].pitch, utf8, name));
    }
    if (count > NAMED)
        say(w, " and %zu more", count - NAMED);
    if (count > 0)
        say(w, " on one placement%s", count > 1 ? " each" : "");
}

/* Where the odd groups of a plan made mostly of larger ones stand: "the 3 on top". */
static void say_small(Words *w, const Passage *p, const Fingering *f)
{
    int largest = 0, odd = 0;
    size_t at = 0;
    for (size_t g = 0; g < f->group_count; g++)
        largest = f->groups[g].size > largest ? f->groups[g].size : largest;
    for (size_t g = 0; g < f->group_count; g++)
        if (f->groups[g].size < largest && f->groups[g].direction != 0) {
            odd++;
            at = g;
        }
    if (odd != 1 || f->group_count < 2)
        return;
    int string = pitch_string(p->notes[f->groups[at].first].pitch), above = 0, below = 0;
    for (size_t g = 0; g < f->group_count; g++) {
        int other = pitch_string(p->notes[f->groups[g].first].pitch);
        above += other > string;
        below += other < string;
    }
    say(w, ", the %d %s", (int)f->groups[at].size,
        above == 0   ? "on top"
        : below == 0 ? "at the bottom"
                     : "in the middle");
}

char *fingering_explain(const Passage *p, const Fingering *f, bool utf8, char out[EXPLAIN_TEXT_MAX])
{
    Words w = {.out = out};
    char grouping[120];
    out[0] = '\0';
    fingering_grouping(f, grouping, sizeof grouping);
    say(&w, "%s", grouping);
    say_small(&w, p, f);
    size_t links = list_links(&w, p, f, utf8, 1u << LINK_CROSS_UNDER | 1u << LINK_CROSS_OVER,
        "one link into", "links into");
    list_links(&w, p, f, utf8, 1u << LINK_REPLACE, "one replace at", "replaces at");
    list_links(&w, p, f, utf8, 1u << LINK_HAND, "the other hand at", "hands change at");
    say_across(&w, p, f, utf8);
    size_t lifts = list_links(&w, p, f, utf8, 1u << LINK_LIFT, "lifted before", "lifted before");
    if (f->group_count > 1 && links == 0 && lifts == 0)
        say(&w, "; nothing to cross");
    return out;
}
