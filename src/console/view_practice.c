#include "view_practice.h"

#include "runes.h"

#include <stdio.h>
#include <string.h>

enum { SOUND_WORD_MIN = 8 /* "! silent" */, ROW_MAX = 160 };

int practice_focus(const Model *m)
{
    if (m->now >= 0 && m->now < m->note_count)
        return m->now;
    if (m->coming >= 0 && m->coming < m->note_count)
        return m->coming;
    return m->note_count > 0 ? 0 : -1;
}

static bool bears_accent(const ModelNote *n)
{
    return n->accent;
}

bool practice_bears_link(const ModelNote *n)
{
    return n->link != MODEL_LINK_START && n->link != MODEL_LINK_WITHIN;
}

/* Searches from the note after the one heard to the end and, if the passage comes round again,
 * from its head. */
static Ahead look_ahead(const Model *m, bool (*wanted)(const ModelNote *))
{
    bool heard = m->now >= 0 && m->now < m->note_count;
    int from = heard ? m->now + 1 : practice_focus(m);
    bool again = heard && m->repetition < m->repetitions;

    for (int i = from; i >= 0 && i < m->note_count; i++)
        if (wanted(&m->notes[i]))
            return (Ahead){.note = i, .notes = heard ? i - m->now : i - from + 1};
    for (int i = 0; again && i < from; i++)
        if (wanted(&m->notes[i]))
            return (Ahead){.note = i, .notes = m->note_count - m->now + i, .again = true};
    return (Ahead){.note = -1};
}

Ahead practice_next_accent(const Model *m)
{
    return look_ahead(m, bears_accent);
}

/* A repetition begins with the hand placed anew, whatever comes after. */
Ahead practice_next_link(const Model *m)
{
    Ahead ahead = look_ahead(m, practice_bears_link);
    bool heard = m->now >= 0 && m->now < m->note_count;
    if (ahead.again || (ahead.note < 0 && heard && m->repetition < m->repetitions))
        ahead = (Ahead){.note = 0, .notes = m->note_count - m->now, .again = true};
    return ahead;
}

void practice_strings(const ModelNote *n, int width, char *out, size_t size)
{
    bool all = n->chord[0] != '\0' && runes_columns(n->chord) <= width;
    snprintf(out, size, "%s", all ? n->chord : n->name);
}

const char *practice_words(const char *title, const char *brief, int width)
{
    return brief[0] != '\0' && runes_columns(title) > width ? brief : title;
}

void practice_distance(int notes, char *out, size_t size)
{
    if (notes == 1)
        snprintf(out, size, "next note");
    else
        snprintf(out, size, "in %d notes", notes);
}

/* Where news is shown. What stands for long, such as a lost device, only leaves a word: it must
 * not cover the title, nor what comes next. */
static Band news_band(const PracticeLayout *l)
{
    return l->rows[BAND_MESSAGE] > 0    ? BAND_MESSAGE
           : l->rows[BAND_PROGRESS] > 0 ? BAND_PROGRESS
                                        : BAND_TITLE;
}

static bool news_in(const Model *m, const PracticeLayout *l, Band band)
{
    return m->message[0] != '\0' && news_band(l) == band;
}

static void draw_title(const Model *m, Grid *g, const PracticeLayout *l)
{
    char right[5 * MODEL_NAME_MAX + PART_SOUND_MAX + 32] = "", sound[PART_SOUND_MAX] = "";
    if (news_in(m, l, BAND_TITLE)) {
        char news[PART_NEWS_MAX];
        part_news(m, g->width - 2, news, sizeof news);
        part_bar(g, l->top[BAND_TITLE], news, "");
        return;
    }
    if (m->routine.on && l->rows[BAND_ROUTINE] == 0) {
        routine_title(m, g, l->top[BAND_TITLE]);
        return;
    }
    if (m->audio_warns && l->rows[BAND_NEXT] == 0)
        part_sound(m, sound, sizeof sound);
    bool key = g->width >= 60 && m->key[0] != '\0' && strcmp(m->key, "none") != 0;
    bool rate = g->width >= 80 && m->ladder.on;
    snprintf(right, sizeof right, "%s%s%s%s%s%s%s%s%s%s", sound, sound[0] != '\0' ? "  " : "",
        key ? "key " : "", key ? m->key : "", key ? "   " : "", m->metre,
        m->metre[0] != '\0' ? "   " : "", m->tempo, rate ? "   " : "", rate ? m->ladder.rate : "");
    part_bar(g, l->top[BAND_TITLE], m->title, right);
}

