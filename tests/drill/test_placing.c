/* Placing drills: properties over random passages, and scales as the trade has them
 * (trade-facts 1.6, 1.7, 1.9, 3.5 [common practice], Curcio 58 for the crossings). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/drill/stage.h"

#include "../tools/passages.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { RUNS = 400 };

/* A passage with its fingers and what a drill makes of them. */
typedef struct {
    Passage *p;
    Fingering f;
    Scene s;
    Placing placing;
    Ratio bar;
    Metre metre;
} Made;

static Fingering plan(const Passage *p)
{
    Fingering f;
    Error error = {0};
    assert_true(fingering_plan(p, NULL, &f, &error));
    return f;
}

static bool make(Made *m, Error *error)
{
    m->metre = metre_free(&m->p->metre) ? metre(4, 4) : m->p->metre;
    m->bar = metre_bar(&m->metre);
    return placing_make(m->p, &m->f, &m->placing, &m->s, error);
}

static void unmake(Made *m)
{
    scene_free(&m->s);
    fingering_free(&m->f);
    passage_free(m->p);
}

static bool on_pulse(const Made *m, Ratio at)
{
    Ratio pulses[METRE_NUM_MAX], into = ratio_mod(at, m->bar);
    int count = metre_pulses(&m->metre, pulses);
    for (int i = 0; i < count; i++)
        if (ratio_equal(pulses[i], into))
            return true;
    return false;
}

/* Where the hand is placed afresh by the drill, a figure begins. */
static bool begins_figure(const Made *m, size_t i)
{
    const Note *notes = m->s.passage->notes;
    if (notes[i].block != (int32_t)i)
        return false;
    if (i == 0 || m->s.origin[i] < 0)
        return i == 0;
    size_t before = (size_t)notes[i - 1].block;
    size_t expected = passage_block_end(m->p, (size_t)m->s.origin[before]);
    bool chord = m->placing.kind == PLACING_BLOCKS &&
                 (passage_block_end(m->s.passage, i) > i + 1 ||
                     passage_block_end(m->s.passage, before) > before + 1);
    return chord || m->s.origin[i] != (int32_t)expected;
}

/* What every kind keeps. */
static void check_all(const Made *m)
{
    const Passage *made = m->s.passage;
    const Fingering *f = &m->s.fingering;
    assert_int_equal(f->note_count, made->note_count);
    assert_int_equal(ratio_mod(made->length, m->bar).num, 0);
    assert_int_equal(made->bars[0].offset.num, 0);
    for (size_t i = 0; i < made->bar_count; i++) {
        assert_true(ratio_equal(made->bars[i].length, m->bar));
        assert_true(ratio_equal(made->bars[i].start, ratio_mul(m->bar, ratio_int((int64_t)i))));
    }
    size_t covered = 0;
    for (size_t g = 0; g < f->group_count; g++) {
        assert_int_equal(f->groups[g].first, (int32_t)covered);
        covered = (size_t)f->groups[g].last + 1;
        assert_true(f->groups[g].pivot == -1 || f->groups[g].pivot == f->groups[g].first - 1);
    }
    assert_int_equal(covered, made->note_count);
    for (size_t i = 0; i < made->note_count; i++) {
        const Note *note = &made->notes[i];
        const FingeredNote *n = &f->notes[i];
        int32_t from = m->s.origin[i];
        assert_true(n->place >= 1 && n->place <= n->size);
        assert_int_equal(n->size, f->groups[n->group].size);
        if (from < 0)
            continue;
        assert_true((size_t)from < m->p->note_count);
        assert_int_equal(n->finger, m->f.notes[from].finger);
        assert_memory_equal(&note->pitch, &m->p->notes[from].pitch, sizeof note->pitch);
        if (begins_figure(m, i))
            assert_true(on_pulse(m, note->onset));
    }
}

