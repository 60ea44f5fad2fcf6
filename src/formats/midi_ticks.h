/* midi_ticks.h - inside the MIDI writer only: which ticks the frames of timelines stand for. */
#ifndef EVENHAND_FORMATS_MIDI_TICKS_H
#define EVENHAND_FORMATS_MIDI_TICKS_H

#include "evenhand/drill/timeline.h"

/* Ticks to the quarter for all of them, as midi.h says. */
int midi_division(const Timeline *const *timelines, size_t count);
/* The tick nearest to a frame of the timeline; -1 when it does not fit. */
int64_t midi_tick(const Timeline *t, int64_t frame, int division);

#endif
