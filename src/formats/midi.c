#include "evenhand/formats/midi.h"

#include "evenhand/music/text.h"
#include "midi_ticks.h"

#include <stdlib.h>
#include <string.h>

enum {
    HARP_PROGRAM = 46,
    VELOCITY_NOTE = 76,
    VELOCITY_ACCENT = 116,
    /* General MIDI percussion keys [from memory] */
    KEY_DOWNBEAT = 76,    /* high wood block */
    KEY_PULSE = 77,       /* low wood block */
    KEY_SUBDIVISION = 42, /* closed hi-hat */
    KEY_ANNOUNCE = 81,    /* open triangle */
    CHANNEL_HARP = 0,
    CHANNEL_PERCUSSION = 9
};

/* One note going on or off. */
typedef struct {
    int64_t tick;
    size_t order; /* as collected: keeps the sort stable */
    uint8_t key, velocity;
    bool on;
} Stroke;

/* Strokes of one track, collected in order of their beginnings. */
typedef struct {
    Stroke *items;
    size_t count, room;
    size_t latest[128]; /* index + 1 of each key's latest note-on; its note-off follows it */
} Strokes;

/* A track's bytes. */
typedef struct {
    Text bytes;
    int64_t at; /* tick of the last event */
} Track;

size_t midi_varlen(uint32_t value, unsigned char out[4])
{
    size_t size = 1;
    for (uint32_t rest = value >> 7; rest > 0 && size < 4; rest >>= 7)
        size++;
    for (size_t i = 0; i < size; i++) {
        uint32_t bits = value >> (7 * (size - 1 - i)) & 0x7F;
        out[i] = (unsigned char)(bits | (i + 1 < size ? 0x80u : 0u));
    }
    return size;
}

static bool no_memory(Error *error)
{
    return error_set(error, ERROR_MEMORY, "there is no memory for the MIDI file");
}

static bool track_put(Track *t, int64_t tick, const unsigned char *bytes, size_t size, Error *error)
{
    unsigned char wait[4];
    int64_t delta = tick - t->at;
    if (tick < 0 || delta < 0 || delta > MIDI_VARLEN_MAX)
        return error_set(error, ERROR_LIMIT, "a wait is too long for a MIDI file");
    size_t wait_size = midi_varlen((uint32_t)delta, wait);
    t->at = tick;
    return (text_add_bytes(&t->bytes, (const char *)wait, wait_size) &&
               text_add_bytes(&t->bytes, (const char *)bytes, size)) ||
           no_memory(error);
}

static bool track_text(Track *t, int64_t tick, unsigned char type, const char *text, Error *error)
{
    unsigned char bytes[2 + 4 + PASSAGE_TITLE_MAX] = {0xFF, type};
    size_t length = strlen(text);
    length = length < PASSAGE_TITLE_MAX ? length : PASSAGE_TITLE_MAX;
    size_t head = 2 + midi_varlen((uint32_t)length, bytes + 2);
    memcpy(bytes + head, text, length);
    return track_put(t, tick, bytes, head + length, error);
}

static bool track_end(Track *t, int64_t tick, Error *error)
{
    static const unsigned char end[] = {0xFF, 0x2F, 0x00};
    return track_put(t, tick, end, sizeof end, error);
}

static bool put_tempo(Track *t, int64_t tick, Tempo tempo, Error *error)
{
    Ratio exact = ratio_mul(tempo_seconds_per_quarter(tempo), ratio_int(1000000));
    int64_t us = ratio_floor(ratio_add(exact, ratio(1, 2)));
    if (!ratio_valid(exact) || us < 1 || us > 0xFFFFFF)
        return error_set(error, ERROR_LIMIT,
            "a tempo of under 4 quarters a minute has no place in "
            "a MIDI file");
    unsigned char bytes[] = {
        0xFF, 0x51, 0x03, (unsigned char)(us >> 16), (unsigned char)(us >> 8), (unsigned char)us};
    return track_put(t, tick, bytes, sizeof bytes, error);
}

/* FF 58 04: numerator, power of two of the denominator, MIDI clocks (24 a quarter) to a click,
 * 32nds to a quarter. Free metre is written as 4/4, the standard's own default. */
static bool put_metre(Track *t, int64_t tick, const Metre *m, Error *error)
{
    int num = metre_free(m) ? 4 : m->num, den = metre_free(m) ? 4 : m->den, power = 0;
    while (1 << power < den)
        power++;
    int clocks = 24 * 4 / den * (metre_compound(m) ? 3 : 1);
    clocks = clocks < 1 ? 1 : clocks > 255 ? 255 : clocks;
    unsigned char bytes[] = {
        0xFF, 0x58, 0x04, (unsigned char)num, (unsigned char)power, (unsigned char)clocks, 8};
    return track_put(t, tick, bytes, sizeof bytes, error);
}

