/* From the frame that is heard to the model that is shown. */
#include "practice_parts.h"

#include "cue.h"
#include "evenhand/music/text.h"

#include <stdio.h>

enum { FRESH_MILLISECONDS = 120 };

static const Session *session_of(const Practice *p)
{
    return &p->piece->loaded.session;
}

static Rows *rows_of(const Practice *p)
{
    return piece_rows(p->piece, p->step);
}

/* Rows carry the accents of the drill that is heard, or of the one that would begin. */
static void light(Practice *p, const Timeline *t)
{
    if (t == NULL || p->lit == t)
        return;
    rows_light(rows_of(p), t);
    p->lit = t;
}

static void fill_header(Practice *p)
{
    Model *m = &p->model;
    const Passage *passage = p->piece->loaded.passage;
    const SessionStep *step = &session_of(p)->steps[p->step];
    char metre_word[METRE_TEXT_MAX], tempo_word[TEMPO_TEXT_MAX];
    text_clean(passage->title, m->title, sizeof m->title);
    if (m->title[0] == '\0')
        snprintf(m->title, sizeof m->title, "untitled passage");
    char key[PASSAGE_KEY_MAX + 4];
    text_clean(passage_key(passage, m->utf8, key), m->key, sizeof m->key);
    snprintf(m->metre, sizeof m->metre, "%.20s", metre_text(&passage->metre, metre_word));
    snprintf(m->tempo, sizeof m->tempo, "%.20s", tempo_text(step->tempo, tempo_word));
    snprintf(m->hands, sizeof m->hands, "%s", hands_word(passage->hands));
    const ModelItem *drill = &p->piece->drills[p->step];
    snprintf(m->drill, sizeof m->drill, "%s", drill->title);
    snprintf(m->drill_brief, sizeof m->drill_brief, "%s", drill->brief);
    m->step = (int)p->step + 1;
    m->single = p->step >= p->piece->session_count;
    m->steps = (int)p->piece->session_count;
    m->repetitions = step->repetitions;
    bool more = piece_after(p->piece, p->step) != NULL;
    snprintf(m->next, sizeof m->next, "%s", more ? drill[1].title : "");
    snprintf(m->next_brief, sizeof m->next_brief, "%s", more ? drill[1].brief : "");
    m->notes = rows_of(p)->rows;
    m->note_count = rows_of(p)->row_count;
}

static const char *hand_finger(int finger, char out[12])
{
    if (finger == 1)
        snprintf(out, 12, "the thumb");
    else
        snprintf(out, 12, "%d", finger);
    return out;
}

static void say_crossing(Model *m, const Passage *p, const Crossing *c)
{
    char lands[PITCH_NAME_MAX], before[PITCH_NAME_MAX], finger[12], around[12];
    pitch_name(p->notes[c->lands].pitch, m->utf8, lands);
    pitch_name(p->notes[c->down_by].pitch, m->utf8, before);
    hand_finger(c->finger, finger);
    if (c->link == LINK_REPLACE)
        snprintf(m->crossing, sizeof m->crossing,
            "%s stays on %s; the others back on before %s sounds", finger, lands, before);
    else
        snprintf(m->crossing, sizeof m->crossing, "%s crosses %s %s onto %s; down before %s sounds",
            finger, c->link == LINK_CROSS_UNDER ? "under" : "over", hand_finger(c->around, around),
            lands, before);
}

/* The crossing behind `note` (-1: before the first); the first one where the music comes round
 * again. */
static void fill_crossing(Practice *p, int32_t note, bool again)
{
    const Stage *stage = rows_of(p)->stage;
    Crossing c;
    p->model.crossing[0] = '\0';
    if (crossing_after(stage->passage, stage->fingering, note + 1, &c) ||
        (again && crossing_after(stage->passage, stage->fingering, 0, &c)))
        say_crossing(&p->model, stage->passage, &c);
}

/* Compound metres are counted in dotted beats, with the units between them. */
static int count_beats(const Metre *metre)
{
    return metre_compound(metre) ? metre->num / 3 : metre->num;
}

static void fill_beat(Model *m, const Metre *metre, const Timeline *t, const TimelinePlace *at)
{
    const SessionStep *step = timeline_step(t);
    const Rhythm *rhythm = &step->drill.rhythm;
    bool stretched =
        at->section == SECTION_PLAY && rhythm->notes > 0 && rhythm->timing == TIMING_GOAL;
    m->beat = (int)ratio_floor(at->beat);
    m->beats = count_beats(metre);
    m->sub = m->subs = 0;
    if (!metre_compound(metre) || m->beat < 1)
        return;
    m->beat = (m->beat - 1) / 3 + 1;
    int64_t unit = tempo_frame(step->tempo, metre_unit(metre), timeline_rate(t));
    if (stretched || unit <= 0 || at->since_pulse < 0)
        return;
    m->subs = 3;
    m->sub = at->since_pulse / unit >= 2 ? 3 : (int)(at->since_pulse / unit) + 1;
}

static void fill_idle(Practice *p)
{
    Model *m = &p->model;
    const Take *next = p->awaited != NULL ? p->awaited : p->leading; /* not heard yet */
    bool resumes = p->running && next != NULL && (next->base > 0 || next->from_bar > 0);
    m->repetition = resumes ? next->base + 1 : 0;
    m->now = -1;
    m->now_accent = m->downbeat = m->beat_fresh = false;
    m->coming = 0;
    m->beat = m->sub = m->subs = 0;
    m->beats = count_beats(&p->piece->loaded.passage->metre);
    m->bars_to_go = 0;
    m->run = p->finished ? RUN_FINISHED : p->running ? RUN_COUNT_IN : RUN_READY;
    if (m->run == RUN_COUNT_IN)
        m->bars_to_go = session_of(p)->steps[p->step].count_in_bars;
    fill_crossing(p, -1, false);
}

