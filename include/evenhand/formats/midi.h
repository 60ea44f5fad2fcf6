/* midi.h - writes timelines as a Standard MIDI File (1.0, format 1) into memory. Pure.
 *
 * Track 0: tempo (FF 51 03, microseconds per QUARTER) and metre (FF 58 04); track 1: the notes
 * on channel 1 as a harp (program byte 46), accents louder; track 2: pulses and announcements
 * on the percussion channel. Ticks are exact where 960 x k ticks a quarter allow it.
 */
#ifndef EVENHAND_FORMATS_MIDI_H
#define EVENHAND_FORMATS_MIDI_H

#include "evenhand/drill/timeline.h"

/* Writes the steps one after the other. `timelines` may be at any rate (the same for all).
 * *bytes is allocated (caller frees with free). ERROR_LIMIT when a delta does not fit. */
bool midi_write(const Timeline *const *timelines, size_t count, unsigned char **bytes, size_t *size,
    Error *error);

#endif
