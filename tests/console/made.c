#include "made.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

Made made;

/* xorshift64*; the seed of a round is printed when it fails. */
static uint32_t random_bits(void)
{
    made.seed ^= made.seed >> 12;
    made.seed ^= made.seed << 25;
    made.seed ^= made.seed >> 27;
    return (uint32_t)(made.seed * 2685821657736338717u >> 32);
}

int between(int low, int high)
{
    return low + (int)(random_bits() % (uint32_t)(high - low + 1));
}

/* Mostly sensible, sometimes anything at all: bytes that are no UTF-8, controls, wide ones. */
static void random_text(char *out, size_t size)
{
    static const char *const parts[] = {"a", "note ", "é", "音", "e\xCC\x81", "\x1B[J", "\xFF", "♯",
        "7", "\xE2\x80\xAE", "  ", "\n", "long-short "};
    size_t used = 0;
    int count = between(0, 3) == 0 ? between(0, 80) : between(0, 6);
    out[0] = '\0';
    for (int i = 0; i < count; i++) {
        const char *part = parts[between(0, (int)(sizeof parts / sizeof parts[0]) - 1)];
        if (used + strlen(part) + 1 > size)
            return;
        strcpy(out + used, part);
        used += strlen(part);
    }
}

static void random_note(ModelNote *n, int i, bool sane)
{
    static const char letters[] = "CDEFGAB";
    *n = (ModelNote){.string = between(10, 50), .finger = between(sane ? 1 : 0, 4)};
    n->letter = letters[n->string % 7];
    if (sane || between(0, 9) > 0)
        snprintf(n->name, sizeof n->name, "%c%s%d", n->letter, between(0, 2) == 0 ? "♯" : "",
            n->string / 7);
    else
        random_text(n->name, sizeof n->name);
    const ModelNote *last = i > 0 ? n - 1 : NULL;
    bool first = last == NULL || last->place >= last->size;
    n->group = last == NULL ? 0 : first ? last->group + 1 : last->group;
    n->size = first ? between(2, 4) : last->size;
    n->place = !first ? last->place + 1 : last != NULL && last->turn ? 2 : 1;
    n->turn = n->place >= n->size && between(0, 5) == 0;
    n->link = !first ? MODEL_LINK_WITHIN : (ModelLink)between(MODEL_LINK_START, MODEL_LINK_LIFT);
    if (first && last != NULL && n->link == MODEL_LINK_WITHIN)
        n->link = MODEL_LINK_LIFT;
    n->accent = between(0, 2) == 0;
    n->bar_start = between(0, 5) == 0;
    n->on_beat = between(0, 1) == 0;
    n->length = between(0, 3) == 0 ? between(-1, 1) : 0;
    snprintf(n->beat, sizeof n->beat, "%d%s", between(1, 12), n->on_beat ? "" : ".5");
    if (between(0, sane ? 1 << 20 : 9) > 0)
        return;
    random_text(n->chord, sizeof n->chord);
    for (int k = between(0, 5); k > 0; k--)
        n->fingers[k - 1] = (char)('0' + between(0, 4));
}

static void random_cue(ModelCue *cue)
{
    cue->kind = (CueKind)between(CUE_NONE, CUE_NUMBER);
    int slots = cue->kind == CUE_FINGER   ? 1
                : cue->kind == CUE_NUMBER ? 4
                                          : between(1, MODEL_CUE_SLOTS);
    for (int i = 0; i < slots && cue->kind != CUE_NONE; i++)
        cue->accent[i] = cue->kind != CUE_PATTERN ? (char)('0' + between(0, 9))
                         : between(0, 2) == 0     ? '>'
                                                  : '.';
    for (int i = between(0, MODEL_CUE_NOTES); i > 0; i--)
        cue->rhythm[i - 1] = between(0, 1) == 0 ? 'L' : 's';
    cue->p = between(0, 64);
    cue->q = between(0, 64);
}