/* Bars to go, with as many words as there is room for. */
static void bars_words(const char *state, int bars, int width, bool tight, char *out, size_t size)
{
    if (tight)
        snprintf(out, size, "%s %d", state, bars);
    else if (width < 60)
        snprintf(out, size, "%s %d bar%s", state, bars, bars == 1 ? "" : "s");
    else
        snprintf(out, size, "%s, %d bar%s to go", state, bars, bars == 1 ? "" : "s");
}

/* Where one is, at the end of the drill's row; `tight`: in the fewest words. */
static void place_words(
    const Model *m, const PracticeLayout *l, int width, bool tight, char *out, size_t size)
{
    bool waits = m->run == RUN_COUNT_IN || m->run == RUN_REST;
    const char *state = m->run == RUN_REST ? "REST" : "COUNT-IN";
    out[0] = '\0';
    if (waits && m->bars_to_go > 0)
        bars_words(state, m->bars_to_go, width, tight, out, size);
    else if (waits)
        snprintf(out, size, "%s", state);
    else if (l->rows[BAND_PROGRESS] == 0 && m->judge.told)
        snprintf(out, size, m->judge.strict ? "CLEAN" : "MISSED");
    else if (l->rows[BAND_PROGRESS] == 0 && m->ladder.on)
        snprintf(out, size, "clean %d of %d", m->ladder.clean, m->ladder.needed);
    else if (l->rows[BAND_PROGRESS] == 0 && m->run == RUN_PLAYING)
        snprintf(out, size, "%d of %d", m->repetition, m->repetitions);
    else if (m->now >= 0 && m->now < m->note_count)
        snprintf(out, size, "bar %d", m->notes[m->now].bar);
}

/* The drill, or in a rest on a low screen the one to come. Where even its few words would be cut,
 * the place gives way. */
static void draw_drill(const Model *m, Grid *g, const PracticeLayout *l)
{
    char right[64], title[MODEL_TEXT_MAX + 8], brief[MODEL_BRIEF_MAX + 8] = "";
    bool next = m->run == RUN_REST && l->rows[BAND_NEXT] == 0 && m->next[0] != '\0';
    const char *few = next ? m->next_brief : m->drill_brief, *mark = next ? "next: " : "";
    int y = l->top[BAND_DRILL], margins = 4;

    snprintf(title, sizeof title, "%s%s", mark, next ? m->next : m->drill);
    if (few[0] != '\0')
        snprintf(brief, sizeof brief, "%s%s", mark, few);
    place_words(m, l, g->width, false, right, sizeof right);
    int room = g->width - margins - runes_columns(right);
    if (runes_columns(practice_words(title, brief, room)) > room)
        place_words(m, l, g->width, true, right, sizeof right);
    int start = part_clip_right(g, y, g->width - 1, g->width - 2, STYLE_STRONG, right);
    int width = start - 3;
    part_clip(g, y, 1, width, STYLE_STRONG, practice_words(title, brief, width));
}

/* One row of text; what the record holds stands behind the left one where there is room. */
static void draw_judged(
    const Model *m, Grid *g, int y, Style style, char left[ROW_MAX], const char *right)
{
    char kept[PART_KEPT_MAX];
    int width = g->width - 2, between = 3, gap = right[0] != '\0' ? 2 : 0;
    int used = runes_columns(left), room = width - used - between - gap - runes_columns(right);
    size_t end = strlen(left);
    part_kept(m, g, room, kept, sizeof kept);
    if (kept[0] != '\0')
        snprintf(left + end, ROW_MAX - end, "   %s", kept);
    part_sides(g, y, 1, width, style, left, right);
}

/* What a judgement will do, in as many words as there is room for: where one stands is never cut.
 */
static void outcome_words(const ModelLadder *l, int room, char *out, size_t size)
{
    if (l->done) {
        const char *whole = "the top is reached";
        snprintf(out, size, "%s", runes_columns(whole) <= room ? whole : "top");
        return;
    }
    snprintf(out, size, "clean: %s   missed: %s", l->if_clean, l->if_missed);
    if (runes_columns(out) > room)
        snprintf(out, size, "clean: %s   missed: %s", l->tempo_clean, l->tempo_missed);
    if (runes_columns(out) > room)
        snprintf(out, size, "%s / %s", l->tempo_clean, l->tempo_missed);
    if (runes_columns(out) > room)
        out[0] = '\0';
}

