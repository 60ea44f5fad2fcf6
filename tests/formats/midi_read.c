#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "midi_read.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void piece_open(Piece *piece, Passage *p)
{
    Error error = {0};
    memset(piece, 0, sizeof *piece);
    piece->p = p;
    assert_true(fingering_plan(p, NULL, &piece->f, &error));
    assert_true(rotation_plan(p, &piece->f, NULL, ratio(0, 1), &piece->r, &error));
}

void piece_step(Piece *piece, const char *drill, const char *ratio_text, Tempo t)
{
    Error error = {0};
    SessionStep step = {
        .drill = drill_plain(), .tempo = t, .repetitions = 2, .count_in_bars = 1, .rest_bars = 1};
    assert_true(drill_parse(drill, &step.drill, &error));
    if (ratio_text)
        assert_true(rhythm_parse_ratio(ratio_text, &step.drill.rhythm, &error));
    Timeline *made = timeline_new(piece->p, &piece->f, &piece->r, &step, NULL, RATE, &error);
    if (!made)
        print_message("%s\n", error.text);
    assert_non_null(made);
    piece->t[piece->count++] = made;
}

void piece_close(Piece *piece)
{
    for (size_t i = 0; i < piece->count; i++)
        timeline_free(piece->t[i]);
    rotation_free(&piece->r);
    fingering_free(&piece->f);
    passage_free(piece->p);
}

static void take_line(Reading *r, const char *line)
{
    Heard h;
    int channel;
    long long tick;
    if (sscanf(line, "note %lf %lld %lld %d %d %d", &h.seconds, &h.tick, &h.length, &h.channel,
            &h.key, &h.velocity) == 6) {
        assert_true(r->count < NOTES_MAX);
        r->notes[r->count++] = h;
    } else if (sscanf(line, "tempo %lld %d", &tick, &r->tempo[r->tempos]) == 2) {
        r->tempos++;
    } else if (sscanf(line, "metre %lld %lld %lld", &r->metre[r->metres][0],
                   &r->metre[r->metres][1], &r->metre[r->metres][2]) == 3) {
        r->metres++;
    } else if (strncmp(line, "fault", 5) == 0) {
        print_message("%s", line);
        r->faults++;
    } else if (sscanf(line, "head %d %d %d", &r->type, &r->tracks, &r->ticks) != 3 &&
               sscanf(line, "program %d %d", &channel, &r->program) != 2) {
        sscanf(line, "end %lld", &r->end);
    }
}

static Reading read_back(const unsigned char *bytes, size_t size)
{
    char path[] = "/tmp/evenhand-midi-XXXXXX", command[128], line[256];
    Reading r = {.notes = calloc(NOTES_MAX, sizeof *r.notes)};
    int fd = mkstemp(path);
    assert_true(fd >= 0 && r.notes);
    assert_int_equal(write(fd, bytes, size), (ssize_t)size);
    close(fd);
    snprintf(command, sizeof command, "/usr/bin/python3 tests/tools/midi_events.py %s", path);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    while (fgets(line, sizeof line, pipe))
        take_line(&r, line);
    if (pclose(pipe) != 0)
        fail_msg("midi_events.py failed: install Debian's python3-mido");
    unlink(path);
    return r;
}

Reading write_and_read(const Piece *piece)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    Error error = {0};
    bool done = midi_write((const Timeline *const *)piece->t, piece->count, &bytes, &size, &error);
    if (!done)
        print_message("%s\n", error.text);
    assert_true(done);
    Reading r = read_back(bytes, size);
    free(bytes);
    return r;
}

/* Every event of the timelines is found in the file at its own second: at most half a frame,
 * half a tick and half a microsecond a quarter off. */
void assert_same_seconds(const Piece *piece, const Reading *r)
{
    double start = 0, quarters = 0;
    size_t next_note[2] = {0, 0};
    for (size_t k = 0; k < piece->count; k++) {
        const Timeline *t = piece->t[k];
        double quarter = ratio_double(tempo_seconds_per_quarter(timeline_step(t)->tempo));
        for (size_t i = 0; i < timeline_count(t); i++) {
            TimelineEvent e = timeline_event(t, i);
            bool note = e.kind == EVENT_NOTE || e.kind == EVENT_ACCENT;
            double wanted = start + (double)e.frame / RATE;
            double here = quarters + (double)e.frame / RATE / quarter;
            double allowed = 0.5 / RATE + 0.5 * quarter / r->ticks + 0.5e-6 * here + 1e-9;
            size_t at = next_note[note ? 0 : 1];
            while (at < r->count && (r->notes[at].channel == 9) == note)
                at++;
            assert_true(at < r->count);
            const Heard *h = &r->notes[at];
            next_note[note ? 0 : 1] = at + 1;
            if (fabs(h->seconds - wanted) > allowed)
                fail_msg("step %zu event %zu: %.9f s in the file, %.9f s wanted, %.9f allowed", k,
                    i, h->seconds, wanted, allowed);
            if (note) {
                assert_int_equal(h->key, pitch_midi(piece->p->notes[e.note].pitch));
                assert_int_equal(h->velocity > 100, e.kind == EVENT_ACCENT);
            }
        }
        start += (double)timeline_frames(t) / RATE;
        quarters += (double)timeline_frames(t) / RATE / quarter;
    }
}
