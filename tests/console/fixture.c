#include "fixture.h"

#include <stdio.h>
#include <string.h>

/* Common practice for fifteen notes: 4+4+4+3 with the group of three on top, the turning note
 * played once by the thumb. */
static void make_notes(Fixture *f)
{
    static const char letters[] = "CDEFGAB";
    static const int fingers[FIXTURE_NOTES] = {
        4, 3, 2, 1, 4, 3, 2, 1, 4, 3, 2, 1, 3, 2, 1, 2, 3, 1, 2, 3, 4, 1, 2, 3, 4, 1, 2, 3, 4};
    static const int groups[FIXTURE_NOTES] = {
        0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 4, 4, 5, 5, 5, 5, 6, 6, 6, 6, 7, 7, 7, 7};

    for (int i = 0; i < FIXTURE_NOTES; i++) {
        ModelNote *n = &f->notes[i];
        int step = i <= 14 ? i : 28 - i;
        n->string = 7 * 3 + 4 + step; /* from G3 */
        n->letter = letters[n->string % 7];
        snprintf(n->name, sizeof n->name, "%c%s%d", n->letter,
            n->letter != 'F' ? ""
            : f->model.utf8  ? "♯"
                             : "#",
            n->string / 7);
        n->finger = fingers[i];
        n->group = groups[i];
        n->turn = i == 14;
        n->accent = n->finger == 3;
        n->bar = 1 + i / 8;
        n->bar_start = i % 8 == 0;
        n->on_beat = i % 2 == 0;
        n->on_strong = i % 4 == 0;
        snprintf(n->beat, sizeof n->beat, i % 2 == 0 ? "%d" : "%d.5", 1 + i % 8 / 2);
        bool first = i == 0 || groups[i - 1] != groups[i];
        n->place = first ? (i == 15 ? 2 : 1) : f->notes[i - 1].place + 1;
        n->size = n->group == 3 || n->group == 4 ? 3 : 4;
        n->link = i == 0    ? MODEL_LINK_START
                  : i == 15 ? MODEL_LINK_REPLACE
                  : !first  ? MODEL_LINK_WITHIN
                  : i < 15  ? MODEL_LINK_UNDER
                            : MODEL_LINK_OVER;
    }
}

static void make_drills(Fixture *f)
{
    static const char *const words[FIXTURE_DRILLS][2] = {{"plain: strong beats", "plain"},
        {"finger accents: all the 4s (ring)", "all the 4s"},
        {"finger accents: all the 3s (middle)", "all the 3s"},
        {"finger accents: all the 2s (index)", "all the 2s"},
        {"finger accents: all the 1s (thumb)", "all the 1s"},
        {"beat accents: place 1 of 4 (the strong beats)", "place 1 of 4"},
        {"beat accents: place 2 of 4", "place 2 of 4"},
        {"beat accents: place 3 of 4", "place 3 of 4"},
        {"beat accents: place 4 of 4", "place 4 of 4"}, {"long-short 3:1", "long-short 3:1"},
        {"short-long 3:1", "short-long 3:1"},
        {"beat accents: place 3 of 4, long-short 7:1, short notes at the goal speed",
            "place 3, long-short 7:1, goal speed"},
        {"the second of three long 3:1", "2nd of 3 long 3:1"},
        {"the third of three long 3:1", "3rd of 3 long 3:1"}};
    for (int i = 0; i < FIXTURE_DRILLS; i++) {
        bool place = strncmp(words[i][0], "beat", 4) == 0;
        snprintf(f->drills[i].title, MODEL_TEXT_MAX, "%s", words[i][0]);
        snprintf(f->drills[i].brief, MODEL_BRIEF_MAX, "%s", words[i][1]);
        snprintf(f->drills[i].detail, MODEL_TEXT_MAX, "2 times%s",
            place ? ", accents on 4 2 4 2 4 3 1 2 4 …" : "");
        f->drills[i].current = i == 2;
    }
}

static void make_passages(Fixture *f)
{
    static const char *const words[FIXTURE_PASSAGES] = {"Five notes and a crossing",
        "One octave up", "Seven notes, three and four", "Two octaves up and down in G",
        "Étude in E♭, both hands",
        "音階 with wide characters in its title, and rather long at that", "Cafe\xCC\x81 waltz",
        "Six quavers", "Sextuplets"};
    for (int i = 0; i < FIXTURE_PASSAGES; i++) {
        snprintf(f->passages[i].title, MODEL_TEXT_MAX, "%s", words[i]);
        snprintf(f->passages[i].detail, MODEL_TEXT_MAX, i < 7 ? "bundled" : "practice.abc:%d", i);
        f->passages[i].current = i == 3;
    }
}

