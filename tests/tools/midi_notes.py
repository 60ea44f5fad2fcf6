#!/usr/bin/env python3
"""Dumps the sounding notes of a MIDI file, one a line: midi onset duration, in ticks.

Usage: midi_notes.py FILE.mid ...   (Debian: python3-mido)

For each file first `file NAME ticks N` with N ticks a quarter note, then its notes in order of
onset and pitch. Notes of the percussion channel (10) are left out. A key struck again while it
sounds ends the oldest note of that key first, as a synthesiser would.
"""
import sys

import mido


def notes(path):
    midi = mido.MidiFile(path)
    found = []
    for track in midi.tracks:
        now, sounding = 0, {}
        for message in track:
            now += message.time
            if message.type not in ("note_on", "note_off") or message.channel == 9:
                continue
            key = (message.channel, message.note)
            if message.type == "note_on" and message.velocity > 0:
                sounding.setdefault(key, []).append(now)
            elif sounding.get(key):
                start = sounding[key].pop(0)
                found.append((start, message.note, now - start))
    return midi.ticks_per_beat, sorted(found)


def main():
    for path in sys.argv[1:]:
        ticks, found = notes(path)
        print("file", path, "ticks", ticks)
        for start, key, length in found:
            print(key, start, length)


if __name__ == "__main__":
    main()
