/* What is to be said against a fingering, note by note. */
#include "fingering_check.h"

#include "fingering_cost.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

enum { QUICK_MICROSECONDS = 250000 };

char *checker_place(const Passage *p, size_t note, char out[PLACE_TEXT_MAX])
{
    char name[PITCH_NAME_MAX], beat[RATIO_TEXT_MAX];
    snprintf(out, PLACE_TEXT_MAX, "%s (bar %d, beat %s)",
        pitch_name(p->notes[note].pitch, false, name), p->bars[p->notes[note].bar].number,
        ratio_text(passage_beat(p, note), beat));
    return out;
}

void checker_find(
    Checker *c, FindingKind kind, int32_t note, int32_t earlier, const char *format, ...)
{
    Findings *out = c->out;
    if ((out->count & (out->count - 1)) == 0) {
        size_t room = out->count == 0 ? 1 : out->count * 2;
        Finding *items = realloc(out->items, room * sizeof *items);
        if (items == NULL) {
            c->failed = true;
            return;
        }
        out->items = items;
    }
    Finding *finding = &out->items[out->count++];
    *finding = (Finding){.kind = kind, .note = note, .earlier = earlier};
    char place[PLACE_TEXT_MAX] = "", said[sizeof finding->text - PLACE_TEXT_MAX];
    if (note >= 0)
        checker_place(c->p, (size_t)note, place);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(said, sizeof said, format, arguments);
    va_end(arguments);
    snprintf(finding->text, sizeof finding->text, "%.77s%s%s", place, note >= 0 ? ": " : "", said);
}

static int step_into(const Checker *c, size_t i)
{
    return pitch_string(c->p->notes[i].pitch) - pitch_string(c->p->notes[i - 1].pitch);
}

static bool in_chord(const Checker *c, size_t i)
{
    return i > 0 && c->p->notes[i].block == c->p->notes[i - 1].block;
}

static void check_order_and_reach(Checker *c, size_t i)
{
    int step = step_into(c, i);
    int finger = c->f->notes[i].finger, before = c->f->notes[i - 1].finger;
    bool together =
        in_chord(c, i) || c->f->notes[i].link == LINK_WITHIN || c->f->notes[i].link == LINK_REPLACE;
    if (!together || step == 0 || finger == 0 || before == 0)
        return;
    if ((step > 0) != (finger < before)) {
        checker_find(c, FINDING_ORDER, (int32_t)i, -1,
            "finger %d %s %d puts the thumb's side on the lower string", finger,
            in_chord(c, i) ? "above" : "after", before);
        return;
    }
    if (abs(step) > fingering_reach[finger][before])
        checker_find(c, FINDING_REACH, (int32_t)i, -1,
            "fingers %d and %d would span %d strings; %d is their limit", before, finger,
            abs(step) + 1, fingering_reach[finger][before] + 1);
}

static void check_link(Checker *c, size_t i)
{
    const FingeredNote *note = &c->f->notes[i], *before = &c->f->notes[i - 1];
    int step = step_into(c, i);
    if (note->link == LINK_LIFT && !in_chord(c, i) && !in_chord(c, i - 1))
        checker_find(c, FINDING_LIFT, (int32_t)i, -1,
            "all fingers are off the strings before it; keep one down, or write a rest");
    bool connected = note->link != LINK_START && note->link != LINK_HAND && !in_chord(c, i);
    if (connected && step != 0 && note->finger == before->finger && note->finger != 0)
        checker_find(
            c, FINDING_SAME, (int32_t)i, -1, "finger %d plays two strings in a row", note->finger);
    if (note->link == LINK_CROSS_UNDER && before->finger != 1)
        checker_find(c, FINDING_CROSSING, (int32_t)i, -1,
            "going up the crossing goes under the thumb, not under finger %d", before->finger);
    if (note->link == LINK_CROSS_OVER && note->finger != 1)
        checker_find(c, FINDING_CROSSING, (int32_t)i, -1,
            "going down the thumb crosses over, not finger %d", note->finger);
}

static bool quick(const Checker *c, size_t i)
{
    if (i + 1 >= c->p->note_count)
        return false;
    Ratio quarters = ratio_sub(c->p->notes[i + 1].onset, c->p->notes[i].onset);
    Ratio seconds = ratio_mul(quarters, tempo_seconds_per_quarter(c->p->tempo));
    return ratio_valid(seconds) &&
           ratio_cmp(ratio_mul(seconds, ratio_int(1000000)), ratio_int(QUICK_MICROSECONDS)) < 0;
}

