/* Where fingers go in the text:
 *
 *   {g}"Am"u^F2    none written: !4! goes before the note and     {g}"Am"!4!u^F2
 *                  the letters that belong to it
 *   !1!.^F2        one written: its digit is changed in place     !4!.^F2
 *   !1!!3![CE]     before a chord: they go, each note inside      [!3!C!2!E]
 *                  gets its own
 *
 * The text is walked with the reader's own lines, decorations and U: letters. What was made is
 * read again, so that no text leaves here that would be understood otherwise. */
#include "evenhand/formats/mark.h"

#include "evenhand/formats/abc.h"

#include "abc_reader.h"

#include <stdlib.h>
#include <string.h>

enum { PENDING_MAX = 32, PUT_MAX = 4 };

/* A note of the page: all playings of it are side by side once sorted, the first one first. */
typedef struct {
    int line, column;
    size_t note;
} Place;

/* `cut` bytes at `at` go and `put` comes in. */
typedef struct {
    size_t at, cut;
    char put[PUT_MAX];
} Edit;

/* Fingers that wait for their note: "!1!" and "+1+" are three bytes, a U: letter is one. */
typedef struct {
    size_t at[PENDING_MAX], size[PENDING_MAX];
    int count;
} Waiting;

typedef struct {
    const char *text;
    size_t size;
    AbcReader *reader; /* only its decorations, U: letters and scratch passage */
    const Passage *p;
    const Fingering *f;
    Place *places;
    size_t place_count, next;
    Edit *edits;
    size_t edit_count, edit_room;
    Waiting waiting, chord; /* `chord`: what stood before the chord that is being read */
    const char *letters;    /* where letters such as u and . begin, if nothing came since */
    int differing;
    Error *error;
} Marker;

static int by_place(const void *a, const void *b)
{
    const Place *x = a, *y = b;
    if (x->line != y->line)
        return x->line < y->line ? -1 : 1;
    if (x->column != y->column)
        return x->column < y->column ? -1 : 1;
    return x->note < y->note ? -1 : x->note > y->note;
}

static bool find_places(Marker *m)
{
    m->place_count = m->p->note_count;
    m->places = malloc((m->place_count > 0 ? m->place_count : 1) * sizeof *m->places);
    if (m->places == NULL)
        return error_set(m->error, ERROR_MEMORY, "out of memory for the notes' places");
    for (size_t i = 0; i < m->place_count; i++)
        m->places[i] = (Place){m->p->notes[i].line, m->p->notes[i].column, i};
    qsort(m->places, m->place_count, sizeof *m->places, by_place);
    return true;
}

static bool edit(Marker *m, size_t at, size_t cut, const char *put)
{
    if (m->edit_count == m->edit_room) {
        size_t room = m->edit_room == 0 ? 64 : 2 * m->edit_room;
        Edit *more = realloc(m->edits, room * sizeof *more);
        if (more == NULL)
            return error_set(m->error, ERROR_MEMORY, "out of memory for the marks");
        m->edits = more;
        m->edit_room = room;
    }
    Edit *e = &m->edits[m->edit_count++];
    *e = (Edit){.at = at, .cut = cut};
    memcpy(e->put, put, strlen(put) + 1);
    return true;
}

static bool cut_waiting(Marker *m, Waiting *w, int from)
{
    for (int i = from; i < w->count; i++)
        if (!edit(m, w->at[i], w->size[i], ""))
            return false;
    w->count = 0;
    return true;
}

/* This finger (0: none) instead of those that wait; `at` is where a new one goes. */
static bool put_finger(Marker *m, int finger, size_t at)
{
    Waiting *w = &m->waiting;
    char digit[2] = {(char)('0' + finger), '\0'}, whole[PUT_MAX] = {'!', digit[0], '!', '\0'};
    if (!cut_waiting(m, &m->chord, 0))
        return false;
    if (finger == 0)
        return cut_waiting(m, w, 0);
    if (w->count > 0 && w->size[0] > 1)
        return edit(m, w->at[0] + 1, 1, digit) && cut_waiting(m, w, 1);
    return cut_waiting(m, w, 0) && edit(m, at, 0, whole);
}

static bool lost(Marker *m, const Place *place)
{
    return error_at(m->error, ERROR_UNSUPPORTED, place->line, place->column,
        "the finger of this note has no place in the text, for a macro makes the note; write "
        "the notes out");
}

/* At a note of the text. One that is no note of the passage (tied over, or never played) keeps
 * what stands before it. */