static bool same_notes(const Made *m, size_t made, size_t base, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const Note *a = &m->s.passage->notes[made + i], *b = &m->p->notes[base + i];
        if (m->s.origin[made + i] != (int32_t)(base + i) || !ratio_equal(a->length, b->length) ||
            !ratio_equal(ratio_sub(a->onset, m->s.passage->notes[made].onset),
                ratio_sub(b->onset, m->p->notes[base].onset)))
            return false;
    }
    return true;
}

static bool is_linked(const Fingering *f, size_t i, bool crossed)
{
    Link link = (Link)f->notes[i].link;
    return link == LINK_CROSS_UNDER || link == LINK_CROSS_OVER ||
           (!crossed && (link == LINK_REPLACE || link == LINK_LIFT || link == LINK_HAND));
}

static void check_crossing(Made *m)
{
    size_t last = m->s.passage->note_count - 1, lands = (size_t)m->s.origin[last];
    assert_true(is_linked(&m->f, lands, true));
    for (size_t i = 1; i < lands; i++)
        assert_false(is_linked(&m->f, i, true)); /* the first one */
    assert_int_equal(m->s.fingering.notes[last].link, m->f.notes[lands].link);
    assert_int_equal(m->s.fingering.groups[m->s.fingering.notes[last].group].first, (int32_t)last);
    const FingerGroup *g = &m->f.groups[m->f.notes[lands - 1].group];
    size_t first = (size_t)(g->pivot >= 0 ? g->pivot : g->first);
    assert_int_equal(m->s.passage->note_count, lands - first + 1);
    assert_true(same_notes(m, 0, first, lands - first + 1));
    assert_int_equal(m->s.fingering.group_count, 2);
    assert_int_equal(m->s.fingering.groups[0].size, g->size);
}

static bool repeated(const Passage *p, size_t i)
{
    return pitch_string(p->notes[i].pitch) == pitch_string(p->notes[i - 1].pitch);
}

static void check_blocks(Made *m)
{
    const Passage *made = m->s.passage;
    int *held = calloc(m->p->note_count, sizeof *held);
    int *broken = calloc(m->p->note_count, sizeof *broken);
    assert_true(held != NULL && broken != NULL);
    size_t at = 0;
    for (size_t g = 0; g < m->f.group_count; g++) {
        size_t first = (size_t)m->f.groups[g].first,
               count = (size_t)m->f.groups[g].last + 1 - first;
        Ratio start = made->notes[at].onset;
        assert_int_equal(ratio_mod(start, m->bar).num, 0);
        size_t strings = count;
        for (size_t i = first + 1; i < first + count; i++)
            strings -= repeated(m->p, i) ? 1 : 0;
        assert_int_equal(passage_block_end(made, at), at + strings);
        for (size_t i = at; i < at + strings; i++) {
            held[m->s.origin[i]]++;
            assert_true(
                m->s.origin[i] >= (int32_t)first && m->s.origin[i] < (int32_t)(first + count));
            assert_true(i == at || m->s.fingering.notes[i].finger <
                                       m->s.fingering.notes[i - 1].finger); /* thumb on top */
            assert_true(ratio_equal(
                ratio_add(start, made->notes[i].length), made->notes[at + strings].onset));
        }
        at += strings;
        assert_true(on_pulse(m, made->notes[at].onset));
        assert_true(same_notes(m, at, first, count));
        for (size_t i = at; i < at + count; i++)
            broken[m->s.origin[i]]++;
        at += count;
    }
    assert_int_equal(at, made->note_count);
    for (size_t i = 0; i < m->p->note_count; i++)
        assert_true(broken[i] == 1 && held[i] <= 1);
    for (size_t i = 0; i < m->p->note_count; i++) /* a string once, however often it is struck */
        if (i == 0 || m->f.notes[i].group != m->f.notes[i - 1].group) {
            int together = 0, struck = 0;
            for (size_t k = i; k < m->p->note_count && m->f.notes[k].group == m->f.notes[i].group;
                 k++) {
                together += held[k];
                struck += k == i || !repeated(m->p, k);
            }
            assert_int_equal(together, struck);
        }
    free(held);
    free(broken);
}