/* The plan of the passage; the same with the odd group at the bottom; one with a held finger in
 * another place. What they cost is invented. */
static void make_plans(Fixture *f)
{
    static const int small_below[15] = {3, 2, 1, 4, 3, 2, 1, 4, 3, 2, 1, 4, 3, 2, 1};
    static const char *const words[FIXTURE_PLANS][2] = {
        {"4+4+4+3+3+4+4+4", "the 3 on top; links into D4, A4, E5, D5, G4, C4; one "
                            "replace at G5; no lift"},
        {"3+4+4+4+4+4+4+3",
            "unlike plan 1: 3 on G3, 2 on A3, 1 on B3 and 8 more; the 3 at the bottom; links into C4, G4, D5; one "
            "replace at G5; no lift"},
        {"3+4+4+4+3+4+4+4", "unlike plan 1: 3 on G3; the 3 at the bottom; one replace at G5"}};
    ModelFingers *m = &f->model.fingers;
    for (int plan = 0; plan < FIXTURE_PLANS; plan++) {
        ModelNote *notes = f->plans[plan];
        memcpy(notes, f->notes, sizeof f->notes);
        for (int i = 0; plan > 0 && i < 15; i++) {
            notes[i].finger = small_below[i];
            notes[i].group = (i + 1) / 4;
            notes[i].size = i < 3 ? 3 : 4;
            notes[i].place = i < 3 ? i + 1 : (i + 1) % 4 + 1;
            notes[i].link = i == 0                ? MODEL_LINK_START
                            : notes[i].place == 1 ? MODEL_LINK_UNDER
                                                  : MODEL_LINK_WITHIN;
        }
        ModelPlan *p = &m->plans[plan];
        snprintf(p->grouping, MODEL_TEXT_MAX, "%s", words[plan][0]);
        snprintf(p->words, MODEL_WORDS_MAX, "%s", words[plan][1]);
        p->cost = 310 + 12 * plan;
        p->notes = notes;
    }
    f->fixed[15] = 2;
    m->plan_count = FIXTURE_PLANS;
    m->fixed = f->fixed;
    m->note_count = FIXTURE_NOTES;
    m->note = 4;
}

static void make_sound(Model *m)
{
    static const char *const names[MODEL_LAYERS] = {
        "pulse", "subdivision", "notes", "accent", "guide", "announce"};
    static const int levels[MODEL_LAYERS] = {-12, -24, -18, 6, -15, -12};
    for (int i = 0; i < MODEL_LAYERS; i++) {
        snprintf(m->layers[i].name, MODEL_NAME_MAX, "%s", names[i]);
        m->layers[i].level = levels[i];
        m->layers[i].on = i != 1 && i != 4;
    }
    m->master = -20;
    m->layer_cursor = 3;
    snprintf(m->audio, MODEL_TEXT_MAX, "default device, 48000 Hz, 12 ms");
}

static void make_rungs(Fixture *f)
{
    static const char *const words[FIXTURE_RUNGS] = {"the ladder: up", "from: 1/4 = 60",
        "goal: 1/4 = 96", "steps: the metronome's numbers", "pattern: up if clean, down if not",
        "clean in a row to go up: 3", "steps above the goal: 1", "each counts clean unless told",
        "14 tempos, at least 42 repetitions", "speed: 2.0 to 3.2 notes a second"};
    for (int i = 0; i < FIXTURE_RUNGS; i++)
        snprintf(f->rungs[i].title, MODEL_TEXT_MAX, "%s", words[i]);
    f->rungs[0].current = true;
    f->model.rungs = (ModelList){f->rungs, FIXTURE_RUNGS, 2, 0};
}

void fixture_ladder(Fixture *f)
{
    f->model.ladder = (ModelLadder){.on = true,
        .rung = 5,
        .rungs = 14,
        .goal = 13,
        .clean = 2,
        .needed = 3,
        .if_clean = "up to 76",
        .if_missed = "down to 69",
        .tempo_clean = "76",
        .tempo_missed = "69",
        .rate = "2.4 notes/s"};
    f->model.judge =
        (ModelJudge){.count = 9, .clean = 7, .kept = true, .written = 9, .recorded = true};
    f->model.seconds_left = -1;
    snprintf(f->model.next, MODEL_TEXT_MAX, "up to 76 if clean, down to 69 if missed");
    snprintf(f->model.next_brief, MODEL_BRIEF_MAX, "76 / 69");
}