/* "rung 5 of 14   clean 2 of 3", and what a judgement will do. */
static void draw_ladder(const Model *m, Grid *g, int y)
{
    const ModelLadder *l = &m->ladder;
    char left[ROW_MAX], right[128];
    snprintf(left, sizeof left, "%srung %d of %d   clean %d of %d",
        m->judge.told && m->judge.strict ? "CLEAN   "
        : m->judge.told                  ? "MISSED   "
                                         : "",
        l->rung, l->rungs, l->clean, l->needed);
    outcome_words(l, g->width - 4 - runes_columns(left), right, sizeof right);
    draw_judged(m, g, y, STYLE_STRONG, left, right);
}

/* What was judged so far, per cent before anything else; "" before the first. */
static size_t clean_words(const Model *m, int width, char *out, size_t size)
{
    const ModelJudge *j = &m->judge;
    int percent = j->count > 0 ? (int)((int64_t)j->clean * 100 / j->count) : 0;
    const char *told = !j->told ? "" : j->strict ? "CLEAN   " : "MISSED   ";
    if (j->count == 0 || j->told)
        return (size_t)snprintf(out, size, "%s", told);
    return (size_t)snprintf(out, size, width < 60 ? "%d %%   " : "%d %% clean   ", percent);
}

static void draw_progress(const Model *m, Grid *g, const PracticeLayout *l)
{
    char left[ROW_MAX] = "", right[96] = "", clock[32];
    size_t used = 0;

    if (news_in(m, l, BAND_PROGRESS)) {
        part_message(m, g, l->top[BAND_PROGRESS]);
        return;
    }
    if (m->ladder.on) {
        draw_ladder(m, g, l->top[BAND_PROGRESS]);
        return;
    }
    used = clean_words(m, g->width, left, sizeof left);
    if (m->repetitions > 0 && m->repetition > 0)
        used += (size_t)snprintf(left + used, sizeof left - used, "%s%d of %d   ",
            g->width < 60 ? "" : "repetition ", m->repetition, m->repetitions);
    else if (m->repetitions > 0)
        used += (size_t)snprintf(left + used, sizeof left - used, "%d %s   ", m->repetitions,
            g->width < 60         ? "times"
            : m->repetitions == 1 ? "repetition"
                                  : "repetitions");
    if (m->single)
        snprintf(left + used, sizeof left - used, "%s",
            g->width < 80 ? "one drill" : "one drill by itself");
    else if (m->steps > 0)
        snprintf(left + used, sizeof left - used, "step %d of %d", m->step, m->steps);
    used = 0;
    bool plenty = g->width >= (m->judge.count > 0 ? 90 : 60); /* what is saved goes before them */
    if (plenty && m->hands[0] != '\0')
        used = (size_t)snprintf(right, sizeof right, "%s hand%s   ", m->hands,
            strcmp(m->hands, "both") == 0 ? "s" : "");
    if (m->seconds_left >= 0 && m->run != RUN_FINISHED) {
        part_time(m->seconds_left, clock, sizeof clock);
        snprintf(right + used, sizeof right - used, "%s left", clock);
    }
    draw_judged(m, g, l->top[BAND_PROGRESS], STYLE_NORMAL, left, right);
}

static void draw_coming(const Model *m, Grid *g, const PracticeLayout *l)
{
    Ahead ahead = practice_next_accent(m);
    char distance[32];
    if (ahead.note < 0 || m->run == RUN_FINISHED)
        return;
    const ModelNote *n = &m->notes[ahead.note];
    practice_distance(ahead.notes, distance, sizeof distance);
    char line[128];
    snprintf(line, sizeof line, "next accent: %d on %s, %s", n->finger, n->name, distance);
    part_clip(g, l->top[BAND_COMING], 1, g->width - 2, STYLE_NORMAL, line);
}

static void draw_crossing(const Model *m, Grid *g, const PracticeLayout *l)
{
    if (m->run != RUN_FINISHED)
        part_clip(g, l->top[BAND_CROSSING], 1, g->width - 2, STYLE_LINK, m->crossing);
}