static void check_links(Made *m)
{
    size_t at = 0, side = (size_t)m->placing.size;
    int loops = m->placing.loops > 0 ? m->placing.loops : PLACING_LOOPS, seen = 0;
    for (size_t lands = 1; lands < m->p->note_count; lands++) {
        if (!is_linked(&m->f, lands, false) || (m->placing.which > 0 && ++seen != m->placing.which))
            continue;
        size_t first = lands > side ? lands - side : 0;
        size_t end = lands + side < m->p->note_count ? lands + side : m->p->note_count;
        assert_int_equal(ratio_mod(m->s.passage->notes[at].onset, m->bar).num, 0);
        for (int loop = 0; loop < loops; loop++) {
            assert_true(same_notes(m, at, first, end - first));
            const FingeredNote *n = &m->s.fingering.notes[at + (lands - first)];
            assert_int_equal(n->link, m->f.notes[lands].link);
            const Note *last = &m->s.passage->notes[at + (end - first) - 1];
            at += end - first;
            Ratio next = at < m->s.passage->note_count ? m->s.passage->notes[at].onset
                                                       : m->s.passage->length;
            Ratio rest = ratio_sub(next, ratio_add(last->onset, last->length));
            assert_true(ratio_cmp(rest, last->length) >= 0);
        }
    }
    assert_int_equal(at, m->s.passage->note_count);
}

static void check_build(Made *m)
{
    size_t at = 0, count = m->p->note_count;
    for (size_t k = 1; k <= count; k++) {
        size_t first = m->placing.kind == PLACING_BUILD_UP ? 0 : count - k;
        assert_int_equal(ratio_mod(m->s.passage->notes[at].onset, m->bar).num, 0);
        assert_true(same_notes(m, at, first, k));
        at += k;
    }
    assert_int_equal(at, m->s.passage->note_count);
}

static void check_bursts(Made *m)
{
    size_t n = (size_t)m->placing.size, count = m->p->note_count;
    const Note *notes = m->s.passage->notes;
    assert_int_equal(m->s.passage->note_count, count);
    for (size_t first = 0; first < count; first += n) {
        size_t last = first + n < count ? first + n - 1 : count - 1;
        assert_true(on_pulse(m, notes[first].onset));
        assert_true(same_notes(m, first, first, last - first)); /* at speed, all but the last */
        Ratio end = ratio_add(notes[last].onset, notes[last].length);
        assert_true(ratio_cmp(notes[last].length, m->p->notes[last].length) >= 0);
        assert_true(on_pulse(m, end));
        Ratio least = passage_pulse(m->s.passage);
        if (last > first) /* or it would not stand out */
            least = ratio_max(least, ratio_mul(m->p->notes[last - 1].length, ratio_int(2)));
        assert_true(ratio_cmp(notes[last].length, least) >= 0);
        Ratio shorter = ratio_sub(notes[last].length, passage_pulse(m->s.passage));
        if (m->metre.part_count == 0) /* no longer than it must */
            assert_true(ratio_cmp(shorter, ratio_max(least, m->p->notes[last].length)) < 0);
        if (last + 1 < count)
            assert_true(ratio_equal(notes[last + 1].onset, end));
    }
    assert_int_equal(m->s.fingering.group_count, m->f.group_count);
    for (size_t i = 0; i < count; i++)
        assert_memory_equal(
            &m->s.fingering.notes[i], &m->f.notes[i], sizeof m->s.fingering.notes[i]);
}

