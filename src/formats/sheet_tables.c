/* The sheet's tables: groups in words, where the accents land, the session. */
#include "sheet_pen.h"

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
static void link_sentence(const Pen *pen, const FingerGroup *g, char out[96])
{
    size_t first = (size_t)(g->pivot >= 0 ? g->pivot : g->first);
    int finger = pen->f->notes[first].finger;
    char name[PITCH_NAME_MAX];
    pen_name(pen, first, name);
    if (g->pivot >= 0) {
        snprintf(out, 96, "turn on %s: %d stays, the others go back on", name, finger);
        return;
    }
    switch ((Link)pen->f->notes[first].link) {
    case LINK_CROSS_UNDER: snprintf(out, 96, "%d crosses under into %s", finger, name); break;
    case LINK_CROSS_OVER: snprintf(out, 96, "the thumb crosses over into %s", name); break;
    case LINK_LIFT: snprintf(out, 96, "lift, place afresh on %s", name); break;
    default: snprintf(out, 96, first == 0 ? "place the hand" : "place the hand afresh"); break;
    }
}

static void group_row(Pen *pen, size_t index)
{
    static const char *const ways[] = {"down", "", "up"};
    const FingerGroup *g = &pen->f->groups[index];
    char notes[96] = "", fingers[64] = "", words[96], name[PITCH_NAME_MAX], one[24];
    if (g->pivot >= 0) {
        snprintf(one, sizeof one, "(%s)", pen_name(pen, (size_t)g->pivot, name));
        append(notes, sizeof notes, one);
        snprintf(one, sizeof one, "(%d)", (int)pen->f->notes[g->pivot].finger);
        append(fingers, sizeof fingers, one);
    }
    for (int32_t i = g->first; i <= g->last; i++) {
        append(notes, sizeof notes, notes[0] ? " " : "");
        append(notes, sizeof notes, pen_name(pen, (size_t)i, name));
        snprintf(one, sizeof one, "%s%d", fingers[0] ? " " : "", (int)pen->f->notes[i].finger);
        append(fingers, sizeof fingers, one);
    }
    link_sentence(pen, g, words);
    pen_put(pen, "%4zu  ", index + 1);
    pen_field(pen, ways[g->direction + 1], 5);
    pen_field(pen, notes, 20);
    pen_field(pen, fingers, 10);
    pen_put(pen, "%s\n", words);
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

/* The accented notes as "C4 G4 D5", as many as fit, then how many more there are. */
typedef struct {
    char text[200];
    int room, more;
} NoteList;

static void list_add(NoteList *list, const char *name)
{
    int more = text_columns(list->text) + text_columns(name) + 1;
    if (list->more > 0 || more > list->room - 10) {
        list->more++;
        return;
    }
    append(list->text, sizeof list->text, list->text[0] ? " " : "");
    append(list->text, sizeof list->text, name);
}

static void list_end(Pen *pen, const NoteList *list)
{
    if (list->more > 0)
        pen_put(pen, "%s, %d more\n", list->text, list->more);
    else
        pen_put(pen, "%s\n", list->text);
}

/* One finger's accents, counted on the drill itself so that the sheet tells what is played. */
static bool finger_row(Pen *pen, int finger, Error *error)
{
    DrillSpec spec = drill_plain();
    Drill drill;
    NoteList list = {.room = pen->width - 22};
    char name[PITCH_NAME_MAX], label[24];
    spec.accent = ACCENT_FINGER;
    spec.finger = finger;
    if (!drill_build(pen->p, pen->f, pen->r, &spec, &drill, error))
        return false;
    int count = 0;
    for (size_t i = 0; i < drill.note_count; i++)
        if (drill.notes[i].accent) {
            list_add(&list, pen_name(pen, (size_t)drill.notes[i].note, name));
            count++;
        }
    drill_free(&drill);
    if (count == 0)
        return true;
    snprintf(label, sizeof label, "%d %s", finger, finger_word(finger));
    pen_put(pen, "  ");
    pen_field(pen, label, 11);
    pen_put(pen, "%5d  ", count);
    list_end(pen, &list);
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
    NoteList list = {.room = pen->width - (unfingered ? 61 : 54)};
    char moved[RATIO_TEXT_MAX], name[PITCH_NAME_MAX], one[PITCH_NAME_MAX + 4];
    ratio_text(ratio_div(place->shift, ratio_int(4)), moved);
    pen_put(pen, "%5zu  ", index + 1);
    pen_field(pen, place->shift.num == 0 ? "0" : moved, 9);
    counts(pen, place->notes, place->by_finger, unfingered);
    for (size_t i = 0; i < pen->p->note_count; i = passage_block_end(pen->p, i)) {
        if (!rotation_accents(pen->r, i, (int)index))
            continue;
        snprintf(one, sizeof one, "%s", pen_name(pen, i, name));
        list_add(&list, one);
    }
    pen_put(pen, "  ");
    list_end(pen, &list);
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
    pen_put(pen, "place  moved      notes  thumb  index middle   ring%s  on\n",
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
    pen_put(pen, "\n");
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

bool sheet_session(Pen *pen, const Session *s, Error *error)
{
    int64_t total = 0;
    char title[DRILL_TEXT_MAX], tempo_words[TEMPO_TEXT_MAX], clock[24];
    pen_heading(pen, "Session");
    pen_put(pen, " step  ");
    pen_field(pen, "drill", 42);
    pen_put(pen, "tempo          times    time\n");
    for (size_t i = 0; i < s->count; i++) {
        Session one = {.steps = &s->steps[i], .count = 1};
        int64_t frames = session_frames(pen->p, pen->f, pen->r, &one, SHEET_RATE, error);
        if (frames < 0)
            return false;
        total += frames;
        clock_text(frames, clock);
        pen_put(pen, "%5zu  ", i + 1);
        pen_field(pen, drill_title(&s->steps[i].drill, pen->r, title), 41);
        pen_put(pen, " ");
        pen_field(pen, tempo_text(s->steps[i].tempo, tempo_words), 14);
        pen_put(pen, "%6d  %6s\n", s->steps[i].repetitions, clock);
    }
    clock_text(total, clock);
    int64_t tenths = (total * 10 + SHEET_RATE * 30) / ((int64_t)SHEET_RATE * 60);
    pen_put(pen, "In all %lld.%lld minutes (%s), count-ins and rests included.\n",
        (long long)(tenths / 10), (long long)(tenths % 10), clock);
    return true;
}
