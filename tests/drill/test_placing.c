/* Placing drills: the properties of each kind over random passages (trade-facts 3.5, common
 * practice). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "drill/placing_fixture.h"

#include <stdlib.h>
#include <string.h>

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

static bool has_across(const Fingering *f)
{
    for (size_t g = 0; g < f->group_count; g++)
        if (f->groups[g].across)
            return true;
    return false;
}

/* In a group the lower number lies on the higher string, and each string has one finger; its
 * places and its size count the strings. */
static void check_group_fingers(const Fingering *f, const Passage *p, const FingerGroup *g)
{
    int32_t start = g->pivot >= 0 ? g->pivot : g->first;
    bool up = false, down = false;
    for (int32_t i = start; i <= g->last; i++)
        for (int32_t k = start; k < i; k++) {
            int a = pitch_string(p->notes[i].pitch), b = pitch_string(p->notes[k].pitch);
            int x = f->notes[i].finger, y = f->notes[k].finger;
            assert_true(a == b ? x == y : (a > b) == (x < y));
            if (k >= g->first)
                assert_int_equal(a == b, f->notes[i].place == f->notes[k].place);
            up = up || (k == i - 1 && a > b);
            down = down || (k == i - 1 && a < b);
        }
    assert_int_equal(g->across, up && down);
    assert_int_equal(g->direction, up - down);
}

static void check_fingers(const Fingering *f, const Passage *p)
{
    for (size_t g = 0; g < f->group_count; g++) {
        const FingerGroup *group = &f->groups[g];
        int32_t start = group->pivot >= 0 ? group->pivot : group->first;
        if (p->notes[start].block != p->notes[group->last].block)
            check_group_fingers(f, p, group);
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

/* Whether the group that begins on `first` had the string of its note i before. */
static bool repeated(const Passage *p, size_t first, size_t i)
{
    for (size_t k = first; k < i; k++)
        if (pitch_string(p->notes[i].pitch) == pitch_string(p->notes[k].pitch))
            return true;
    return false;
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
            strings -= repeated(m->p, first, i) ? 1 : 0;
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
                struck += !repeated(m->p, i, k);
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
    int made = 0, across = 0;
    for (uint64_t seed = 1; seed <= RUNS; seed++) {
        Random r = {.state = seed * 104729};
        bool fro = kind != PLACING_PAIR && seed % 3 == 0;
        Made m = {.p = fro ? passage_to_and_fro(&r, 40)
                           : passage_random(&r, kind == PLACING_PAIR ? 60 : 40)};
        Error error = {0};
        m.f = plan(m.p);
        m.placing = random_placing(&r, kind);
        bool possible = placing_possible(m.p, &m.f, kind);
        if (make(&m, &error)) {
            check_all(&m);
            check_fingers(&m.s.fingering, m.s.passage);
            checks[kind](&m);
            made++;
            across += has_across(&m.s.fingering);
        } else {
            assert_true(error.kind == ERROR_UNSUPPORTED && error.text[0] != '\0');
            assert_null(m.s.passage);
        }
        assert_int_equal(possible, m.s.passage != NULL);
        unmake(&m);
    }
    /* The property was put to the test; no crossing comes out of a figure to and fro, which ends
     * on a turn or where the hand is free. */
    assert_true(made > RUNS / 4);
    assert_true(kind == PLACING_CROSSING ? across == 0 : across > RUNS / 16);
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
        placed_free(&m.s);
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_crossing_ends_with_the_landing),
        cmocka_unit_test(blocks_hold_and_break_every_note_once),
        cmocka_unit_test(links_keep_notes_either_side),
        cmocka_unit_test(build_ups_add_a_note_each_time),
        cmocka_unit_test(bursts_hold_the_last),
        cmocka_unit_test(a_pair_goes_over_the_same_strings),
        cmocka_unit_test(a_lifted_plan_stays_lifted),
        cmocka_unit_test(chords),
    };
    return cmocka_run_group_tests_name("placing", tests, NULL, NULL);
}