static void check_pair(Made *m)
{
    size_t split = 0, count = m->s.passage->note_count;
    const Note *notes = m->s.passage->notes;
    while (split < count && m->s.origin[split] >= 0)
        split++;
    assert_true(split >= 5 && split < count);
    assert_true(same_notes(m, 0, (size_t)m->s.origin[0], split));
    int tonic = pitch_string(notes[0].pitch), low = tonic, high = tonic;
    for (size_t i = 1; i < split; i++) {
        int string = pitch_string(notes[i].pitch);
        assert_int_equal(abs(string - pitch_string(notes[i - 1].pitch)), 1);
        low = string < low ? string : low;
        high = string > high ? string : high;
    }
    assert_int_equal(ratio_mod(notes[split].onset, m->bar).num, 0);
    assert_int_equal(m->s.fingering.notes[split].link, LINK_START);
    size_t in_run = 0;
    for (size_t i = split; i < count; i++) {
        int string = pitch_string(notes[i].pitch), degree = ((string - tonic) % 7 + 7) % 7;
        assert_int_equal(m->s.origin[i], -1);
        assert_true(degree == 0 || degree == 2 || degree == 4);
        assert_true(string >= low && string <= high);
        assert_true(ratio_equal(notes[i].length, notes[i - split].length));
        assert_true(m->s.fingering.notes[i].finger >= 1 && m->s.fingering.notes[i].finger <= 4);
        while (in_run < split && pitch_string(notes[in_run].pitch) != string)
            in_run++; /* the same way through the same strings */
        assert_true(in_run++ < split);
    }
}

static void (*const checks[PLACING_KINDS])(Made *) = {NULL, check_crossing, check_blocks,
    check_links, check_build, check_build, check_bursts, check_pair};

static Placing random_placing(Random *r, PlacingKind kind)
{
    Placing p = {.kind = kind};
    if (kind == PLACING_LINKS) {
        p.size = random_between(r, 2, 3);
        p.loops = random_between(r, 0, 5);
    } else if (kind == PLACING_BURSTS) {
        p.size = random_between(r, 2, 16);
    }
    return p;
}

static void check_kind(PlacingKind kind)
{
    int made = 0;
    for (uint64_t seed = 1; seed <= RUNS; seed++) {
        Random r = {.state = seed * 104729};
        Made m = {.p = passage_random(&r, kind == PLACING_PAIR ? 60 : 40)};
        Error error = {0};
        m.f = plan(m.p);
        m.placing = random_placing(&r, kind);
        bool possible = placing_possible(m.p, &m.f, kind);
        if (make(&m, &error)) {
            check_all(&m);
            checks[kind](&m);
            made++;
        } else {
            assert_true(error.kind == ERROR_UNSUPPORTED && error.text[0] != '\0');
            assert_null(m.s.passage);
        }
        assert_int_equal(possible, m.s.passage != NULL);
        unmake(&m);
    }
    assert_true(made > RUNS / 4); /* the property was put to the test */
}

static void a_crossing_ends_with_the_landing(void **state)
{
    (void)state;
    check_kind(PLACING_CROSSING);
}

static void blocks_hold_and_break_every_note_once(void **state)
{
    (void)state;
    check_kind(PLACING_BLOCKS);
}

static void links_keep_notes_either_side(void **state)
{
    (void)state;
    check_kind(PLACING_LINKS);
}

static void build_ups_add_a_note_each_time(void **state)
{
    (void)state;
    check_kind(PLACING_BUILD_UP);
    check_kind(PLACING_BUILD_BACK);
}

static void bursts_hold_the_last(void **state)
{
    (void)state;
    check_kind(PLACING_BURSTS);
}

static void a_pair_goes_over_the_same_strings(void **state)
{
    (void)state;
    check_kind(PLACING_PAIR);
}

static Made made_of(int from, int count, int step, const char *word)
{
    Made m = {.p = passage_scale(from, count, step, ratio(1, 2))};
    Error error = {0};
    m.f = plan(m.p);
    assert_true(placing_parse(word, strlen(word), &m.placing));
    assert_true(make(&m, &error));
    return m;
}

