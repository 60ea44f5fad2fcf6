/* Shaping the drills from the keyboard, so that nothing needs the command line. */
#include "practice_parts.h"

#include <stdio.h>
#include <string.h>

static void measure_all(Practice *p, int64_t now_ms)
{
    Error error = {0};
    for (size_t i = 0; i < p->piece->loaded.session.count; i++)
        if (!piece_measure(p->piece, i, &error))
            practice_say(p, now_ms, true, "%s", error.text);
    if (p->running && !p->paused)
        takes_play(p, p->step, 0, 0);
    else
        practice_preview(p);
}

/* None, the pairs, the threes, the fours, none. */
static void next_rhythm(Rhythm *r)
{
    if (r->notes > 0 && ++r->long_at < r->notes)
        return;
    r->notes = r->notes == 0 ? 2 : r->notes == 4 ? 0 : r->notes + 1;
    r->long_at = 0;
}

static void next_ratio(Practice *p, int64_t now_ms)
{
    static const int usual[][2] = {{3, 1}, {2, 1}, {7, 1}, {3, 2}, {1, 1}};
    Session *s = &p->piece->loaded.session;
    enum { USUAL = sizeof usual / sizeof usual[0] };
    int next = 0;
    for (int i = 0; i < USUAL; i++)
        if (p->options.spec.rhythm.p == usual[i][0] && p->options.spec.rhythm.q == usual[i][1])
            next = (i + 1) % (USUAL - 1); /* 1:1 is no rhythm; it only ends the row */
    p->options.spec.rhythm.p = usual[next][0];
    p->options.spec.rhythm.q = usual[next][1];
    for (size_t i = 0; i < s->count; i++) {
        s->steps[i].drill.rhythm.p = usual[next][0];
        s->steps[i].drill.rhythm.q = usual[next][1];
    }
    practice_say(p, now_ms, false, "long to short %d:%d", usual[next][0], usual[next][1]);
    measure_all(p, now_ms);
}

static void other_timing(Practice *p, int64_t now_ms)
{
    Session *s = &p->piece->loaded.session;
    bool total = p->options.spec.rhythm.timing == TIMING_TOTAL;
    p->options.spec.rhythm.timing = total ? TIMING_GOAL : TIMING_TOTAL;
    for (size_t i = 0; i < s->count; i++)
        s->steps[i].drill.rhythm.timing = p->options.spec.rhythm.timing;
    practice_say(p, now_ms, false, "%s",
        total ? "short notes at the goal speed, the long one a rest"
              : "each group keeps its length");
    measure_all(p, now_ms);
}

/* By the metre, 1 alone, every beat, the even beats. */
static void next_beats(Practice *p, int64_t now_ms)
{
    BeatPattern *beats = &p->options.spec.beats, before = *beats;
    int num = p->piece->loaded.passage->metre.num;
    num = num > BEAT_PATTERN_MAX ? BEAT_PATTERN_MAX : num;
    int kind = beats->count == 0                         ? 1
               : beats->count == 1                       ? 2
               : ratio_equal(beats->at[0], ratio_int(1)) ? 3
                                                         : 0;
    if ((kind == 3 && num < 4) || num == 0)
        kind = 0;
    *beats = (BeatPattern){0};
    for (int beat = kind == 3 ? 2 : 1; kind > 0 && beat <= (kind == 1 ? 1 : num);
         beat += kind == 3 ? 2 : 1)
        beats->at[beats->count++] = ratio_int(beat);
    static const char *const words[] = {"strong beats by the metre", "strong beats: 1 alone",
        "strong beats: every one", "strong beats: the even ones"};
    if (practice_reload(p, NULL, now_ms))
        practice_say(p, now_ms, false, "%s", words[kind]);
    else
        *beats = before;
}

/* By the notes, then quarters, quavers, semiquavers, triplet quavers. */
static void next_subdivision(Practice *p, int64_t now_ms)
{
    static const int of_quarter[] = {0, 1, 2, 4, 3};
    enum { KINDS = sizeof of_quarter / sizeof of_quarter[0] };
    Ratio before = p->options.spec.subdivision;
    int next = 0;
    for (int i = 1; i < KINDS; i++)
        if (ratio_equal(before, ratio(1, of_quarter[i])))
            next = (i + 1) % KINDS;
    if (before.num == 0)
        next = 1;
    p->options.spec.subdivision = next == 0 ? ratio_int(0) : ratio(1, of_quarter[next]);
    if (!practice_reload(p, NULL, now_ms))
        p->options.spec.subdivision = before;
    else if (next == 0)
        practice_say(p, now_ms, false, "moved by the commonest note");
    else
        practice_say(p, now_ms, false, "moved by 1/%d", 4 * of_quarter[next]);
}

static void change_repetitions(Practice *p, int by, int64_t now_ms)
{
    size_t step = (size_t)p->model.drills.cursor;
    SessionStep *s = &p->piece->loaded.session.steps[step];
    Error error = {0};
    s->repetitions = practice_clamp(s->repetitions + by, 1, SESSION_REPETITIONS_MAX);
    if (!piece_measure(p->piece, step, &error))
        practice_say(p, now_ms, true, "%s", error.text);
}

void practice_shape(Practice *p, Action action, int64_t now_ms)
{
    Error error = {0};
    switch (action) {
    case ACTION_RHYTHM:
        next_rhythm(&p->piece->loaded.session.steps[p->step].drill.rhythm);
        if (!piece_measure(p->piece, p->step, &error))
            practice_say(p, now_ms, true, "%s", error.text);
        if (p->running && !p->paused)
            takes_play(p, p->step, 0, 0);
        else
            practice_preview(p);
        break;
    case ACTION_RATIO: next_ratio(p, now_ms); break;
    case ACTION_TIMING: other_timing(p, now_ms); break;
    case ACTION_BEATS: next_beats(p, now_ms); break;
    case ACTION_SUBDIVIDE: next_subdivision(p, now_ms); break;
    case ACTION_MORE: change_repetitions(p, 1, now_ms); break;
    case ACTION_LESS: change_repetitions(p, -1, now_ms); break;
    default: break;
    }
}