/* Tempo, marker and the metre wherever it changes, of one step that begins at tick `base`. */
static bool conduct(Track *t, const Timeline *line, int64_t base, int division, Error *error)
{
    const Passage *p = timeline_passage(line);
    const Metre *current = &p->bars[0].metre;
    char title[DRILL_TEXT_MAX];
    if (!put_tempo(t, base, timeline_step(line)->tempo, error) ||
        !put_metre(t, base, current, error) ||
        !track_text(t, base, 0x06, drill_title(&timeline_step(line)->drill, NULL, title), error))
        return false;
    for (size_t i = 0; i < timeline_count(line); i++) {
        TimelineEvent e = timeline_event(line, i);
        /* count-in and rest run in the first metre */
        const Metre *here = &p->bars[e.bar < 0 ? 0 : e.bar].metre;
        if (metre_equal(here, current))
            continue;
        current = here;
        if (!put_metre(t, base + midi_tick(line, e.frame, division), current, error))
            return false;
    }
    return true;
}

static bool grow(Strokes *s, Error *error)
{
    if (s->count + 2 <= s->room)
        return true;
    size_t room = s->room ? s->room * 2 : 1024;
    Stroke *items = realloc(s->items, room * sizeof *items);
    if (!items) {
        no_memory(error);
        return false;
    }
    s->items = items;
    s->room = room;
    return true;
}

/* Adds a note. A key that still sounds ends first; struck twice at once it counts once. */
static bool strike(Strokes *s, int64_t on, int64_t off, int key, uint8_t velocity, Error *error)
{
    if (!grow(s, error))
        return false;
    off = off > on ? off : on + 1;
    if (s->latest[key] > 0) {
        Stroke *before = &s->items[s->latest[key] - 1];
        if (before->tick == on) {
            before[1].tick = before[1].tick > off ? before[1].tick : off;
            return true;
        }
        before[1].tick = before[1].tick < on ? before[1].tick : on;
    }
    size_t i = s->count;
    s->items[i] = (Stroke){on, i, (uint8_t)key, velocity, true};
    s->items[i + 1] = (Stroke){off, i + 1, (uint8_t)key, 0, false};
    s->latest[key] = i + 1;
    s->count += 2;
    return true;
}

/* Frame where note i of a block ends: each note of a chord has its own length. A rhythm stretches
 * them all as it does the block, whose written length is its lowest note's, or the distance to
 * the next block where that note is held under it. */
static int64_t note_off(const Timeline *line, const TimelineEvent *e, size_t i)
{
    const Passage *p = timeline_passage(line);
    Ratio length = p->notes[i].length;
    if (timeline_change(line, e->note) == 0)
        return e->frame + tempo_frame(timeline_step(line)->tempo, length, timeline_rate(line));
    size_t first = (size_t)e->note, next = passage_block_end(p, first);
    Ratio written = p->notes[first].length;
    if (next < p->note_count) {
        Ratio until = ratio_sub(p->notes[next].onset, p->notes[first].onset);
        written = ratio_cmp(until, written) < 0 ? until : written;
    }
    Ratio frames = ratio_mul(ratio_div(length, written), ratio_int(e->length));
    return e->frame + (ratio_valid(frames) ? ratio_floor(frames) : e->length);
}

static bool strike_block(Strokes *s, const Timeline *line, const TimelineEvent *e, int64_t base,
    int division, Error *error)
{
    const Passage *p = timeline_passage(line);
    int64_t on = base + midi_tick(line, e->frame, division);
    uint8_t velocity = e->kind == EVENT_ACCENT ? VELOCITY_ACCENT : VELOCITY_NOTE;
    int hands = hands_below(p->hands) > 0 ? 2 : 1;
    size_t end = passage_block_end(p, (size_t)e->note);
    for (size_t i = (size_t)e->note; i < end; i++) {
        int64_t off = base + midi_tick(line, note_off(line, e, i), division);
        for (int hand = 0; hand < hands; hand++) {
            int key = pitch_midi(hand ? passage_left(p, i) : p->notes[i].pitch);
            char name[PITCH_NAME_MAX];
            if (key < 0 || key > 127)
                return error_set(error, ERROR_RANGE, "%s%s lies outside MIDI's keys 0 to 127",
                    hand ? "the left hand below " : "", pitch_name(p->notes[i].pitch, false, name));
            if (!strike(s, on, off, key, velocity, error))
                return false;
        }
    }
    return true;
}

static int percussion_key(const TimelineEvent *e)
{
    switch (e->kind) {
    case EVENT_COUNT_IN: return e->level >= 2 ? KEY_DOWNBEAT : KEY_PULSE;
    case EVENT_DOWNBEAT: return KEY_DOWNBEAT;
    case EVENT_SUBDIVISION: return KEY_SUBDIVISION;
    case EVENT_ANNOUNCE:
    case EVENT_BELL: return KEY_ANNOUNCE;
    default: return KEY_PULSE;
    }
}