static void expect_fingers(const Made *m, const char *fingers)
{
    assert_int_equal(m->s.passage->note_count, strlen(fingers));
    for (size_t i = 0; fingers[i] != '\0'; i++)
        assert_int_equal(m->s.fingering.notes[i].finger, fingers[i] - '0');
}

/* One octave up, 4 3 2 1 4 3 2 1 [Curcio 58], in quavers of 4/4. */
static void one_octave_as_it_is_drilled(void **state)
{
    (void)state;
    Made m = made_of(28, 8, 1, "crossing"); /* the first five notes [common practice] */
    expect_fingers(&m, "43214");
    assert_int_equal(m.s.passage->bar_count, 1);
    unmake(&m);
    m = made_of(28, 8, 1, "blocks");
    expect_fingers(&m, "4321432143214321");
    assert_int_equal(m.s.passage->bar_count, 2);
    assert_true(ratio_equal(m.s.passage->notes[0].length, ratio_int(1)));
    assert_true(ratio_equal(m.s.passage->notes[4].onset, ratio_int(1)));
    unmake(&m);
    m = made_of(28, 8, 1, "links-2x1");
    expect_fingers(&m, "2143");
    unmake(&m);
    m = made_of(28, 8, 1, "links-3x1");
    expect_fingers(&m, "321432");
    unmake(&m);
    m = made_of(35, 8, -1, "link-1-2x1");
    expect_fingers(&m, "3412");
    unmake(&m);
    m = made_of(28, 4, 1, "build-up");
    expect_fingers(&m, "4434324321");
    unmake(&m);
    m = made_of(28, 4, 1, "build-back");
    expect_fingers(&m, "1213214321");
    unmake(&m);
    m = made_of(28, 8, 1, "scale-arpeggio");
    assert_int_equal(m.s.passage->note_count, 12);
    unmake(&m);
}

/* Semiquavers leave room for two loops in a bar of 4/4, quavers for one. */
static void loops_share_a_bar_where_they_can(void **state)
{
    (void)state;
    Made m = {.p = passage_scale(28, 8, 1, ratio(1, 4)), .placing = {.kind = PLACING_LINKS}};
    Error error = {0};
    m.f = plan(m.p);
    assert_true(make(&m, &error));
    assert_int_equal(m.s.passage->bar_count, 2);
    assert_true(ratio_equal(m.s.passage->notes[4].onset, ratio_int(2)));
    unmake(&m);
    m = made_of(28, 8, 1, "links");
    assert_int_equal(m.s.passage->bar_count, 4);
    unmake(&m);
}

static void what_cannot_be_made_is_told(void **state)
{
    (void)state;
    static const struct {
        int notes;
        Placing placing;
        ErrorKind error;
    } bad[] = {
        {4, {.kind = PLACING_CROSSING}, ERROR_UNSUPPORTED},
        {4, {.kind = PLACING_LINKS}, ERROR_UNSUPPORTED},
        {1, {.kind = PLACING_BLOCKS}, ERROR_UNSUPPORTED},
        {1, {.kind = PLACING_BUILD_UP}, ERROR_UNSUPPORTED},
        {1, {.kind = PLACING_BURSTS}, ERROR_UNSUPPORTED},
        {4, {.kind = PLACING_PAIR}, ERROR_UNSUPPORTED},
        {8, {.kind = PLACING_CROSSING, .which = 2}, ERROR_RANGE},
        {8, {.kind = PLACING_LINKS, .which = 2}, ERROR_RANGE},
        {8, {.kind = PLACING_LINKS, .which = -1}, ERROR_RANGE},
        {8, {.kind = PLACING_LINKS, .size = 4}, ERROR_RANGE},
        {8, {.kind = PLACING_LINKS, .size = 1}, ERROR_RANGE},
        {8, {.kind = PLACING_LINKS, .loops = 17}, ERROR_RANGE},
        {8, {.kind = PLACING_BURSTS, .size = 17}, ERROR_RANGE},
        {8, {.kind = PLACING_BURSTS, .size = 1}, ERROR_RANGE},
        {8, {.kind = PLACING_NONE}, ERROR_RANGE},
        {8, {.kind = PLACING_KINDS}, ERROR_RANGE},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        Made m = {.p = passage_scale(20, bad[i].notes, 1, ratio(1, 2)), .placing = bad[i].placing};
        Error error = {0};
        m.f = plan(m.p);
        assert_false(make(&m, &error));
        assert_int_equal(error.kind, bad[i].error);
        assert_null(m.s.passage);
        unmake(&m);
    }
}