static void draw_next(const Model *m, Grid *g, const PracticeLayout *l)
{
    int y = l->top[BAND_NEXT], room = g->width - 2;
    char next[MODEL_TEXT_MAX + 8] = "", brief[MODEL_BRIEF_MAX + 8] = "", sound[PART_NEWS_MAX] = "";
    Style style = m->run == RUN_REST ? STYLE_STRONG : STYLE_NORMAL;

    if (m->next[0] != '\0')
        snprintf(next, sizeof next, "next: %s", m->next);
    if (m->next_brief[0] != '\0')
        snprintf(brief, sizeof brief, "next: %s", m->next_brief);
    int least = runes_columns(practice_words(next, brief, 0));
    int aside = least == 0 ? room : room - least - 2; /* what a warning may take */
    if (aside < SOUND_WORD_MIN)
        aside = SOUND_WORD_MIN;
    if (l->rows[BAND_MESSAGE] == 0 && m->audio_warns) {
        snprintf(sound, sizeof sound, "! %s", m->audio);
        if (runes_columns(sound) > aside)
            part_sound(m, sound, sizeof sound);
    }
    int start = part_clip_right(g, y, g->width - 1, aside, STYLE_WARNING, sound);
    int width = start - 1 - (sound[0] != '\0' ? 2 : 0);
    part_clip(g, y, 1, width, style, practice_words(next, brief, width));
}

static void draw_keys(const Model *m, Grid *g)
{
    static const char *const go[] = {
        [RUN_READY] = "start",
        [RUN_COUNT_IN] = "pause",
        [RUN_PLAYING] = "pause",
        [RUN_REST] = "pause",
        [RUN_PAUSED] = "go on",
        [RUN_FINISHED] = "play it all again",
    };
    static const KeyHint hints[] = {{ACTION_HELP, "help"}, {ACTION_QUIT, "quit"},
        {ACTION_DRILLS, "drills"}, {ACTION_FINGERS, "fingers"}, {ACTION_PASSAGES, "passages"},
        {ACTION_SOUND, "sound"}, {ACTION_NEXT, "next"}, {ACTION_PREVIOUS, "previous"},
        {ACTION_AGAIN, "again"}};
    static const KeyHint climbing[] = {{ACTION_MISSED, "missed"}, {ACTION_HELP, "help"},
        {ACTION_QUIT, "quit"}, {ACTION_LADDER, "ladder"}, {ACTION_DRILLS, "drills"},
        {ACTION_PASSAGES, "passages"}, {ACTION_SOUND, "sound"}};
    static const KeyHint blocks[] = {{ACTION_MISSED, "missed"}, {ACTION_HELP, "help"},
        {ACTION_QUIT, "quit"}, {ACTION_ROUTINE, "blocks"}, {ACTION_BLOCK_NEXT, "next"},
        {ACTION_BLOCK_BEFORE, "before"}, {ACTION_MINUTE, "a minute more"},
        {ACTION_ROUTINE_END, "end"}};
    char first[64];
    snprintf(first, sizeof first, "%s: %s", keys_name(ACTION_GO, m->screen), go[m->run]);
    if (m->routine.on)
        part_hints(m, g, first, blocks, sizeof blocks / sizeof blocks[0]);
    else if (m->ladder.on)
        part_hints(m, g, first, climbing, sizeof climbing / sizeof climbing[0]);
    else
        part_hints(m, g, first, hints, sizeof hints / sizeof hints[0]);
}

void view_practice(const Model *m, Grid *g)
{
    if (m->routine.on && m->routine.idle) {
        view_routine_idle(m, g);
        return;
    }
    PracticeLayout l = practice_layout(m, g->width, g->height);
    draw_title(m, g, &l);
    draw_drill(m, g, &l);
    if (l.rows[BAND_PROGRESS] > 0)
        draw_progress(m, g, &l);
    if (l.rows[BAND_ROUTINE] > 0)
        routine_band(m, g, l.top[BAND_ROUTINE], l.rows[BAND_ROUTINE]);
    practice_panel(m, g, &l);
    if (l.rows[BAND_COMING] > 0)
        draw_coming(m, g, &l);
    if (l.rows[BAND_CROSSING] > 0)
        draw_crossing(m, g, &l);
    practice_notes(m, g, &l);
    if (l.rows[BAND_NEXT] > 0)
        draw_next(m, g, &l);
    if (l.rows[BAND_MESSAGE] > 0)
        part_message(m, g, l.top[BAND_MESSAGE]);
    draw_keys(m, g);
}
