/* Judging: every repetition that is heard to its end counts clean, unless the player says missed
 * with one key (or the other way round, by choice), and goes to the record.
 *
 *     |-- repetition k --------------- J |-- k + 1 ------------|
 *      the key is for k - 1   for k    :  for k   for k + 1
 *      (its first moments)             judged, handed to the record
 */
#include "practice_parts.h"

#include "evenhand/music/text.h"
#include "evenhand/plan/fingerprint.h"

#include <stdio.h>

/* A repetition is judged a little before its end, so that it is written when the next one begins;
 * a press that comes late by no more than a reaction and a thought is still for the one before. */
enum { JUDGE_AHEAD_MS = 300, JUDGE_LATE_MS = 1500 };

bool judge_expected(const Practice *p)
{
    return p->judge.told == p->ladder.strict;
}

static int64_t frames_of(const Timeline *t, int milliseconds)
{
    return (int64_t)timeline_rate(t) * milliseconds / 1000;
}

static void describe(const Practice *p, const Take *take, Repetition *r)
{
    const Piece *piece = take->piece;
    const SessionStep *step = timeline_step(take->timeline);
    char word[DRILL_TEXT_MAX];
    *r = (Repetition){.notes = piece->notes_print, .fingers = piece->fingers_print};
    r->tempo = step->tempo;
    snprintf(r->student, sizeof r->student, "%s", routine_student(p, take->block));
    text_clean(piece->loaded.passage->title, r->passage, sizeof r->passage);
    if (r->passage[0] == '\0')
        snprintf(r->passage, sizeof r->passage, "untitled passage");
    snprintf(r->drill, sizeof r->drill, "%.*s", (int)sizeof r->drill - 1,
        drill_word(&step->drill, word));
}

static void judge_one(Practice *p, const Take *take)
{
    Judge *j = &p->judge;
    bool clean = judge_expected(p);
    Repetition r;
    describe(p, take, &r);
    r.clean = clean;
    j->latest =
        (Judged){.known = true, .clean = clean, .ladder = take->ladder, .climb = take->climb};
    if (p->sink.put != NULL)
        j->latest.ticket = p->sink.put(p->sink.to, &r);
    if (j->latest.ticket > 0)
        j->handed = j->latest.ticket;
    j->count++;
    j->clean += clean;
    j->told = false;
    ladder_judged(p, take, clean);
}

/* Judges what is over of this take: all repetitions before `over`. One that began in its middle,
 * after a pause, was not played whole and does not count. */
static void judge_until(Practice *p, const Take *take, int over)
{
    Judge *j = &p->judge;
    for (; j->next < over; j->next++)
        if (j->next > take->base || take->from_bar == 0)
            judge_one(p, take);
        else
            j->told = false;
}

/* How many repetitions of the step are over, or so near their end that they may be judged. */
static int repetitions_over(const Take *take, int64_t frame)
{
    TimelinePlace at = timeline_at(take->timeline, frame);
    if (at.section == SECTION_COUNT_IN)
        return take->base;
    if (at.section != SECTION_PLAY)
        return take->whole;
    int64_t end = timeline_repetition_frame(take->timeline, at.repetition + 1);
    bool near = end - frame <= frames_of(take->timeline, JUDGE_AHEAD_MS);
    int over = take->base + at.repetition + (near ? 1 : 0);
    return over < take->whole ? over : take->whole;
}

static void begin(Practice *p, const Take *take)
{
    p->judge.run = take->run;
    p->judge.next = take->base;
    p->judge.told = false;
}

/* The console stood still over the end of what this take followed: that was played whole. */
static void catch_up(Practice *p, const Take *take)
{
    const Take *before = takes_of_run(p, take->follows);
    if (before == NULL)
        return;
    if (before->run != p->judge.run) {
        catch_up(p, before);
        begin(p, before);
    }
    judge_until(p, before, before->whole);
}

void judge_tick(Practice *p)
{
    int64_t frame;
    Take *take = p->running && !p->paused ? takes_heard(p, p->heard, &frame) : NULL;
    if (take == NULL || take->piece != p->piece)
        return;
    if (take->run != p->judge.run) {
        catch_up(p, take);
        begin(p, take);
    }
    judge_until(p, take, repetitions_over(take, frame));
}