/* 140 notes make 9870 in a build-up, 141 make 10011. */
static void limits_are_kept(void **state)
{
    (void)state;
    int strings[160];
    Ratio lengths[160];
    for (int i = 0; i < 160; i++) {
        strings[i] = 28 + (i / 10 % 2 == 0 ? i % 10 : 10 - i % 10);
        lengths[i] = ratio(1, 4);
    }
    for (int kind = PLACING_BUILD_UP; kind <= PLACING_BUILD_BACK; kind++)
        for (int count = 140; count <= 141; count++) {
            Made m = {.placing = {.kind = (PlacingKind)kind}};
            Error error = {0};
            m.p = passage_of(strings, lengths, (size_t)count, metre(4, 4), ratio_int(0));
            m.f = plan(m.p);
            assert_int_equal(make(&m, &error), count == 140);
            assert_int_equal(error.kind, count == 140 ? ERROR_NONE : ERROR_LIMIT);
            assert_int_equal(placing_possible(m.p, &m.f, (PlacingKind)kind), m.s.passage != NULL);
            unmake(&m);
        }
}

/* Chords go along where single notes do; blocks and the arpeggio need a single line. */
static void chords(void **state)
{
    (void)state;
    Made m = {.p = passage_new()};
    Error error = {0};
    for (int i = 0; i < 6; i++)
        for (int k = 0; k < (i % 2 == 0 ? 2 : 1); k++) {
            Note note = {
                .onset = ratio(i, 2), .length = ratio(1, 2), .pitch = pitch_on(28 + i + 2 * k)};
            assert_true(passage_add_note(m.p, &note, &error));
        }
    assert_true(passage_finish(m.p, ratio_int(4), &error));
    m.f = plan(m.p);
    static const PlacingKind made[] = {PLACING_BUILD_UP, PLACING_BUILD_BACK, PLACING_BURSTS};
    for (size_t i = 0; i < sizeof made / sizeof made[0]; i++) {
        m.placing = (Placing){.kind = made[i]};
        assert_true(make(&m, &error));
        check_all(&m);
        scene_free(&m.s);
    }
    assert_false(placing_possible(m.p, &m.f, PLACING_BLOCKS));
    assert_false(placing_possible(m.p, &m.f, PLACING_PAIR));
    unmake(&m);
}

/* A plan that was asked for set by set keeps its lifts in the drill. */
static void a_lifted_plan_stays_lifted(void **state)
{
    (void)state;
    Made m = {.p = passage_scale(28, 8, 1, ratio(1, 2)), .placing = {.kind = PLACING_LINKS}};
    FingeringOptions lifted = {.lifted = true};
    Error error = {0};
    assert_true(fingering_plan(m.p, &lifted, &m.f, &error));
    assert_int_equal(m.f.notes[4].link, LINK_LIFT);
    assert_true(make(&m, &error));
    m.placing.size = 2;
    check_links(&m);
    unmake(&m);
}

