/* What is to be said against a fingering, note by note. */
#include "evenhand/harp/explain.h"

#include "fingering_cost.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

enum { QUICK_MICROSECONDS = 250000, RUN_NOTES = 4 };

typedef struct {
    const Passage *p;
    const Fingering *f;
    Findings *out;
    bool failed; /* without memory */
} Checker;

/* "F4 (bar 2, beat 3)" */
static void place_of(const Passage *p, size_t note, char *out, size_t size)
{
    char name[PITCH_NAME_MAX], beat[RATIO_TEXT_MAX];
    snprintf(out, size, "%s (bar %d, beat %s)", pitch_name(p->notes[note].pitch, false, name),
        p->bars[p->notes[note].bar].number, ratio_text(passage_beat(p, note), beat));
}

__attribute__((format(printf, 5, 6))) static void find(
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
    char place[80] = "", said[160];
    if (note >= 0)
        place_of(c->p, (size_t)note, place, sizeof place);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(said, sizeof said, format, arguments);
    va_end(arguments);
    snprintf(
        finding->text, sizeof finding->text, "%.78s%s%.118s", place, note >= 0 ? ": " : "", said);
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
        find(c, FINDING_ORDER, (int32_t)i, -1,
            "finger %d %s %d puts the thumb's side on the lower string", finger,
            in_chord(c, i) ? "above" : "after", before);
        return;
    }
    if (abs(step) > fingering_reach[finger][before])
        find(c, FINDING_REACH, (int32_t)i, -1,
            "fingers %d and %d would span %d strings; %d is their limit", before, finger,
            abs(step) + 1, fingering_reach[finger][before] + 1);
}

static void check_link(Checker *c, size_t i)
{
    const FingeredNote *note = &c->f->notes[i], *before = &c->f->notes[i - 1];
    int step = step_into(c, i);
    if (note->link == LINK_LIFT && !in_chord(c, i) && !in_chord(c, i - 1))
        find(c, FINDING_LIFT, (int32_t)i, -1,
            "all fingers are off the strings before it; keep one down, or write a rest");
    bool connected = note->link != LINK_START && note->link != LINK_HAND && !in_chord(c, i);
    if (connected && step != 0 && note->finger == before->finger && note->finger != 0)
        find(c, FINDING_SAME, (int32_t)i, -1, "finger %d plays two strings in a row", note->finger);
    if (note->link == LINK_CROSS_UNDER && before->finger != 1)
        find(c, FINDING_CROSSING, (int32_t)i, -1,
            "going up the crossing goes under the thumb, not under finger %d", before->finger);
    if (note->link == LINK_CROSS_OVER && note->finger != 1)
        find(c, FINDING_CROSSING, (int32_t)i, -1,
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
        find(c, FINDING_ALONE, group->first, -1, "a group of one; give it to a neighbour");
    if (group->size == 2 && !chord && c->f->group_count > 1 && quick(c, first))
        find(c, FINDING_TWO, group->first, -1,
            "a group of two at this speed leaves one note of time to link; 3s and 4s leave more");
}

/* Runs of one direction; a later one on the same strings is compared with the first. */
static size_t run_length(const Checker *c, size_t i)
{
    size_t end = i + 1;
    int way = 0;
    while (end < c->p->note_count && !c->p->notes[end].breath && !in_chord(c, end)) {
        int step = step_into(c, end);
        int sign = step > 0 ? 1 : step < 0 ? -1 : 0;
        if (sign == 0 || (way != 0 && sign != way))
            break;
        way = sign;
        end++;
    }
    return end - i;
}

typedef struct {
    size_t first, count;
} Run;

typedef struct {
    const Passage *p;
    Run run;
} Keyed;

static int compare_runs(const void *a, const void *b)
{
    const Keyed *x = a, *y = b;
    if (x->run.count != y->run.count)
        return x->run.count < y->run.count ? -1 : 1;
    for (size_t i = 0; i < x->run.count; i++) {
        int difference = pitch_string(x->p->notes[x->run.first + i].pitch) -
                         pitch_string(y->p->notes[y->run.first + i].pitch);
        if (difference != 0)
            return difference;
    }
    return 0;
}

static int compare_runs_then_place(const void *a, const void *b)
{
    int by_strings = compare_runs(a, b);
    const Keyed *x = a, *y = b;
    return by_strings != 0 ? by_strings
                           : (x->run.first > y->run.first) - (x->run.first < y->run.first);
}

static void check_pair(Checker *c, const Run *model, const Run *run)
{
    for (size_t i = 0; i < run->count; i++) {
        size_t here = run->first + i, there = model->first + i;
        if (c->f->notes[here].finger == c->f->notes[there].finger)
            continue;
        char before[80];
        place_of(c->p, there, before, sizeof before);
        find(c, FINDING_CHANGED, (int32_t)here, (int32_t)model->first,
            "finger %d, but %d on the same run at %s; %s", c->f->notes[here].finger,
            c->f->notes[there].finger, before,
            c->f->notes[here].marked ? "change the mark" : "its neighbours ask for it");
        return;
    }
}

static void check_runs(Checker *c)
{
    size_t count = 0;
    Keyed *runs = malloc(c->p->note_count * sizeof *runs);
    if (runs == NULL) {
        c->failed = true;
        return;
    }
    for (size_t i = 0; i < c->p->note_count;) {
        size_t length = run_length(c, i);
        if (length >= RUN_NOTES)
            runs[count++] = (Keyed){c->p, {i, length}};
        i += length > 1 ? length - 1 : 1; /* a turning note ends one run and begins the next */
    }
    qsort(runs, count, sizeof *runs, compare_runs_then_place);
    size_t model = 0;
    for (size_t i = 1; i < count; i++) {
        if (compare_runs(&runs[model], &runs[i]) != 0)
            model = i;
        else
            check_pair(c, &runs[model].run, &runs[i].run);
    }
    free(runs);
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
            find(c, FINDING_SMALL, b->first, -1,
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
        find(c, FINDING_BEATEN, -1, -1,
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
    Checker c = {.p = p, .f = &f, .out = out};
    for (size_t i = 1; i < p->note_count; i++) {
        check_order_and_reach(&c, i);
        if (!o.lifted)
            check_link(&c, i);
    }
    for (size_t g = 0; g < f.group_count; g++)
        check_group(&c, g);
    check_runs(&c);
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