/* Plans of the same notes with fingers and groups of their own. */
void random_fingers(ModelFingers *f, int notes, bool sane)
{
    f->plan_count = between(sane ? 1 : -1, sane ? MODEL_PLANS_MAX : MODEL_PLANS_MAX + 1);
    for (int plan = 0; plan < MODEL_PLANS_MAX; plan++) {
        for (int i = 0; i < notes; i++) {
            ModelNote *n = &made.plans[plan][i];
            random_note(n, i, sane);
            memcpy(n->name, made.notes[i].name, sizeof n->name);
            made.fixed[i] = (uint8_t)(between(0, 3) == 0 ? between(1, 4) : 0);
        }
        f->plans[plan].notes = made.plans[plan];
        f->plans[plan].cost = between(0, 9999999);
        random_text(f->plans[plan].grouping, MODEL_TEXT_MAX);
        random_text(f->plans[plan].words, MODEL_WORDS_MAX);
    }
    f->fixed = between(0, 3) == 0 ? NULL : made.fixed;
    f->note_count = notes;
    f->note = sane ? between(0, notes - 1) : between(-1, notes);
    f->cursor = sane ? between(0, f->plan_count - 1) : between(-1, MODEL_PLANS_MAX);
    f->used = sane ? between(0, f->plan_count - 1) : between(-1, MODEL_PLANS_MAX);
    f->unsaved = between(0, 1) == 0;
    random_text(f->finding, sizeof f->finding);
}

static void random_ladder(Model *m)
{
    ModelLadder *l = &m->ladder;
    l->on = between(0, 2) == 0;
    l->done = between(0, 5) == 0;
    l->rung = between(-1, 400);
    l->rungs = between(0, 400);
    l->clean = between(0, 20);
    l->needed = between(0, 100);
    random_text(l->if_clean, sizeof l->if_clean);
    random_text(l->if_missed, sizeof l->if_missed);
    random_text(l->tempo_clean, sizeof l->tempo_clean);
    random_text(l->tempo_missed, sizeof l->tempo_missed);
    random_text(l->rate, sizeof l->rate);
    m->judge = (ModelJudge){.told = between(0, 3) == 0,
        .strict = between(0, 3) == 0,
        .kept = between(0, 3) > 0,
        .recorded = between(0, 1) == 0,
        .written = between(0, 99999),
        .count = between(0, 99999),
        .clean = between(0, 99999)};
}

static void random_calendar(ModelCalendar *c)
{
    if (between(0, 3) > 0)
        random_text(c->month, sizeof c->month);
    random_text(c->title, sizeof c->title);
    random_text(c->day, sizeof c->day);
    for (int i = 0; i < MODEL_DAYS; i++) {
        ModelDay *d = &c->days[i];
        d->number = between(-1, 40);
        d->kind = (ModelDayKind)between(MODEL_DAY_FREE, MODEL_DAY_EXAM);
        d->minutes = between(-1, 400);
        d->today = between(0, 9) == 0;
        random_text(d->brief, sizeof d->brief);
    }
    c->cursor = between(-1, MODEL_DAYS);
    c->blocks = made.items;
    c->block_count = between(0, ITEMS_MAX);
}

static void random_record(ModelRecord *r)
{
    for (int i = 0; i < ITEMS_MAX; i++) {
        ModelRecordItem *item = &made.records[i];
        *item = (ModelRecordItem){.percent = between(-1, 100),
            .stale = between(0, 2) == 0,
            .changed = between(0, 2) == 0};
        random_text(item->title, sizeof item->title);
        random_text(item->best, sizeof item->best);
        random_text(item->last, sizeof item->last);
    }
    int day = between(0, 30000);
    for (int i = 0; i < POINTS_MAX; i++) {
        int count = between(0, 300);
        made.points[i] = (ChartPoint){.day = day,
            .count = count,
            .clean = between(0, count),
            .tempo = between(0, 3) == 0 ? 0 : between(1, 4000) / 8.0};
        day += between(0, 9) == 0 ? between(-50, 900) : between(0, 3);
    }
    r->items = made.records;
    r->count = between(0, ITEMS_MAX);
    r->cursor = between(-1, ITEMS_MAX);
    r->points = made.points;
    r->point_count = between(0, POINTS_MAX);
    r->drills = between(0, 1) == 0;
    random_text(r->student, sizeof r->student);
    random_text(r->unit, sizeof r->unit);
    if (between(0, 9) == 0)
        random_text(r->trouble, sizeof r->trouble);
}