/* What the fingers do at each kind of link [Curcio 58; Hall; the turn common practice]. */
static void crossings_are_told(void **state)
{
    (void)state;
    Passage *up = passage_scale(28, 8, 1, ratio(1, 2));
    Fingering f = plan(up);
    Crossing c;
    assert_true(crossing_after(up, &f, 0, &c));
    assert_int_equal(c.link, LINK_CROSS_UNDER);
    assert_int_equal(c.finger, 4); /* the first of the next group */
    assert_int_equal(c.around, 1);
    assert_int_equal(c.from, 0);
    assert_int_equal(c.lands, 4);
    assert_int_equal(c.down_by, 3); /* before the thumb sounds */
    assert_true(crossing_after(up, &f, 4, &c));
    assert_int_equal(c.lands, 4);
    assert_false(crossing_after(up, &f, 5, &c));
    fingering_free(&f);
    passage_free(up);
    Passage *down = passage_scale(35, 8, -1, ratio(1, 2));
    f = plan(down);
    assert_true(crossing_after(down, &f, 0, &c));
    assert_int_equal(c.link, LINK_CROSS_OVER);
    assert_int_equal(c.finger, 1); /* always the thumb */
    assert_int_equal(c.around, 4);
    assert_int_equal(c.from, 0); /* right after its own note */
    assert_int_equal(c.lands, 4);
    assert_int_equal(c.down_by, 3); /* before the group's last finger plays */
    fingering_free(&f);
    passage_free(down);
}

static void turns_are_told(void **state)
{
    (void)state;
    const int strings[] = {28, 29, 30, 31, 30, 29, 28};
    Ratio lengths[7];
    for (int i = 0; i < 7; i++)
        lengths[i] = ratio(1, 2);
    Passage *p = passage_of(strings, lengths, 7, metre(4, 4), ratio_int(0));
    Fingering f = plan(p);
    Crossing c;
    assert_true(crossing_after(p, &f, 0, &c));
    assert_int_equal(c.link, LINK_REPLACE);
    assert_int_equal(c.finger, 1);
    assert_int_equal(c.lands, 3);
    assert_int_equal(c.down_by, 4);
    fingering_free(&f);
    passage_free(p);
}

static void crossings_hold_in_every_plan(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= RUNS; seed++) {
        Random r = {.state = seed * 7907};
        Passage *p = passage_random(&r, 60);
        Fingering f = plan(p);
        Crossing c;
        for (int32_t i = 0; (size_t)i < p->note_count && crossing_after(p, &f, i, &c); i++) {
            assert_true(c.down_by >= i || c.down_by + 1 >= i);
            assert_int_equal(c.finger, f.notes[c.lands].finger);
            assert_true(c.from < c.down_by && c.from >= -1);
            if (c.from >= 0)
                assert_int_equal(f.notes[c.from].finger, c.finger);
            if (c.link == LINK_REPLACE)
                assert_int_equal(c.down_by, c.lands + 1);
            else
                assert_true(c.down_by == c.lands - 1 || c.from == c.lands - 1);
        }
        fingering_free(&f);
        passage_free(p);
    }
}

static void words_read_back(void **state)
{
    (void)state;
    static const char *const words[] = {"crossing", "crossing-2", "blocks", "links", "links-3",
        "links-3x8", "links-2x1", "link-2", "link-12-3", "link-2-3x8", "build-up", "build-back",
        "bursts", "bursts-4", "scale-arpeggio", "links+finger-4", "blocks+beat-2",
        "build-up+long-short", "link-2-3+finger-1+long-2-of-3"};
    DrillSpec specs[sizeof words / sizeof words[0]];
    char text[DRILL_TEXT_MAX];
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        Error error = {0};
        specs[i] = drill_plain();
        assert_true(drill_parse(words[i], &specs[i], &error));
        assert_string_equal(drill_word(&specs[i], text), words[i]);
        for (size_t k = 0; k <= i; k++)
            assert_int_equal(drill_spec_equal(&specs[i], &specs[k]), i == k);
        assert_true(strlen(drill_title(&specs[i], NULL, text)) > 8);
        assert_null(strstr(text, "plain"));
    }
    DrillSpec order = drill_plain(); /* in any order */
    assert_true(drill_parse("long-short+build-up", &order, NULL));
    assert_true(drill_spec_equal(&order, &specs[17]));
    Placing defaults = {.kind = PLACING_LINKS, .size = 2, .loops = 4},
            none = {.kind = PLACING_LINKS};
    assert_true(placing_equal(&defaults, &none));
    static const char *const bad[] = {"crossing-", "crossing-0", "links-1", "links-4", "links-3x",
        "links-3x17", "links3", "link", "link-", "link-0", "linkss", "bursts-1", "bursts-17",
        "bursts-", "build", "scale", "blocks-2", "Blocks", "bursts-4x"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        DrillSpec spec = drill_plain();
        Error error = {0};
        assert_false(drill_parse(bad[i], &spec, &error));
        assert_int_equal(error.kind, ERROR_USAGE);
        assert_non_null(strstr(error.text, "scale-arpeggio"));
    }
}

