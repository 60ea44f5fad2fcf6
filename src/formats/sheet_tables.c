/* The sheet's tables: groups in words, where the accents land, the session. */
#include "sheet_pen.h"

#include "evenhand/drill/stage.h"
#include "evenhand/harp/hands.h"

#include <limits.h>
#include <stdio.h>
#include <string.h>

enum { SHEET_RATE = 48000 }; /* only for lengths in seconds */

/* Appends, never beyond the buffer; what does not fit is left out. */
static void append(char *out, size_t size, const char *text)
{
    size_t used = strlen(out);
    if (used + strlen(text) < size)
        strcpy(out + used, text);
}

/* How the hand comes to a group, in a teacher's words. */
static void link_sentence(const Pen *pen, size_t index, char out[96])
{
    const FingerGroup *g = &pen->f->groups[index];
    size_t first = (size_t)(g->pivot >= 0 ? g->pivot : g->first);
    int finger = pen->f->notes[first].finger;
    char name[PITCH_NAME_MAX];
    pen_name(pen, first, name);
    if (g->pivot >= 0) {
        snprintf(out, 96, "turn: %d stays on %s, the rest go back", finger, name);
        return;
    }
    if (pen->by_turns) {
        const char *hand = hands_left_group(pen->left_first, index) ? "left" : "right";
        snprintf(out, 96, "%s hand, placed beforehand", hand);
        return;
    }
    switch ((Link)pen->f->notes[first].link) {
    case LINK_CROSS_UNDER: snprintf(out, 96, "%d crosses under into %s", finger, name); break;
    case LINK_CROSS_OVER: snprintf(out, 96, "the thumb crosses over into %s", name); break;
    case LINK_LIFT: snprintf(out, 96, "lift, place afresh on %s", name); break;
    default: snprintf(out, 96, first == 0 ? "place the hand" : "place the hand afresh"); break;
    }
}

/* Whether a group to and fro has had the string of its note i before. */
static bool comes_back(const Pen *pen, const FingerGroup *g, int32_t i)
{
    const FingeredNote *notes = pen->f->notes;
    if (!g->across)
        return false;
    if (g->pivot >= 0 && notes[i].place == 1)
        return true;
    int32_t k = g->first;
    while (notes[k].place != notes[i].place)
        k++;
    return k < i;
}

static void group_row(Pen *pen, size_t index)
{
    static const char *const ways[] = {"down", "", "up"};
    const FingerGroup *g = &pen->f->groups[index];
    char notes[96] = "", fingers[64] = "", words[128], name[PITCH_NAME_MAX], one[24];
    if (g->pivot >= 0) {
        snprintf(one, sizeof one, "(%s)", pen_name(pen, (size_t)g->pivot, name));
        append(notes, sizeof notes, one);
        snprintf(one, sizeof one, "(%d)", (int)pen->f->notes[g->pivot].finger);
        append(fingers, sizeof fingers, one);
    }
    for (int32_t i = g->first; i <= g->last; i++) {
        if (comes_back(pen, g, i))
            continue;
        append(notes, sizeof notes, notes[0] ? " " : "");
        append(notes, sizeof notes, pen_name(pen, (size_t)i, name));
        snprintf(one, sizeof one, "%s%d", fingers[0] ? " " : "", (int)pen->f->notes[i].finger);
        append(fingers, sizeof fingers, one);
    }
    link_sentence(pen, index, words);
    if (g->across)
        snprintf(words + strlen(words), sizeof words - strlen(words), "; %d notes on these strings",
            (int)(g->last - (g->pivot >= 0 ? g->pivot : g->first)) + 1);
    pen_put(pen, "%4zu  ", index + 1);
    pen_field(pen, g->across ? "fro" : ways[g->direction + 1], 5);
    int wide = pen->names == NAMES_SYLLABLES ? 26 : 20; /* four names and the blanks between */
    pen_field(pen, notes, wide);
    pen_field(pen, fingers, 11);
    pen_wrap(pen, words, 22 + wide);
}