static bool at_note(Marker *m, const AbcScan *s)
{
    int column = abc_scan_column(s);
    bool done = true;
    const Place *first = &m->places[m->next];
    if (m->next < m->place_count &&
        (first->line < s->line || (first->line == s->line && first->column < column)))
        return lost(m, first);
    if (m->next < m->place_count && first->line == s->line && first->column == column) {
        int finger = m->f->notes[first->note].finger;
        bool differs = false;
        for (; m->next < m->place_count; m->next++) {
            const Place *same = &m->places[m->next];
            if (same->line != s->line || same->column != column)
                break;
            differs = differs || m->f->notes[same->note].finger != finger;
        }
        m->differing += differs ? 1 : 0;
        const char *at = m->letters != NULL ? m->letters : s->at;
        done = put_finger(m, finger, (size_t)(at - m->text));
    }
    m->waiting.count = 0;
    return done;
}

static bool any_of(char c, const char *set)
{
    return c != '\0' && strchr(set, c) != NULL;
}

static void skip_to(AbcScan *s, char close)
{
    for (s->at++; s->at < s->end && *s->at != close; s->at++)
        ;
    if (s->at < s->end)
        s->at++;
}

/* Accidentals and letter, as the reader takes them; no note where the letter is missing. */
static bool pass_note(Marker *m, AbcScan *s)
{
    AbcScan letter = *s;
    char sign = *s->at;
    while (letter.at < s->end && any_of(sign, "^_=") && *letter.at == sign)
        letter.at++;
    bool is_note = letter.at < s->end && any_of(*letter.at, "CDEFGABcdefgab");
    if (is_note && !at_note(m, s))
        return false;
    s->at = letter.at + (is_note ? 1 : 0);
    return true;
}

static void wait_for_note(Marker *m, const char *at, size_t size)
{
    Waiting *w = &m->waiting;
    if (w->count == PENDING_MAX)
        return;
    w->at[w->count] = (size_t)(at - m->text);
    w->size[w->count++] = size;
}

/* The standard's fingers are !0! to !5!. */
static bool is_finger(const char *name, size_t size)
{
    return size == 1 && *name >= '0' && *name <= '5';
}

static void pass_decoration(Marker *m, AbcScan *s)
{
    const char *from = s->at;
    m->reader->pending = (AbcPending){0};
    abc_decoration(m->reader, s);
    if (s->at - from == 3 && is_finger(from + 1, 1))
        wait_for_note(m, from, 3);
}

static void pass_symbol(Marker *m, AbcScan *s)
{
    unsigned char c = (unsigned char)*s->at;
    if (c < 128 && m->reader->symbols[c].given &&
        is_finger(m->reader->symbols[c].name, strlen(m->reader->symbols[c].name)))
        wait_for_note(m, s->at, 1);
    s->at++;
}

/* What is the same inside a chord and outside. */
static bool pass_one(Marker *m, AbcScan *s)
{
    char c = *s->at;
    if (any_of(c, "^_=ABCDEFGabcdefg")) {
        bool done = pass_note(m, s);
        m->letters = NULL;
        return done;
    }
    if (c == '"' || c == '{')
        skip_to(s, c == '{' ? '}' : '"');
    else if (c == '!' || c == '+')
        pass_decoration(m, s);
    else if (abc_symbol_letter(c)) {
        m->letters = m->letters != NULL ? m->letters : s->at;
        pass_symbol(m, s);
        return true;
    } else
        s->at++;
    m->letters = NULL;
    return true;
}

static bool pass_chord(Marker *m, AbcScan *s)
{
    m->chord = m->waiting;
    m->waiting.count = 0;
    m->letters = NULL;
    for (s->at++; s->at < s->end && *s->at != ']';)
        if (!pass_one(m, s))
            return false;
    m->chord.count = m->waiting.count = 0;
    return true;
}

