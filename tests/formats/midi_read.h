/* midi_read.h - timelines written as MIDI and read back by mido. Include cmocka.h first. */
#ifndef EVENHAND_TESTS_MIDI_READ_H
#define EVENHAND_TESTS_MIDI_READ_H

#include "evenhand/formats/midi.h"

enum { RATE = 1000000, NOTES_MAX = 20000 };

/* A passage with all that its timelines need. */
typedef struct {
    Passage *p;
    Fingering f;
    Rotation r;
    Timeline *t[64];
    size_t count;
} Piece;

/* What mido reads in a file that we wrote. */
typedef struct {
    double seconds;
    long long tick, length;
    int channel, key, velocity;
} Heard;

typedef struct {
    int type, tracks, ticks;
    int tempos, metres, faults, program;
    int tempo[64];
    long long metre[64][3];
    Heard *notes;
    size_t count;
    long long end;
} Reading;

void piece_open(Piece *piece, Passage *p);
void piece_step(Piece *piece, const char *drill, const char *ratio_text, Tempo t);
void piece_close(Piece *piece);
Reading write_and_read(const Piece *piece);
/* Every event of the timelines is found in the file at its own second: at most half a frame, or
 * half a tick where ticks are the nearest. */
void assert_same_seconds(const Piece *piece, const Reading *r);

#endif