/* The same timeline for them as for all others: every made note once, bars whole. */
static void stages_play_what_is_made(void **state)
{
    (void)state;
    static const char *const words[] = {"plain", "links", "blocks+finger-4", "build-up+long-short",
        "bursts+beat-2", "scale-arpeggio"};
    Passage *p = passage_scale(28, 15, 1, ratio(1, 2));
    Fingering f = plan(p);
    Rotation r;
    Error error = {0};
    assert_true(rotation_plan(p, &f, NULL, ratio_int(0), &r, &error));
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        SessionStep step = {.drill = drill_plain(),
            .tempo = tempo(ratio_int(1), ratio_int(60)),
            .repetitions = 2,
            .count_in_bars = 1};
        assert_true(drill_parse(words[i], &step.drill, &error));
        Stage *s = stage_new(p, &f, &r, &step.drill, &error);
        assert_non_null(s);
        assert_int_equal(s->passage == p, i == 0);
        Timeline *t = stage_timeline(s, &step, NULL, 8000, &error);
        assert_non_null(t);
        size_t strokes = 0, blocks = 0;
        for (size_t k = 0; k < s->passage->note_count; k = passage_block_end(s->passage, k))
            blocks++;
        for (size_t k = 0; k < timeline_count(t); k++) {
            TimelineEvent e = timeline_event(t, k);
            if (e.note < 0)
                continue;
            strokes++;
            assert_int_equal(e.finger, s->fingering->notes[e.note].finger);
            if (step.drill.accent == ACCENT_FINGER && e.kind != EVENT_ACCENT)
                assert_int_not_equal(e.finger, step.drill.finger);
        }
        assert_int_equal(strokes, 2 * blocks);
        Session one = {&step, 1};
        assert_int_equal(session_frames(p, &f, &r, &one, 8000, &error), timeline_frames(t));
        timeline_free(t);
        stage_free(s);
    }
    rotation_free(&r);
    fingering_free(&f);
    passage_free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_crossing_ends_with_the_landing),
        cmocka_unit_test(blocks_hold_and_break_every_note_once),
        cmocka_unit_test(links_keep_notes_either_side),
        cmocka_unit_test(build_ups_add_a_note_each_time),
        cmocka_unit_test(bursts_hold_the_last),
        cmocka_unit_test(a_pair_goes_over_the_same_strings),
        cmocka_unit_test(one_octave_as_it_is_drilled),
        cmocka_unit_test(loops_share_a_bar_where_they_can),
        cmocka_unit_test(what_cannot_be_made_is_told),
        cmocka_unit_test(limits_are_kept),
        cmocka_unit_test(chords),
        cmocka_unit_test(a_lifted_plan_stays_lifted),
        cmocka_unit_test(crossings_are_told),
        cmocka_unit_test(turns_are_told),
        cmocka_unit_test(crossings_hold_in_every_plan),
        cmocka_unit_test(words_read_back),
        cmocka_unit_test(stages_play_what_is_made),
    };
    return cmocka_run_group_tests_name("placing", tests, NULL, NULL);
}
