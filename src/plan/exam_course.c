/* One day of the plan. */
#include "exam_parts.h"

#include <stdlib.h>

enum {
    CALM_MINUTES = 6,   /* a passage that is taken up on a calm day gets so many */
    SHARE_MINUTES = 10, /* of a day go to one passage, where there are enough of them */
    SLIVER_MINUTES = 3, /* less is not given to yet another passage */
    EASY_MINUTES = 2,   /* for one passage on an easy day */
    PACE_PERCENT = 85,  /* of the learning days in which a calm plan climbs */
    ROOM_FIRST = 64
};

static int least(int a, int b)
{
    return a < b ? a : b;
}

ExamEntry *course_add(Course *c, Day day, int climber, ExamWhat what, int minutes)
{
    if (c->plan.count == c->room) {
        size_t room = c->room > 0 ? 2 * c->room : ROOM_FIRST;
        ExamEntry *more = realloc(c->plan.entries, room * sizeof *more);
        if (!more)
            return NULL;
        c->plan.entries = more;
        c->room = room;
    }
    Climber *who = &c->climbers[climber];
    ExamEntry *e = &c->plan.entries[c->plan.count++];
    *e = (ExamEntry){.day = day,
        .passage = climber,
        .what = what,
        .minutes = minutes,
        .from = who->rung,
        .to = who->rung,
        .tempo = climber_tempo(who, who->rung),
        .end = climber_tempo(who, who->rung),
        .drill = ""};
    who->last = day;
    return e;
}

static bool stands(const Climber *c)
{
    return c->rung >= c->aim;
}

/* What stands and was longest not played: when it is due, at most a third of the day; all of it
 * where nothing climbs any more. */
static bool review(Course *c, Day day, bool climbing, int *left)
{
    int most = climbing ? *left / 3 : *left;
    while (most > 0) {
        int next = -1;
        for (int i = 0; i < c->count; i++) {
            const Climber *who = &c->climbers[i];
            int wait = climbing ? EXAM_REVIEW_DAYS : 1;
            bool due = stands(who) && (who->last < 0 || day - who->last >= wait);
            if (due && (next < 0 || who->last < c->climbers[next].last))
                next = i;
        }
        if (next < 0)
            return true;
        int minutes = least(most, EXAM_REVIEW_MINUTES);
        if (!course_add(c, day, next, EXAM_REVIEW, minutes))
            return false;
        most -= minutes;
        *left -= minutes;
    }
    return true;
}

/* How many passages have joined on the i-th learning day. */
static int open_on(const Course *c, int i)
{
    int by_third = (3 * c->count * (i + 1) + c->learning - 1) / c->learning;
    int open = by_third > i + 1 ? by_third : i + 1;
    return least(open, c->count);
}

/* Whether x goes before y: the smaller part climbed, then longest ago; so what has not begun (no
 * rung, last played on day -1) goes before all that has. */
static bool goes_before(const Climber *x, const Climber *y)
{
    if (x->rung * y->aim != y->rung * x->aim)
        return x->rung * y->aim < y->rung * x->aim;
    return x->last < y->last;
}

/* Today's climbers into c->order; returns how many. A stable sort: the order given decides last. */
static int gather(Course *c, int i)
{
    int count = 0, open = open_on(c, i);
    for (int k = 0; k < open; k++) {
        int at = count;
        if (stands(&c->climbers[k]))
            continue;
        for (; at > 0 && goes_before(&c->climbers[k], &c->climbers[c->order[at - 1]]); at--)
            c->order[at] = c->order[at - 1];
        c->order[at] = k;
        count++;
    }
    return count;
}

/* How far it may climb today, and the minutes that this takes. */
static void measure(const Course *c, Climber *who, int i)
{
    who->limit = least(who->aim, who->rung + EXAM_RUNGS_A_DAY);
    if (c->paced) {
        int64_t days = (int64_t)c->learning * PACE_PERCENT;
        int64_t pace = ((int64_t)who->aim * (i + 1) * 100 + days - 1) / days;
        if (pace < who->limit)
            who->limit = pace > who->rung ? (int)pace : who->rung;
    }
    int64_t need = -who->worked;
    for (int r = who->rung + 1; r <= who->limit; r++)
        need += who->seconds[r];
    int64_t minutes = need > 0 ? (need + 59) / 60 : 0;
    who->cap = minutes < EXAM_MINUTES_MAX ? (int)minutes : EXAM_MINUTES_MAX;
    if (c->paced && who->cap < CALM_MINUTES)
        who->cap = CALM_MINUTES;
    who->share = 0;
}

/* Divides `left` minutes among the first `count` of c->order; returns how many get any. */
static int divide(Course *c, int i, int count, int left)
{
    int together = least(count, left / SHARE_MINUTES > 0 ? left / SHARE_MINUTES : 1);
    int fair = left / together, taken = 0;
    for (int k = 0; k < count; k++)
        measure(c, &c->climbers[c->order[k]], i);
    for (; taken < count && left > 0; taken++) {
        Climber *who = &c->climbers[c->order[taken]];
        int share = least(least(fair, who->cap), left);
        if (taken > 0 && left < SLIVER_MINUTES && who->cap > left)
            break;
        who->share = share;
        left -= share;
    }
    for (int k = 0; k < taken && left > 0; k++) {
        Climber *who = &c->climbers[c->order[k]];
        int more = least(left, who->cap - who->share);
        who->share += more;
        left -= more;
    }
    return taken;
}