static void check_group(Checker *c, size_t g)
{
    const FingerGroup *group = &c->f->groups[g];
    size_t first = (size_t)group->first;
    Link link = (Link)c->f->notes[first].link;
    bool last = g + 1 == c->f->group_count;
    bool chord =
        first + 1 < c->p->note_count && c->p->notes[first].block == c->p->notes[first + 1].block;
    bool lands = last && (link == LINK_CROSS_UNDER || link == LINK_CROSS_OVER);
    bool free_after = last || c->p->notes[(size_t)group->last + 1].breath;
    bool phrase = link == LINK_START && free_after; /* a note by itself between rests */
    if (group->size == 1 && !chord && !lands && !phrase)
        checker_find(c, FINDING_ALONE, group->first, -1, "a group of one; give it to a neighbour");
    if (group->size == 2 && !chord && !group->across && c->f->group_count > 1 && quick(c, first))
        checker_find(c, FINDING_TWO, group->first, -1,
            "a group of two at this speed leaves one note of time to link; 3s and 4s leave more");
}

/* An upward link into a larger group (a downward one out of it): the small group lies below. */
static void check_small(Checker *c, const FingeringOptions *o)
{
    for (size_t g = 1; o->small == SMALL_ON_TOP && g < c->f->group_count; g++) {
        const FingerGroup *a = &c->f->groups[g - 1], *b = &c->f->groups[g];
        int link = c->f->notes[b->first].link;
        bool up = link == LINK_CROSS_UNDER, down = link == LINK_CROSS_OVER;
        int lower = up ? a->size : b->size, upper = up ? b->size : a->size;
        if ((up || down) && lower < upper && lower > 1)
            checker_find(c, FINDING_SMALL, b->first, -1,
                "the group of %d lies under a group of %d; the small one usually goes on top",
                lower, upper);
    }
}

static bool any_marks(const Passage *p)
{
    for (size_t i = 0; i < p->note_count; i++)
        if (p->notes[i].mark != 0)
            return true;
    return false;
}

static bool check_against_plan(Checker *c, const FingeringOptions *o, Error *error)
{
    FingeringOptions unmarked = *o;
    Fingering best;
    unmarked.ignore_marks = true;
    if (!fingering_plan(c->p, &unmarked, &best, error))
        return false;
    if (c->f->cost - best.cost > COST_GROUP) {
        char grouping[60];
        fingering_grouping(&best, grouping, sizeof grouping);
        checker_find(c, FINDING_BEATEN, -1, -1,
            "without the marks %s would do with %lld fewer points of cost", grouping,
            (long long)(c->f->cost - best.cost));
    }
    fingering_free(&best);
    return true;
}

static int by_note(const void *a, const void *b)
{
    const Finding *x = a, *y = b;
    uint32_t i = (uint32_t)x->note, k = (uint32_t)y->note; /* the whole (-1) last */
    if (i != k)
        return i < k ? -1 : 1;
    return (int)x->kind - (int)y->kind;
}

bool fingering_check(const Passage *p, const FingeringOptions *options, Findings *out, Error *error)
{
    FingeringOptions o = options != NULL ? *options : (FingeringOptions){0};
    Fingering f;
    *out = (Findings){0};
    if (!fingering_plan(p, &o, &f, error))
        return false;
    Checker c = {.p = p, .f = &f, .options = &o, .out = out};
    for (size_t i = 1; i < p->note_count; i++) {
        check_order_and_reach(&c, i);
        if (!o.lifted)
            check_link(&c, i);
    }
    for (size_t g = 0; g < f.group_count; g++)
        check_group(&c, g);
    checker_changed(&c);
    check_small(&c, &o);
    bool done = !any_marks(p) || o.ignore_marks || check_against_plan(&c, &o, error);
    if (done && c.failed)
        done = error_set(error, ERROR_MEMORY, "out of memory for the check");
    if (out->count > 1)
        qsort(out->items, out->count, sizeof *out->items, by_note);
    fingering_free(&f);
    if (!done)
        findings_free(out);
    return done;
}

void findings_free(Findings *f)
{
    free(f->items);
    *f = (Findings){0};
}

const char *finding_word(FindingKind kind)
{
    static const char *const words[FINDING_KINDS] = {"alone", "lift", "same finger", "order",
        "reach", "crossing", "two", "changed", "small group", "beaten"};
    return (unsigned)kind < FINDING_KINDS ? words[kind] : "";
}