void judge_ended(Practice *p)
{
    Take *take = p->leading;
    if (take == NULL || take->piece != p->piece)
        return;
    if (take->run != p->judge.run) {
        catch_up(p, take);
        begin(p, take);
    }
    judge_until(p, take, take->whole);
}

/* Whether a press now is still for the repetition before. */
static bool is_late(const Practice *p, const Take *take, int64_t frame)
{
    const Judge *j = &p->judge;
    TimelinePlace at = timeline_at(take->timeline, frame);
    if (!j->latest.known)
        return false;
    if (at.section != SECTION_PLAY || take->base + at.repetition < j->next)
        return true; /* between two, or judged already */
    if (take->follows == 0 && at.repetition == 0)
        return false; /* begun by itself: only its count-in stands before it */
    int64_t begin = timeline_repetition_frame(take->timeline, at.repetition);
    int64_t end = timeline_repetition_frame(take->timeline, at.repetition + 1);
    int64_t late = frames_of(take->timeline, JUDGE_LATE_MS);
    late = late < (end - begin) / 3 ? late : (end - begin) / 3;
    return frame - begin < late;
}

static void say_verdict(Practice *p, int64_t now_ms, const char *which, bool clean)
{
    practice_say(p, now_ms, false, "%s counts %s.", which, clean ? "clean" : "missed");
}

/* The latest repetition is judged the other way; `heard`: the take that is heard, NULL none. */
static void correct(Practice *p, Take *heard, int64_t now_ms)
{
    Judge *j = &p->judge;
    bool clean = j->latest.clean = !j->latest.clean;
    j->clean += clean ? 1 : -1;
    ladder_corrected(p, heard);
    if (j->latest.ticket == 0 || p->sink.judge(p->sink.to, j->latest.ticket, clean))
        say_verdict(p, now_ms, "The one before", clean);
    else
        practice_say(p, now_ms, true,
            "The one before counts %s; the record has no room for that and keeps it as %s.",
            clean ? "clean" : "missed", clean ? "missed" : "clean");
}

void judge_press(Practice *p, int64_t now_ms)
{
    int64_t frame;
    Judge *j = &p->judge;
    Take *take = p->running && !p->paused ? takes_heard(p, p->heard, &frame) : NULL;
    if (p->finished && j->latest.known) {
        correct(p, NULL, now_ms);
        return;
    }
    if (take == NULL || take->piece != p->piece) {
        practice_say(p, now_ms, false, "Nothing is played that could be judged.");
        return;
    }
    if (is_late(p, take, frame)) {
        correct(p, take, now_ms);
        return;
    }
    if (timeline_at(take->timeline, frame).section != SECTION_PLAY) {
        practice_say(p, now_ms, false, "The count-in is not judged.");
        return;
    }
    j->told = !j->told;
    say_verdict(p, now_ms, "This one", judge_expected(p));
    ladder_expected(p);
}

void practice_record_to(Practice *p, const RecordSink *sink)
{
    p->sink = *sink;
    practice_note_fingers(p);
}

void practice_recorded(Practice *p, uint64_t written, uint64_t lost, bool waits)
{
    p->judge.written = written;
    p->judge.waits = waits;
    p->judge.lost = lost;
}

void practice_news(Practice *p, const char *news, bool warns, int64_t now_ms)
{
    practice_say(p, now_ms, warns, "%s", news);
}

void judge_fill(Practice *p)
{
    const Judge *j = &p->judge;
    ModelJudge *m = &p->model.judge;
    int64_t frame;
    Take *take = p->running ? takes_heard(p, p->paused ? p->paused_at : p->heard, &frame) : NULL;
    bool playing = take != NULL && timeline_at(take->timeline, frame).section == SECTION_PLAY;
    m->count = j->count;
    m->clean = j->clean;
    m->told = playing && j->told;
    m->strict = p->ladder.strict;
    m->kept = p->sink.put != NULL;
    m->recorded = !j->waits && j->written >= j->handed;
    m->written = (int)(j->written < 99999 ? j->written : 99999);
    m->lost = (int)(j->lost < 9999 ? j->lost : 9999);
}