/* A day's work of one passage: drills first, then the climb from `from` to `to`. */
typedef struct {
    int drills, climb; /* minutes */
    int from, to;
    int done; /* minutes written so far */
} Work;

static Work work_of(Climber *who)
{
    Work w = {.from = who->rung};
    w.drills = who->limit > who->rung ? who->share * 2 / 5 : who->share;
    w.climb = who->share - w.drills;
    if (w.climb > 0)
        who->worked += 60 * (int64_t)who->share;
    while (who->rung < who->limit && who->worked >= who->seconds[who->rung + 1])
        who->worked -= who->seconds[++who->rung];
    if (who->rung == who->limit)
        who->worked = 0; /* minutes are whole: what is left over of the last is rest */
    w.to = who->rung;
    return w;
}

static const char *next_drill(Climber *who)
{
    int turn = who->turn++;
    const ExamPassage *p = who->asked;
    return p->drill_count > 0 ? p->drills[turn % p->drill_count] : exam_drill(turn);
}

/* The next `minutes` of it. */
static bool write_work(Course *c, Day day, int climber, Work *w, int minutes, bool new_drill)
{
    Climber *who = &c->climbers[climber];
    int drills = least(minutes, w->drills > w->done ? w->drills - w->done : 0);
    if (drills > 0) {
        if (!new_drill && who->turn > 0)
            who->turn--;
        ExamEntry *e = course_add(c, day, climber, EXAM_DRILL, drills);
        if (!e)
            return false;
        e->drill = next_drill(who);
        e->from = e->to = w->from;
        e->tempo = e->end = climber_tempo(who, w->from);
        w->done += drills;
    }
    int climb = minutes - drills;
    if (climb > 0) {
        ExamEntry *e = course_add(c, day, climber, EXAM_CLIMB, climb);
        if (!e)
            return false;
        int before = w->done - w->drills, rungs = w->to - w->from;
        e->from = w->from + rungs * before / w->climb;
        e->to = w->from + rungs * (before + climb) / w->climb;
        e->tempo = climber_tempo(who, e->from);
        e->end = climber_tempo(who, e->to);
        w->done += climb;
    }
    return true;
}

static void note_outcome(Course *c, int climber, Day day)
{
    const Climber *who = &c->climbers[climber];
    ExamOutcome *o = &c->plan.outcomes[climber];
    if (o->first < 0)
        o->first = day;
    if (o->stands < 0 && who->rung >= who->ladder.goal)
        o->stands = day;
    o->end = climber_tempo(who, who->rung);
}

static int waiting(const Work *work, int count)
{
    int n = 0;
    for (int k = 0; k < count; k++)
        n += work[k].done < work[k].drills + work[k].climb;
    return n;
}

/* Each in one go, or in blocks by turns; the last one has no turns left to take. */
static bool write_day(Course *c, Day day, int count)
{
    Work work[EXAM_PASSAGES_MAX];
    int block = c->spec->block > 0 ? c->spec->block : EXAM_MINUTES_MAX;
    for (int k = 0; k < count; k++) {
        work[k] = work_of(&c->climbers[c->order[k]]);
        note_outcome(c, c->order[k], day);
    }
    for (bool more = true; more;) {
        more = false;
        for (int k = 0; k < count; k++) {
            int left = work[k].drills + work[k].climb - work[k].done;
            int minutes = waiting(work, count) > 1 ? least(left, block) : left;
            bool first = work[k].done == 0;
            if (minutes > 0 && !write_work(c, day, c->order[k], &work[k], minutes, first))
                return false;
            more = more || left > minutes;
        }
    }
    return true;
}

bool course_learn(Course *c, int i)
{
    Day day = c->days[i];
    int left = c->spec->minutes, count = gather(c, i);
    if (!review(c, day, count > 0, &left))
        return false;
    return count == 0 || write_day(c, day, divide(c, i, count, left));
}

/* An eighth slower, to a whole number. */
static Tempo easier(Tempo t)
{
    int64_t slow = ratio_floor(ratio_mul(t.per_minute, ratio(7, 8)));
    t.per_minute = ratio_int(slow < TEMPO_MIN ? TEMPO_MIN : slow);
    return t;
}

/* Half a day's minutes at most; what the first easy day has no room for comes on the second. */
bool course_ease(Course *c, int i)
{
    int left = c->spec->minutes / 2, each = left / c->count;
    int fit = least(left, c->count), first = (i - c->learning) * fit;
    each = each < 1 ? 1 : least(each, EASY_MINUTES);
    for (int k = 0; k < fit; k++) {
        ExamEntry *e = course_add(c, c->days[i], (first + k) % c->count, EXAM_EASY, each);
        if (!e)
            return false;
        e->tempo = e->end = easier(e->tempo);
    }
    return true;
}