void sheet_groups(Pen *pen)
{
    pen_heading(pen, "Groups");
    for (size_t g = 0; g < pen->f->group_count; g++)
        group_row(pen, g);
    if (pen->f->broken_marks > 0)
        pen_put(pen, "%zu finger%s written in the file break%s a rule; kept as written.\n",
            pen->f->broken_marks, pen->f->broken_marks == 1 ? "" : "s",
            pen->f->broken_marks == 1 ? "s" : "");
}

/* Adds a note's name, with its finger as "C4 (3)" where asked, to a list of words. */
static void list_note(Pen *pen, Text *list, size_t note, bool finger)
{
    char name[PITCH_NAME_MAX], tail[8] = "";
    if (finger && pen->f->notes[note].finger > 0)
        snprintf(tail, sizeof tail, " (%d)", (int)pen->f->notes[note].finger);
    const char *comma = list->size == 0 ? "" : finger ? ", " : " ";
    if (!text_add(list, "%s%s%s", comma, pen_name(pen, note, name), tail))
        pen->failed = true;
}

/* One finger's accents, counted on the drill itself so that the sheet tells what is played. */
static bool finger_row(Pen *pen, int finger, Error *error)
{
    DrillSpec spec = drill_plain();
    Drill drill;
    Text list = {0};
    char label[24];
    spec.accent = ACCENT_FINGER;
    spec.finger = finger;
    if (!drill_build(pen->p, pen->f, pen->r, &spec, &drill, error))
        return false;
    int count = 0;
    for (size_t i = 0; i < drill.note_count; i++)
        if (drill.notes[i].accent) {
            list_note(pen, &list, (size_t)drill.notes[i].note, false);
            count++;
        }
    drill_free(&drill);
    snprintf(label, sizeof label, "%d %s", finger, finger_word(finger));
    if (count > 0) {
        pen_put(pen, "  ");
        pen_field(pen, label, 11);
        pen_put(pen, "%5d  ", count);
        pen_wrap(pen, list.bytes ? list.bytes : "", 20);
    }
    text_free(&list);
    return true;
}

static bool has_unfingered(const Rotation *r)
{
    for (size_t i = 0; i < r->place_count; i++)
        if (r->places[i].by_finger[0] > 0)
            return true;
    return false;
}

static void counts(Pen *pen, int notes, const int by_finger[5], bool unfingered)
{
    pen_put(pen, "%7d", notes);
    for (int finger = 1; finger <= 4; finger++)
        pen_put(pen, "%7d", by_finger[finger]);
    if (unfingered)
        pen_put(pen, "%7d", by_finger[0]);
}

static void place_row(Pen *pen, size_t index, bool unfingered)
{
    const RotationPlace *place = &pen->r->places[index];
    char moved[RATIO_TEXT_MAX];
    ratio_text(ratio_div(place->shift, ratio_int(4)), moved);
    pen_put(pen, "%5zu  ", index + 1);
    pen_field(pen, place->shift.num == 0 ? "0" : moved, 9);
    counts(pen, place->notes, place->by_finger, unfingered);
    pen_put(pen, "\n");
}

static void place_notes(Pen *pen, size_t index)
{
    Text list = {0};
    for (size_t i = 0; i < pen->p->note_count; i = passage_block_end(pen->p, i))
        if (rotation_accents(pen->r, i, (int)index))
            list_note(pen, &list, i, true);
    pen_put(pen, "%5zu  ", index + 1);
    pen_wrap(pen, list.bytes ? list.bytes : "", 7);
    text_free(&list);
}

/* How often the whole rotation accents each note: once for each beat of the pattern's least
 * period, so more than once where the pattern does not tile the bar. */
