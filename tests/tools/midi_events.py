#!/usr/bin/env python3
"""Tells what a MIDI file says, one event a line, with seconds worked out here from ticks and tempo.

Usage: midi_events.py FILE.mid        (Debian: python3-mido)

    head TYPE TRACKS TICKS
    tempo TICK MICROSECONDS
    metre TICK NUMERATOR DENOMINATOR
    marker TICK TEXT
    program CHANNEL PROGRAM
    note SECONDS TICK LENGTH CHANNEL KEY VELOCITY
    fault TEXT                           a key struck again while it sounds, or never released
    end TICK

Seconds are exact fractions until they are printed with nine decimals.
"""
import sys
from fractions import Fraction

import mido


def tempo_map(track):
    """[(tick, seconds at that tick, microseconds a quarter)]"""
    changes, now = [(0, 0, 500000)], 0
    for message in track:
        now += message.time
        if message.type == "set_tempo":
            changes.append((now, None, message.tempo))
    return changes


def with_seconds(changes, ticks):
    out, second, before = [], Fraction(0), None
    for tick, _, tempo in changes:
        if before is not None:
            second += Fraction(tick - before[0]) * before[1] / ticks / 1000000
        out.append((tick, second, tempo))
        before = (tick, tempo)
    return out


class Clock:
    """Seconds at a tick; asked for rising ticks."""

    def __init__(self, changes, ticks):
        self.changes, self.ticks, self.at = changes, ticks, 0

    def seconds(self, tick):
        while self.at + 1 < len(self.changes) and self.changes[self.at + 1][0] <= tick:
            self.at += 1
        start, second, tempo = self.changes[self.at]
        return second + Fraction(tick - start) * tempo / self.ticks / 1000000


def tell_track(track, clock):
    now, sounding, notes = 0, {}, []
    for message in track:
        now += message.time
        if message.type == "set_tempo":
            print("tempo", now, message.tempo)
        elif message.type == "time_signature":
            print("metre", now, message.numerator, message.denominator)
        elif message.type == "marker":
            print("marker", now, message.text)
        elif message.type == "program_change":
            print("program", message.channel, message.program)
        elif message.type == "note_on" and message.velocity > 0:
            key = (message.channel, message.note)
            if key in sounding:
                print("fault struck again", now, *key)
            sounding[key] = (now, message.velocity)
        elif message.type in ("note_on", "note_off"):
            key = (message.channel, message.note)
            if key not in sounding:
                print("fault released without a stroke", now, *key)
                continue
            start, velocity = sounding.pop(key)
            notes.append((start, now - start, *key, velocity))
    for key in sounding:
        print("fault never released", *key)
    for note in sorted(notes):
        print("note", "%.9f" % float(clock.seconds(note[0])), *note)
    print("end", now)


def main():
    midi = mido.MidiFile(sys.argv[1])
    print("head", midi.type, len(midi.tracks), midi.ticks_per_beat)
    changes = with_seconds(tempo_map(midi.tracks[0]), midi.ticks_per_beat)
    for track in midi.tracks:
        tell_track(track, Clock(changes, midi.ticks_per_beat))


main()
