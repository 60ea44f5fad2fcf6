/* Long-short and its kin.
 *
 *    written      | L | L | L | L |          n = 2, long first, 3:1
 *    total kept   |  3/2 |½|  3/2 |½|        short = n L q / (p + (n-1) q)
 *    goal speed   |   3 L    |L|   3 L   |L| short = L, long = L p / q: what follows moves
 */
#include "drill_parts.h"

/* A block lasts as long as its lowest note, which a tie may hold under the blocks that follow: a
 * rhythm counts it only to the next one, or what is shaped would overtake what is not. */
void rhythm_cut_overlaps(Drill *d)
{
    for (size_t i = 0; i + 1 < d->note_count; i++) {
        int64_t until = d->notes[i + 1].onset - d->notes[i].onset;
        if (d->notes[i].length > until)
            d->notes[i].length = until;
    }
}

/* Notes i .. that follow each other without a gap in one length. */
static size_t run_end(const Drill *d, size_t i)
{
    int64_t length = d->notes[i].length;
    while (i + 1 < d->note_count && d->notes[i + 1].length == length &&
           d->notes[i + 1].onset == d->notes[i].onset + length)
        i++;
    return i + 1;
}

/* A metre's beats in ticks; kept from note to note, since metres seldom change. */
typedef struct {
    Metre metre;
    int64_t at[METRE_NUM_MAX];
    int count; /* 0: none worked out yet */
    int64_t bar;
} Beats;

static void use_metre(Beats *b, const Drill *d, const Metre *m)
{
    if (b->count > 0 && metre_equal(&b->metre, m))
        return;
    Ratio at[METRE_NUM_MAX];
    b->metre = *m;
    b->count = metre_pulses(m, at);
    b->bar = drill_ticks(d, metre_bar(m));
    for (int i = 0; i < b->count; i++)
        b->at[i] = drill_ticks(d, at[i]);
}

/* Groups are aligned to the beat, so that what stands on a beat stays there: inside the beat, or
 * the bar where it is longer than a beat, a group begins at a multiple of its length, and what
 * is left over is plain. In free metre, and where a group is longer than the bar, groups follow
 * each other as they come. */
static bool may_begin(const Beats *b, int64_t in_bar, int64_t span)
{
    if (b->bar == 0)
        return true;
    if (span > b->bar)
        return in_bar == 0;
    int k = 0;
    while (k + 1 < b->count && b->at[k + 1] <= in_bar)
        k++;
    int64_t from = b->at[k], to = k + 1 < b->count ? b->at[k + 1] : b->bar;
    if (span > to - from) {
        from = 0;
        to = b->bar;
    }
    return (in_bar - from) % span == 0 && in_bar + span <= to;
}

static void shape_group(Drill *d, size_t first)
{
    const Rhythm *r = &d->spec.rhythm;
    int64_t even = d->notes[first].length;
    int64_t parts = r->p + (int64_t)(r->notes - 1) * r->q;
    int64_t unit = even * r->notes / parts; /* exact: ticks hold `parts` */
    int64_t at = d->notes[first].onset;
    for (int k = 0; k < r->notes; k++) {
        DrillNote *note = &d->notes[first + (size_t)k];
        bool is_long = k == r->long_at;
        if (r->timing == TIMING_TOTAL)
            note->length = unit * (is_long ? r->p : r->q);
        else
            note->length = is_long ? even * r->p / r->q : even;
        note->onset = at;
        note->change = (int8_t)(r->p == r->q ? 0 : is_long == (r->p > r->q) ? 1 : -1);
        at += note->length;
    }
}

static bool aligned(const Drill *d, const Passage *p, Beats *beats, size_t i, int64_t span)
{
    const Note *note = &p->notes[d->notes[i].note];
    const Bar *bar = &p->bars[note->bar];
    use_metre(beats, d, &bar->metre);
    int64_t in_bar =
        drill_ticks(d, bar->offset) + drill_ticks(d, note->onset) - drill_ticks(d, bar->start);
    return may_begin(beats, in_bar, span);
}

bool rhythm_shape(Drill *drill, const Passage *p, Error *error)
{
    const Rhythm *r = &drill->spec.rhythm;
    if (r->notes == 0)
        return true;
    rhythm_cut_overlaps(drill);
    Beats beats = {.count = 0};
    int64_t moved = 0, limit = (int64_t)1 << 60;
    for (size_t i = 0; i < drill->note_count;) {
        /* The run is found in written time; what lies before `i` is already shaped. */
        size_t end = run_end(drill, i), n = (size_t)r->notes;
        int64_t length = drill->notes[i].length;
        while (i < end) {
            bool group = i + n <= end && aligned(drill, p, &beats, i, length * r->notes);
            size_t last = group ? i + n : i + 1;
            for (size_t k = i; k < last; k++)
                drill->notes[k].onset += moved;
            if (group)
                shape_group(drill, i);
            if (group && r->timing == TIMING_GOAL)
                moved += length * r->p / r->q - length;
            i = last;
        }
        if (moved > limit || moved < -limit)
            return error_set(error, ERROR_LIMIT, "the rhythm stretches the passage too far");
    }
    return true;
}

int64_t rhythm_warp(
    const DrillNote *written, const DrillNote *shaped, size_t count, int64_t at, size_t *cursor)
{
    while (*cursor + 1 < count && written[*cursor + 1].onset <= at)
        ++*cursor;
    const DrillNote *from = &written[*cursor], *to = &shaped[*cursor];
    if (at < from->onset)
        return at;
    int64_t into = at - from->onset;
    if (into < from->length) { /* inside the note: in proportion, to the nearest tick */
        Ratio share = ratio_mul(ratio(into, from->length), ratio_int(to->length));
        return to->onset + ratio_floor(ratio_add(share, ratio(1, 2)));
    }
    return to->onset + to->length + (into - from->length);
}
