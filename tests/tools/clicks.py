#!/usr/bin/env python3
"""Finds the clicks of a recording: where each one's peak stands and how loud it is.

    clicks.py FILE.wav [--threshold DB] [--apart MS]

A click is a sample that no other within MS milliseconds (default 30) passes in magnitude and
that is above DB (default -50, of full scale). So a click's own ringing is none. Reads 16-bit
WAV, the first channel. Prints, tab-separated with a header line: frame, and level in dB of full
scale with two decimals.
"""
import array
import collections
import math
import sys
import wave


def read(path):
    with wave.open(path, "rb") as f:
        if f.getsampwidth() != 2:
            sys.exit(f"clicks: {path} has no 16-bit samples")
        samples = array.array("h", f.readframes(f.getnframes()))
        if sys.byteorder == "big":
            samples.byteswap()
        return samples[::f.getnchannels()], f.getframerate()


def peaks(samples, least, apart):
    """Frames whose magnitude is the greatest within `apart` frames on both sides; of equal
    ones, the first."""
    near = collections.deque()  # frames in reach, magnitudes falling: the first is the greatest
    for i, sample in enumerate(samples):
        size = abs(sample)
        if size >= least:
            while near and abs(samples[near[-1]]) < size:
                near.pop()
            near.append(i)
        middle = i - apart
        while near and near[0] < middle - apart:
            near.popleft()
        if middle >= 0 and near and near[0] == middle:
            yield middle
    for middle in range(max(0, len(samples) - apart), len(samples)):
        while near and near[0] < middle - apart:
            near.popleft()
        if near and near[0] == middle:
            yield middle


def main():
    threshold, apart, path = -50.0, 30.0, None
    words = iter(sys.argv[1:])
    for word in words:
        if word == "--threshold":
            threshold = float(next(words))
        elif word == "--apart":
            apart = float(next(words))
        else:
            path = word
    if path is None:
        sys.exit(__doc__)
    samples, rate = read(path)
    least = max(1, 32768 * 10 ** (threshold / 20))
    print("frame\tlevel")
    for frame in peaks(samples, least, max(1, int(rate * apart / 1000))):
        print(f"{frame}\t{20 * math.log10(abs(samples[frame]) / 32768):.2f}")


if __name__ == "__main__":
    main()