/* The row of the next note to be struck after this frame; the first row where none is left. */
static int coming_row(const Practice *p, const Timeline *t, int64_t frame)
{
    size_t count = timeline_count(t);
    for (size_t i = timeline_find(t, frame + 1); i < count; i++) {
        TimelineEvent e = timeline_event(t, i);
        if (e.note >= 0)
            return rows_of(p)->row_of[e.note];
        if (e.repetition < 0 && e.kind != EVENT_COUNT_IN)
            break;
    }
    return 0;
}

static RunState run_state(const Practice *p, Section section)
{
    static const RunState states[] = {RUN_COUNT_IN, RUN_PLAYING, RUN_REST, RUN_REST};
    return p->paused ? RUN_PAUSED : states[section];
}

static void fill_place(Practice *p, const Take *take, int64_t frame)
{
    Model *m = &p->model;
    const Timeline *t = take->timeline;
    TimelinePlace at = timeline_at(t, frame);
    const Passage *passage = timeline_passage(t);
    m->run = run_state(p, at.section);
    m->repetitions = take->repetitions;
    bool counts_in = at.section == SECTION_COUNT_IN;
    bool resumes = take->base > 0 || take->from_bar > 0;
    m->repetition = at.repetition >= 0 ? take->base + at.repetition + 1
                    : !counts_in       ? m->repetitions
                    : resumes          ? take->base + 1
                                       : 0;
    m->now = at.note < 0 ? -1 : rows_of(p)->row_of[at.note];
    m->now_accent = at.accent;
    m->coming = coming_row(p, t, frame);
    fill_beat(m, at.bar < 0 ? &passage->metre : &passage->bars[at.bar].metre, t, &at);
    m->downbeat = at.downbeat;
    int64_t fresh = (int64_t)timeline_rate(t) * FRESH_MILLISECONDS / 1000;
    m->beat_fresh = at.since_pulse >= 0 && at.since_pulse < fresh;
    m->bars_to_go = at.bars_left;
    fill_crossing(p, at.note,
        at.section == SECTION_PLAY && at.repetition + 1 < timeline_step(t)->repetitions);
}

/* What is wanted next, while there is time to look. */
static void fill_cue(Practice *p)
{
    Model *m = &p->model;
    const Loaded *l = &p->piece->loaded;
    const SessionStep *step = m->run == RUN_COUNT_IN ? &session_of(p)->steps[p->step]
                              : m->run == RUN_REST   ? piece_after(p->piece, p->step)
                                                     : NULL;
    m->cue = (ModelCue){.kind = CUE_NONE};
    if (step != NULL)
        m->cue = cue_of(&step->drill, &l->rotation, &l->passage->metre);
}

static void fill_seconds(Practice *p, const Take *take, int64_t frame)
{
    double seconds = 0;
    size_t first = p->step;
    if (take != NULL) {
        int64_t left = timeline_frames(take->timeline) - frame;
        seconds = left > 0 ? (double)left / timeline_rate(take->timeline) : 0;
        first = take->step + 1;
    }
    size_t end = p->piece->session_count;
    if (p->step >= end)
        end = take == NULL ? p->step + 1 : first; /* a single drill: nothing follows */
    for (size_t i = first; i < end; i++)
        seconds += piece_seconds(p->piece, i);
    p->model.seconds_left = p->finished ? 0 : seconds < 1e9 ? (int)(seconds + 0.5) : -1;
}

_Static_assert((int)LAYER_KINDS == (int)MODEL_LAYERS, "the screen shows every layer");

static void fill_sound(Practice *p)
{
    Model *m = &p->model;
    for (int i = 0; i < LAYER_KINDS; i++) {
        snprintf(m->layers[i].name, sizeof m->layers[i].name, "%s", layer_word((Layer)i));
        m->layers[i].on = p->mix.on[i];
        m->layers[i].level = i == LAYER_ACCENT ? p->mix.accent : p->mix.level[i];
    }
    m->master = p->mix.master;
}

static void fill_lists(Practice *p)
{
    Model *m = &p->model;
    m->drills.items = p->piece->drills;
    m->drills.count = (int)session_of(p)->count;
    m->drills.split = (int)p->piece->session_count;
    m->passages.items = p->passages;
    m->passages.count = (int)p->choices.count;
    for (size_t i = 0; i < session_of(p)->count; i++)
        p->piece->drills[i].current = i == p->step;
}

void practice_fill(Practice *p)
{
    int64_t frame = 0;
    Take *take = p->running ? takes_heard(p, p->paused ? p->paused_at : p->heard, &frame) : NULL;
    if (take != NULL && (take->piece != p->piece || take->gap))
        take = NULL; /* the passage before still rings; or nothing is played */
    if (take != NULL)
        p->step = take->step;
    else if (p->preview == NULL || p->preview_step != p->step)
        practice_preview(p);
    light(p, take != NULL ? take->timeline : p->preview);
    fill_header(p);
    if (take != NULL)
        fill_place(p, take, frame);
    else
        fill_idle(p);
    fill_cue(p);
    fill_seconds(p, take, frame);
    judge_fill(p);
    ladder_fill(p);
    routine_fill(p);
    fill_sound(p);
    fill_lists(p);
}
