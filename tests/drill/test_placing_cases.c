/* Placing drills: scales as the trade has them (trade-facts 1.6, 1.7, 1.9, 3.5), limits, words. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "drill/placing_fixture.h"

#include <stdlib.h>
#include <string.h>

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
        cmocka_unit_test(one_octave_as_it_is_drilled),
        cmocka_unit_test(loops_share_a_bar_where_they_can),
        cmocka_unit_test(what_cannot_be_made_is_told),
        cmocka_unit_test(limits_are_kept),
        cmocka_unit_test(crossings_are_told),
        cmocka_unit_test(turns_are_told),
        cmocka_unit_test(crossings_hold_in_every_plan),
        cmocka_unit_test(words_read_back),
        cmocka_unit_test(stages_play_what_is_made),
    };
    return cmocka_run_group_tests_name("placing_cases", tests, NULL, NULL);
}
