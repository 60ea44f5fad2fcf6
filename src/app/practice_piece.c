/* A loaded passage with the rows and lists that the screen shows of it. */
#include "practice_parts.h"

#include "evenhand/music/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PREVIEW_RATE = 48000 };

static void name_row(ModelNote *row, const Passage *p, size_t i, bool utf8)
{
    char name[PITCH_NAME_MAX];
    pitch_name(p->notes[i].pitch, utf8, name);
    bool chord = passage_block_end(p, i) > i + 1;
    snprintf(row->name, sizeof row->name, "%s%s", name, chord ? "+" : "");
}

/* As counted: "3"; in between a decimal that fits, "2.5". */
static void count_row(ModelNote *row, Ratio beat)
{
    if (beat.den == 1)
        snprintf(row->beat, sizeof row->beat, "%d", (int)beat.num);
    else
        snprintf(row->beat, sizeof row->beat, "%.3g", ratio_double(beat));
}

static bool among(const Ratio *at, int count, Ratio position)
{
    for (int i = 0; i < count; i++)
        if (ratio_equal(at[i], position))
            return true;
    return false;
}

static void beat_row(ModelNote *row, const Passage *p, size_t i)
{
    Ratio at[METRE_NUM_MAX], in_bar = passage_in_bar(p, i);
    const Bar *bar = &p->bars[p->notes[i].bar];
    row->bar = bar->number;
    row->bar_start = i == 0 || p->notes[i - 1].bar != p->notes[i].bar;
    row->on_beat = among(at, metre_pulses(&bar->metre, at), in_bar);
    row->on_strong = among(at, metre_strong(&bar->metre, at), in_bar);
    count_row(row, passage_beat(p, i));
}

static void finger_row(ModelNote *row, const Fingering *f, size_t i, size_t end)
{
    const FingeredNote *note = &f->notes[i];
    row->finger = note->finger;
    row->group = note->group;
    row->place = note->place;
    row->size = note->size;
    row->link = (ModelLink)note->link;
    bool last = end < f->note_count && f->notes[end].group != note->group;
    row->turn = last && f->groups[f->notes[end].group].pivot >= (int32_t)i &&
                f->groups[f->notes[end].group].pivot < (int32_t)end;
}

static bool make_rows(Piece *piece, bool utf8)
{
    const Passage *p = piece->loaded.passage;
    piece->rows = calloc(p->note_count, sizeof *piece->rows);
    piece->row_of = calloc(p->note_count, sizeof *piece->row_of);
    if (piece->rows == NULL || piece->row_of == NULL)
        return false;
    for (size_t i = 0; i < p->note_count;) {
        size_t end = passage_block_end(p, i);
        ModelNote *row = &piece->rows[piece->row_count];
        name_row(row, p, i, utf8);
        row->string = pitch_string(p->notes[i].pitch);
        row->letter = "CDEFGAB"[p->notes[i].pitch.letter];
        finger_row(row, &piece->loaded.fingering, i, end);
        beat_row(row, p, i);
        for (; i < end; i++)
            piece->row_of[i] = piece->row_count;
        piece->row_count++;
    }
    return true;
}

static bool make_steps(Piece *piece, Error *error)
{
    Loaded *l = &piece->loaded;
    piece->drills = calloc(l->session.count, sizeof *piece->drills);
    piece->quarters = calloc(l->session.count, sizeof *piece->quarters);
    if (piece->drills == NULL || piece->quarters == NULL)
        return error_set(error, ERROR_MEMORY, "out of memory for the session");
    for (size_t i = 0; i < l->session.count; i++) {
        const SessionStep *step = &l->session.steps[i];
        Timeline *t =
            timeline_new(l->passage, &l->fingering, &l->rotation, step, NULL, PREVIEW_RATE, error);
        if (t == NULL)
            return false;
        double seconds = (double)timeline_frames(t) / PREVIEW_RATE;
        piece->quarters[i] = seconds / ratio_double(tempo_seconds_per_quarter(step->tempo));
        timeline_free(t);
        char title[DRILL_TEXT_MAX];
        snprintf(piece->drills[i].title, sizeof piece->drills[i].title, "%s",
            drill_title(&step->drill, &l->rotation, title));
        snprintf(piece->drills[i].detail, sizeof piece->drills[i].detail, "%d time%s",
            step->repetitions, step->repetitions == 1 ? "" : "s");
    }
    return true;
}

Piece *piece_load(const char *given, const Options *options, bool utf8, Error *error)
{
    Piece *piece = calloc(1, sizeof *piece);
    if (piece == NULL) {
        error_set(error, ERROR_MEMORY, "out of memory for the passage");
        return NULL;
    }
    piece->users = 1;
    if (!load_passage(given, options, &piece->loaded, error)) {
        piece_release(piece);
        return NULL;
    }
    if (!make_rows(piece, utf8))
        error_set(error, ERROR_MEMORY, "out of memory for the passage");
    else if (make_steps(piece, error))
        return piece;
    piece_release(piece);
    return NULL;
}

void piece_release(Piece *piece)
{
    if (piece == NULL || --piece->users > 0)
        return;
    plucks_free(piece->plucks);
    free(piece->rows);
    free(piece->row_of);
    free(piece->drills);
    free(piece->quarters);
    loaded_free(&piece->loaded);
    free(piece);
}

void piece_light(Piece *piece, const Timeline *t)
{
    const Passage *p = piece->loaded.passage;
    for (size_t i = 0; i < p->note_count; i++) {
        ModelNote *row = &piece->rows[piece->row_of[i]];
        row->accent = timeline_accents(t, (int32_t)i);
        row->length = timeline_change(t, (int32_t)i);
    }
}

double piece_seconds(const Piece *piece, size_t step)
{
    Tempo tempo = piece->loaded.session.steps[step].tempo;
    return piece->quarters[step] * ratio_double(tempo_seconds_per_quarter(tempo));
}
