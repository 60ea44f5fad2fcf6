/* A loaded passage with the rows and lists that the screen shows of it. */
#include "practice_parts.h"

#include "cue.h"
#include "evenhand/music/text.h"
#include "evenhand/plan/fingerprint.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PREVIEW_RATE = 48000 };

static void name_row(ModelNote *row, const Passage *p, size_t i, size_t end, bool utf8)
{
    char name[PITCH_NAME_MAX];
    pitch_name(p->notes[i].pitch, utf8, name);
    bool chord = end > i + 1;
    snprintf(row->name, sizeof row->name, "%s%s", name, chord ? "+" : "");
}

/* "C4 E4 G4" and "321": as much as there is room for. */
static void chord_row(ModelNote *row, const Stage *stage, size_t i, size_t end, bool utf8)
{
    char name[PITCH_NAME_MAX];
    size_t names = 0, fingers = 0;
    for (size_t k = i; k < end && end > i + 1; k++) {
        int finger = stage->fingering->notes[k].finger;
        pitch_name(stage->passage->notes[k].pitch, utf8, name);
        if (names + strlen(name) + 2 < sizeof row->chord)
            names += (size_t)snprintf(
                row->chord + names, sizeof row->chord - names, "%s%s", names > 0 ? " " : "", name);
        if (finger > 0 && fingers + 1 < sizeof row->fingers)
            row->fingers[fingers++] = (char)('0' + finger);
    }
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

void piece_row(
    ModelNote *row, const Passage *p, const Fingering *f, size_t i, size_t end, bool utf8)
{
    name_row(row, p, i, end, utf8);
    row->string = pitch_string(p->notes[i].pitch);
    row->letter = "CDEFGAB"[p->notes[i].pitch.letter];
    finger_row(row, f, i, end);
    beat_row(row, p, i);
}

static bool fill_rows(Rows *out, const Stage *stage, bool utf8)
{
    const Passage *p = stage->passage;
    *out = (Rows){.stage = stage,
        .rows = calloc(p->note_count, sizeof *out->rows),
        .row_of = calloc(p->note_count, sizeof *out->row_of)};
    if (out->rows == NULL || out->row_of == NULL)
        return false;
    for (size_t i = 0; i < p->note_count;) {
        size_t end = passage_block_end(p, i);
        ModelNote *row = &out->rows[out->row_count];
        piece_row(row, p, stage->fingering, i, end, utf8);
        chord_row(row, stage, i, end, utf8);
        for (; i < end; i++)
            out->row_of[i] = out->row_count;
        out->row_count++;
    }
    return true;
}

static bool make_rows(Piece *piece, bool utf8)
{
    Loaded *l = &piece->loaded;
    piece->rows = calloc(l->stage_count, sizeof *piece->rows);
    for (size_t i = 0; piece->rows != NULL && i < l->stage_count; i++)
        if (!fill_rows(&piece->rows[i], l->stages[i], utf8))
            return false;
    return piece->rows != NULL;
}

static void free_rows(Piece *piece)
{
    for (size_t i = 0; piece->rows != NULL && i < piece->loaded.stage_count; i++) {
        free(piece->rows[i].rows);
        free(piece->rows[i].row_of);
    }
    free(piece->rows);
}

Rows *piece_rows(const Piece *piece, size_t step)
{
    return &piece->rows[loaded_stage_index(&piece->loaded, step)];
}

const SessionStep *piece_after(const Piece *piece, size_t step)
{
    return step + 1 < piece->session_count ? &piece->loaded.session.steps[step + 1] : NULL;
}

/* ", accents on 4 2 4": the fingers that carry them, in order, as many as fit. */
static void list_fingers(const Stage *stage, const DrillSpec *drill, char *out, size_t size)
{
    const Passage *p = stage->passage;
    size_t used = 0;
    out[0] = '\0';
    if (drill->accent != ACCENT_PLACE)
        return;
    for (size_t i = 0; i < p->note_count; i++) {
        bool head = p->notes[i].block == (int32_t)i;
        if (!head || !rotation_accents(stage->rotation, i, drill->place))
            continue;
        if (used + 8 > size) {
            snprintf(out + used, size - used, " …");
            return;
        }
        used += (size_t)snprintf(out + used, size - used, "%s %d", used == 0 ? ", accents on" : "",
            stage->fingering->notes[i].finger);
    }
}

bool piece_measure(Piece *piece, size_t step, Error *error)
{
    Loaded *l = &piece->loaded;
    const SessionStep *s = &l->session.steps[step];
    ModelItem *item = &piece->drills[step];
    const Stage *stage = l->stages[loaded_stage_index(l, step)];
    Timeline *t = stage_timeline(stage, s, NULL, PREVIEW_RATE, error);
    if (t == NULL)
        return false;
    double seconds = (double)timeline_frames(t) / PREVIEW_RATE;
    piece->quarters[step] = seconds / ratio_double(tempo_seconds_per_quarter(s->tempo));
    timeline_free(t);
    char title[DRILL_TEXT_MAX], fingers[48];
    list_fingers(stage, &s->drill, fingers, sizeof fingers);
    snprintf(item->title, sizeof item->title, "%s", drill_title(&s->drill, stage->rotation, title));
    cue_brief(&s->drill, stage->rotation, item->brief);
    snprintf(item->detail, sizeof item->detail, "%d time%s%s", s->repetitions,
        s->repetitions == 1 ? "" : "s", fingers);
    return true;
}

static bool holds(const Session *s, size_t count, const DrillSpec *drill)
{
    for (size_t i = 0; i < count; i++)
        if (drill_spec_equal(&s->steps[i].drill, drill))
            return true;
    return false;
}

/* Some placing drills of a long passage pass a limit that the passage itself keeps. */
static bool can_play(const Loaded *l, const SessionStep *step)
{
    if (step->drill.placing.kind == PLACING_NONE)
        return true;
    Error error = {0};
    Session one = {(SessionStep *)step, 1};
    return session_frames(l->passage, &l->fingering, &l->rotation, &one, PREVIEW_RATE, &error) >= 0;
}

/* Puts the drills that the session leaves out behind its steps. */
static bool add_others(Piece *piece, const Options *options, Error *error)
{
    Loaded *l = &piece->loaded;
    const SessionStep *first = &l->session.steps[0];
    SessionOptions like = {.tempo = first->tempo,
        .repetitions = first->repetitions,
        .count_in_bars = first->count_in_bars,
        .rest_bars = first->rest_bars > 0 ? first->rest_bars : -1,
        .base = options->spec};
    Session every;
    piece->session_count = l->session.count;
    if (!session_every(l->passage, &l->fingering, &l->rotation, &like, &every, error))
        return false;
    size_t room = l->session.count + every.count;
    SessionStep *steps = realloc(l->session.steps, room * sizeof *steps);
    if (steps != NULL) {
        l->session.steps = steps;
        for (size_t i = 0; i < every.count; i++)
            if (!holds(&l->session, piece->session_count, &every.steps[i].drill) &&
                can_play(l, &every.steps[i]))
                steps[l->session.count++] = every.steps[i];
    }
    session_free(&every);
    return steps != NULL ? loaded_stages(l, error)
                         : error_set(error, ERROR_MEMORY, "out of memory for the drills");
}

static bool make_steps(Piece *piece, const Options *options, Error *error)
{
    if (!add_others(piece, options, error))
        return false;
    size_t count = piece->loaded.session.count;
    piece->drills = calloc(count, sizeof *piece->drills);
    piece->quarters = calloc(count, sizeof *piece->quarters);
    if (piece->drills == NULL || piece->quarters == NULL)
        return error_set(error, ERROR_MEMORY, "out of memory for the session");
    for (size_t i = 0; i < count; i++)
        if (!piece_measure(piece, i, error))
            return false;
    return true;
}

static Piece *piece_new(Error *error)
{
    Piece *piece = calloc(1, sizeof *piece);
    if (piece == NULL)
        error_set(error, ERROR_MEMORY, "out of memory for the passage");
    else
        piece->users = 1;
    return piece;
}

/* Makes what hangs on a loaded passage; gives the piece up where it was not loaded. */
static Piece *finish(Piece *piece, bool loaded, const Options *options, bool utf8, Error *error)
{
    if (loaded && make_steps(piece, options, error)) {
        piece->notes_print = fingerprint_notes(piece->loaded.passage);
        piece->fingers_print = fingerprint_fingers(&piece->loaded.fingering);
        if (make_rows(piece, utf8))
            return piece;
        error_set(error, ERROR_MEMORY, "out of memory for the passage");
    }
    piece_release(piece);
    return NULL;
}

Piece *piece_load(const char *given, const Options *options, bool utf8, Error *error)
{
    Piece *piece = piece_new(error);
    if (piece == NULL)
        return NULL;
    bool loaded = load_passage(given, options, &piece->loaded, error);
    return finish(piece, loaded, options, utf8, error);
}

Piece *piece_again(
    const Piece *before, const Options *options, const Fingering *fingers, bool utf8, Error *error)
{
    Piece *piece = piece_new(error);
    if (piece == NULL)
        return NULL;
    bool loaded = load_again(before->loaded.passage, options, fingers, &piece->loaded, error);
    return finish(piece, loaded, options, utf8, error);
}

void piece_release(Piece *piece)
{
    if (piece == NULL || --piece->users > 0)
        return;
    plucks_free(piece->plucks);
    free_rows(piece);
    free(piece->drills);
    free(piece->quarters);
    loaded_free(&piece->loaded);
    free(piece);
}

void rows_light(Rows *rows, const Timeline *t)
{
    for (size_t i = 0; i < rows->stage->passage->note_count; i++) {
        ModelNote *row = &rows->rows[rows->row_of[i]];
        row->accent = timeline_accents(t, (int32_t)i);
        row->length = timeline_change(t, (int32_t)i);
    }
}

double piece_seconds(const Piece *piece, size_t step)
{
    Tempo tempo = piece->loaded.session.steps[step].tempo;
    return piece->quarters[step] * ratio_double(tempo_seconds_per_quarter(tempo));
}