static void each_note(Pen *pen)
{
    int least = INT_MAX, most = 0;
    for (size_t i = 0; i < pen->p->note_count; i = passage_block_end(pen->p, i)) {
        int times = 0;
        for (size_t k = 0; k < pen->r->reach; k++)
            times += pen->r->place_of[i * pen->r->reach + k] >= 0;
        least = times < least ? times : least;
        most = times > most ? times : most;
    }
    if (most <= 1)
        pen_put(pen, "Over all places each note is accented once.\n");
    else if (least == most)
        pen_put(pen,
            "This pattern does not tile the bar: over all places each note is accented\n%d times.\n",
            most);
    else
        pen_put(pen,
            "This pattern does not tile every bar: over all places each note is accented\n%d to %d "
            "times.\n",
            least, most);
}

static void rotation_table(Pen *pen)
{
    char step[RATIO_TEXT_MAX];
    int sum[5] = {0}, notes = 0;
    bool unfingered = has_unfingered(pen->r);
    pen_heading(pen, "Beat accents");
    ratio_text(ratio_div(pen->r->subdivision, ratio_int(4)), step);
    pen_put(pen, "The strong beats, then moved by %s until they return: %zu place%s.\n", step,
        pen->r->place_count, pen->r->place_count == 1 ? "" : "s");
    each_note(pen);
    pen_put(pen, "place  moved      notes  thumb  index middle   ring%s\n",
        unfingered ? "   none" : "");
    for (size_t i = 0; i < pen->r->place_count; i++) {
        const RotationPlace *place = &pen->r->places[i];
        place_row(pen, i, unfingered);
        notes += place->notes;
        for (int finger = 0; finger < 5; finger++)
            sum[finger] += place->by_finger[finger];
    }
    pen_put(pen, "  all           ");
    counts(pen, notes, sum, unfingered);
    pen_put(pen, "\n\nplace  lands on: note (finger)\n");
    for (size_t i = 0; i < pen->r->place_count; i++)
        place_notes(pen, i);
}

bool sheet_accents(Pen *pen, Error *error)
{
    pen_heading(pen, "Finger accents");
    for (int finger = 4; finger >= 1; finger--)
        if (!finger_row(pen, finger, error))
            return false;
    rotation_table(pen);
    return true;
}

static void clock_text(int64_t frames, char out[24])
{
    int64_t seconds = (frames + SHEET_RATE / 2) / SHEET_RATE;
    snprintf(out, 24, "%lld:%02d", (long long)(seconds / 60), (int)(seconds % 60));
}

/* In frames, and the drill's name; -1 on error. */
static int64_t step_length(
    const Pen *pen, const SessionStep *step, char title[DRILL_TEXT_MAX], Error *error)
{
    Stage *stage = stage_new(pen->p, pen->f, pen->r, &step->drill, error);
    Timeline *t = stage != NULL ? stage_timeline(stage, step, NULL, SHEET_RATE, error) : NULL;
    int64_t frames = t != NULL ? timeline_frames(t) : -1;
    if (t != NULL)
        drill_title(&step->drill, stage->rotation, title);
    timeline_free(t);
    stage_free(stage);
    return frames;
}

bool sheet_session(Pen *pen, const Session *s, Error *error)
{
    int64_t total = 0;
    char title[DRILL_TEXT_MAX], tempo_words[TEMPO_TEXT_MAX], clock[24];
    pen_heading(pen, "Session");
    pen_put(pen, "step  ");
    pen_field(pen, "drill", 47);
    pen_put(pen, "tempo        times    time\n");
    for (size_t i = 0; i < s->count; i++) {
        int64_t frames = step_length(pen, &s->steps[i], title, error);
        if (frames < 0)
            return false;
        total += frames;
        clock_text(frames, clock);
        pen_put(pen, "%4zu  ", i + 1);
        pen_field(pen, title, 46);
        pen_put(pen, " ");
        pen_field(pen, tempo_text(s->steps[i].tempo, tempo_words), 13);
        pen_put(pen, "%5d  %6s\n", s->steps[i].repetitions, clock);
    }
    clock_text(total, clock);
    pen_put(pen, "In all %s minutes, count-ins and rests included.\n", clock);
    return true;
}