void fixture_routine(Fixture *f)
{
    static const char *const words[FIXTURE_PARTS] = {"Sit, tune, shake out the hands",
        "First crossing, slowly", "One octave up", "Stand up, water", "One octave down",
        "Up and back, a little faster than is wise on a cold morning",
        "What to do until next time"};
    static const int minutes[FIXTURE_PARTS] = {3, 6, 6, 2, 6, 5, 2};
    int begins = 0;
    for (int i = 0; i < FIXTURE_PARTS; i++) {
        snprintf(f->parts[i].title, MODEL_TEXT_MAX, "%d  %s", i + 1, words[i]);
        snprintf(f->parts[i].detail, MODEL_TEXT_MAX, "from %d:00, %d:00 long", begins, minutes[i]);
        f->parts[i].current = i == 1;
        begins += minutes[i];
    }
    f->model.routine = (ModelRoutine){.on = true,
        .title = "First-year lesson",
        .block = 2,
        .blocks = FIXTURE_PARTS,
        .name = "First crossing, slowly",
        .next = "One octave up",
        .seconds_left = 200,
        .position = 340,
        .total = 1800,
        .list = {f->parts, FIXTURE_PARTS, 5, 0}};
}

static void set_state(Model *m, RunState run)
{
    m->run = run;
    m->beats = 4;
    m->now = -1;
    m->coming = 0;
    snprintf(
        m->crossing, MODEL_TEXT_MAX, "4 crosses under the thumb onto D4; down before C4 sounds");
    if (run == RUN_COUNT_IN || run == RUN_REST) {
        m->bars_to_go = run == RUN_COUNT_IN ? 2 : 1;
        m->beat = 3;
    }
    if (run == RUN_COUNT_IN || run == RUN_REST)
        m->cue = (ModelCue){CUE_FINGER, .accent = {run == RUN_REST ? '2' : '3'}};
    if (run == RUN_PLAYING || run == RUN_PAUSED) {
        m->repetition = 1;
        m->now = 5; /* B4, finger 3, on 3.5 */
        m->coming = 6;
        m->now_accent = true;
        m->beat = 3;
        snprintf(m->crossing, MODEL_TEXT_MAX,
            "4 crosses under the thumb onto A4; down before G4 sounds");
        m->beat_fresh = run == RUN_PLAYING;
    }
    if (run == RUN_FINISHED) {
        m->repetition = 2;
        m->seconds_left = 0;
        m->next[0] = m->next_brief[0] = '\0';
        m->step = m->steps;
    }
}

void fixture_make(Fixture *f, Screen screen, RunState run, bool utf8)
{
    Model *m = &f->model;
    memset(f, 0, sizeof *f);
    m->screen = screen;
    m->utf8 = utf8;
    snprintf(m->title, MODEL_TEXT_MAX, "Two octaves up and down in G");
    snprintf(m->key, MODEL_NAME_MAX, "G");
    snprintf(m->metre, MODEL_NAME_MAX, "4/4");
    snprintf(m->tempo, MODEL_NAME_MAX, "1/4 = 72");
    snprintf(m->hands, MODEL_NAME_MAX, "right");
    snprintf(m->drill, MODEL_TEXT_MAX, "finger accents: all the 3s (middle)");
    snprintf(m->drill_brief, MODEL_BRIEF_MAX, "all the 3s");
    snprintf(m->next, MODEL_TEXT_MAX, "finger accents: all the 2s (index)");
    snprintf(m->next_brief, MODEL_BRIEF_MAX, "all the 2s");
    m->step = 3;
    m->steps = FIXTURE_SESSION;
    m->repetitions = 2;
    m->seconds_left = 754;
    make_notes(f);
    make_drills(f);
    make_passages(f);
    make_plans(f);
    make_sound(m);
    make_rungs(f);
    m->notes = f->notes;
    m->note_count = FIXTURE_NOTES;
    m->drills = (ModelList){f->drills, FIXTURE_DRILLS, 2, FIXTURE_SESSION};
    m->passages = (ModelList){f->passages, FIXTURE_PASSAGES, 3, 0};
    set_state(m, run);
}

