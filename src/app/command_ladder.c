#include "evenhand/app/command.h"
#include "evenhand/app/ladder_wishes.h"
#include "evenhand/app/load.h"
#include "evenhand/app/report.h"
#include "evenhand/formats/ladder_text.h"

/* Fine enough to tell a length in time to any fraction that is shown. */
enum { TICKS = 1000000 };

/* Two repetitions at the start's tempo, as the console plays them: how long the count-in is, and
 * how far apart the repetitions begin. Both in quarters. */
static bool measure(const Loaded *l, LadderSheet *sheet, Error *error)
{
    Timeline *t = loaded_timeline(l, 0, NULL, TICKS, error);
    if (t == NULL)
        return false;
    int64_t first = timeline_repetition_frame(t, 0), second = timeline_repetition_frame(t, 1);
    Ratio quarter = tempo_seconds_per_quarter(timeline_step(t)->tempo);
    sheet->count_in = ratio_div(ratio(first, TICKS), quarter);
    sheet->quarters = ratio_div(ratio(second - first, TICKS), quarter);
    timeline_free(t);
    return true;
}

/* One drill of the passage at the ladder's start, with the fingers that its goal asks for: they
 * stay the same all the way up. */
static bool load_drill(
    const Options *o, const Passage *p, const LadderSpec *s, Loaded *out, Error *error)
{
    Options drill = *o;
    Loaded goal;
    drill.drill = o->drill != NULL ? o->drill : "plain";
    drill.repetitions = 2;
    drill.tempo = s->goal;
    if (!load_again(p, &drill, NULL, &goal, error))
        return false;
    drill.tempo = s->start;
    bool done = load_again(p, &drill, &goal.fingering, out, error);
    loaded_free(&goal);
    return done;
}

static bool print_ladder(const LadderSheet *sheet, Error *error)
{
    Text text = {0};
    bool done = ladder_text(&text, sheet, error) && report_text(&text, error);
    text_free(&text);
    return done;
}

static Ratio note_length(const Options *o, const Passage *p, Tempo goal)
{
    if (o->ladder.beat_notes > 0)
        return ratio_div(goal.beat, ratio_int(o->ladder.beat_notes));
    return p != NULL ? ladder_note_length(p) : ratio_int(0);
}

static bool make(const Options *o, const Passage *p, Ladder *out, Error *error)
{
    Tempo start, goal;
    LadderSpec spec;
    *out = (Ladder){0};
    return ladder_wishes_tempos(o, p, &start, &goal, error) &&
           ladder_wishes_spec(o, start, goal, &spec, error) && ladder_make(&spec, out, error);
}

static bool bare_ladder(const Options *o, Error *error)
{
    Ladder ladder;
    if (o->drill != NULL || o->count_in_bars >= 0)
        return error_set(error, ERROR_USAGE, "%s needs a file: evenhand ladder FILE --to 120",
            o->drill != NULL ? "--drill" : "--count-in");
    if (!make(o, NULL, &ladder, error))
        return false;
    const LadderSheet sheet = {.ladder = &ladder,
        .note_length = note_length(o, NULL, ladder.spec.goal),
        .quarters = ratio_int(0),
        .count_in = ratio_int(0),
        .warning = ""};
    bool done = print_ladder(&sheet, error);
    ladder_free(&ladder);
    return done;
}

static bool passage_ladder(const Options *o, const Passage *p, Error *error)
{
    Ladder ladder;
    Loaded drill = {0};
    char warning[LADDER_WORDS_MAX];
    bool done = make(o, p, &ladder, error) && load_drill(o, p, &ladder.spec, &drill, error);
    if (done) {
        LadderSheet sheet = {.ladder = &ladder,
            .title = p->title,
            .drill = o->drill != NULL ? o->drill : "plain",
            .note_length = note_length(o, p, ladder.spec.goal),
            .warning = warning};
        ladder_trap(ladder.spec.goal, passage_pulse(p), sheet.note_length, warning);
        done = measure(&drill, &sheet, error) && print_ladder(&sheet, error);
        loaded_free(&drill);
    }
    ladder_free(&ladder);
    return done;
}

bool command_ladder(const Options *o, Error *error)
{
    Loaded l;
    if (o->file == NULL)
        return bare_ladder(o, error);
    if (!load_passage(o->file, o, &l, error))
        return false;
    report_notices(l.passage, o->file);
    bool done = passage_ladder(o, l.passage, error);
    loaded_free(&l);
    return done;
}
