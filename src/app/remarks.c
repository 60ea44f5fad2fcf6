#include "evenhand/app/remarks.h"

#include <stdlib.h>

/* Index of the first marked note; the note count where there is none. */
static size_t first_mark(const Passage *p)
{
    size_t i = 0;
    while (i < p->note_count && p->notes[i].mark == 0)
        i++;
    return i;
}

static bool is_in(const Findings *list, const Finding *f)
{
    size_t low = 0, high = list->count; /* sorted by note, the whole (-1) last, then by kind */
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        const Finding *m = &list->items[middle];
        uint32_t at = (uint32_t)m->note, wanted = (uint32_t)f->note;
        if (at == wanted && m->kind == f->kind)
            return true;
        if (at < wanted || (at == wanted && m->kind < f->kind))
            low = middle + 1;
        else
            high = middle;
    }
    return false;
}

/* A remark is the marks' doing when the plan without them does not earn it too. */
static bool compare(Remarks *r, const Passage *p, const FingeringOptions *options, Error *error)
{
    FingeringOptions unmarked = *options;
    Findings without;
    unmarked.ignore_marks = true;
    if (!fingering_check(p, &unmarked, &without, error))
        return false;
    for (size_t i = 0; i < r->all.count; i++) {
        r->against[i] = !is_in(&without, &r->all.items[i]);
        r->counted += r->against[i];
    }
    findings_free(&without);
    return true;
}

bool remarks_make(const Passage *p, const FingeringOptions *options, Remarks *out, Error *error)
{
    *out = (Remarks){0};
    if (!fingering_check(p, options, &out->all, error))
        return false;
    out->against = calloc(out->all.count + 1, sizeof *out->against);
    out->marked = !options->ignore_marks && first_mark(p) < p->note_count;
    bool done = out->against ? !out->marked || compare(out, p, options, error)
                             : error_set(error, ERROR_MEMORY, "there is no memory for the remarks");
    if (!done)
        remarks_free(out);
    return done;
}

void remarks_free(Remarks *r)
{
    findings_free(&r->all);
    free(r->against);
    *r = (Remarks){0};
}

/* A small group in an odd place or a cheaper plan is a matter of taste: not worth a notice. */
static bool breaks_rule(const Remarks *r)
{
    static const bool rule[FINDING_KINDS] = {[FINDING_ALONE] = true,
        [FINDING_LIFT] = true,
        [FINDING_SAME] = true,
        [FINDING_ORDER] = true,
        [FINDING_REACH] = true,
        [FINDING_CROSSING] = true,
        [FINDING_CHANGED] = true};
    for (size_t i = 0; i < r->all.count; i++)
        if (r->against[i] && rule[r->all.items[i].kind])
            return true;
    return false;
}

bool remarks_notice(Passage *p, const FingeringOptions *options, Error *error)
{
    size_t mark = first_mark(p);
    Remarks r;
    if (options->ignore_marks || mark == p->note_count)
        return true;
    if (!remarks_make(p, options, &r, error))
        return false;
    if (breaks_rule(&r))
        passage_notice(p, p->notes[mark].line, p->notes[mark].column,
            "%zu remark%s on the marked fingers; see evenhand show --check", r.counted,
            r.counted == 1 ? "" : "s");
    remarks_free(&r);
    return true;
}

static bool add_remark(
    Text *out, const Finding *f, const char *after, const Passage *p, const char *source)
{
    size_t at = f->note >= 0 ? (size_t)f->note : first_mark(p);
    const Note *n = &p->notes[at < p->note_count ? at : 0];
    return text_add(out, "%s:%d:%d: %s: %s%s\n", source, n->line, n->column, finding_word(f->kind),
        f->text, after);
}

static bool add_count(Text *out, const Remarks *r)
{
    if (r->all.count == 0)
        return text_add(out, "nothing is to be said against the fingers\n");
    if (!r->marked)
        return text_add(out, "no marked finger is looked at: these are remarks on the plan\n");
    return text_add(out, "%zu of %zu stand%s against the marked fingers\n", r->counted,
        r->all.count, r->counted == 1 ? "s" : "");
}

bool remarks_text(Text *out, const Remarks *r, const Passage *p, const char *source, Error *error)
{
    bool done = true;
    for (size_t i = 0; done && i < r->all.count; i++) {
        const char *after = r->marked && !r->against[i] ? " (with the marks or without)" : "";
        done = add_remark(out, &r->all.items[i], after, p, source);
    }
    done = done && add_count(out, r);
    return done || error_set(error, ERROR_MEMORY, "there is no memory for the remarks");
}
