/* midi.h - writes timelines as a Standard MIDI File (1.0, format 1) into memory. Pure.
 *
 * Track 0: tempo (FF 51 03, microseconds per QUARTER, nearest), metre (FF 58 04) at each change,
 * a marker with the drill's name at each step. Track 1: the notes on channel 1 as a harp (program
 * byte 46), accents louder; with hands in octaves the left hand's too. Track 2: pulses and
 * announcements on the percussion channel.
 *
 * Ticks: 960 or a multiple of it to the quarter where that puts every event on its frame, else
 * the least division up to 32767 that does, else MIDI_TICKS_NEAREST with every event on the
 * nearest tick, at most half a tick (1/65520 quarter) off.
 */
#ifndef EVENHAND_FORMATS_MIDI_H
#define EVENHAND_FORMATS_MIDI_H

#include "evenhand/drill/timeline.h"

enum { MIDI_TICKS_NEAREST = 32760, MIDI_VARLEN_MAX = 0x0FFFFFFF };

/* Writes the steps one after the other. `timelines` are of one passage and at one rate; the
 * finer the rate, the surer the ticks (1,000,000 tells every position up to 1/250 quarter from
 * its neighbours at any tempo). *bytes is allocated (caller frees with free). ERROR_LIMIT when a
 * wait does not fit a variable-length quantity or the tempo three bytes; ERROR_RANGE for a note
 * outside MIDI's 0..127. */
bool midi_write(const Timeline *const *timelines, size_t count, unsigned char **bytes, size_t *size,
    Error *error);

/* A variable-length quantity, 0 .. MIDI_VARLEN_MAX; returns how many bytes, 1..4. */
size_t midi_varlen(uint32_t value, unsigned char out[4]);

#endif
