#include "evenhand/plan/fingerprint.h"

static uint64_t mix(uint64_t print, int64_t value)
{
    for (int i = 0; i < 8; i++) {
        print ^= ((uint64_t)value >> (8 * i)) & 0xff;
        print *= UINT64_C(0x100000001b3);
    }
    return print;
}

static uint64_t mix_ratio(uint64_t print, Ratio r)
{
    return mix(mix(print, r.num), r.den);
}

static const uint64_t empty = UINT64_C(0xcbf29ce484222325);

uint64_t fingerprint_notes(const Passage *p)
{
    uint64_t print = empty;
    for (size_t i = 0; i < p->note_count; i++) {
        const Note *n = &p->notes[i];
        print = mix(print, pitch_midi(n->pitch));
        print = mix(print, n->pitch.letter);
        print = mix_ratio(print, n->onset);
        print = mix_ratio(print, n->length);
    }
    return print;
}

uint64_t fingerprint_fingers(const Fingering *f)
{
    uint64_t print = empty;
    for (size_t i = 0; i < f->note_count; i++) {
        print = mix(print, f->notes[i].finger);
        print = mix(print, f->notes[i].group);
        print = mix(print, f->notes[i].link);
    }
    return print;
}
