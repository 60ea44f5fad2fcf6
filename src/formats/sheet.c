#include "evenhand/formats/sheet.h"

#include "sheet_pen.h"

#include "evenhand/drill/stage.h"
#include "evenhand/harp/hands.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SHEET_WIDTH = 80, SHEET_WIDTH_MIN = 40 };

static bool no_memory(Error *error)
{
    return error_set(error, ERROR_MEMORY, "there is no memory for the text");
}

static const char *number_or_dash(int64_t number, char out[24])
{
    if (number < 0)
        strcpy(out, "-");
    else
        snprintf(out, 24, "%lld", (long long)number);
    return out;
}

bool sheet_notes(Text *out, const Passage *p, const Fingering *f, Error *error)
{
    char beat[RATIO_TEXT_MAX], onset[RATIO_TEXT_MAX], length[RATIO_TEXT_MAX], name[PITCH_NAME_MAX];
    char finger[24];
    bool by_turns = p->hands == HANDS_ALTERNATE, left_first = by_turns && hands_left_first(p);
    if (!text_add(out, "index\tbar\tbeat\tpitch\tmidi\tonset\tduration\tfinger\tgroup\thand\n"))
        return no_memory(error);
    for (size_t i = 0; i < p->note_count; i++) {
        const Note *n = &p->notes[i];
        const FingeredNote *fn = &f->notes[i];
        bool left = by_turns && hands_left_group(left_first, (size_t)fn->group);
        Hands hand = !by_turns ? p->hands : left ? HANDS_LEFT : HANDS_RIGHT;
        bool done = text_add(out, "%zu\t%d\t%s\t%s\t%d\t%s\t%s\t%s\t%d\t%s\n", i + 1,
            p->bars[n->bar].number, ratio_text(passage_beat(p, i), beat),
            pitch_name(n->pitch, false, name), pitch_midi(n->pitch), ratio_text(n->onset, onset),
            ratio_text(n->length, length), number_or_dash(fn->finger > 0 ? fn->finger : -1, finger),
            (int)fn->group + 1, hands_word(hand));
        if (!done)
            return no_memory(error);
    }
    return true;
}

bool sheet_timeline_header(Text *out, Error *error)
{
    return text_add(out, "frame\tbar\tbeat\tkind\tlevel\tnote\tfinger\tgroup\n") ||
           no_memory(error);
}

bool sheet_timeline(
    Text *out, const Timeline *t, int64_t start_frame, size_t first, size_t count, Error *error)
{
    const Passage *p = timeline_passage(t);
    char bar[24], note[24], finger[24], group[24], beat[RATIO_TEXT_MAX];
    for (size_t i = first; i < first + count; i++) {
        TimelineEvent e = timeline_event(t, i);
        int32_t index = e.note >= 0 ? e.note + 1 : -1;
        bool done =
            text_add(out, "%lld\t%s\t%s\t%s\t%d\t%s\t%s\t%s\n", (long long)(start_frame + e.frame),
                number_or_dash(e.bar >= 0 ? p->bars[e.bar].number : -1, bar),
                ratio_text(e.beat, beat), event_word(e.kind), e.level, number_or_dash(index, note),
                number_or_dash(e.finger > 0 ? e.finger : -1, finger),
                number_or_dash(e.group >= 0 ? e.group + 1 : -1, group));
        if (!done)
            return no_memory(error);
    }
    return true;
}

static size_t block_count(const Passage *p)
{
    size_t count = 0;
    for (size_t i = 0; i < p->note_count; i = passage_block_end(p, i))
        count++;
    return count;
}

static void heading(Pen *pen, Tempo played)
{
    static const char *const hands[HANDS_KINDS] = {"right hand", "left hand",
        "both hands, the left an octave below", "both hands, the left a third below",
        "both hands, the left a sixth below", "both hands, the left a tenth below",
        "hand over hand"};
    const Passage *p = pen->p;
    char title[PASSAGE_TITLE_MAX], composer[PASSAGE_TITLE_MAX], remark[PASSAGE_REMARK_MAX];
    char shown[PASSAGE_KEY_MAX + 4], key[PASSAGE_KEY_MAX + 4];
    char metre_words[METRE_TEXT_MAX], tempo_words[TEMPO_TEXT_MAX], facts[512];
    text_clean(p->title[0] ? p->title : "Passage without a title", title, sizeof title);
    pen_wrap(pen, title, 0);
    if (p->composer[0])
        pen_wrap(pen, text_clean(p->composer, composer, sizeof composer), 0);
    if (p->remark[0])
        pen_wrap(pen, text_clean(p->remark, remark, sizeof remark), 0);
    size_t blocks = block_count(p), groups = pen->f->group_count;
    snprintf(facts, sizeof facts, "key %s, metre %s, tempo %s, %s, %zu %s%s in %zu group%s:",
        text_clean(passage_key(p, pen->utf8, shown), key, sizeof key),
        metre_text(&p->metre, metre_words), tempo_text(played, tempo_words), hands[p->hands],
        blocks, blocks < p->note_count ? "stroke" : "note", blocks == 1 ? "" : "s", groups,
        groups == 1 ? "" : "s");
    pen_wrap(pen, facts, 0);
}