static bool collect(
    Strokes *harp, Strokes *clicks, const Timeline *line, int64_t base, int division, Error *error)
{
    for (size_t i = 0; i < timeline_count(line); i++) {
        TimelineEvent e = timeline_event(line, i);
        int64_t tick = base + midi_tick(line, e.frame, division);
        bool note = e.kind == EVENT_NOTE || e.kind == EVENT_ACCENT;
        uint8_t velocity = e.level >= 2 ? VELOCITY_ACCENT : VELOCITY_NOTE;
        bool done =
            note ? strike_block(harp, line, &e, base, division, error)
                 : strike(clicks, tick, tick + division / 16, percussion_key(&e), velocity, error);
        if (!done)
            return false;
    }
    return true;
}

static int by_tick(const void *left, const void *right)
{
    const Stroke *a = left, *b = right;
    if (a->tick != b->tick)
        return a->tick < b->tick ? -1 : 1;
    if (a->on != b->on)
        return a->on ? 1 : -1; /* off first: the same key may go on again */
    return a->order < b->order ? -1 : 1;
}

static bool put_strokes(Track *t, Strokes *s, int channel, Error *error)
{
    if (s->count > 0)
        qsort(s->items, s->count, sizeof *s->items, by_tick);
    for (size_t i = 0; i < s->count; i++) {
        const Stroke *k = &s->items[i];
        unsigned char bytes[] = {
            (unsigned char)((k->on ? 0x90 : 0x80) | channel), k->key, k->velocity};
        if (!track_put(t, k->tick, bytes, sizeof bytes, error))
            return false;
    }
    return true;
}

static void put_be(unsigned char *out, uint32_t value, int size)
{
    for (int i = 0; i < size; i++)
        out[i] = (unsigned char)(value >> (8 * (size - 1 - i)));
}

static bool join(Track tracks[3], int division, unsigned char **bytes, size_t *size, Error *error)
{
    unsigned char head[14] = "MThd", chunk[8] = "MTrk";
    Text all = {0};
    put_be(head + 4, 6, 4);
    put_be(head + 8, 1, 2);
    put_be(head + 10, 3, 2);
    put_be(head + 12, (uint32_t)division, 2);
    bool done = text_add_bytes(&all, (const char *)head, sizeof head);
    for (int i = 0; done && i < 3; i++) {
        if (tracks[i].bytes.size > UINT32_MAX) {
            text_free(&all);
            return error_set(error, ERROR_LIMIT, "a track is too long for a MIDI file");
        }
        put_be(chunk + 4, (uint32_t)tracks[i].bytes.size, 4);
        done = text_add_bytes(&all, (const char *)chunk, sizeof chunk) &&
               text_add_bytes(&all, tracks[i].bytes.bytes, tracks[i].bytes.size);
    }
    if (!done) {
        text_free(&all);
        return no_memory(error);
    }
    *bytes = (unsigned char *)all.bytes;
    *size = all.size;
    return true;
}

static bool begin(Track tracks[3], const Passage *p, Error *error)
{
    static const unsigned char program[] = {0xC0 | CHANNEL_HARP, HARP_PROGRAM};
    char title[PASSAGE_TITLE_MAX];
    text_clean(p->title, title, sizeof title);
    return track_text(&tracks[0], 0, 0x03, title, error) &&
           track_text(&tracks[1], 0, 0x03, "harp", error) &&
           track_put(&tracks[1], 0, program, sizeof program, error) &&
           track_text(&tracks[2], 0, 0x03, "pulse", error);
}

bool midi_write(const Timeline *const *timelines, size_t count, unsigned char **bytes, size_t *size,
    Error *error)
{
    Track tracks[3] = {{{0}, 0}};
    Strokes harp = {0}, clicks = {0};
    int64_t base = 0;
    if (count == 0)
        return error_set(error, ERROR_EMPTY, "there is nothing to write");
    int division = midi_division(timelines, count);
    bool done = begin(tracks, timeline_passage(timelines[0]), error);
    for (size_t i = 0; done && i < count; i++) {
        done = conduct(&tracks[0], timelines[i], base, division, error) &&
               collect(&harp, &clicks, timelines[i], base, division, error);
        base += midi_tick(timelines[i], timeline_frames(timelines[i]), division);
    }
    done = done && put_strokes(&tracks[1], &harp, CHANNEL_HARP, error) &&
           put_strokes(&tracks[2], &clicks, CHANNEL_PERCUSSION, error);
    for (int i = 0; done && i < 3; i++)
        done = track_end(&tracks[i], base > tracks[i].at ? base : tracks[i].at, error);
    done = done && join(tracks, division, bytes, size, error);
    for (int i = 0; i < 3; i++)
        text_free(&tracks[i].bytes);
    free(harp.items);
    free(clicks.items);
    return done;
}