static bool is_letter(char c)
{
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

/* "[K:G]"; of these only U: says something about decorations. */
static bool pass_inline_field(Marker *m, AbcScan *s)
{
    size_t left = (size_t)(s->end - s->at);
    if (left < 3 || !is_letter(s->at[1]) || s->at[2] != ':' || (left > 3 && any_of(s->at[3], "|:")))
        return false;
    AbcLine value = {.at = s->at + 3, .number = s->line};
    char name = s->at[1];
    skip_to(s, ']');
    value.size = (size_t)(s->at - value.at) - (s->at[-1] == ']' ? 1 : 0);
    abc_line_trim(&value);
    if (name == 'U')
        abc_symbol_define(m->reader, &value);
    return true;
}

static bool pass_bracket(Marker *m, AbcScan *s)
{
    if (pass_inline_field(m, s))
        return true;
    bool bar = s->at + 1 < s->end && s->at[1] == '|';
    if (!bar && !abc_ending_follows(s))
        return pass_chord(m, s);
    s->at++;
    return true;
}

static bool pass_music(Marker *m, const AbcLine *line)
{
    AbcScan s = {
        .start = line->at, .at = line->at, .end = line->at + line->size, .line = line->number};
    m->letters = NULL;
    while (s.at < s.end) {
        if (*s.at == '[') {
            if (!pass_bracket(m, &s))
                return false;
            continue;
        }
        if (any_of(*s.at, "xz"))
            m->waiting.count = 0; /* a rest takes what waits */
        if (!pass_one(m, &s))
            return false;
    }
    return true;
}

/* U: fields before the first tune hold for all. */
static void file_header(Marker *m)
{
    AbcLines lines = abc_lines(m->text, m->size);
    AbcLine line, value;
    while (abc_lines_next(&lines, &line) && !abc_line_blank(&line)) {
        char letter = abc_line_field(&line, &value);
        if (letter == 'X')
            return;
        if (letter == 'U')
            abc_symbol_define(m->reader, &value);
    }
}

/* From the tune's X: on to its last note. */
static bool walk(Marker *m)
{
    AbcLines lines = abc_lines(m->text, m->size);
    AbcLine line, value;
    bool inside = false, music = false;
    file_header(m);
    while (m->next < m->place_count && abc_lines_next(&lines, &line)) {
        char letter = abc_line_field(&line, &value);
        if (letter == 'X' && inside)
            break;
        inside =
            inside ||
            (letter == 'X' && (m->p->reference == 0 || abc_line_number(&value) == m->p->reference));
        if (!inside || (line.size > 0 && line.at[0] == '%'))
            continue;
        music = music || letter == 'K';
        if (letter == 'U')
            abc_symbol_define(m->reader, &value);
        if (letter != 0 || !music)
            continue;
        value = line;
        abc_line_uncomment(&value);
        if (!pass_music(m, &value))
            return false;
    }
    return m->next == m->place_count || lost(m, &m->places[m->next]);
}

static int by_offset(const void *a, const void *b)
{
    const Edit *x = a, *y = b;
    if (x->at != y->at)
        return x->at < y->at ? -1 : 1;
    return x->cut < y->cut ? -1 : x->cut > y->cut;
}

static bool make(const Marker *m, Text *out)
{
    size_t at = 0;
    bool done = true;
    if (m->edit_count > 0)
        qsort(m->edits, m->edit_count, sizeof *m->edits, by_offset);
    for (size_t i = 0; done && i < m->edit_count; i++) {
        const Edit *e = &m->edits[i];
        done = text_add_bytes(out, m->text + at, e->at - at) && text_add(out, "%s", e->put);
        at = e->at + e->cut;
    }
    if (done && text_add_bytes(out, m->text + at, m->size - at))
        return true;
    return error_set(m->error, ERROR_MEMORY, "out of memory for the marked tune");
}

static bool same_note(const Note *a, const Note *b)
{
    return a->pitch.letter == b->pitch.letter && a->pitch.alter == b->pitch.alter &&
           a->pitch.octave == b->pitch.octave && ratio_equal(a->onset, b->onset) &&
           ratio_equal(a->length, b->length);
}

/* The finger that the text now has for the page's note at places[i]. */
static int written_finger(const Marker *m, size_t i)
{
    while (i > 0 && m->places[i - 1].line == m->places[i].line &&
           m->places[i - 1].column == m->places[i].column)
        i--;
    return m->f->notes[m->places[i].note].finger;
}

/* Reads what was made: the same notes, each with its finger. */
static bool check(const Marker *m, const char *marked, size_t size)
{
    Passage *again = abc_read(marked, size, m->p->reference, m->error);
    if (again == NULL)
        return false;
    bool same = again->note_count == m->p->note_count;
    for (size_t i = 0; same && i < m->place_count; i++) {
        size_t note = m->places[i].note;
        same = same_note(&again->notes[note], &m->p->notes[note]) &&
               again->notes[note].mark == written_finger(m, i);
        if (!same)
            error_at(m->error, ERROR_UNSUPPORTED, m->places[i].line, m->places[i].column,
                "a finger written before this note would be misread; take away a macro, or a "
                "single ! or + before it");
    }
    if (again->note_count != m->p->note_count)
        error_set(m->error, ERROR_UNSUPPORTED,
            "with fingers written in, this tune would be read otherwise than it is");
    passage_free(again);
    return same;
}

bool mark_fingers(const char *abc, size_t size, const Passage *p, const Fingering *f, Text *out,
    int *differing, Error *error)
{
    Error unwanted = {0};
    Marker m = {.text = abc,
        .size = size,
        .p = p,
        .f = f,
        .error = error != NULL ? error : &unwanted,
        .reader = calloc(1, sizeof *m.reader)};
    size_t before = out->size;
    bool done = false;
    *differing = 0;
    if (f->note_count != p->note_count) {
        error_set(m.error, ERROR_RANGE, "the fingers are of another passage");
        goto out;
    }
    if (m.reader == NULL || (m.reader->passage = passage_new()) == NULL) {
        error_set(m.error, ERROR_MEMORY, "out of memory for a tune");
        goto out;
    }
    done = find_places(&m) && walk(&m) && make(&m, out) &&
           check(&m, out->bytes + before, out->size - before);
    *differing = m.differing;
out:
    if (m.reader != NULL)
        passage_free(m.reader->passage);
    free(m.reader);
    free(m.places);
    free(m.edits);
    return done;
}