static void random_routine(Model *m)
{
    ModelRoutine *r = &m->routine;
    r->on = between(0, 2) == 0;
    r->block = between(-1, 100);
    r->blocks = between(0, 100);
    r->rests = between(0, 3) == 0;
    r->idle = between(0, 3) == 0;
    r->done = between(0, 7) == 0;
    r->held = between(0, 3) == 0;
    r->seconds_left = between(0, 20000);
    r->total = between(0, 20000);
    r->position = between(0, r->total);
    random_text(r->title, sizeof r->title);
    random_text(r->name, sizeof r->name);
    random_text(r->next, sizeof r->next);
}

void random_model(bool sane)
{
    Model *m = &made.model;
    memset(m, 0, sizeof *m);
    m->screen = sane ? SCREEN_PRACTICE : (Screen)between(0, SCREEN_KINDS - 1);
    m->run = sane ? RUN_PLAYING : (RunState)between(RUN_READY, RUN_FINISHED);
    m->utf8 = between(0, 1) == 0;
    random_text(m->title, sizeof m->title);
    random_text(m->drill, sizeof m->drill);
    random_text(m->next, sizeof m->next);
    random_text(m->key, sizeof m->key);
    random_text(m->tempo, sizeof m->tempo);
    random_text(m->audio, sizeof m->audio);
    if (between(0, 2) == 0)
        random_text(m->message, sizeof m->message);
    m->message_warns = between(0, 1) == 0;
    m->audio_warns = between(0, 4) == 0;
    m->note_count = between(sane ? 1 : 0, NOTES_MAX);
    for (int i = 0; i < m->note_count; i++)
        random_note(&made.notes[i], i, sane);
    m->notes = made.notes;
    m->now = sane ? between(0, m->note_count - 1) : between(-2, m->note_count + 1);
    m->now_accent = between(0, 1) == 0;
    m->coming = between(-1, m->note_count);
    m->beats = sane ? between(1, 12) : between(-1, 64);
    m->beat = sane ? between(1, m->beats) : between(-1, 70);
    m->beat_fresh = between(0, 1) == 0;
    m->bars_to_go = sane ? 0 : between(0, 16);
    m->subs = between(0, 3);
    m->sub = between(0, 4);
    random_cue(&m->cue);
    random_text(m->drill_brief, sizeof m->drill_brief);
    random_text(m->next_brief, sizeof m->next_brief);
    random_text(m->message_brief, sizeof m->message_brief);
    m->single = between(0, 3) == 0;
    m->repetitions = between(0, 1000);
    m->repetition = between(0, 1000);
    m->seconds_left = between(-1, 20000);
    for (int i = 0; i < ITEMS_MAX; i++) {
        random_text(made.items[i].title, MODEL_TEXT_MAX);
        random_text(made.items[i].detail, MODEL_TEXT_MAX);
    }
    m->drills = m->passages =
        (ModelList){made.items, between(0, ITEMS_MAX), between(-1, 40), between(-1, 35)};
    m->layer_cursor = between(-1, MODEL_LAYERS);
    for (int i = 0; i < MODEL_LAYERS; i++)
        m->layers[i].level = between(-80, 20);
    m->master = between(-80, 20);
    m->underruns = between(0, 3) == 0 ? UINT64_MAX : 0;
    m->help_top = between(-5, 300);
    m->rungs = m->drills;
    if (!sane) {
        random_ladder(m);
        random_routine(m);
        m->routine.list = m->drills;
    }
    if (!sane)
        random_fingers(&m->fingers, m->note_count, false);
    random_calendar(&m->calendar);
    random_record(&m->record);
}

Grid random_grid(void)
{
    Grid g;
    int kind = between(0, 9);
    int width = kind == 0 ? between(1, 45) : kind == 1 ? between(40, 500) : between(40, 170);
    int height = kind == 0 ? between(1, 14) : kind == 1 ? between(12, 200) : between(12, 60);
    assert_true(grid_init(&g, width, height));
    return g;
}