void fixture_rhythm(Fixture *f)
{
    for (int i = 0; i < FIXTURE_NOTES; i++)
        f->notes[i].length = i == FIXTURE_NOTES - 1 ? 0 : i % 2 == 0 ? 1 : -1;
    f->model.cue = (ModelCue){CUE_FINGER, .accent = "3", .rhythm = "Ls", .p = 3, .q = 1};
    snprintf(f->model.drill, MODEL_TEXT_MAX, "finger accents: all the 3s (middle), long-short 3:1");
    snprintf(f->model.drill_brief, MODEL_BRIEF_MAX, "3s, long-short 3:1");
}

static void make_days(ModelCalendar *c)
{
    for (int i = 0; i < 31; i++) {
        ModelDay *d = &c->days[i + 1]; /* the 1st is a Tuesday */
        bool weekend = (i + 1) % 7 >= 5;
        d->number = i + 1;
        d->today = d->number == 10;
        if (d->number == 19)
            d->kind = MODEL_DAY_EXAM;
        if (weekend || d->number >= 19)
            continue;
        d->kind = d->number == 8   ? MODEL_DAY_MISSED
                  : d->number < 10 ? MODEL_DAY_DONE
                                   : MODEL_DAY_PRACTICE;
        if (d->number < 10)
            continue;
        d->minutes = d->number >= 17 ? 12 : 20 + d->number;
        snprintf(d->brief, MODEL_BRIEF_MAX, "%d %s", 60 + d->number,
            d->number % 2 == 0 ? "Two octaves" : "One octave, up and down");
    }
}

void fixture_calendar(Fixture *f)
{
    static const char *const passages[] = {"Two octaves", "One octave, up and down", "Arpeggio"};
    static const char *const briefs[] = {
        "2 min, finger-4 72", "4 min, 72 to 76", "3 min, review 66"};
    static const char *const what[] = {"2 min, drill finger-4 at 1/4 = 72",
        "4 min, climb from 1/4 = 72 to 76", "3 min, review at 3/8 = 66"};
    ModelCalendar *c = &f->model.calendar;
    snprintf(c->month, MODEL_NAME_MAX, "December 2026");
    snprintf(c->title, MODEL_TEXT_MAX, "Exam Saturday 2026-12-19: a grade, invented");
    make_days(c);
    c->cursor = 15;
    snprintf(c->day, MODEL_TEXT_MAX, "Tuesday 2026-12-15, 35 min");
    c->blocks = f->blocks;
    c->block_count = FIXTURE_BLOCKS;
    for (int i = 0; i < FIXTURE_BLOCKS; i++) {
        snprintf(f->blocks[i].title, MODEL_TEXT_MAX, "%s", passages[i % 3]);
        snprintf(f->blocks[i].brief, MODEL_BRIEF_MAX, "%s", briefs[i % 3]);
        snprintf(f->blocks[i].detail, MODEL_TEXT_MAX, "%s", what[i % 3]);
    }
}

static void make_points(Fixture *f)
{
    Day day = date_day(2026, 9, 8);
    for (int i = 0; i < FIXTURE_POINTS; i++) {
        int count = 12 + i * 7 % 9, clean = i == 3 ? 0 : count * (55 + i * 13 % 31 + i / 2) / 100;
        f->points[i] = (ChartPoint){.day = day, .clean = clean, .count = count};
        f->points[i].tempo = clean == 0 ? 0 : 60 + i - (i % 5 == 4 ? 3 : 0);
        day += i % 4 == 3 ? 4 : i == 20 ? 9 : 2;
    }
}

void fixture_record(Fixture *f)
{
    static const char *const titles[FIXTURE_RECORDS] = {"Run in G", "Scale of C, two octaves",
        "Broken chords, hands one after the other", "Arpeggio", "Turns", "Études de passage",
        "Thirds", "Waves"};
    ModelRecord *r = &f->model.record;
    for (int i = 0; i < FIXTURE_RECORDS; i++) {
        ModelRecordItem *item = &f->records[i];
        snprintf(item->title, MODEL_TEXT_MAX, "%s", titles[i]);
        item->percent = i == 4 ? 0 : 83 - 7 * i;
        if (i != 4)
            snprintf(item->best, MODEL_NAME_MAX, "1/4 = %d", 93 - 4 * i);
        if (i == 0)
            snprintf(item->last, MODEL_BRIEF_MAX, "today");
        else
            snprintf(item->last, MODEL_BRIEF_MAX, "%d days ago", 3 * i);
        item->stale = i >= 3;
        item->changed = i == 0;
    }
    make_points(f);
    r->items = f->records;
    r->count = FIXTURE_RECORDS;
    r->points = f->points;
    r->point_count = FIXTURE_POINTS;
    snprintf(r->unit, MODEL_NAME_MAX, "1/4");
}