/* "4+4+3", broken at plus signs: a long passage has hundreds. */
static void grouping(Pen *pen)
{
    size_t room = pen->f->group_count * 8 + 64;
    char *words = malloc(room);
    if (words == NULL) {
        pen->failed = true;
        return;
    }
    size_t width = (size_t)pen->width;
    bool across = false;
    for (size_t g = 0; g < pen->f->group_count; g++)
        across = across || pen->f->groups[g].across;
    const char *rest = fingering_grouping(pen->f, words, room);
    while (strlen(rest) > width) {
        size_t cut = width;
        while (cut > 0 && rest[cut - 1] != '+')
            cut--;
        cut = cut > 0 ? cut : width;
        pen_put(pen, "%.*s\n", (int)cut, rest);
        rest += cut;
    }
    pen_put(pen, "%s\n", rest);
    if (across)
        pen_put(
            pen, "3<> is a figure to and fro on three strings, on one placement of the hand.\n");
    free(words);
}

/* What a stranger to the names cannot know, and what the staves below do not show. */
static void naming(Pen *pen)
{
    static const char *const below[HANDS_KINDS] = {[HANDS_OCTAVES] = "the same an octave",
        [HANDS_THIRDS] = "a third",
        [HANDS_SIXTHS] = "a sixth",
        [HANDS_TENTHS] = "a tenth"};
    static const Pitch middle = {.letter = LETTER_C, .octave = 4};
    char name[PITCH_NAME_MAX];
    pen_put(pen, "%s is middle C (%s).\n", names_pitch(middle, pen->names, false, name),
        names_label(pen->names));
    if (below[pen->p->hands])
        pen_put(pen, "Written for the right hand; the left plays %s lower, the same fingers.\n",
            below[pen->p->hands]);
    if (pen->by_turns)
        pen_put(pen, "The hands take the groups by turns: L left, R right.\n");
}

/* The notes of the session's placing drills, each drawn once as the passage is. */
static bool placings(Pen *pen, const Session *s, Error *error)
{
    for (size_t i = 0; i < s->count; i++) {
        const DrillSpec *drill = &s->steps[i].drill;
        bool drawn = drill->placing.kind == PLACING_NONE;
        for (size_t k = 0; k < i; k++)
            drawn = drawn || placing_equal(&s->steps[k].drill.placing, &drill->placing);
        if (drawn)
            continue;
        Stage *stage = stage_new(pen->p, pen->f, pen->r, drill, error);
        if (stage == NULL)
            return false;
        char title[PLACING_TEXT_MAX];
        Pen own = *pen;
        own.p = stage->passage;
        own.f = stage->fingering;
        own.r = stage->rotation;
        own.by_turns =
            false; /* the signs between groups tell; which hand begins is the passage's */
        placing_title(&drill->placing, title, sizeof title);
        title[0] = (char)toupper((unsigned char)title[0]);
        pen_heading(&own, title);
        sheet_systems(&own);
        pen->failed = own.failed;
        stage_free(stage);
    }
    return true;
}

bool sheet_show(Text *out, const Passage *p, const Fingering *f, const Rotation *r,
    const Session *s, const SheetStyle *style, Error *error)
{
    int width = style->width > 0 ? style->width : SHEET_WIDTH;
    Pen pen = {.out = out,
        .utf8 = style->utf8,
        .width = width < SHEET_WIDTH_MIN ? SHEET_WIDTH_MIN : width,
        .p = p,
        .f = f,
        .r = r,
        .names = style->names,
        .by_turns = p->hands == HANDS_ALTERNATE,
        .left_first = p->hands == HANDS_ALTERNATE && hands_left_first(p)};
    heading(&pen, s->count > 0 ? s->steps[0].tempo : p->tempo);
    grouping(&pen);
    naming(&pen);
    sheet_systems(&pen);
    sheet_groups(&pen);
    if (style->plan_count > 0 && !style->brief)
        sheet_plans(&pen, style->plans, style->plan_count);
    if (style->setting != NULL && style->brief)
        sheet_brief(&pen, style->setting);
    else if (style->setting != NULL)
        sheet_harp(&pen, style->setting);
    if (!sheet_accents(&pen, error) || !sheet_session(&pen, s, error) || !placings(&pen, s, error))
        return false;
    return !pen.failed || no_memory(error);
}
